"""Renders whole photos to judge by, with exact truth, as ``trace_bench`` reads them: nothing learns from these.

Run: python -m tests.bench.render_photos FOLDER [--first N] [--count N] [--step N] [--width 1600]

Photo N is drawn from seed N, by turns easy (A: a pale sheet, soft light, four squares or more, thin things), normal (B: any
bench and light, one or two squares) and hard (C: small lamps, tall or bright things, one or two squares). The squares are whole, beside the item, and the
focal length is in its EXIF. Writes ``FOLDER/A0/photo.jpg``, ``photo_toolmask.png`` and ``truth.json``. Needs ``bpy`` as
``render_scenes`` does. The shapes are the same inventions as those of the scenes learnt from, other seeds.
"""

from __future__ import annotations

import argparse
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bpy
import cv2
import numpy as np
import shapely
from mathutils import Quaternion, Vector  # comes with bpy
from PIL import Image

from tests.bench.render_bright import BRIGHT_TOOLS
from tests.bench.render_edges import settle, solid_of
from tests.bench.render_materials import Points, Random, bench_material, flat, sheet_material
from tests.bench.render_scenes import cleared, expose, extent, light_up, litter, paint_mask, render
from tests.bench.render_tools import (
    LEANING_TOOLS,
    TALL_TOOLS,
    TOOLS,
    U,
    hex_key,
    plate,
    pliers,
    rounded,
    scissors,
    screwdriver,
    wrench,
)

Tool = Callable[[Random], None]
THIN_TOOLS: tuple[Tool, ...] = (wrench, scissors, pliers, hex_key, screwdriver, *BRIGHT_TOOLS[6:8], *BRIGHT_TOOLS[9:11])
# of a band: what lies there, light, squares
BANDS: dict[str, tuple[tuple[Tool, ...], str, tuple[int, int]]] = {
    "A": (THIN_TOOLS, "soft", (4, 6)),
    "B": ((*TOOLS, *BRIGHT_TOOLS, *LEANING_TOOLS), "any", (1, 2)),
    "C": ((*TALL_TOOLS, *BRIGHT_TOOLS), "hard", (1, 2)),
}
SAMPLES = 8
LENS = 26.0  # mm, of a 36 mm wide picture: a phone's
_APART = 12.0  # mm between papers, and between paper and item


def lay_whole_squares(rng: Random, box: Points, count: int) -> tuple[float, list[Any]]:
    """Papers with a dark square round the item; returns the side and the papers."""
    side, rim = float(rng.choice([25.0, 30.0, 40.0, 50.0])), rng.uniform(0.2, 0.35)
    paper, ink = flat([rng.uniform(0.5, 0.85)] * 3), flat([rng.uniform(0.01, 0.05)] * 3)
    whole, middle, half = side * (1 + 2 * rim), box.mean(0), (box[1] - box[0]) / 2
    first, laid = rng.uniform(0, 7), []
    for k in range(count):
        way = first + 2 * math.pi * k / count + rng.normal(0, 0.15)
        line = np.array([math.cos(way), math.sin(way)])
        room = half + whole * 0.71 + _APART
        at = middle + line * float(np.min(room / np.maximum(np.abs(line), 1e-6)))
        turn = rng.uniform(0, 7)
        laid.append(plate([rounded(whole, whole, 0.2)], 0.1, 0, 0.0, paper, turn, at))
        plate([rounded(side, side, 0.005)], 0.02, 0, 0.09, ink, turn, at)
    return side, laid


def look_down(rng: Random, scene: Any, box: Points, height: float) -> None:
    """A camera that sees the whole box, tilted a little."""
    data = bpy.data.cameras.new("camera")
    data.sensor_width, data.lens, data.clip_start, data.clip_end = 36.0, LENS, 0.1, 500
    middle, span = box.mean(0), float(np.linalg.norm(box[1] - box[0]))
    far = span / rng.uniform(0.6, 0.72) * LENS / 36.0 + height
    tilt, way = min(abs(rng.normal(0, 0.12)), 0.35), rng.uniform(0, 7)
    aim = np.array([*(middle + rng.uniform(-0.03, 0.03, 2) * span), 0.0])
    place = aim + far * np.array([math.sin(tilt) * math.cos(way), math.sin(tilt) * math.sin(way), math.cos(tilt)])
    thing = bpy.data.objects.new("camera", data)
    bpy.context.collection.objects.link(thing)
    thing.location = tuple(U * place)
    turn = Vector(tuple(aim - place)).to_track_quat("-Z", "Y")
    thing.rotation_euler = (turn @ Quaternion((0, 0, 1), rng.uniform(0, 7))).to_euler()
    scene.camera = thing


def plan_of(item: list[Any]) -> shapely.Polygon:
    """The item's outline as seen from straight above, mm."""
    points, faces = solid_of(item)
    flat_points = np.array(points)[:, :2]
    pieces = [shapely.Polygon(flat_points[face]).buffer(0.005) for face in faces if len(face) > 2]
    whole = shapely.union_all([piece for piece in pieces if not piece.is_empty]).buffer(0.02).buffer(-0.025)
    return max(getattr(whole, "geoms", [whole]), key=lambda piece: piece.area)


def developed(rng: Random, file: Path) -> None:
    """As a phone writes it: a little blur and noise, darker corners, and the focal length in the EXIF."""
    seen = cv2.imread(str(file)).astype(np.float32)
    height, width = seen.shape[:2]
    rows, columns = np.mgrid[:height, :width]
    away = ((rows / height - 0.5) ** 2 + (columns / width - 0.5) ** 2)[..., None]
    seen = cv2.GaussianBlur(seen, (0, 0), rng.uniform(0.3, 0.8)) * (1 - rng.uniform(0, 0.3) * away)
    seen += rng.standard_normal(seen.shape).astype(np.float32) * rng.uniform(0.5, 4)
    picture = Image.fromarray(np.clip(seen, 0, 255).astype(np.uint8)[..., ::-1])
    facts = picture.getexif()
    facts.get_ifd(0x8769)[0xA405] = round(LENS)  # focal length in 35 mm film, EXIF 2.32
    picture.save(file, quality=90, exif=facts)


def photo(seed: int, folder: Path, width: int) -> None:
    band = "ABC"[seed % 3]
    place = folder / f"{band}{seed}"
    if (place / "truth.json").exists():
        return
    place.mkdir(parents=True, exist_ok=True)
    tools, light, (least, most) = BANDS[band]
    rng, scene = np.random.default_rng([seed, 2]), cleared()
    tool = tools[int(rng.integers(len(tools)))]
    tool(rng)
    item = [thing for thing in scene.objects if thing.type in ("MESH", "CURVE")]
    settle(item)
    box, height = extent(item)
    middle, reach = box.mean(0), float(np.linalg.norm(box[1] - box[0])) / 2
    bpy.ops.mesh.primitive_plane_add(size=200, location=(U * middle[0], U * middle[1], 0))
    bpy.context.object.data.materials.append(sheet_material(rng) if band == "A" else bench_material(rng))
    side, papers = lay_whole_squares(rng, box, int(rng.integers(least, most + 1)))
    if band != "A":
        litter(rng, middle, reach)
    light_up(rng, scene, middle, reach, light)
    around, _ = extent([*item, *papers])
    look_down(rng, scene, around, height)
    picture, mask = place / "photo.jpg", place / "photo_toolmask.png"
    expose(rng, scene, picture, SAMPLES)
    render(scene, picture, width, SAMPLES, mask=False)
    developed(rng, picture)
    facts = {
        "scene": place.name, "band": band, "seed": seed, "side_mm": side,
        "tool": {"name": tool.__name__, "height_mm": height}, "outline": shapely.geometry.mapping(plan_of(item)),
        "photos": [{"file": picture.name, "toolmask": mask.name}],
    }  # fmt: skip
    scene.view_settings.exposure, scene.render.dither_intensity = 0.0, 0.0
    paint_mask(scene, item)
    render(scene, mask, width, 16, mask=True)
    (place / "truth.json").write_text(json.dumps(facts), encoding="utf-8")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--count", type=int, default=3)
    parser.add_argument("--step", type=int, default=1)
    parser.add_argument("--width", type=int, default=1600)
    given = parser.parse_args()
    for seed in range(given.first, given.first + given.count * given.step, given.step):
        photo(seed, given.folder, given.width)
        print(seed, flush=True)


if __name__ == "__main__":
    main()
