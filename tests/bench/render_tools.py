"""Invented tools to render, of solids in mm: plates, tubes, turned parts; sizes drawn at random, none a real product's."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from typing import Any

import bpy
import numpy as np
from numpy.typing import NDArray

from tests.bench.render_materials import Points, Random, metal, some_material

U = 0.01  # units of the renderer a mm

# ---- solids, in mm ------------------------------------------------------------------------------


def _object(name: str, data: Any, material: Any, turn: float = 0.0, at: Sequence[float] = (0, 0, 0)) -> Any:
    thing = bpy.data.objects.new(name, data)
    bpy.context.collection.objects.link(thing)
    data.materials.append(material)
    thing.rotation_euler = (0, 0, turn)
    thing.location = tuple(U * value for value in at)
    return thing


def plate(rings: list[Points], thick: float, bevel: float, z: float, material: Any, turn: float = 0.0, at: Sequence[float] = (0, 0)) -> Any:
    """Plane figure (outer ring and holes) of a thickness, edges rounded; z is its underside."""
    curve = bpy.data.curves.new("plate", "CURVE")
    curve.dimensions, curve.fill_mode = "2D", "BOTH"
    bevel = min(bevel, 0.45 * thick)
    curve.extrude, curve.bevel_depth, curve.bevel_resolution = U * (thick / 2 - bevel), U * bevel, 3
    curve.offset = -U * bevel
    for ring in rings:
        spline = curve.splines.new("POLY")
        spline.points.add(len(ring) - 1)
        for point, (x, y) in zip(spline.points, ring, strict=True):
            point.co = (U * x, U * y, 0, 1)
        spline.use_cyclic_u = True
    return _object("plate", curve, material, turn, (at[0], at[1], z + thick / 2))


def tube(path: Points, radius: NDArray[np.float64], material: Any, *, closed: bool = False, sides: int = 6, turn: float = 0.0, at: Sequence[float] = (0, 0)) -> Any:
    """Round bar along a path n x 3, its radius at each point."""
    curve = bpy.data.curves.new("tube", "CURVE")
    curve.dimensions, curve.bevel_depth, curve.bevel_resolution, curve.use_fill_caps = "3D", U, sides, True
    spline = curve.splines.new("POLY")
    spline.points.add(len(path) - 1)
    for point, where, r in zip(spline.points, path, radius, strict=True):
        point.co, point.radius = (U * where[0], U * where[1], U * where[2], 1), float(r)
    spline.use_cyclic_u = closed
    spline.use_smooth = sides > 2
    return _object("tube", curve, material, turn, (at[0], at[1], 0))


def turned(x: NDArray[np.float64], r: NDArray[np.float64], z: float, material: Any, turn: float = 0.0, at: Sequence[float] = (0, 0), sides: int = 40, squash: float = 1.0) -> Any:
    """A turned part that lies along x, its axis at z."""
    around = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    points = [(U * a, U * b * np.cos(t), U * b * np.sin(t) * squash) for a, b in zip(x, r, strict=True) for t in around]
    faces = [(i * sides + k, i * sides + (k + 1) % sides, (i + 1) * sides + (k + 1) % sides, (i + 1) * sides + k) for i in range(len(x) - 1) for k in range(sides)]
    faces += [tuple(range(sides)), tuple(range((len(x) - 1) * sides, len(x) * sides))]
    mesh = bpy.data.meshes.new("turned")
    mesh.from_pydata(points, [], faces)
    mesh.polygons.foreach_set("use_smooth", [sides > 12] * (len(faces) - 2) + [False] * 2)
    mesh.update()
    return _object("turned", mesh, material, turn, (at[0], at[1], z))


def upright(radius: Sequence[float], heights: Sequence[float], z: float, material: Any, at: Sequence[float] = (0, 0)) -> None:
    """Discs on each other, radius and height of each."""
    for r, h in zip(radius, heights, strict=True):
        plate([circle(r)], h, 0.12 * h, z, material, 0.0, at)
        z += h


def circle(r: float, x: float = 0.0, y: float = 0.0, n: int = 64) -> Points:
    t = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return np.stack([x + r * np.cos(t), y + r * np.sin(t)], axis=1)


def rounded(w: float, h: float, r: float) -> Points:
    """Rectangle about 0, 0."""
    r = min(r, 0.49 * min(w, h))
    t = np.linspace(0, np.pi / 2, 8)
    arc = r * np.stack([np.cos(t), np.sin(t)], axis=1)
    corners = []
    for k, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        c, s = math.cos(k * math.pi / 2), math.sin(k * math.pi / 2)
        corners.append(arc @ np.array([[c, s], [-s, c]]) + [sx * (w / 2 - r), sy * (h / 2 - r)])
    return np.vstack(corners)


def blob(rng: Random, size: float, n: int = 120) -> Points:
    """A smooth closed outline, drawn at random."""
    t = np.linspace(0, 2 * np.pi, n, endpoint=False)
    r = np.ones(n)
    for k in range(2, 7):
        r += rng.normal(0, 0.35 / k) * np.cos(k * t + rng.uniform(0, 7))
    r = np.clip(r, 0.3, 2) * size / 2
    return np.stack([r * np.cos(t), rng.uniform(0.4, 1.0) * r * np.sin(t)], axis=1)


def bowed(start: Sequence[float], end: Sequence[float], bow: float, z0: float, z1: float, n: int = 24) -> Points:
    """Path n x 3 from start to end, bowed to the side."""
    t = np.linspace(0, 1, n)[:, None]
    first, last = np.asarray(start, float), np.asarray(end, float)
    side = np.array([first[1] - last[1], last[0] - first[0]])
    flat_path = first + t * (last - first) + bow * 4 * t * (1 - t) * side
    return np.hstack([flat_path, z0 + t * (z1 - z0)])


def handle(rng: Random, length: float, r: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Stations and radii of a turned handle from 0 to ``length``."""
    x = np.linspace(0, 1, 40)
    waist = 1 - rng.uniform(0, 0.35) * np.exp(-(((x - rng.uniform(0.1, 0.6)) / rng.uniform(0.08, 0.3)) ** 2))
    ends = np.minimum(1, np.minimum(x / rng.uniform(0.01, 0.1), (1 - x) / rng.uniform(0.01, 0.15)) + 0.15)
    grooves = 1 - (rng.random() < 0.3) * 0.06 * (np.sin(x * rng.uniform(40, 90)) > 0.5)
    return x * length, r * np.sqrt(ends) * waist * grooves


# ---- tools --------------------------------------------------------------------------------------


def screwdriver(rng: Random) -> None:
    length, r, shaft = rng.uniform(60, 130), rng.uniform(8, 17), rng.uniform(50, 160)
    x, radius = handle(rng, length, r)
    grip = some_material(rng, (0.3, 5, 1, 4))
    turned(x - length, radius, r, grip, sides=int(rng.choice([6, 8, 40, 40])))
    if rng.random() < 0.4:
        turned(np.array([-length - 3, -length + 8]), np.full(2, r * 0.85), r, some_material(rng))
    thin = rng.uniform(2, 5)
    steel = metal(rng)
    if rng.random() < 0.5:  # blade turned round
        turned(np.array([-5, shaft, shaft + 10]), np.array([thin, thin, thin * rng.uniform(0.3, 1.2)]), r, steel, sides=16)
    else:  # flat blade
        wide = rng.uniform(6, 38)
        plate([np.array([[0, -thin], [shaft * 0.2, -thin], [shaft * 0.35, -wide / 2], [shaft, -wide / 2], [shaft, wide / 2], [shaft * 0.35, wide / 2], [shaft * 0.2, thin], [0, thin]])],
              rng.uniform(2, 5), 0.5, r - 2, steel)
    if rng.random() < 0.5:
        turned(np.array([-6, 6]), np.full(2, max(thin * 1.6, r * 0.5)), r, metal(rng))


def wrench(rng: Random) -> None:
    length, r1, r2 = rng.uniform(80, 240), rng.uniform(9, 24), rng.uniform(8, 20)
    bar, thick, steel = rng.uniform(0.35, 0.7) * min(r1, r2) * 2, rng.uniform(3, 9), some_material(rng, (8, 0.5, 0.5, 0.2))
    plate([rounded(length, bar, 2)], thick * 0.7, 1.5, 0.8, steel)
    if rng.random() < 0.8:
        plate([circle(r1, -length / 2), circle(r1 * rng.uniform(0.55, 0.8), -length / 2, n=int(rng.choice([6, 12, 64])))], thick, 0.8, 0, steel)
    else:
        plate([circle(r1, -length / 2)], thick, 1, 0, steel)
    mouth, opened = rng.uniform(0.5, 0.75) * r2, rng.uniform(-0.5, 0.5)
    t = np.linspace(0.6, 2 * np.pi - 0.6, 40)
    jaw = np.vstack([np.stack([r2 * np.cos(t), r2 * np.sin(t)], 1), [[r2 * 0.8, -mouth], [-0.2 * r2, -mouth], [-0.3 * r2, mouth], [r2 * 0.8, mouth]]])
    c, s = math.cos(opened), math.sin(opened)
    plate([jaw @ np.array([[c, s], [-s, c]]) + [length / 2, 0]], thick, 0.8, 0, steel)


def scissors(rng: Random) -> None:
    spread, blade, arm = rng.uniform(0.1, 0.5), rng.uniform(60, 130), rng.uniform(30, 70)
    steel, grip, wide = metal(rng), some_material(rng, (1, 6, 2, 0)), rng.uniform(8, 18)
    for sign, z in ((1, 0.0), (-1, 2.5)):
        turn = sign * spread / 2
        plate([np.array([[-arm * 0.5, -wide / 3], [10, -wide / 2 * sign * 0.2 - wide / 3], [blade, -0.5], [blade, 0.6], [5, wide / 2], [-arm * 0.5, wide / 3]])], 2.5, 0.4, z, steel, turn)
        c, s = math.cos(turn), math.sin(turn)
        r, r2 = rng.uniform(11, 18), rng.uniform(3, 5.5)
        t = np.linspace(0, 2 * np.pi, 48, endpoint=False)
        ring = np.stack([-arm - r + r * rng.uniform(1, 1.6) * np.cos(t), -sign * r * 0.75 + r * np.sin(t), np.full(48, max(r2, 4))], 1)
        ring[:, :2] = ring[:, :2] @ np.array([[c, s], [-s, c]])
        tube(ring, np.full(48, r2) * (1 + 0.2 * np.cos(t)), grip, closed=True)
        bar = bowed((-arm * 0.2, 0), (-arm - r * 0.2, -sign * 2), 0.05, 4, 4)
        bar[:, :2] = bar[:, :2] @ np.array([[c, s], [-s, c]])
        tube(bar, np.linspace(4, r2 * 1.2, len(bar)), grip)
    upright([rng.uniform(3, 6)], [2], 4.5, metal(rng))


def pliers(rng: Random) -> None:
    spread, jaw, grips = rng.uniform(5, 35), rng.uniform(30, 70), rng.uniform(70, 130)
    steel, sleeve, tall = metal(rng), some_material(rng, (1, 6, 2, 0)), rng.uniform(7, 12)
    for sign in (1, -1):
        gap = sign * rng.uniform(0, 4)
        plate([np.array([[-8, sign * -6], [jaw * 0.3, sign * 9], [jaw, sign * rng.uniform(1.5, 6) + gap], [jaw, gap * 0.8], [6, sign * -2], [-8, sign * 9]])], tall * 0.8, 1.5, 1, steel)
        path = bowed((-2, sign * 5), (-grips, sign * (8 + spread)), -sign * rng.uniform(0.02, 0.14), tall / 2, tall / 2)
        thick = rng.uniform(4, 7)
        tube(path, np.full(len(path), thick * 0.7), steel)
        tube(path[6:], np.concatenate([np.full(len(path) - 8, thick), [thick * 0.9, thick * 0.6]]), sleeve)
    upright([rng.uniform(7, 12), rng.uniform(3, 6)], [tall, 1], 0, steel)


def hex_key(rng: Random) -> None:
    r, long, short, bend = rng.uniform(1, 5), rng.uniform(50, 180), rng.uniform(15, 50), rng.uniform(4, 15)
    t = np.linspace(0, np.pi / 2, 10)
    path = np.vstack([[[long, 0]], np.stack([bend - bend * np.sin(t), bend - bend * np.cos(t)], 1), [[0, short]]])
    if rng.random() < 0.3:
        path = np.vstack([path, [[-rng.uniform(10, 40), short + rng.uniform(-5, 20)]]])
    tube(np.hstack([path, np.full((len(path), 1), r)]), np.full(len(path), r), some_material(rng, (6, 1, 2, 0)), sides=int(rng.choice([1, 6])))


def hammer(rng: Random) -> None:
    length, r = rng.uniform(150, 300), rng.uniform(9, 17)
    x, radius = handle(rng, length, r)
    tall = rng.uniform(1.0, 1.6) * r
    turned(x - length, radius, tall, some_material(rng, (0.5, 2, 1, 5)), squash=rng.uniform(0.7, 1.1))
    head, steel = rng.uniform(30, 65), some_material(rng, (6, 0.5, 2, 1))
    stations = np.array([-head, -head * 0.7, -head * 0.65, -8, 8, head * 0.6, head])
    sizes = tall * np.array([1, 1, 0.75, 0.95, 0.95, rng.uniform(0.4, 0.9), rng.uniform(0.1, 1)])
    turned(stations, sizes, tall, steel, math.pi / 2, sides=int(rng.choice([4, 8, 40])))
    if rng.random() < 0.5:
        claw = bowed((0, head * 0.2), (-rng.uniform(15, 45), head * 1.2), rng.uniform(-0.3, -0.1), tall, tall * 0.5)
        for dx in (-3, 3):
            tube(claw + np.array([dx, 0, 0]), np.linspace(tall * 0.6, 1.5, len(claw)), steel)


def square_and_bevel(rng: Random) -> None:
    stock, blade, wide = rng.uniform(70, 160), rng.uniform(90, 240), rng.uniform(18, 45)
    angle, thick = rng.uniform(0.4, 2.6), rng.uniform(10, 24)
    plate([rounded(stock, rng.uniform(18, 32), rng.uniform(1, 8))], thick, 1, 0, some_material(rng, (1, 2, 1, 5)), 0, (-stock * 0.4, 0))
    slot = [rounded(blade * 0.4, 6, 3) + np.array([blade * 0.2, 0])] if rng.random() < 0.5 else []
    end = rng.uniform(-0.5, 0.5) * wide
    outer = np.array([[-wide * 0.4, -wide / 2], [blade - end, -wide / 2], [blade + end, wide / 2], [-wide * 0.4, wide / 2]])
    plate([outer, *slot], rng.uniform(1, 3), 0.2, thick * rng.uniform(0, 0.9), some_material(rng, (8, 0.5, 0.5, 0.5)), angle)
    upright([rng.uniform(4, 8)], [rng.uniform(2, 6)], thick, metal(rng))


def saw(rng: Random) -> None:
    length, high = rng.uniform(150, 300), rng.uniform(30, 90)
    tip = rng.uniform(0.2, 0.9) * high
    teeth = np.stack([np.linspace(length, 0, 80), np.where(np.arange(80) % 2, 0.0, -rng.uniform(0.5, 3))], 1)
    plate([np.vstack([[[0, high], [length, tip]], teeth])], 1.2, 0.1, rng.uniform(0, 8), metal(rng))
    outer, grip = blob(rng, high * 1.5), some_material(rng, (0.3, 3, 1, 5))
    hole = rounded(high * 0.3, high * 0.5, 10)
    behind = np.array([-high * 0.45, high * 0.5])
    rings = [outer + behind, hole + behind] if rng.random() < 0.7 else [outer + behind]
    plate(rings, rng.uniform(14, 26), 4, 0, grip)


def machine(rng: Random) -> None:
    """A body of boxes and discs, as a drill's, sander's or plane's."""
    shell, other = some_material(rng, (1, 6, 2, 1)), some_material(rng, (2, 3, 4, 1))
    w, h, tall = rng.uniform(60, 180), rng.uniform(45, 90), rng.uniform(30, 75)
    body = rounded(w, h, rng.uniform(3, 30)) if rng.random() < 0.6 else blob(rng, w)
    plate([body], tall, rng.uniform(2, 18), 0, shell)
    for _ in range(rng.integers(1, 5)):
        at, size = (rng.uniform(-0.6, 0.6) * w, rng.uniform(-0.6, 0.6) * h), rng.uniform(15, 60)
        material = shell if rng.random() < 0.4 else other if rng.random() < 0.6 else some_material(rng)
        kind = rng.random()
        if kind < 0.35:
            plate([rounded(size * rng.uniform(1, 2.5), size, rng.uniform(1, 12))], rng.uniform(0.3, 1.2) * tall, 3, 0, material, rng.uniform(0, 3), at)
        elif kind < 0.6:
            upright([size / 2, size / 3], [rng.uniform(0.3, 1.1) * tall, rng.uniform(3, 15)], 0, material, at)
        else:
            x, radius = handle(rng, size * 2.5, size * 0.25)
            turned(x, radius, max(float(radius.max()), tall * rng.uniform(0.3, 0.6)), material, rng.uniform(0, 7), at)


def pack(rng: Random) -> None:
    """A flat case with things on its face, as a tape's."""
    size, tall, shell = rng.uniform(40, 95), rng.uniform(18, 45), some_material(rng)
    plate([rounded(size, size * rng.uniform(0.6, 1), size * rng.uniform(0.05, 0.4)) if rng.random() < 0.6 else blob(rng, size)], tall, rng.uniform(1, 6), 0, shell)
    upright([size * rng.uniform(0.15, 0.35)], [rng.uniform(0.5, 2)], tall, some_material(rng))
    if rng.random() < 0.6:
        plate([rounded(rng.uniform(8, 30), rng.uniform(8, 20), 1)], rng.uniform(1, 6), 0.3, 0, some_material(rng), rng.uniform(0, 7), (size * 0.5, rng.uniform(-0.3, 0.3) * size))


def bit(rng: Random) -> None:
    """A shank with a cutter, lying."""
    shank, r, long, wide = rng.uniform(25, 45), rng.uniform(3, 6.4), rng.uniform(12, 40), rng.uniform(4, 22)
    steel, body = metal(rng), some_material(rng, (3, 5, 1, 0))
    z = max(r, wide * rng.uniform(0.4, 0.8))
    turned(np.array([-shank, -shank + 1, 0]), np.array([r * 0.85, r, r]), z, steel)
    x = np.linspace(0, long, 20)
    turned(x, wide * (0.55 + 0.4 * np.sin(x / long * rng.uniform(1, 3) + rng.uniform(0, 2))), z, body)
    plate([np.array([[1, -wide], [long, -wide * rng.uniform(0.3, 1)], [long, wide * 0.9], [1, wide]])], 2, 0.1, z, metal(rng), rng.uniform(-0.05, 0.05))
    if rng.random() < 0.4:
        turned(np.array([long, long + 5]), np.full(2, rng.uniform(3, wide)), z, metal(rng))


def gathered(rng: Random) -> None:
    """Anything: plates with holes, bars, turned parts, on one another."""
    size = rng.uniform(40, 160)
    for k in range(rng.integers(1, 5)):
        at, turn = ((0, 0) if k == 0 else tuple(rng.uniform(-0.3, 0.3, 2) * size)), rng.uniform(0, 7)
        material, part = some_material(rng), size * (1 if k == 0 else rng.uniform(0.2, 0.9))
        kind = rng.random()
        if kind < 0.35:
            holes = [circle(part * 0.08 * rng.uniform(0.6, 1.6), *rng.uniform(-0.05, 0.05, 2) * part)] if rng.random() < 0.5 else []
            plate([blob(rng, part), *holes], rng.uniform(2, 30), rng.uniform(0.2, 4), 0, material, turn, at)
        elif kind < 0.6:
            holes = [rounded(part * rng.uniform(0.2, 0.6), part * 0.06, 3)] if rng.random() < 0.4 else []
            plate([rounded(part, part * rng.uniform(0.12, 0.6), rng.uniform(1, 20)), *holes], rng.uniform(2, 30), rng.uniform(0.2, 3), 0, material, turn, at)
        elif kind < 0.8:
            x, radius = handle(rng, part, part * rng.uniform(0.05, 0.2))
            turned(x - part / 2, radius, float(radius.max()), material, turn, at)
        else:
            r = rng.uniform(1.5, 6)
            path = bowed((-part / 2, 0), (part / 2, 0), rng.uniform(-0.5, 0.5), r, r)
            tube(path, np.full(len(path), r), material, turn=turn, at=at)


def on_base(rng: Random) -> None:
    """A machine that stands on a base plate: body, shoulders and a grip on top, as a sander's, router's or jigsaw's."""
    shell, other = some_material(rng, (1, 6, 2, 1)), some_material(rng, (3, 4, 3, 1))
    w, h = rng.uniform(70, 190), rng.uniform(50, 120)
    round_one = rng.random() < 0.35
    low, z = rng.uniform(2, 18), rng.uniform(0, 6) * (rng.random() < 0.3)
    base = circle(h * 0.7) if round_one else rounded(w, h, rng.uniform(2, 40)) if rng.random() < 0.8 else blob(rng, w)
    plate([base], low, rng.uniform(0.3, 4), z, other)
    z += low
    at, share = (rng.uniform(-0.15, 0.15) * w, 0.0), rng.uniform(0.45, 1.15)
    for _ in range(rng.integers(1, 4)):
        tall = rng.uniform(12, 60)
        body = circle(h * 0.7 * share) if round_one or rng.random() < 0.2 else rounded(w * share, h * share * rng.uniform(0.8, 1.1), rng.uniform(5, 45))
        plate([body], tall, rng.uniform(1, 0.45 * tall), z, shell if rng.random() < 0.7 else other, rng.normal(0, 0.05), at)
        z, share = z + tall * 0.98, share * rng.uniform(0.5, 1.1)
    kind = rng.random()
    if kind < 0.35:
        x, radius = handle(rng, w * rng.uniform(0.6, 1.2), rng.uniform(14, 24))
        turned(x - x.mean(), radius, z + 8, shell, rng.normal(0, 0.1), at)
    elif kind < 0.6:
        t = np.linspace(0, np.pi, 20)
        path = np.stack([w * 0.35 * np.cos(t), np.zeros(20), z - 10 + rng.uniform(30, 60) * np.sin(t)], 1)
        tube(path, np.full(20, rng.uniform(9, 17)), shell)
    elif kind < 0.8:
        upright([rng.uniform(10, 20), rng.uniform(14, 26)], [rng.uniform(8, 25), rng.uniform(12, 30)], z - 1, other, at)
    for _ in range(rng.integers(0, 3)):  # dust port, cord, side knob
        z0, way, r = rng.uniform(0.15, 0.7) * z, rng.uniform(0, 7), rng.uniform(4, 18)
        path = bowed((0, 0), (w * rng.uniform(0.5, 0.9) * math.cos(way), w * rng.uniform(0.5, 0.9) * math.sin(way)), rng.uniform(-0.1, 0.1), z0, max(z0 * rng.uniform(0.5, 1.2), r))
        tube(path, np.full(len(path), r), other if rng.random() < 0.6 else shell)


def plane(rng: Random) -> None:
    """A sole with cheeks, knob and tote, as of a bench or block plane."""
    w, h, cheek = rng.uniform(120, 300), rng.uniform(35, 80), rng.uniform(15, 55)
    iron, wood = some_material(rng, (4, 1, 3, 3)), some_material(rng, (0.5, 2, 1, 5))
    plate([rounded(w, h, rng.uniform(1, 15))], rng.uniform(3, 8), 0.5, 0, iron)
    long, back = w * rng.uniform(0.4, 1.0), rng.uniform(-0.15, 0.15) * w
    back *= 1 - long / w
    if rng.random() < 0.6:
        for sign in (1, -1):
            t = np.linspace(-1, 1, 16)
            for lo, hi in itertools.pairwise(t):  # cheeks rise to the middle
                tall = cheek * math.cos((lo + hi) / 2 * 1.3)
                plate([rounded((hi - lo) * long / 2 + 0.3, rng.uniform(3, 4), 0.3)], tall, 0.2, 0, iron, 0, (back + (lo + hi) / 4 * long, sign * (h / 2 - 2)))
        plate([rounded(long * 0.6, h - 10, 2)], cheek * 0.5, 1, 0, some_material(rng), 0, (back, 0))
    else:
        plate([rounded(long, h, rng.uniform(1, 12))], cheek, rng.uniform(0.5, 8), 0, wood if rng.random() < 0.5 else iron, 0, (back, 0))
    if rng.random() < 0.75:
        tall = cheek + rng.uniform(0, 40)
        upright([rng.uniform(8, 14), rng.uniform(10, 16), rng.uniform(12, 20)], [tall * 0.5, tall * 0.3, tall * 0.3], 2, wood, (w * 0.36, 0))
    if rng.random() < 0.75:
        path = bowed((-w * rng.uniform(0.3, 0.4), 0), (-w * rng.uniform(0.15, 0.42), 0), 0.0, 4, cheek + rng.uniform(15, 70))
        tube(path, np.linspace(rng.uniform(9, 15), rng.uniform(8, 16), len(path)), wood)
    tilt = bowed((-w * 0.2, 0), (w * 0.12, 0), 0.0, cheek + rng.uniform(0, 25), 4)
    tube(tilt, np.full(len(tilt), rng.uniform(6, h * 0.22)), some_material(rng), sides=int(rng.choice([1, 6])))


def drill(rng: Random) -> None:
    """A drill on its side: barrel, chuck, grip, battery."""
    shell, other = some_material(rng, (0.5, 7, 2, 0.5)), some_material(rng, (2, 4, 3, 0))
    r, long, grip = rng.uniform(22, 38), rng.uniform(80, 150), rng.uniform(70, 130)
    z = max(r, rng.uniform(25, 42))
    x, radius = handle(rng, long, r)
    if rng.random() < 0.6:
        turned(x - long * 0.6, radius, z, shell)
    else:
        plate([rounded(long, 2 * r, rng.uniform(3, 25))], 2 * r, rng.uniform(3, 0.4 * r), z - r, shell, 0, (-long * 0.1, 0))
    chuck = rng.uniform(25, 55)
    turned(np.array([0, chuck * 0.6, chuck]), np.array([r * 0.75, r * 0.7, r * 0.4]), z, metal(rng) if rng.random() < 0.4 else other, at=(long * 0.4, 0))
    lean = rng.uniform(-0.2, 0.5)
    end = (-long * 0.2 - grip * math.sin(lean), -grip * math.cos(lean))
    path = bowed((-long * 0.2, 0), end, rng.uniform(-0.08, 0.08), z, z)
    tube(path, np.full(len(path), rng.uniform(14, 22)), shell if rng.random() < 0.5 else other)
    if rng.random() < 0.8:
        tall = min(rng.uniform(1.2, 2.0) * z, 2 * z)
        plate([rounded(rng.uniform(60, 120), rng.uniform(35, 75), rng.uniform(2, 15))], tall, rng.uniform(1, 8), z - tall / 2, other, rng.normal(0, 0.1), end)


def stacked(rng: Random) -> None:
    """Layers that grow or shrink from the bench upwards: cones, domes, mushrooms, cases."""
    size, z = rng.uniform(40, 160), 0.0
    shell, other = some_material(rng), some_material(rng)
    first = rounded(size, size * rng.uniform(0.35, 1), size * rng.uniform(0.02, 0.3)) if rng.random() < 0.5 else circle(size / 2) if rng.random() < 0.4 else blob(rng, size)
    layers, slope = rng.integers(1, 9), rng.normal(0, 0.12)
    share = rng.uniform(0.6, 1.0)
    for k in range(layers):
        tall = rng.uniform(4, 90) / layers + 2
        plate([first * share], tall, rng.uniform(0, 0.45 * tall), z, shell if rng.random() < 0.8 else other)
        z, share = z + tall * 0.97, max(share + slope * rng.uniform(0, 1.5) + (rng.random() < 0.15) * rng.normal(0, 0.25), 0.15)
        if k and share > 2:
            break
    for _ in range(rng.integers(0, 3)):
        x, radius = handle(rng, size * rng.uniform(0.5, 1.5), size * rng.uniform(0.08, 0.2))
        turned(x, radius, max(float(radius.max()), z * rng.uniform(0.3, 1)), other, rng.uniform(0, 7), tuple(rng.uniform(-0.3, 0.3, 2) * size))


TOOLS: tuple[Callable[[Random], None], ...] = (
    screwdriver, screwdriver, wrench, scissors, pliers, hex_key, hammer, square_and_bevel, saw, machine, machine, pack, bit, gathered, gathered,
)  # fmt: skip
#: Tall things, to learn how high edges stand.
TALL_TOOLS: tuple[Callable[[Random], None], ...] = (
    on_base, on_base, on_base, plane, plane, drill, drill, stacked, stacked, stacked, machine, pack,
)  # fmt: skip
#: Those that lean on the bench once they rest on it.
LEANING_TOOLS: tuple[Callable[[Random], None], ...] = (screwdriver, screwdriver, screwdriver, hammer, hammer, bit, saw)
