"""Seats judged apart from the way they are made: on a raster, and against closed forms."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.ndimage import distance_transform_edt

from insertgen.geometry.offset import grown
from insertgen.geometry.region import (
    Region,
    area,
    box,
    disc,
    fault,
    from_outline,
    minus,
    pieces,
    stadium,
    union,
    without_holes,
)
from insertgen.model.figures import Circle, Outline
from insertgen.model.job import Cutter, Cutting, DrillSize
from insertgen.model.seat import Bore
from insertgen.rules import drill_sizes
from insertgen.seats.bores import bore_for
from insertgen.seats.opening import opening_for
from insertgen.seats.seat import FIT_TOLERANCE, seat_for
from tests.build_values import pocket_item, shank_item, tray_of

QUARTER_INCH = 3.175


def raster(region: Region, frame: tuple[float, float, float, float], step: float) -> np.ndarray:
    """Pixels of a region, by points of a grid: nothing shared with the code under test."""
    x0, y0, x1, y1 = frame
    xs, ys = np.meshgrid(np.arange(x0, x1, step), np.arange(y0, y1, step))
    shapely.prepare(region)
    return shapely.contains_xy(region, xs, ys)


def unreached(opening: Region, radius: float, step: float = 0.1) -> float:
    """Area that a disc of ``radius`` cannot cover without leaving the opening, mm2, by distance transforms."""
    x0, y0, x1, y1 = opening.bounds
    inside = raster(opening, (x0 - 1, y0 - 1, x1 + 1, y1 + 1), step)
    centres = distance_transform_edt(inside) * step >= radius - step
    reached = distance_transform_edt(~centres) * step <= radius
    return float((inside & ~reached).sum()) * step * step


FIGURES = {
    "square": box(0, 0, 50, 50),
    "L": union([box(0, 0, 60, 20), box(0, 0, 20, 60)]),
    "thin rod": box(0, 0, 100, 3),
    "bent rod": union([box(0, 0, 100, 3), box(0, 0, 3, 80)]),
    "two with a thin neck": union([box(0, 0, 30, 30), box(28, 14, 72, 16), box(70, 0, 100, 30)]),
    "sharp wedge": from_outline(Outline(((0, 0), (60, 0), (0, 16)))),
    "ring": minus(disc((0, 0), 60), disc((0, 0), 40)),
    "slot": stadium(80, 12),
}


@pytest.mark.parametrize("name", FIGURES)
@pytest.mark.parametrize("cutter", [3.175, 6.35, 12.7])
def test_the_item_drops_in_and_the_cutter_reaches_every_point(name: str, cutter: float) -> None:
    item, r = FIGURES[name], cutter / 2
    opening = opening_for(item, clearance=1.0, radius=r, least_gap=0.1)
    assert len(pieces(opening)) == 1
    assert area(minus(grown(without_holes(item), 0.1), opening)) < 1e-3
    assert unreached(opening, r) < 0.05 * opening.length * 0.1 + 0.3  # raster: half a pixel along the wall


def test_no_wood_is_lost_where_no_relief_is_needed() -> None:
    # 90 degrees, c = 1, r = 3.175 leaves 0.099: a least gap of 0.09 needs no relief
    opening = opening_for(box(0, 0, 50, 50), clearance=1.0, radius=QUARTER_INCH, least_gap=0.09)
    plain = 52 * 52 - (4 - math.pi) * QUARTER_INCH**2
    assert area(opening) == pytest.approx(plain, abs=0.02)


def test_a_relief_costs_no_more_than_a_disc_in_the_corner() -> None:
    # a disc through the corner with its centre on the bisector adds r^2 (pi/2 - 1) beyond the sharp
    # corner at 90 degrees at most (half of it lies outside); ours goes to the least gap only
    r = QUARTER_INCH
    with_relief = opening_for(box(0, 0, 50, 50), clearance=0.5, radius=r, least_gap=0.4)
    plain = 51 * 51 - (4 - math.pi) * r * r
    gain = (area(with_relief) - plain) / 4
    assert 0 < gain < r * r * (math.pi / 2 - 1) + (1 - math.pi / 4) * r * r


def test_a_channel_is_widened_to_the_cutter_and_hardly_more() -> None:
    opening = opening_for(box(0, 0, 100, 3), clearance=1.0, radius=QUARTER_INCH, least_gap=0.1)
    x0, y0, x1, y1 = opening.bounds
    assert y1 - y0 == pytest.approx(6.35, abs=0.2)
    assert x1 - x0 <= 100 + 6.35 + 1


spokes = st.lists(st.tuples(st.floats(4, 60), st.floats(0.3, 1.5)), min_size=4, max_size=16)


@given(spokes, st.sampled_from([1.5875, 3.175, 6.35]), st.floats(0.3, 2.5))
@settings(max_examples=60, deadline=None)
def test_any_outline_gets_a_seat_that_holds_it(points: list[tuple[float, float]], r: float, clearance: float) -> None:
    turns = np.cumsum([turn for _, turn in points])
    around = turns / turns[-1] * 2 * math.pi
    ring = tuple((float(d * math.cos(a)), float(d * math.sin(a))) for (d, _), a in zip(points, around, strict=True))
    assume(fault(Outline(ring)) is None)
    xs = [x for x, _ in ring]
    assume(max(xs) - min(xs) > 5)
    # whether a thing so small rattles in a seat for a cutter so large is judged elsewhere
    loose = dataclasses.replace(tray_of(cutter=2 * r), shift=1000.0)
    seat = seat_for(pocket_item(Outline(ring), clearance=clearance, least_gap=0.1), loose)
    assert seat.least_gap is not None
    assert seat.unreached_area is not None
    # what the seat says of itself may fall short, but then it says so
    assert seat.least_gap > 0.08
    assert seat.unreached_area < 0.5


def test_a_disc_gets_a_circle() -> None:
    seat = seat_for(pocket_item(disc_diameter=40.0, clearance=1.0), tray_of())
    assert seat.cuts[0].path == Circle((0.0, 0.0), 42.0)


def test_expected_error_is_added_to_the_clearance() -> None:
    outline = Outline(((-20, -10), (20, -10), (20, 10), (-20, 10)))
    seat = seat_for(pocket_item(outline, clearance=1.0, expected_error=0.4), tray_of())
    assert seat.clearance == pytest.approx(1.4)
    x0, y0, x1, y1 = from_outline(seat.opening[0]).bounds
    # grown by the tolerance, then fitted within it, on both sides: never smaller
    for found, due in ((x1 - x0, 42.8), (y1 - y0, 22.8)):
        assert due - 1e-6 <= found <= due + 4 * FIT_TOLERANCE


def test_never_silently_through() -> None:
    seat = seat_for(pocket_item(disc_diameter=40.0, depth=17.0), tray_of(thickness=18.0, floor=3.0))
    assert seat.cuts[0].depth == 15.0
    assert not seat.cuts[0].through


def cutting(machine: str, cutter: float = 6.35, drills: tuple[DrillSize, ...] = drill_sizes()) -> Cutting:
    return Cutting(machine, Cutter(cutter), drills)


def test_bores_are_milled_from_cutter_plus_1_mm_on() -> None:
    assert bore_for(shank_item(7.35), cutting("router")) == Bore(7.35, 7.35, None, "shank", "")
    assert bore_for(shank_item(7.34), cutting("router")).drill is not None
    assert bore_for(shank_item(13.0), cutting("hand")).drill is not None


def test_the_drill_that_clears() -> None:
    owned = tuple(drill for drill in drill_sizes() if drill.name in {"1/4 in", "17/64 in", "3/8 in"})
    bore = bore_for(shank_item(6.6), cutting("hand", drills=owned))
    assert bore.drill is not None
    assert bore.drill.name == "17/64 in"
    loose = bore_for(shank_item(6.9), cutting("hand", drills=owned))
    assert "loose" in loose.note
    none = bore_for(shank_item(12.0), cutting("hand", drills=owned))
    assert none.drill is None
    assert "no owned drill" in none.note
