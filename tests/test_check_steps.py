"""Stepped seats on contours drawn by hand: each step against its own part, its depth, and those above it."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from insertgen.check.tray import check_tray
from insertgen.model.figures import Circle, Contour, Outline, Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Step
from insertgen.model.job import Cutter, Tray
from tests.build_values import box_outline, drawn, placed, pocket_item, rounded, schedule, tray_of

AT = Pose(150.0, 120.0)
R = 3.2  # a corner radius that a 1/4 in cutter, 3.175 mm, goes round
UPPER, LOWER = (50.0, 30.0), (30.0, 20.0)  # half lengths and widths of the two parts
WIDE = rounded(150 - 51, 120 - 31, 150 + 51, 120 + 31, R)  # 1 mm of clearance all round
DEEP = rounded(150 - 31, 120 - 21, 150 + 31, 120 + 21, R)


def half(part: tuple[float, float]) -> Outline:
    return box_outline(-part[0], -part[1], part[0], part[1])


def stepped(*, through: bool = False, lower: tuple[float, float] = LOWER) -> Tray:
    deep = Step(half(lower), 18.0 if through else 12.0, through)
    settings = {"depth": 18.0 if through else 12.0, "through": through, "label": "upright"}
    return tray_of(pocket_item(half(UPPER), steps=(Step(half(UPPER), 5.0, False), deep), **settings))


def judged(tray: Tray, cuts: dict[str, list[Contour | Circle]]) -> tuple[Finding, ...]:
    return check_tray(tray, placed(tray, AT), {"sheet-1.dxf": drawn(tray, cuts)}, schedule())


def codes(findings: tuple[Finding, ...]) -> list[tuple[str, str | None]]:
    return [(one.code, one.layer) for one in findings]


def test_two_steps_as_due_are_clean() -> None:
    assert judged(stepped(), {"POCKET_5MM": [WIDE], "POCKET_12MM": [DEEP]}) == ()
    assert judged(stepped(through=True), {"POCKET_5MM": [WIDE], "THROUGH": [DEEP]}) == ()


def test_steps_a_hair_apart_are_told_apart() -> None:
    """Parts that differ by 0.4 mm: the wider contour is the shallower one's."""
    tray = stepped(lower=(49.8, 29.8))
    deep = rounded(150 - 50.8, 120 - 30.8, 150 + 50.8, 120 + 30.8, R)
    assert judged(tray, {"POCKET_5MM": [WIDE], "POCKET_12MM": [deep]}) == ()


@pytest.mark.parametrize(("cuts", "step"), [({"POCKET_5MM": [WIDE]}, "12 mm"), ({"POCKET_12MM": [DEEP]}, "5 mm")])
def test_a_step_missing(cuts: dict[str, list[Contour | Circle]], step: str) -> None:
    found = judged(stepped(), cuts)
    assert [(one.code, one.placement, one.at) for one in found] == [("cut-missing", "test-tray/01", (150.0, 120.0))]
    assert f"has no {step} step" in found[0].message


def test_depths_exchanged() -> None:
    found = judged(stepped(), {"POCKET_12MM": [WIDE], "POCKET_5MM": [DEEP]})
    assert sorted((one.code, one.layer, one.figure, one.limit) for one in found) == [
        ("depth-wrong", "POCKET_12MM", 12.0, 5.0), ("depth-wrong", "POCKET_5MM", 5.0, 12.0),
    ]  # fmt: skip


def test_a_step_narrower_than_its_part() -> None:
    """The right wall 0.7 mm further in: the corners' arcs, of radius r about a point r - 0.3 and r - 1 from the item's
    corner, leave r - hypot(r - 0.3, r - 1) there."""
    narrow = rounded(150 - 31, 120 - 21, 150 + 30.3, 120 + 21, R)
    found = judged(stepped(), {"POCKET_5MM": [WIDE], "POCKET_12MM": [narrow]})
    assert codes(found) == [("item-bound", "POCKET_12MM")]
    assert found[0].figure == pytest.approx(R - math.hypot(R - 0.3, R - 1), abs=0.01)
    assert found[0].at is not None
    assert math.dist(found[0].at, (180, 120 + math.copysign(20, found[0].at[1] - 120))) < 0.5
    assert "12 mm step" in found[0].message


def test_a_step_that_reaches_beyond_the_one_above_it() -> None:
    """The deep contour 2 mm beyond the shallow one on the right: the upper part would find a hole, and a ledge over it."""
    over = rounded(150 - 31, 120 - 21, 150 + 53, 120 + 21, R)
    found = judged(stepped(), {"POCKET_5MM": [WIDE], "POCKET_12MM": [over]})
    assert codes(found) == [("depth-wrong", "POCKET_12MM")]
    assert found[0].figure == pytest.approx(2.0, abs=0.01)
    assert found[0].at is not None
    assert found[0].at[0] == pytest.approx(203.0, abs=0.01)


def test_a_contour_more_than_there_are_steps() -> None:
    third = rounded(150 - 20, 120 - 10, 150 + 20, 120 + 10, R)
    found = judged(stepped(), {"POCKET_5MM": [WIDE], "POCKET_12MM": [DEEP, third]})
    assert codes(found) == [("cut-extra", "POCKET_12MM")]


def test_the_floor_under_the_deepest_step() -> None:
    found = judged(stepped(), {"POCKET_5MM": [WIDE], "POCKET_16MM": [DEEP]})
    assert {(one.code, one.figure) for one in found} == {("depth-wrong", 16.0), ("floor-thin", 2.0)}


def test_a_cutter_too_short_for_the_deeper_step_only() -> None:
    tray = stepped()
    tray = replace(tray, cutting=replace(tray.cutting, cutter=Cutter(6.35, 10.0)))
    found = judged(tray, {"POCKET_5MM": [WIDE], "POCKET_12MM": [DEEP]})
    assert [(one.code, one.layer, one.figure) for one in found] == [("cutter-too-short", "POCKET_12MM", 12.0)]


def test_a_seat_with_a_step_too_deep_for_the_stack() -> None:
    """Cut as deep as the floor allows, and said."""
    tray = stepped()
    item = replace(tray.items[0], depth=20.0, steps=(tray.items[0].steps[0], Step(half(LOWER), 20.0, False)))
    found = judged(replace(tray, items=(item,)), {"POCKET_5MM": [WIDE], "POCKET_15MM": [DEEP]})
    assert [(one.code, one.figure, one.limit) for one in found] == [("too-deep", 20.0, 15.0)]


def test_a_seat_that_the_item_shifts_about_in() -> None:
    """1 mm of clearance and 3 mm of shift are let be: of two steps one that holds the item is enough."""
    wider = rounded(150 - 56, 120 - 31, 150 + 56, 120 + 31, R)  # 6 mm either way
    deeper = rounded(150 - 36, 120 - 21, 150 + 36, 120 + 21, R)
    assert judged(stepped(), {"POCKET_5MM": [wider], "POCKET_12MM": [DEEP]}) == ()
    found = judged(stepped(), {"POCKET_5MM": [wider], "POCKET_12MM": [deeper]})
    assert [(one.code, one.placement, one.at) for one in found] == [("hole-loose", "test-tray/01", (150.0, 120.0))]
