"""Renders scenes to learn from: one invented item on a bench, reference squares, and the item's exact mask.

Run: python -m tests.bench.render_scenes FOLDER [--first N] [--count N] [--width 800] [--samples 8] [--sheets] [--settled] [--close]
     [--light soft|any|hard] [--tools common|tall|both|leaning|bright|thin|resting|lying|flat|bits]

Needs the package ``bpy`` (Blender as a library, GPL: used for this script alone, never by insertgen). Scene N is
drawn from seed N: the kind of tool, its sizes, its materials, bench, stains, lines, lights and camera. Writes
``N.jpg``, ``N_mask.png`` and ``N_edge.npz``, how high the edge stands. With ``--tools tall``
sanders, planes, drills and other tall things; with ``--settled`` things rest on the bench by two places of theirs. With ``--sheets`` every item lies as the README advises: on a plain pale sheet in soft light,
where pale steel is all that is hard. ``--close``: the item fills the picture, so that thin parts are wide enough to be learnt. ``--light hard``: small lamps and little sky, so that shadows are dark and sharp. Shapes and colours are random within wide bounds; none is a real product.
"""

from __future__ import annotations

import argparse
import contextlib
import math
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import bpy
import cv2
import numpy as np
from mathutils import Quaternion, Vector  # comes with bpy

from tests.bench.render_bright import BIT_TOOLS, BRIGHT_TOOLS
from tests.bench.render_edges import edges, settle
from tests.bench.render_flat import FLAT_TOOLS
from tests.bench.render_materials import (
    Points,
    Random,
    any_colour,
    bench_material,
    colour_of,
    flat,
    new_nodes,
    sheet_material,
    wood_colour,
)
from tests.bench.render_resting import LYING_TOOLS, RESTING_TOOLS
from tests.bench.render_thin import THIN_TOOLS
from tests.bench.render_tools import LEANING_TOOLS, TALL_TOOLS, TOOLS, U, blob, plate, rounded

KINDS = {"common": TOOLS, "tall": TALL_TOOLS, "both": (*TOOLS, *TALL_TOOLS), "leaning": LEANING_TOOLS, "bright": BRIGHT_TOOLS, "thin": THIN_TOOLS, "resting": RESTING_TOOLS, "lying": LYING_TOOLS, "flat": FLAT_TOOLS, "bits": BIT_TOOLS}


def cleared() -> Any:
    bpy.ops.wm.read_factory_settings(use_empty=True)
    scene = bpy.context.scene
    scene.world = bpy.data.worlds.new("world")
    scene.world.use_nodes = True
    return scene


def extent(things: list[Any]) -> tuple[Points, float]:
    """Least and greatest corner of things in plan, mm (2 x 2), and height."""
    bpy.context.view_layer.update()
    corners = np.array([thing.matrix_world @ Vector(corner) for thing in things for corner in thing.bound_box]) / U
    return np.stack([corners[:, :2].min(0), corners[:, :2].max(0)]), float(corners[:, 2].max())


def lay_squares(rng: Random, middle: Points, reach: float) -> None:
    """Papers with a dark square, plain or coded, beside the item."""
    side, rim = rng.uniform(20, 60), rng.uniform(0.15, 0.4)
    paper, ink = flat([rng.uniform(0.5, 0.85)] * 3), flat([rng.uniform(0.01, 0.05)] * 3)
    coded = rng.random() < 0.5
    for _ in range(rng.integers(1, 7)):
        way = rng.uniform(0, 7)
        at = middle + (reach + side * 0.5 + abs(rng.normal(20, 60))) * np.array([math.cos(way), math.sin(way)])
        turn = rng.uniform(0, 7)
        whole = side * (1 + 2 * rim)
        plate([rounded(whole, whole, 0.2)], 0.2, 0, 0.0, paper, turn, at)
        plate([rounded(side, side, 0.01)], 0.05, 0, 0.18, ink, turn, at)
        cells = rng.random((4, 4)) < 0.4
        if coded:
            c, s = math.cos(turn), math.sin(turn)
            for row, column in np.argwhere(cells):
                x, y = (column - 1.5) * side / 6, (row - 1.5) * side / 6
                plate([rounded(side / 6, side / 6, 0.01)], 0.05, 0, 0.21, paper, turn, (at[0] + x * c - y * s, at[1] + x * s + y * c))


def litter(rng: Random, middle: Points, reach: float) -> None:
    """Pencil lines and scratches, strips of tape, chips: bench, not item."""
    for _ in range(rng.integers(0, 9) if rng.random() < 0.5 else 0):
        shade = flat([rng.uniform(0.03, 0.1) if rng.random() < 0.6 else rng.uniform(0.4, 0.8)] * 3, 0.6)
        at = middle + rng.uniform(-1.8, 1.8, 2) * reach
        plate([rounded(rng.uniform(30, 300), rng.uniform(0.2, 0.8), 0.1)], 0.02, 0, 0.01, shade, rng.uniform(0, 7), at)
    if rng.random() < 0.08:
        plate([rounded(rng.uniform(100, 600), rng.uniform(10, 40), 0.1)], 0.1, 0, 0.0, flat(any_colour(rng)), rng.uniform(0, 7), middle + rng.uniform(-1, 1, 2) * reach * 1.5)
    if rng.random() < 0.2:
        dust = flat(wood_colour(rng))
        for _ in range(rng.integers(5, 60)):
            plate([blob(rng, rng.uniform(0.5, 4), 12)], rng.uniform(0.2, 0.8), 0.05, 0, dust, 0, middle + rng.uniform(-2, 2, 2) * reach)


# of lamps the sizes in mm, how many they stay below, how often something outside throws its shadow; the sky's strength
LIGHTS: dict[str, tuple[tuple[float, float], int, float, tuple[float, float]]] = {
    "soft": ((400, 1500), 3, 0.0, (0.5, 1.1)),
    "any": ((15, 1500), 4, 0.2, (0.15, 1.0)),
    "hard": ((15, 150), 3, 0.1, (0.1, 0.5)),
}


def light_up(rng: Random, scene: Any, middle: Points, reach: float, kind: str) -> None:
    """Sky, and lamps from large and soft to small and hard; now and then the shadow of something outside."""
    sizes, most_lamps, blocked, strengths = LIGHTS[kind]
    sky = scene.world.node_tree.nodes["Background"]
    warm = np.array([1.0, rng.uniform(0.8, 1.1), rng.uniform(0.55, 1.3)])
    sky.inputs[0].default_value = colour_of(1.0 + rng.normal(0, 0.05, 3))
    ambient = rng.uniform(*strengths)
    sky.inputs[1].default_value = ambient
    for k in range(rng.integers(1, most_lamps)):
        lamp = bpy.data.lights.new("lamp", "AREA")
        lamp.shape, size, far = "DISK", math.exp(rng.uniform(*np.log(sizes))), rng.uniform(700, 2200)
        way, up = rng.uniform(0, 7), rng.uniform(0.35, 1.45)
        lamp.size, lamp.color = U * size, tuple(warm / warm.max())
        lamp.energy = rng.uniform(0.3, 1.0) * (4 if k == 0 else 1.5) * (1.1 - ambient + 0.3) * (U * far) ** 2 * 2.5
        place = np.array([middle[0] + far * math.cos(way) * math.cos(up), middle[1] + far * math.sin(way) * math.cos(up), far * math.sin(up)])
        thing = bpy.data.objects.new("lamp", lamp)
        bpy.context.collection.objects.link(thing)
        thing.location = tuple(U * place)
        thing.rotation_euler = Vector(tuple(np.array([*middle, 0.0]) - place)).to_track_quat("-Z", "Y").to_euler()
        if k == 0 and rng.random() < blocked:
            ground = middle + rng.uniform(-1.2, 1.2, 2) * reach
            share = rng.uniform(0.15, 0.4)
            at = np.array([*ground, 0.0]) * (1 - share) + place * share
            blocker = plate([blob(rng, rng.uniform(40, 250))], 2, 0, 0, flat([0.2] * 3), rng.uniform(0, 7))
            blocker.location = tuple(U * at)
            blocker.visible_camera = False


FILLS = {False: (0.35, 0.8), True: (0.7, 0.95)}  # of the picture's width that the item's diagonal takes, by whether it is seen close


def set_camera(rng: Random, scene: Any, box: Points, height: float, *, close: bool) -> None:
    data = bpy.data.cameras.new("camera")
    data.sensor_width, data.lens = 36.0, rng.choice([26.0, 26.0, rng.uniform(22, 55)])
    middle, span = box.mean(0), float(np.linalg.norm(box[1] - box[0]))
    fill = rng.uniform(*FILLS[close])
    far = span / fill * data.lens / 36.0 + height
    tilt, way = abs(rng.normal(0, 0.2)), rng.uniform(0, 7)
    offset = rng.uniform(-0.5, 0.5, 2) * (1 - fill) * span / fill * 0.6
    aim = np.array([*(middle + offset), 0.0])
    place = aim + far * np.array([math.sin(tilt) * math.cos(way), math.sin(tilt) * math.sin(way), math.cos(tilt)])
    thing = bpy.data.objects.new("camera", data)
    bpy.context.collection.objects.link(thing)
    thing.location = tuple(U * place)
    turn = Vector(tuple(aim - place)).to_track_quat("-Z", "Y")
    spin = Quaternion((0, 0, 1), rng.uniform(0, 7))
    thing.rotation_euler = (turn @ spin).to_euler()
    data.clip_start, data.clip_end = 0.1, 500
    scene.camera = thing


def build(seed: int, scene: Any, *, sheet: bool, settled: bool, light: str, tools: Sequence[Callable[[Random], None]], close: bool = False) -> tuple[list[Any], float]:
    """The scene of a seed; returns the item's parts and its height, mm."""
    rng = np.random.default_rng(seed)
    tools[int(rng.integers(len(tools)))](rng)
    item = [thing for thing in scene.objects if thing.type in ("MESH", "CURVE")]
    if settled:
        settle(item)
    box, height = extent(item)
    reach = float(np.linalg.norm(box[1] - box[0])) / 2
    middle = box.mean(0)
    bpy.ops.mesh.primitive_plane_add(size=200, location=(U * middle[0], U * middle[1], 0))
    bpy.context.object.data.materials.append(sheet_material(rng) if sheet else bench_material(rng))
    lay_squares(rng, middle, reach)
    if not sheet:
        litter(rng, middle, reach)
    light_up(rng, scene, middle, reach, light)
    set_camera(rng, scene, box, height, close=close)
    return item, height


def render(scene: Any, file: Path, width: int, samples: int, *, mask: bool) -> None:
    scene.render.engine = "CYCLES"
    scene.cycles.device, scene.cycles.samples, scene.cycles.use_denoising = "CPU", samples, not mask
    scene.cycles.use_adaptive_sampling = False
    scene.cycles.denoising_quality, scene.cycles.denoising_prefilter = "FAST", "NONE"
    scene.cycles.max_bounces, scene.cycles.caustics_reflective, scene.cycles.caustics_refractive = (0 if mask else 3), False, False
    scene.cycles.pixel_filter_type = "BLACKMAN_HARRIS"
    scene.render.resolution_x, scene.render.resolution_y, scene.render.resolution_percentage = width, width * 3 // 4, 100
    scene.render.threads_mode, scene.render.threads = "FIXED", 2
    scene.view_settings.view_transform = "Raw" if mask else "Standard"
    scene.render.image_settings.file_format = "PNG" if mask else "JPEG"
    scene.render.image_settings.color_mode = "BW" if mask else "RGB"
    scene.render.image_settings.quality = 94
    scene.render.filepath = str(file.resolve())
    with Path(os.devnull).open("w", encoding="utf-8") as quiet, contextlib.redirect_stdout(quiet):
        bpy.ops.render.render(write_still=True)


def paint_mask(scene: Any, item: list[Any]) -> None:
    """Item white, all else black, no light."""
    colours = {}
    for name, strength in (("white", 1.0), ("black", 0.0)):
        material, nodes, links, _ = new_nodes(name)
        glow = nodes.new("ShaderNodeEmission")
        glow.inputs["Strength"].default_value = strength
        links.new(glow.outputs[0], nodes["Material Output"].inputs[0])
        colours[name] = material
    for thing in scene.objects:
        if thing.type in ("MESH", "CURVE"):
            thing.data.materials[0] = colours["white" if thing in item else "black"]
        elif thing.type == "LIGHT":
            thing.hide_render = True
    scene.world.node_tree.nodes["Background"].inputs[1].default_value = 0.0


def expose(rng: Random, scene: Any, file: Path, samples: int) -> None:
    """Exposure by a small render first, as a camera does."""
    render(scene, file, 96, 8, mask=False)
    seen = cv2.imread(str(file)).astype(float).mean() / 255
    scene.view_settings.exposure = float(np.clip(2.2 * math.log2(rng.uniform(0.35, 0.62) / max(seen, 0.02)), -6, 6))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=10)
    parser.add_argument("--step", type=int, default=1)
    parser.add_argument("--width", type=int, default=800)
    parser.add_argument("--samples", type=int, default=8)
    parser.add_argument("--sheets", action="store_true")
    parser.add_argument("--settled", action="store_true")
    parser.add_argument("--close", action="store_true")
    parser.add_argument("--light", choices=tuple(LIGHTS))
    parser.add_argument("--tools", choices=tuple(KINDS), default="common")
    given = parser.parse_args()
    given.folder.mkdir(parents=True, exist_ok=True)
    for seed in range(given.first, given.first + given.count * given.step, given.step):
        picture, mask, edge = (given.folder / f"{seed}{end}" for end in (".jpg", "_mask.png", "_edge.npz"))
        if edge.exists():
            continue
        scene = cleared()
        light = given.light or ("soft" if given.sheets else "any")
        item, height = build(seed, scene, sheet=given.sheets, settled=given.settled, light=light, tools=KINDS[given.tools], close=given.close)
        if not mask.exists():
            expose(np.random.default_rng([seed, 1]), scene, picture, given.samples)
            render(scene, picture, given.width, given.samples, mask=False)
            scene.view_settings.exposure = 0.0
            paint_mask(scene, item)
            render(scene, mask, given.width, 16, mask=True)
        bpy.context.view_layer.update()
        np.savez(edge, height=height, **edges(scene, item, height, cv2.imread(str(mask), cv2.IMREAD_GRAYSCALE)))


if __name__ == "__main__":
    main()
