"""Seats and templates against closed forms: corners, reliefs, slots, bushes.

Elementary geometry, worked out beside each check. What a disc cannot reach of a
square, and of a corner of other angles, stands in tests/test_geometry.py for the
bare offsets; here it is measured on the contours that a seat is cut by.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from insertgen.geometry.arcs import LINE_TOLERANCE
from insertgen.model.figures import Circle, Contour, Outline
from insertgen.model.item import Item, Step
from insertgen.model.job import Cutter, Template
from insertgen.model.shape import Rectangle, Shape, Store
from insertgen.seats.opening import opening_for
from insertgen.seats.seat import FIT_TOLERANCE, seat_for
from insertgen.sheets.template import TOLERANCE, template_opening
from tests.build_values import pocket_item, tray_of
from tests.seat_judge import opened, path_region

INCH = 25.4


def wedge(angle_deg: float, arm: float = 80.0) -> Outline:
    """A rhombus with its tip of ``angle_deg`` at the origin, its axis along x."""
    half = math.radians(angle_deg / 2)
    x, y = arm * math.cos(half), arm * math.sin(half)
    return Outline(((0.0, 0.0), (x, -y), (2 * x, 0.0), (x, y)))


def pocket(outline: Outline, *, cutter: float, clearance: float, least_gap: float) -> Polygon:
    """The region cut for a thing without finger recesses."""
    item = pocket_item(outline, clearance=clearance, least_gap=least_gap, grips=())
    return path_region(seat_for(item, tray_of(cutter=cutter)).cuts[0].path)


# ---- corners ----------------------------------------------------------------------------------

CORNERS = [
    (angle, clearance, cutter)
    for angle in (40, 60, 75, 90, 110, 140)
    for clearance in (0.5, 1.0, 2.0)
    for cutter in (3.175, 6.35, 12.7)
]


def gap_at_tip(angle_deg: float, clearance: float, radius: float) -> float:
    """r - (r - c) / sin(t/2): the cutter's centre stands (r - c) / sin(t/2) before the tip on the bisector; c if it is no larger than c."""
    return min(clearance, radius - (radius - clearance) / math.sin(math.radians(angle_deg / 2)))


@pytest.mark.parametrize(("angle_deg", "clearance", "cutter"), CORNERS)
def test_gap_before_a_corner(angle_deg: float, clearance: float, cutter: float) -> None:
    """Measured on the seat's contour: the closed form where it leaves the least gap, else the least gap by relief."""
    least = 0.05
    region = pocket(wedge(angle_deg), cutter=cutter, clearance=clearance, least_gap=least)
    tip = float(shapely.distance(shapely.Point(0, 0), region.boundary))
    assert region.contains(shapely.Point(0, 0))
    # the contour is opened with 2 FIT_TOLERANCE more than the cutter, grown by one and fitted within one
    wide = cutter / 2 + 2 * FIT_TOLERANCE
    plain = gap_at_tip(angle_deg, clearance, wide)
    if plain >= least:
        # the tip of wood between two fitted pieces may lie off by the tolerance over sin(t/2)
        assert plain - 1e-3 <= tip <= plain + 2 * FIT_TOLERANCE / math.sin(math.radians(angle_deg / 2)) + 1e-3
    else:
        assert least - 1e-3 <= tip <= least + 0.1


def test_a_tenth_of_a_millimetre_in_a_square_corner() -> None:
    """t = 90 degrees, c = 1, r = 3.175: 3.175 - 2.175 sqrt(2) = 0.0991."""
    assert gap_at_tip(90, 1.0, 3.175) == pytest.approx(0.0991, abs=5e-5)
    region = pocket(wedge(90), cutter=6.35, clearance=1.0, least_gap=0.05)
    assert shapely.distance(shapely.Point(0, 0), region.boundary) == pytest.approx(0.0991, abs=2 * FIT_TOLERANCE)


@pytest.mark.parametrize("cutter", [3.175, 6.35])
def test_a_pocket_loses_its_square_corners_to_the_cutter(cutter: float) -> None:
    """A square opened by a disc loses (4 - pi) r^2; a cutter larger than the clearance finds the square of side a + 2 c.

    (Grown, its corners are arcs of radius c, which lie beyond those of the cutter.) The contour is opened with
    2 FIT_TOLERANCE more than the cutter and grown by one before it is fitted.
    """
    a, c = 60.0, 1.0
    region = pocket(Outline(((-30, -30), (30, -30), (30, 30), (-30, 30))), cutter=cutter, clearance=c, least_gap=0.0)
    x0, y0, x1, y1 = region.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((a + 2 * c + 2 * FIT_TOLERANCE,) * 2, abs=0.005)
    lost = (x1 - x0) * (y1 - y0) - region.area
    # four quarter arcs, each within the tolerance of what is meant, and four lines within theirs
    r = cutter / 2 + 3 * FIT_TOLERANCE
    assert lost == pytest.approx((4 - math.pi) * r**2, abs=2 * math.pi * r * FIT_TOLERANCE + 4 * a * LINE_TOLERANCE / 2)


# ---- reliefs ----------------------------------------------------------------------------------


def test_relief_gain_of_a_disc_through_a_corner() -> None:
    """A disc of r through a square corner, its centre on the bisector, adds r^2 (pi/2 - 1) beyond the corner.

    Its two circular segments over the legs: chords of length r sqrt(2), each r^2 (pi/4 - 1/2).
    """
    r = 3.175
    square = shapely.box(0, 0, 100, 100)
    centre = shapely.Point(r / math.sqrt(2), r / math.sqrt(2))
    gain = centre.buffer(r, quad_segs=512).difference(square).area
    assert gain == pytest.approx(r * r * (math.pi / 2 - 1), rel=1e-4)


def relief_area(radius: float, reach: float) -> float:
    """What a cutter cuts that stands round a square corner and is sent ``reach`` further into it, along the bisector.

    A disc on a straight way covers the convex hull of its two ends.
    """
    at = np.linspace(0, 2 * math.pi, 4001)
    start = np.column_stack([np.cos(at), np.sin(at)]) * radius + radius
    hull = Polygon(start).union(Polygon(start - reach / math.sqrt(2))).convex_hull
    return float(hull.difference(opened(shapely.box(0, 0, 20 * radius, 20 * radius), radius)).area)


@pytest.mark.parametrize(
    ("clearance", "least_gap", "cutter"), [(0.5, 0.4, 6.35), (1.0, 0.9, 6.35), (1.0, 0.2, 12.7), (0.3, 0.1, 3.175)]
)
def test_what_the_program_relieves(clearance: float, least_gap: float, cutter: float) -> None:
    """The program sends the cutter along the bisector just so far that the least gap is left all round the item's corner.

    The item grown by the least gap g ends in an arc of that radius there, g beyond its corner; so the
    cutter's edge goes on by g less the gap of the closed form. A disc through the pocket's own corner, which shops
    cut by hand, goes on by r (sqrt(2) - 1) and adds r^2 (pi/2 - 1) beyond the corner besides the fillet, (1 - pi/4) r^2.
    """
    r = cutter / 2
    item = shapely.box(0, 0, 60, 60)
    reach = least_gap - gap_at_tip(90, clearance, r)
    assert 0 < reach < r * (math.sqrt(2) - 1)
    found = opening_for(item, clearance=clearance, radius=r, least_gap=least_gap).area
    gain = (found - ((60 + 2 * clearance) ** 2 - (4 - math.pi) * r * r)) / 4
    # sent on by a hundredth more than is needed (seats.opening.SPARE): so much, times the disc's width, at most
    assert -0.01 < gain - relief_area(r, reach) < 0.01 * 2 * r + 0.01
    through_the_corner = relief_area(r, r * (math.sqrt(2) - 1))
    assert through_the_corner == pytest.approx(_disc_through_the_corner(r), rel=0.15)
    assert gain < through_the_corner


def _disc_through_the_corner(r: float) -> float:
    """r^2 (pi/2 - 1) outside the walls, and the fillet within them, (1 - pi/4) r^2: all of it, as the disc covers its tip."""
    return r * r * (math.pi / 2 - 1) + r * r * (1 - math.pi / 4)


# ---- slots ------------------------------------------------------------------------------------


def slot_item(length: float, width: float, clearance: float) -> Item:
    outline = Outline(((-length / 2, -width / 2), (length / 2, -width / 2), (length / 2, width / 2), (-length / 2, width / 2)))
    shape = Shape("blade", Rectangle(length, width))
    item = pocket_item(outline, clearance=clearance, least_gap=0.05, depth=18.0, through=True, grips=())
    return replace(item, store=Store.SLOT, shape=shape, steps=(Step(outline, 18.0, True),))


@given(st.floats(40, 200), st.floats(1, 12), st.floats(0.3, 2.5))
@settings(max_examples=40, deadline=None)
def test_slot_ends(length: float, width: float, clearance: float) -> None:
    """A corner (l/2, w/2) keeps c in a round end of radius R about (s, 0) if (l/2 - s)^2 + (w/2)^2 = (R - c)^2."""
    tray = tray_of(cutter=6.35)
    seat = seat_for(slot_item(length, width, clearance), tray)
    ends = seat.schedule
    assert len(ends) == 2
    radius = ends[0].path.diameter / 2  # type: ignore[union-attr]
    assert radius >= max(width / 2 + clearance, 3.175) - 1e-9
    s = length / 2 - math.sqrt(max((radius - clearance) ** 2 - (width / 2) ** 2, 0.0))
    places = sorted(cut.path.centre[0] for cut in ends)  # type: ignore[union-attr]
    assert places == pytest.approx([-s, s], abs=1e-6)
    region = path_region(seat.cuts[0].path)
    # stadium: 4 s R + pi R^2
    assert region.area == pytest.approx(4 * s * radius + math.pi * radius**2, rel=1e-3)
    corners = shapely.points([(length / 2, width / 2), (-length / 2, width / 2)])
    assert shapely.distance(corners, region.boundary).tolist() == pytest.approx([clearance, clearance], abs=2e-3)


def test_a_slot_as_wide_as_its_end_bores_reaches_the_clearance_beyond_the_item() -> None:
    """w + 2 c = 2 R for a blade milled to size: s = l/2 - sqrt((w/2)^2 - (w/2)^2) = l/2, so it is l + 2 R long overall."""
    seat = seat_for(slot_item(100.0, 8.0, 1.0), tray_of(cutter=6.35))
    x0, y0, x1, y1 = path_region(seat.cuts[0].path).bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((110.0, 10.0), abs=2e-3)


# ---- router templates -------------------------------------------------------------------------

BUSH = Template("bush", 5 / 8 * INCH, Cutter(1 / 4 * INCH), 6.35)


def test_the_offset_of_a_five_eighths_bush_is_three_sixteenths() -> None:
    assert BUSH.offset == pytest.approx(3 / 16 * INCH, abs=1e-12)
    circle = template_opening(Circle((10.0, 5.0), 2 * INCH), BUSH)
    assert circle == Circle((10.0, 5.0), pytest.approx(2 * INCH + 3 / 8 * INCH))  # type: ignore[arg-type]
    straight = template_opening(Contour(((0, 0, 0.0), (100, 0, 0.0), (100, 60, 0.0), (0, 60, 0.0))), BUSH)
    x0, y0, x1, y1 = path_region(straight).bounds
    off = 3 / 16 * INCH
    assert (x0, y0, x1, y1) == pytest.approx((-off, -off, 100 + off, 60 + off), abs=2 * TOLERANCE)


def routed(opening: Contour | Circle, template: Template) -> shapely.Geometry:
    """What the cutter cuts when the guide runs all over a template's opening."""
    way = path_region(opening).buffer(-template.diameter / 2, quad_segs=64)
    return way.buffer(template.cutter.diameter / 2, quad_segs=64)


TEMPLATES = [
    BUSH,
    Template("bush", 10.0, Cutter(8.0), 6.0),
    Template("bearing", 12.7, Cutter(12.7), 12.0),
    Template("bush", 30.0, Cutter(6.0), 6.0),
]


templates = pytest.mark.parametrize("template", TEMPLATES, ids=lambda t: f"{t.guide}-{t.diameter:g}-{t.cutter.diameter:g}")


@templates
@pytest.mark.parametrize("angle_deg", [30, 60, 90, 120])
def test_a_template_makes_all_of_the_pocket(template: Template, angle_deg: float) -> None:
    """(opening eroded by bush/2) dilated by cutter/2 covers the pocket; beyond it lies what `corner_excess` says, and the tolerance.

    A point that far down the axis of a tip of wood is nearer to its two walls, by sin(t/2).
    """
    item = pocket_item(_notched(angle_deg), clearance=1.0, grips=())
    path = seat_for(item, tray_of(cutter=template.cutter.diameter)).cuts[0].path
    wanted, cut = path_region(path), routed(template_opening(path, template), template)
    assert _depth(wanted.difference(cut), cut) < 0.001
    taken = template.offset * (1 - math.sin(math.radians(angle_deg / 2)))
    assert _depth(cut.difference(wanted), wanted) <= taken + 2 * TOLERANCE + 0.005


def corner_excess(template: Template, angle_deg: float) -> float:
    """How much shorter a tip of wood of angle t comes out: (bush - cutter)/2 (1/sin(t/2) - 1).

    The cutter's way round the tip is an arc of cutter/2; a bush that has to follow the way grown by bush/2 can only
    follow an arc of bush/2. Both arcs touch the same two lines, whose meeting is r/sin(t/2) from an arc's centre.
    """
    return template.offset * (1 / math.sin(math.radians(angle_deg / 2)) - 1)


@templates
@pytest.mark.parametrize("angle_deg", [60, 90, 120, 150])
def test_a_tip_of_wood_comes_out_round(template: Template, angle_deg: float) -> None:
    path = Contour(tuple((x, y, 0.0) for x, y in _notched(angle_deg).outer))
    cut = routed(template_opening(path, template), template)
    axis = shapely.LineString([(0.0, -69.0), (0.0, -1.0)]).difference(cut)
    top = min(y for _, y in shapely.get_coordinates(axis))  # of the wood, from the notch's mouth down
    short = top + 40.0
    due = corner_excess(template, angle_deg)
    assert due - 0.005 <= short <= due + 2 * TOLERANCE / math.sin(math.radians(angle_deg / 2)) + 0.005


def _notched(angle_deg: float) -> Outline:
    """A plate with a notch of ``angle_deg`` in its top: wood stands in the notch as a tip of that angle."""
    half = math.tan(math.radians(angle_deg / 2)) * 40
    top = max(half + 30, 60)
    return Outline(((-top, -70), (top, -70), (top, 0), (half, 0), (0, -40), (-half, 0), (-top, 0)))


def _depth(out: shapely.Geometry, core: shapely.Geometry) -> float:
    parts = [part for part in getattr(out, "geoms", [out]) if part.area > 1e-6]
    if not parts:
        return 0.0
    return float(shapely.distance(shapely.points(shapely.get_coordinates(shapely.union_all(parts))), core).max())
