"""How few lines and arcs contours are made of, how fast, and how long a full tray takes to write.

Goals: 40 segments at 0.05 mm and 10 ms for a smooth outline of 3,520 points, which a greedy fitter made elsewhere;
a tray of 60 things written in 3 s. Outlines are seeded and offset by 1 mm as seats are. What is off is measured by
shapely alone: how far points of the outline lie from the fitted path, and how far that lies outside of it.
Run: python -m tests.bench.output_bench [--outlines N] [--things N]
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely

from insertgen.exchange.dxf import DxfStyle
from insertgen.geometry.arcs import fit_path, flatten
from insertgen.model.drawing import Drawing
from insertgen.model.figures import Circle, Contour, Pose, Ring
from insertgen.model.item import Item
from insertgen.model.job import Blank
from insertgen.model.layout import Layout, Placement
from insertgen.output.cautions import cautions_for
from insertgen.pipeline.writers import WRITERS, Options
from insertgen.seats.seat import seat_for
from insertgen.sheets.draw import draw
from tests.build_values import pocket_item, shank_item, tray_of
from tests.seat_outlines import random_outline, traced_like

TOLERANCES = (0.02, 0.05, 0.1)
CLEARANCE = 1.0
SEED = 20


@dataclass(frozen=True)
class Fitted:
    segments: int
    milliseconds: float
    off: float  # farthest that a point of the outline is from the path, mm
    inside: float  # farthest that the path lies inside of the outline: an opening that shrank
    kinks: int  # joints of 1 to 30 degrees: neither smooth nor a corner


def grown_ring(ring: Ring) -> Ring:
    """A seat's wall: the outline and its clearance, corners round."""
    grown = shapely.Polygon(ring).buffer(CLEARANCE, quad_segs=32)
    piece = max(getattr(grown, "geoms", [grown]), key=lambda one: one.area)
    return tuple((float(x), float(y)) for x, y in piece.exterior.coords[:-1])


def resampled(ring: Ring, points: int) -> Ring:
    line = shapely.LinearRing(ring)
    steps = [line.interpolate(k / points, normalized=True) for k in range(points)]
    return tuple((point.x, point.y) for point in steps)


def smooth_curve(rng: np.random.Generator, points: int) -> Ring:
    """A long thing without any corner: six waves on an ellipse, as no polygon of few sides is."""
    angles = np.linspace(0, 2 * math.pi, points, endpoint=False)
    radius = np.full(points, 45.0)
    for k in range(2, 8):
        radius += rng.normal(0, 9 / k) * np.cos(k * angles + rng.uniform(0, 6.3))
    return tuple((float(1.6 * r * math.cos(a)), float(r * math.sin(a))) for r, a in zip(radius, angles, strict=True))


def fitted(ring: Ring, tolerance: float) -> Fitted:
    start = time.perf_counter()
    path = fit_path(ring, tolerance)
    took = (time.perf_counter() - start) * 1e3
    if isinstance(path, Circle):
        return Fitted(1, took, 0.0, 0.0, 0)
    drawn = shapely.LinearRing(flatten(path, 0.0005))
    points = shapely.points(ring)
    walked = shapely.points(shapely.get_coordinates(shapely.segmentize(drawn, 0.25)))
    region = shapely.Polygon(ring)
    shapely.prepare(region)
    shrunk = walked[shapely.contains(region, walked)]
    inside = shapely.distance(shrunk, region.exterior)
    off = shapely.distance(points, drawn)
    return Fitted(len(path.vertices), took, float(off.max()), float(inside.max(initial=0.0)), kinks(path))


def kinks(path: Contour) -> int:
    directions = []
    for (x0, y0, bulge), (x1, y1, _) in zip(path.vertices, path.vertices[1:] + path.vertices[:1], strict=True):
        chord, half = math.atan2(y1 - y0, x1 - x0), 2 * math.atan(bulge)
        directions.append((chord - half, chord + half))
    turns = [
        abs((entering - leaving + math.pi) % (2 * math.pi) - math.pi)
        for (_, leaving), (entering, _) in zip(directions, directions[1:] + directions[:1], strict=True)
    ]
    return sum(math.radians(1) < turn < math.radians(30) for turn in turns)


def contours(count: int) -> None:
    rng = np.random.default_rng(SEED)
    traced = [grown_ring(traced_like(rng).outer) for _ in range(count)]
    smooth = [
        grown_ring(random_outline(rng, kind, 400).outer) for kind in ("tool", "hook", "blob") for _ in range(3)
    ]
    long = [resampled(ring, 3520) for ring in smooth[::3]]
    curve = [grown_ring(smooth_curve(rng, 3520)) for _ in range(5)]
    print(
        f"{'outlines':>24} {'points':>8} {'mm':>5} {'segments':>14} {'ms':>14} {'off':>7} {'inside':>7} {'kinks':>6}"
    )
    for name, rings in (("traced, 0.1 mm of unrest", traced), ("smooth", smooth), ("tool of 3520", long[:1]),
                        ("hook of 3520", long[1:2]), ("blob of 3520", long[2:]), ("curve of 3520", curve)):  # fmt: skip
        for tolerance in TOLERANCES:
            report(name, rings, tolerance)


def report(name: str, rings: Iterable[Ring], tolerance: float) -> None:
    """Median and worst of segments and milliseconds, the worst of the rest."""
    rings = list(rings)
    found = [fitted(ring, tolerance) for ring in rings]
    segments, took = [one.segments for one in found], [one.milliseconds for one in found]
    print(
        f"{name:>24} {np.median([len(ring) for ring in rings]):>8.0f} {tolerance:>5.2f}"
        f" {np.median(segments):>7.0f} /{max(segments):>5} {np.median(took):>7.1f} /{max(took):>5.0f}"
        f" {max(one.off for one in found):>7.3f} {max(one.inside for one in found):>7.3f} {max(one.kinks for one in found):>6}"
    )


# ---- a full tray -------------------------------------------------------------------------------


def full_tray(count: int) -> Drawing:
    """A quarter invented tools in rows behind, the rest bits in rows before them, as dense as a tray is.

    Laid out by hand, for the search is not what is measured.
    """
    rng = np.random.default_rng(SEED)
    items: list[Item] = []
    poses: list[Pose] = []
    tools = count // 4
    x, y, deep, wide = 0.0, 0.0, 0.0, 900.0
    for number in range(1, count + 1):
        named = {"id": f"test-tray/{number:02d}", "tag": f"{number:02d}", "label": f"thing {number}"}
        is_bit = number <= count - tools
        item = shank_item(6.7, **named) if is_bit else pocket_item(traced_like(rng), least_gap=0.05, grips=(), **named)
        ring = np.array(item.room.outer)
        low, high = ring.min(axis=0), ring.max(axis=0)
        room = high - low + (25.0 if is_bit else 15.0)
        if x + room[0] > wide or number == count - tools + 1:
            x, y, deep = 0.0, y + deep, 0.0
        middle = (low + high) / 2
        poses.append(Pose(15 + x + room[0] / 2 - middle[0], 15 + y + room[1] / 2 - middle[1]))
        x, deep = x + room[0], max(deep, room[1])
        items.append(item)
    blank = Blank(wide + 30, y + deep + 30)
    tray = replace(tray_of(*items, cutter=3.175), blank=blank, inside=(blank.width + 1, blank.depth + 1))
    seats = [seat_for(item, tray) for item in items]
    placements = tuple(Placement(item.id, item.name, "", pose, True) for item, pose in zip(items, poses, strict=True))
    drawing = draw(tray, seats, Layout(tray.slug, 0, 0, False, blank, placements, ()))
    return replace(drawing, cautions=cautions_for(tray))


def written(count: int) -> None:
    drawing = full_tray(count)
    print(
        f"\n{count} things on {drawing.blank.width:.0f} x {drawing.blank.depth:.0f} mm; seconds by the clock, of the processor, and kilobytes by writer"
    )
    for options in (Options(), Options(paper="one", dxf=DxfStyle("r12", "in"), marks=True)):
        total = work = 0.0
        for writer in WRITERS:
            start, worked = time.perf_counter(), time.process_time()
            files = dict(writer.render(drawing, options))
            took, busy = time.perf_counter() - start, time.process_time() - worked
            total, work = total + took, work + busy
            print(f"{writer.name:>24} {took:>7.2f} {busy:>7.2f} {sum(map(len, files.values())) / 1024:>9.0f}")
        print(f"{'all':>24} {total:>7.2f} {work:>7.2f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--outlines", type=int, default=40)
    parser.add_argument("--things", type=int, default=60)
    asked = parser.parse_args()
    contours(asked.outlines)
    written(asked.things)


if __name__ == "__main__":
    main()
