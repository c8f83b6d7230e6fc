"""Every seat of the demo and of all starters on a raster of 0.05 mm, written apart from the code it judges.

From the paths of the cuts as they will be written: bulges flattened here from
their definition (tan of a quarter of the arc's angle), pixels by crossings of a
scan line, distances by an exact Euclidean transform. Nothing of
insertgen.geometry.

What is allowed, and why
------------------------
A pixel stands for its centre, so no point is further than half a pixel's
diagonal from one (`HALF` = 0.0354 mm). A cutter's centre of the true opening has
a pixel centre within `HALF`, whose distance to the wood is measured no more than
`HALF` too small; so a cutter `HALF` smaller, at pixel centres, reaching `HALF`
further, must cover everything. Nothing is allowed for the fit of the contours:
they are opened with more than the cutter. For the item nothing is allowed but `SAG`,
by which arcs are flattened: pixels of wood within least gap + `HALF` of its
pixels are measured exactly to its sides.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt

from insertgen.files.find import shape_finder
from insertgen.files.job import read_job
from insertgen.items.resolve import items_of
from insertgen.model.figures import Circle, Contour
from insertgen.model.job import Tray
from insertgen.model.seat import Seat
from insertgen.model.shape import Store
from insertgen.seats.seat import seat_for

ROOT = Path(__file__).parent.parent
JOBS = [ROOT / "out" / "demo-shop.toml", *sorted((ROOT / "insertgen" / "starters").glob("*.toml"))]

PIXEL = 0.05
HALF = PIXEL / math.sqrt(2)

#: Arcs are flattened within this, a hundredth of a pixel.
SAG = 0.0005

#: How far a disc rolled along a contour may stick out where two fitted pieces meet at a slight angle: each follows
#: what is meant within 0.02 to either side (seats.seat.FIT_TOLERANCE).
BITE = 0.04

Ring = np.ndarray


def ring_of(path: Contour | Circle) -> Ring:
    """Points along a path, arcs by chords within SAG."""
    if isinstance(path, Circle):
        half = path.diameter / 2
        return ring_of(Contour(((path.centre[0] + half, path.centre[1], 1.0), (path.centre[0] - half, path.centre[1], 1.0))))
    points: list[tuple[float, float]] = []
    for (x0, y0, bulge), (x1, y1, _) in itertools.pairwise((*path.vertices, path.vertices[0])):
        points.append((x0, y0))
        if bulge:
            chord, angle = math.hypot(x1 - x0, y1 - y0), 4 * math.atan(bulge)
            radius = chord / (2 * abs(math.sin(angle / 2)))
            # leaving the start half the angle to the right of the chord, turning left at an even rate
            heading = math.atan2(y1 - y0, x1 - x0) - angle / 2
            count = math.ceil(abs(angle) / (2 * math.acos(1 - min(SAG / radius, 1.0))))
            for k in range(1, count):
                part = angle * k / count
                reach = 2 * radius * abs(math.sin(part / 2))
                points.append((x0 + reach * math.cos(heading + part / 2), y0 + reach * math.sin(heading + part / 2)))
    return np.array(points)


@dataclass(frozen=True)
class Frame:
    """A grid of pixel centres about a ring, with a rim of wood."""

    x0: float
    y0: float
    rows: int
    columns: int

    @classmethod
    def about(cls, ring: Ring, rim: float) -> Frame:
        (x0, y0), (x1, y1) = ring.min(axis=0) - rim, ring.max(axis=0) + rim
        return cls(float(x0), float(y0), math.ceil((y1 - y0) / PIXEL), math.ceil((x1 - x0) / PIXEL))

    def fill(self, ring: Ring) -> np.ndarray:
        """Pixels whose centre is inside a ring: an odd number of crossings to their left."""
        x, y = (ring[:, 0] - self.x0) / PIXEL, (ring[:, 1] - self.y0) / PIXEL
        toggles = np.zeros((self.rows, self.columns + 1), np.uint8)
        for ax, ay, bx, by in zip(x, y, np.roll(x, -1), np.roll(y, -1), strict=True):
            low, high = (ay, by) if ay < by else (by, ay)
            rows = np.arange(max(math.ceil(low), 0), min(math.ceil(high), self.rows))
            if len(rows):
                at = np.ceil(ax + (rows - ay) * (bx - ax) / (by - ay)).astype(int)
                inside = at <= self.columns
                toggles[rows[inside], np.maximum(at[inside], 0)] ^= 1
        return np.bitwise_xor.accumulate(toggles, axis=1)[:, : self.columns]

    def points(self, pixels: np.ndarray) -> np.ndarray:
        rows, columns = np.nonzero(pixels)
        return np.column_stack([self.x0 + columns * PIXEL, self.y0 + rows * PIXEL])


def to_nearest(pixels: np.ndarray) -> np.ndarray:
    """Distance in mm of every pixel to the nearest that is set."""
    if not pixels.any():
        return np.full(pixels.shape, np.inf, np.float32)
    found: np.ndarray = cv2.distanceTransform((~pixels.astype(bool)).astype(np.uint8), cv2.DIST_L2, cv2.DIST_MASK_PRECISE)
    return found * np.float32(PIXEL)


def to_sides(points: np.ndarray, ring: Ring) -> np.ndarray:
    """Exact distance of a few points to the sides of a ring."""
    start, way = ring, np.roll(ring, -1, axis=0) - ring
    rel = points[:, None, :] - start[None]
    along = np.clip((rel * way).sum(axis=2) / np.maximum((way * way).sum(axis=1), 1e-18), 0, 1)
    return np.hypot(*np.moveaxis(rel - along[..., None] * way, 2, 0)).min(axis=1)


def unreached(opening: np.ndarray, radius: float) -> float:
    """Area, mm2, that no disc inside the opening covers, tolerances as said above."""
    centres = to_nearest(opening == 0) >= radius - HALF
    left = (opening > 0) & (to_nearest(centres) > radius + HALF)
    return float(np.count_nonzero(left)) * PIXEL**2


def deepest_bite(opening: np.ndarray, frame: Frame, ring: Ring, radius: float) -> float:
    """How far a disc rolled along the inside of a contour sticks out of the opening, at most; only half a pixel's diagonal sure."""
    run = np.roll(ring, -1, axis=0) - ring
    length = np.hypot(*run.T)
    turning = np.sign((ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1]).sum())
    normal = turning * np.column_stack([-run[:, 1], run[:, 0]]) / np.maximum(length, 1e-12)[:, None]
    counts = np.maximum(1, np.ceil(length / 0.25)).astype(int)
    share = np.concatenate([(np.arange(count) + 0.5) / count for count in counts])
    which = np.repeat(np.arange(len(ring)), counts)
    centres = ring[which] + share[:, None] * run[which] + radius * normal[which]
    at = np.rint((centres - (frame.x0, frame.y0)) / PIXEL).astype(int)
    rows, columns = np.clip(at[:, 1], 0, frame.rows - 1), np.clip(at[:, 0], 0, frame.columns - 1)
    return float(radius - to_nearest(opening == 0)[rows, columns].min())


@cache
def seats_of(path: Path) -> tuple[tuple[Tray, Seat], ...]:
    job = read_job(path.read_text(encoding="utf-8"), str(path), shape_finder(path.parent))
    found = []
    for tray in job.trays:
        whole = replace(tray, items=items_of(tray))
        found += [(whole, seat_for(item, whole)) for item in whole.items]
    return tuple(found)


def cutter_radius(tray: Tray, seat: Seat) -> float:
    """0 where a beam or a saw turns any corner, or a drill makes the hole."""
    if tray.cutting.machine == "laser" or any(cut.bore is not None and cut.bore.drill for cut in seat.cuts):
        return 0.0
    if tray.cutting.machine == "hand" and tray.cutting.template is None and all(cut.through for cut in seat.cuts):
        return 0.0
    slot = seat.item.store is Store.SLOT
    return (tray.cutting.cutter if slot else tray.cutting.pocket_cutter).diameter / 2


def outlines_of(seat: Seat) -> list[tuple[Ring, float]]:
    """What goes into each cut, its outer ring, and the gap due round it."""
    item = seat.item
    if item.steps:
        return [(np.array(step.outline.outer), item.least_gap) for step in item.steps]
    if item.posts:
        return []
    # half the slack: it is meant on the diameter; a peg is glued into a bore of its own size
    return [(np.array(item.outline.outer), 0.0 if item.use == "peg" else item.slack / 2)] * len(seat.cuts)


def faults(ring: Ring, item: Ring | None, gap: float, radius: float) -> list[str]:
    """All that the raster shows of one cut."""
    frame = Frame.about(ring, 1.0)
    opening = frame.fill(ring)
    said = []
    if item is not None:
        near = (opening == 0) & (to_nearest(frame.fill(item)) < gap + HALF)
        wood = frame.points(near)
        inside = frame.fill(item)[near] > 0
        away = to_sides(wood, item) * np.where(inside, -1, 1) if len(wood) else np.zeros(0)
        if (short := away < gap - SAG).any():
            said.append(f"{np.count_nonzero(short)} points of the item grown by {gap:.3f} lie in the wood")
    if radius:
        if left := unreached(opening, radius):
            said.append(f"{left:.3f} mm2 out of the cutter's reach")
        if (bite := deepest_bite(opening, frame, ring, radius)) > HALF + BITE:
            said.append(f"the cutter bites {bite:.3f} into the wood")
    return said


@cache
def _judged(ring: tuple[tuple[float, float], ...], item: tuple[tuple[float, float], ...] | None, gap: float, radius: float) -> tuple[str, ...]:
    return tuple(faults(np.array(ring), None if item is None else np.array(item), gap, radius))


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_seats_on_a_raster(path: Path) -> None:
    """No point of the item grown by its least gap in the wood, no point of the opening unreached, no bite beyond the contour."""
    said, judged = [], 0
    for tray, seat in seats_of(path):
        due = outlines_of(seat) or [(None, 0.0)] * len(seat.cuts)
        assert len(due) == len(seat.cuts)
        for cut, (item, gap) in zip(seat.cuts, due, strict=True):
            ring = tuple(map(tuple, ring_of(cut.path).round(9).tolist()))
            solid = None if item is None else tuple(map(tuple, item.tolist()))
            said += [f"{seat.item.id} {seat.item.label}: {fault}" for fault in _judged(ring, solid, gap, cutter_radius(tray, seat))]
            judged += 1
    assert judged
    assert not said, "\n".join(said)


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_posts_stand_clear_of_their_item(path: Path) -> None:
    for _, seat in seats_of(path):
        item = np.array(seat.item.outline.outer)
        for post in seat.item.posts:
            turn = np.linspace(0, 2 * math.pi, 360, endpoint=False)
            rim = np.array(post.at) + post.stock.diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)])
            assert to_sides(rim, item).min() >= seat.item.least_gap - 1e-4, seat.item.label
            frame = Frame.about(item, 1.0)
            row, column = round((post.at[1] - frame.y0) / PIXEL), round((post.at[0] - frame.x0) / PIXEL)
            if 0 <= row < frame.rows and 0 <= column < frame.columns:
                holes = sum(frame.fill(np.array(hole)).astype(int) for hole in seat.item.outline.holes)
                assert frame.fill(item)[row, column] == 0 or np.any(holes), seat.item.label


# ---- the judge itself, on figures that are known to be wrong or right ---------------------------


def square(half: float) -> Ring:
    return np.array([(-half, -half), (half, -half), (half, half), (-half, half)])


def test_the_transform_is_euclidean() -> None:
    pixels = np.random.default_rng(4).random((120, 90)) < 0.01
    assert to_nearest(pixels) == pytest.approx(distance_transform_edt(~pixels) * PIXEL, abs=1e-4)


def test_areas_by_scan_lines() -> None:
    assert Frame.about(square(10), 1.0).fill(square(10)).sum() * PIXEL**2 == pytest.approx(400, rel=0.005)
    half = ring_of(Contour(((5.0, 0.0, 1.0), (-5.0, 0.0, 0.0))))  # counter-clockwise from right to left: over the top
    assert half[:, 1].max() == pytest.approx(5, abs=SAG)
    assert half[:, 1].min() == pytest.approx(0, abs=1e-9)
    assert Frame.about(half, 1.0).fill(half).sum() * PIXEL**2 == pytest.approx(math.pi * 12.5, rel=0.01)


def test_a_sharp_corner_is_unreached_by_what_the_closed_form_says() -> None:
    # (4 - pi) r^2 of a square, with the tolerances: discs of r - HALF that reach r + HALF
    r, lost = 3.175, (4 - math.pi) * 3.175**2
    found = unreached(Frame.about(square(10), 1.0).fill(square(10)), r)
    assert 0.8 * lost < found < lost
    assert faults(square(10), None, 0.0, r)


def test_a_rounded_corner_is_reached_and_one_a_tenth_tighter_is_not() -> None:
    def rounded(radius: float) -> Ring:
        bulge, far = math.tan(math.pi / 8), 10 - radius
        return ring_of(Contour((
            (-far, -10, 0.0), (far, -10, bulge), (10, -far, 0.0), (10, far, bulge),
            (far, 10, 0.0), (-far, 10, bulge), (-10, far, 0.0), (-10, -far, bulge),
        )))  # fmt: skip

    assert faults(rounded(3.2), square(8.9), 0.1, 3.175) == []
    assert faults(rounded(2.8), None, 0.0, 3.175)


@pytest.mark.parametrize(("half", "fits"), [(8.999, True), (9.001, False)])
def test_a_gap_is_judged_to_a_hundredth_of_a_pixel(half: float, fits: bool) -> None:
    # pixel centres of wood begin within a pixel of the wall: the wall is set on one
    wall = square(10 - 1e-7)
    assert (faults(wall, square(half), 1.0, 0.0) == []) is fits
