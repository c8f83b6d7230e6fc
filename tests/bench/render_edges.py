"""How high the edge stands that a rendered photo shows: rays against the item's own mesh, nothing rendered.

The height kept is where the ray of an edge pixel crosses the outline as seen from straight above. Mostly that is where it
touches the item; where the item leans over its own outline (a knob seen before the sole's edge behind it) it is not.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import bpy
import cv2
import numpy as np
from mathutils import Matrix, Vector
from mathutils.bvhtree import BVHTree

from tests.bench.render_materials import Points
from tests.bench.render_tools import U

METAL = 7.0  # times as dense as wood and plastic (7.8 against 0.7 to 1.4 g/cm3: handbook values, from memory)
_APART = 2.0  # px between points of the outline
_AROUND = 1.5  # px within which the true edge is sought across the mask's
_HALVINGS = 12
_LEVELS = 33  # between bench and top at which a ray is asked whether it is over the item


def mesh_of(item: list[Any]) -> BVHTree:
    """All parts of the item as one mesh, mm."""
    return BVHTree.FromPolygons(*solid_of(item))


def settle(item: list[Any]) -> None:
    """Tilt an item that lies along x until it rests on the bench: a screwdriver on its handle and its tip.

    It comes to lie on that side of the lower hull of its x and z which is below its middle: of its surface, metal weighing
    more, or a blade would stay in the air where its handle is long.
    """
    solids = [solid_of([thing]) for thing in item]
    places = np.concatenate([np.array(points) for points, _ in solids])
    weights, middles = [], []
    for thing, (points, faces) in zip(item, solids, strict=True):
        density = METAL if thing.data.materials[0].name.startswith("metal") else 1.0
        corners = [np.array(points)[face] for face in faces]
        weights += [density * float(np.linalg.norm(np.cross(c[1] - c[0], c[2] - c[0]))) for c in corners]
        middles += [float(c[:, 0].mean()) for c in corners]
    middle = float(np.average(middles, weights=weights))
    hull: list[Points] = []
    for at in places[np.lexsort((places[:, 2], places[:, 0]))][:, [0, 2]]:
        while len(hull) > 1 and _turn(hull[-2], hull[-1], at) <= 0:
            hull.pop()
        hull.append(at)
    left, right = next((a, b) for a, b in itertools.pairwise(hull) if b[0] >= middle and b[0] > a[0])
    tilt = math.atan2(right[1] - left[1], right[0] - left[0])
    # about y, so that the side comes down level: z falls as x grows when the turn is positive
    move = Matrix.Translation((0, 0, -U * float(left[1]) * math.cos(tilt) + U * float(left[0]) * math.sin(tilt))) @ Matrix.Rotation(tilt, 4, "Y")
    for thing in item:
        thing.matrix_world = move @ thing.matrix_world
    bpy.context.view_layer.update()


def _turn(a: Points, b: Points, c: Points) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def solid_of(item: list[Any]) -> tuple[list[Any], list[list[int]]]:
    """Points, mm, and faces of all parts."""
    bpy.context.view_layer.update()
    graph = bpy.context.evaluated_depsgraph_get()
    points: list[Any] = []
    faces: list[list[int]] = []
    for thing in item:
        solid = thing.evaluated_get(graph)
        mesh = solid.to_mesh()
        first = len(points)
        points += [thing.matrix_world @ vertex.co / U for vertex in mesh.vertices]
        faces += [[first + at for at in face.vertices] for face in mesh.polygons]
        solid.to_mesh_clear()
    return points, faces


def edges(scene: Any, item: list[Any], height: float, mask: np.ndarray) -> dict[str, Any]:
    """Points of the outline and its holes in pixels (centres at integers), the height of each, mm, and the camera.

    ``turn`` (3 x 3, world to camera: x right, y down, z ahead), ``place`` (mm), ``focal_px``, ``centre_px``.
    """
    tree = mesh_of(item)
    camera, (height_px, width_px) = scene.camera, mask.shape
    turn = np.diag([1.0, -1.0, -1.0]) @ np.array(camera.matrix_world.to_3x3()).T
    place, focal = np.array(camera.matrix_world.translation) / U, camera.data.lens / 36.0 * width_px
    centre = np.array([width_px - 1, height_px - 1]) / 2

    def hit(px: Points) -> float | None:
        ray = turn.T @ np.array([*((px - centre) / focal), 1.0])
        where = tree.ray_cast(Vector(place), Vector(ray))[0]
        return None if where is None else float(where.z)

    rings, ways, heights = [], [], []
    for number, (ring, out) in enumerate(_rings(mask)):
        for at, way in zip(ring, out, strict=True):
            inner, outer, seen = -_AROUND, _AROUND, hit(at - _AROUND * way)
            if seen is None or hit(at + _AROUND * way) is not None:
                continue
            for _ in range(_HALVINGS):
                middle = (inner + outer) / 2
                found = hit(at + middle * way)
                inner, outer, seen = (inner, middle, seen) if found is None else (middle, outer, found)
            rings.append([*(at + inner * way), number])
            ways.append(way)
            ray = turn.T @ np.array([*((at + inner * way - centre) / focal), 1.0])
            heights.append(_crossing(tree, place, ray / ray[2], seen, height))
    return {
        "edge": np.array(rings, np.float32), "out": np.array(ways, np.float32), "heights": np.array(heights, np.float32),
        "turn": turn, "place": place, "focal_px": focal, "centre_px": centre,
    }  # fmt: skip


def _crossing(tree: BVHTree, place: Points, ray: Points, touch: float, height: float) -> float:
    """Height at which a ray (z = 1) crosses the outline in plan, nearest to the height where it touches the item."""

    def over(z: float) -> bool:
        x, y = (place + (z - place[2]) * ray)[:2]
        return tree.ray_cast(Vector((x, y, 2 * height + 10)), Vector((0, 0, -1)))[0] is not None

    levels = np.unique(np.append(np.linspace(0, height, _LEVELS), touch))
    inside = [over(z) for z in levels]
    changes = [(low, high, was) for low, high, was, now in zip(levels[:-1], levels[1:], inside[:-1], inside[1:], strict=True) if was != now]
    if not changes:
        return touch
    low, high, was = min(changes, key=lambda change: abs((change[0] + change[1]) / 2 - touch))
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if over(middle) == was else (low, middle)
    return float(low + high) / 2


def _rings(mask: np.ndarray) -> list[tuple[Points, Points]]:
    """Outlines and holes of a mask, points evenly apart, and the way out of the item at each."""
    fine = cv2.resize(mask, None, fx=4, fy=4, interpolation=cv2.INTER_LINEAR) > 127
    found, _ = cv2.findContours(fine.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    within = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 1.2)
    slope_x, slope_y = cv2.Sobel(within, cv2.CV_32F, 1, 0), cv2.Sobel(within, cv2.CV_32F, 0, 1)
    rings = []
    for ring in found:
        if len(ring) < 40:
            continue
        points = ((ring[:, 0].astype(np.float64) + 0.5) / 4 - 0.5)[:: int(4 * _APART)]
        x, y = points.T.astype(np.float32)
        out = -np.stack([cv2.remap(s, x, y, cv2.INTER_LINEAR).reshape(-1) for s in (slope_x, slope_y)], 1).astype(np.float64)
        rings.append((points, out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)))
    return rings
