"""Finger recesses on contours drawn by hand: bays of straight walls and a half circle, beside a rectangle."""

from __future__ import annotations

import math

import pytest

from insertgen.check.tray import check_tray
from insertgen.model.figures import Contour, Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Step
from insertgen.rules import FINGER_REACH, FINGER_WIDTH
from tests.build_values import box_outline, drawn, placed, pocket_item, rounded, schedule, tray_of

X, Y, HALF, DEEP, R = 150.0, 120.0, 50.0, 20.0, 3.2


def bayed(*bays: tuple[int, float, float, float], half: float = HALF, deep: float = DEEP) -> Contour:
    """The item's rectangle 1 mm larger all round, and bays: side (1 behind, -1 in front), where along it, width, reach
    from the item."""
    walls = rounded(X - half - 1, Y - deep - 1, X + half + 1, Y + deep + 1, R).vertices
    front, right, back, left = walls[:1], walls[1:4], walls[4:5], walls[5:]
    return Contour((*front, *_side(-1, bays, deep), *right, *back, *_side(1, bays, deep), *left))


def _side(side: int, bays: tuple[tuple[int, float, float, float], ...], deep: float) -> list[tuple[float, float, float]]:
    """Counter-clockwise: to the right in front, to the left behind."""
    vertices = []
    for _, along, width, reach in sorted((bay for bay in bays if bay[0] == side), key=lambda bay: -side * bay[1]):
        wall, straight = Y + side * (deep + 1), Y + side * (deep + reach - width / 2)
        first, last = X + along + side * width / 2, X + along - side * width / 2
        quarter = math.tan(math.pi / 8)
        top = straight + side * width / 2
        vertices += [(first, wall, 0.0), (first, straight, quarter), (X + along, top, quarter), (last, straight, 0.0), (last, wall, 0.0)]
    return vertices


W, OUT = FINGER_WIDTH, FINGER_REACH
BOTH = ((1, 0.0, W, OUT), (-1, 0.0, W, OUT))


def judged(contour: Contour, grips: tuple[tuple[float, float], ...] | None = None) -> tuple[Finding, ...]:
    tray = tray_of(pocket_item(box_outline(-HALF, -DEEP, HALF, DEEP), grips=grips))
    return check_tray(tray, placed(tray, Pose(X, Y)), {"sheet-1.dxf": drawn(tray, {"POCKET_10MM": [contour]})}, schedule())


def test_two_recesses_opposite_each_other_are_clean() -> None:
    assert judged(bayed(*BOTH)) == ()
    # not quite in line, as the program may choose to
    assert judged(bayed((1, 8.0, W, OUT), (-1, -8.0, W, OUT))) == ()


def test_recesses_nobody_asks_for_need_not_be() -> None:
    assert judged(bayed(), grips=()) == ()


@pytest.mark.parametrize("bays", [
    (), BOTH[:1], BOTH[1:],
    ((1, -25.0, W, OUT), (1, 25.0, W, OUT)),  # both behind
    (BOTH[0], (-1, 0.0, 20.0, OUT)),  # a finger does not go into one
    (BOTH[0], (-1, 0.0, W, 15.0)),  # or not far enough out
])  # fmt: skip
def test_recesses_that_no_two_fingers_get_into(bays: tuple[tuple[int, float, float, float], ...]) -> None:
    found = judged(bayed(*bays))
    assert [(one.code, one.placement, one.layer) for one in found] == [("cut-missing", "test-tray/01", "POCKET_10MM")]
    assert "finger" in found[0].message
    assert found[0].at is not None


def test_recesses_at_places_asked_for() -> None:
    assert judged(bayed((1, 30.0, W, OUT)), grips=((30.0, 20.0),)) == ()
    assert judged(bayed((1, 30.0, W, OUT)), grips=((30.0, 12.0),)) == ()  # its nearest side is meant
    found = judged(bayed((1, 30.0, W, OUT)), grips=((30.0, 20.0), (-30.0, 20.0)))
    assert [(one.code, one.at) for one in found] == [("cut-missing", (X - 30, Y + 20))]
    found = judged(bayed((-1, 30.0, W, OUT)), grips=((30.0, 20.0),))  # on the other side
    assert [(one.code, one.at) for one in found] == [("cut-missing", (X + 30, Y + 20))]


def test_a_recess_is_as_deep_as_the_seat() -> None:
    """Two steps: recesses in the shallow one only are no use."""
    steps = (Step(box_outline(-HALF, -DEEP, HALF, DEEP), 3.0, False), Step(box_outline(-30, -15, 30, 15), 10.0, False))
    tray = tray_of(pocket_item(box_outline(-HALF, -DEEP, HALF, DEEP), steps=steps, grips=None))
    upper = bayed(*BOTH)
    inner = [(side, along, width, reach + 5) for side, along, width, reach in BOTH]  # its wall is 5 mm further in
    for lower, due in ((bayed(*inner, half=30, deep=15), []), (bayed(half=30, deep=15), ["cut-missing"])):
        data = drawn(tray, {"POCKET_3MM": [upper], "POCKET_10MM": [lower]})
        found = check_tray(tray, placed(tray, Pose(X, Y)), {"sheet-1.dxf": data}, schedule())
        assert [one.code for one in found] == due, found


def test_a_recess_too_near_the_edge_counts_as_margin() -> None:
    tray = tray_of(pocket_item(box_outline(-HALF, -DEEP, HALF, DEEP), grips=None), depth=2 * (Y - 1) - 2 * 74)
    assert tray.blank.depth == pytest.approx(90.0)
    contour = Contour(tuple((x, y - 75, bulge) for x, y, bulge in bayed(*BOTH).vertices))
    found = check_tray(tray, placed(tray, Pose(X, Y - 75)), {"sheet-1.dxf": drawn(tray, {"POCKET_10MM": [contour]})}, schedule())
    # 45 mm from the middle to either edge, 40 mm to the bays' tips
    assert [(one.code, one.figure) for one in found] == [("margin-thin", 5.0)]
