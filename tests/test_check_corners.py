"""Seats sawn out of a blank's corners and edges, on outer contours drawn by hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely

from insertgen.check.tray import check_tray
from insertgen.model.figures import Contour, Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.shape import Part, Store
from tests.build_values import (
    box_outline,
    drawn,
    placed,
    pocket_item,
    polygon,
    rounded,
    schedule,
    seat_item,
    tray_of,
)

# A blank of 200 x 150 mm, half a millimetre of play to the tray's walls all round, sawn by hand. A pad of 60 x 40 mm
# in its front left corner keeps 1 mm from those walls: its corner is at 0.5, 0.5; the wood begins 1 mm beyond it.
PAD = Pose(30.5, 20.5)
CUT = (61.5, 41.5)
OUTSIDE = "OUTSIDE_THROUGH"


def pad(tag: str = "01") -> Item:
    outline = box_outline(-30, -20, 30, 20)
    return seat_item(Store.CORNER, (Part(outline),), outline, id=f"test-tray/{tag}", tag=tag, label="pad")


def tray(*items: Item, machine: str = "hand") -> Tray:
    return tray_of(*(items or (pad(),)), machine=machine, width=200.0, depth=150.0)


def ell(x: float = CUT[0], y: float = CUT[1]) -> Contour:
    """The blank less a rectangle in its front left corner."""
    return polygon((x, 0), (200, 0), (200, 150), (0, 150), (0, y), (x, y))


def judged(
    outside: Sequence[Contour], one: Tray | None = None, poses: Sequence[Pose] = (PAD,), *, layer: str = OUTSIDE, **cuts: list[Contour]
) -> tuple[Finding, ...]:
    one = one or tray()
    files = {"sheet-1.dxf": drawn(one, {**cuts, layer: list(outside)}, edge=layer)}
    return check_tray(one, placed(one, *poses), files, schedule())


def short(findings: tuple[Finding, ...]) -> list[tuple[str, str | None]]:
    return [(one.code, one.placement and one.placement[-2:]) for one in findings]


def test_a_corner_sawn_as_due_is_clean() -> None:
    assert judged([ell()]) == ()


def test_a_blank_without_its_corner_sawn() -> None:
    found = judged([polygon((0, 0), (200, 0), (200, 150), (0, 150))])
    assert [(one.code, one.placement, one.at) for one in found] == [("cut-missing", "test-tray/01", (30.5, 20.5))]


@pytest.mark.parametrize(("x", "y", "gap", "limit"), [
    (60.55, CUT[1], 0.05, 0.1),  # nearer than the least gap
    (58.5, CUT[1], -2.0, 0.1),  # wood in the pad
    (CUT[0], 41.0, 0.5, 1.0),  # the gap asked for is not there, the least is
])  # fmt: skip
def test_wood_left_too_near_the_thing(x: float, y: float, gap: float, limit: float) -> None:
    found = judged([ell(x, y)])
    assert short(found) == [("item-bound", "01")]
    assert found[0].figure == pytest.approx(gap, abs=0.01)
    assert found[0].limit == pytest.approx(limit)
    assert found[0].at is not None
    wall = shapely.LineString([(x, 0), (x, y)]) if y == CUT[1] else shapely.LineString([(0, y), (x, y)])
    assert shapely.distance(wall, shapely.Point(found[0].at)) < 0.1


@pytest.mark.parametrize(("by", "code"), [(0.95, "item-bound"), (1.5, "item-bound"), (-0.5, None)])
def test_the_tray_s_wall_is_the_seat_s(by: float, code: str | None) -> None:
    """1 mm between pad and tray wall, less what it is moved to the left by; 0.1 mm is the least gap."""
    found = judged([ell()], poses=[Pose(PAD.x - by, PAD.y)])
    mine = [one for one in found if one.code == "item-bound" and "tray's wall" in one.message]
    if code is None:  # moved away from the tray's wall, it comes nearer to the wood
        assert mine == []
        assert [one.figure for one in found] == [pytest.approx(0.5, abs=0.01)]
    else:
        assert mine[0].figure == pytest.approx(1.0 - by, abs=0.01)
        assert mine[0].at is not None
        assert mine[0].at[0] == pytest.approx(0.5 - by, abs=0.01)


def test_a_thing_that_stands_in_the_tray_s_wall() -> None:
    found = judged([ell()], poses=[Pose(PAD.x - 2.0, PAD.y)])
    # and the wood on its other side is sawn off 2 mm further than it asks for
    assert {one.code for one in found} == {"item-bound", "overlap", "cut-extra"}


def test_a_notch_that_no_item_asks_for() -> None:
    notched = polygon((61.5, 0), (200, 0), (200, 60), (185, 60), (185, 75), (200, 75), (200, 150), (0, 150), (0, 41.5), (61.5, 41.5))
    found = judged([notched])
    assert short(found) == [("cut-extra", None)]
    assert found[0].figure == pytest.approx(225.0, abs=1.0)  # 15 x 15 mm
    assert found[0].at is not None
    assert shapely.distance(shapely.box(185, 60, 200, 75), shapely.Point(found[0].at)) < 0.1


def test_a_corner_sawn_much_too_large() -> None:
    found = judged([ell(90.0)])
    assert short(found) == [("cut-extra", None)]
    assert found[0].figure == pytest.approx((90 - 61.5 - 0.2) * 41.5, rel=0.05)


def test_an_outer_contour_beyond_the_blank_or_not_cut() -> None:
    found = judged([polygon((61.5, 0), (203, 0), (203, 150), (0, 150), (0, 41.5), (61.5, 41.5))])
    assert [(one.code, one.figure) for one in found if one.code == "outside-blank"] == [("outside-blank", 3.0)]
    found = judged([ell()], layer="EDGE")
    assert short(found) == [("cut-missing", None)]
    assert "OUTSIDE_THROUGH" in found[0].remedy


def test_a_seat_drawn_by_itself_beside_the_outer_contour() -> None:
    found = judged([ell()], THROUGH=[polygon((0.5, 0.5), (61.5, 0.5), (61.5, 41.5), (0.5, 41.5))])
    assert ("cut-extra", None) in short(found)


def test_an_outer_contour_within_another() -> None:
    inner = polygon((80, 60), (120, 60), (120, 90), (80, 90))
    assert short(judged([ell(), inner])) == [("cut-extra", None)]


# ---- what is left between and beside seats -----------------------------------------------------------

SECOND = Pose(95.5 + 1.5, 20.5)  # along the front edge: its cut runs from x = 66 to 128


def front(tongue: bool) -> Contour:
    """Two seats by the front edge, a tongue of 4.5 mm between their cuts, or none."""
    between = [(61.5, 41.5), (61.5, 0), (66, 0), (66, 41.5)] if tongue else []
    return polygon((128, 0), (200, 0), (200, 150), (0, 150), (0, 41.5), *between, (128, 41.5))


def test_a_tongue_between_two_seats_is_trimmed_or_said() -> None:
    one = tray(pad(), pad("02"))
    assert judged([front(tongue=False)], one, (PAD, SECOND)) == ()
    found = judged([front(tongue=True)], one, (PAD, SECOND))
    assert short(found) == [("sliver", None)]
    assert found[0].at is not None
    assert shapely.distance(shapely.box(61.5, 0, 66, 41.5), shapely.Point(found[0].at)) < 0.1


def test_a_neck_that_holds_the_insert_together() -> None:
    """A pad in the front left corner and one in the back left, 3 mm of wood between them and the right half."""
    back = Pose(30.5, 65.0)  # its cut runs from y = 44 to 86; both run out to the left
    ring = polygon((61.5, 0), (200, 0), (200, 150), (0, 150), (0, 86), (61.5, 86), (61.5, 44), (0, 44), (0, 41.5), (61.5, 41.5))
    found = judged([ring], tray(pad(), pad("02")), (PAD, back))
    assert short(found) == [("sliver", None)]  # a tongue that leads nowhere
    # the same pads on either side of the blank's middle: what joins its halves is 3 mm thick
    one = tray_of(pad(), pad("02"), machine="hand", width=200.0, depth=85.0)
    neck = polygon((0, 0), (69, 0), (69, 41), (131, 41), (131, 0), (200, 0), (200, 85), (131, 85), (131, 44), (69, 44), (69, 85), (0, 85))
    files = {"sheet-1.dxf": drawn(one, {OUTSIDE: [neck]}, edge=OUTSIDE)}
    found = check_tray(one, placed(one, Pose(100.0, 20.0), Pose(100.0, 65.0)), files, schedule())
    assert [(each.code, each.limit) for each in found] == [("web-thin", 6.0)], found
    assert found[0].at is not None
    assert shapely.distance(shapely.box(69, 41, 131, 44), shapely.Point(found[0].at)) < 0.1


def test_a_blank_sawn_in_two() -> None:
    """A seat across the whole depth: two pieces of wood, each an outer contour of its own."""
    one = tray(replace(pad(), outline=box_outline(-30, -74, 30, 74), room=box_outline(-30, -74, 30, 74)))
    left = polygon((0, 0), (69, 0), (69, 150), (0, 150))
    right = polygon((131, 0), (200, 0), (200, 150), (131, 150))
    assert judged([left, right], one, [Pose(100.0, 75.0)]) == ()
    found = judged([left], one, [Pose(100.0, 75.0)])  # the right half is gone
    assert short(found) == [("cut-extra", None)]


def test_a_web_between_a_corner_seat_and_a_pocket() -> None:
    one = tray(pad(), pocket_item(box_outline(-15, -10, 15, 10), id="test-tray/02", tag="02"))
    for apart, codes in ((8.0, []), (4.0, [("web-thin", "02")])):
        x0 = CUT[0] + apart
        hole = rounded(x0, 10, x0 + 32, 32, 3.2)
        found = judged([ell()], one, (PAD, Pose(x0 + 16, 21)), POCKET_10MM=[hole])
        assert short(found) == codes, found
        if codes:
            assert found[0].figure == pytest.approx(4.0, abs=0.01)
            assert found[0].others == ("test-tray/01",)


def test_a_machine_s_cutter_must_get_into_the_corner() -> None:
    """A sharp inside corner loses (4 - pi) / 4 r^2 to it (closed form); rounded by r it does not."""
    one = tray(machine="router")
    found = judged([ell()], one)
    assert short(found) == [("cutter-too-big", "01")]
    assert found[0].figure == pytest.approx((4 - math.pi) / 4 * 3.175**2, abs=0.05)
    assert found[0].at is not None
    assert math.dist(found[0].at, CUT) < 0.1
    x, y = CUT
    # outside in: seen from the wood the arc bends the other way, bulge -tan(90 deg / 4)
    soft = (*ell().vertices[:-1], (x - 3.2, y, -math.tan(math.pi / 8)), (x, y - 3.2, 0.0))
    assert judged([Contour(soft)], one) == ()
