"""Slots on contours drawn by hand: in the sheet, in the tray's base, in the schedule, and what hangs below."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest

from insertgen.check.tray import check_tray
from insertgen.model.figures import Contour, Pose
from insertgen.model.finding import Finding
from insertgen.model.job import Stock, Tray
from insertgen.model.shape import Slot, Store
from insertgen.units import format_inch
from tests.build_values import box_outline, drawn, placed, rounded, schedule, seat_item, tray_of

# A blade guard of 120 x 10 mm in a slot of 122 x 12: its round ends need more room, so that its corners keep 1 mm.
# About an end's centre at s a corner (x, y) asks for s >= x - sqrt((w/2 - c)^2 - y^2): with w/2 - c = 7, y = 5.
WIDE = 16.0
REACH = 60.0 - (7.0**2 - 5.0**2) ** 0.5
X, Y = 150.0, 120.0
ENDS = ((X - REACH, Y), (X + REACH, Y))
BASE = Stock("hardboard", 6.0)


def slot(x: float = X, y: float = Y, reach: float = REACH, width: float = WIDE) -> Contour:
    """Two straights and two half circles, each drawn as two quarters."""
    half, quarter = width / 2, 2**0.5 - 1
    return Contour((
        (x - reach, y - half, 0.0), (x + reach, y - half, quarter), (x + reach + half, y, quarter),
        (x + reach, y + half, 0.0), (x - reach, y + half, quarter), (x - reach - half, y, quarter),
    ))  # fmt: skip


def tray(*, base: bool = True, **changes: Any) -> Tray:
    item = seat_item(Store.SLOT, Slot(120.0, 10.0), box_outline(-60, -5, 60, 5), label="saw", hang=31.0, top=None)
    return replace(tray_of(item), base=BASE if base else None, room_below=40.0, **changes)


def rows(*changed: Mapping[str, object]) -> str:
    usual = [{"use": "slot-end", "x": round(x, 2), "y": y, "diameter": WIDE, "wanted": 12.0, "slack": 4.0} for x, y in ENDS]
    return schedule(*[row | dict(change) for row, change in zip(usual, changed or ({}, {}), strict=True)])


def judged(
    one: Tray, in_sheet: Mapping[str, list[Contour]], in_base: Mapping[str, list[Contour]] | None = None, holes: str | None = None
) -> tuple[Finding, ...]:
    files = {"sheet-1.dxf": drawn(one, in_sheet)}
    if in_base is not None:
        files["base.dxf"] = drawn(one, in_base)
    return check_tray(one, placed(one, Pose(X, Y)), files, rows() if holes is None else holes)


def short(findings: tuple[Finding, ...]) -> list[tuple[str, str | None, str | None]]:
    return [(one.code, one.file, one.placement and one.placement[-2:]) for one in findings]


GOOD = {"SLOT_THROUGH": [slot()]}


def test_a_slot_in_sheet_and_base_is_clean() -> None:
    assert judged(tray(), GOOD, GOOD) == ()
    assert judged(tray(base=False), GOOD) == ()


def test_a_slot_across_the_blank_is_clean() -> None:
    one = tray(base=False)
    turned = Contour(tuple((X - (y - Y), Y + (x - X), bulge) for x, y, bulge in slot().vertices))
    ends = [{"use": "slot-end", "x": X, "y": round(Y + side * REACH, 2), "diameter": WIDE} for side in (-1, 1)]
    files = {"sheet-1.dxf": drawn(one, {"SLOT_THROUGH": [turned]})}
    assert check_tray(one, placed(one, Pose(X, Y, 90.0)), files, schedule(*ends)) == ()


@pytest.mark.parametrize(("in_base", "code", "at"), [
    ({"SLOT_THROUGH": [slot()], "BORE_THROUGH": [slot(250.0, 200.0, 5.0)]}, "cut-extra", None),
    ({"SLOT_THROUGH": []}, "cut-missing", (X, Y)),
    ({"THROUGH": [slot()]}, "entity-odd", None),
])  # fmt: skip
def test_a_base_that_is_not_cut_as_the_sheet_is(
    in_base: Mapping[str, list[Contour]], code: str, at: tuple[float, float] | None
) -> None:
    found = judged(tray(), GOOD, in_base)
    assert [(one.code, one.file) for one in found] == [(code, "base.dxf")], found
    assert at is None or found[0].at == at


def test_a_slot_moved_in_the_base() -> None:
    found = judged(tray(), GOOD, {"SLOT_THROUGH": [slot(X + 0.6, Y - 0.8)]})
    assert short(found) == [("hole-moved", "base.dxf", "01")]
    assert found[0].figure == pytest.approx(1.0, abs=0.01)


def test_a_slot_of_another_size_in_the_base() -> None:
    found = judged(tray(), GOOD, {"SLOT_THROUGH": [slot(width=15.0)]})
    assert short(found) == [("hole-moved", "base.dxf", "01")]
    assert found[0].figure == pytest.approx(0.5, abs=0.01)


def test_a_base_missing_or_where_none_is_cut() -> None:
    assert short(judged(tray(), GOOD)) == [("cut-missing", "base.dxf", None)]
    assert short(judged(tray(base=False), GOOD, GOOD)) == [("cut-extra", "base.dxf", None)]


def test_a_slot_on_the_layer_of_through_cuts() -> None:
    assert short(judged(tray(base=False), {"THROUGH": [slot()]})) == [("entity-odd", "sheet-1.dxf", "01")]


def test_a_slot_with_square_ends() -> None:
    """Two bores and a pass between them do not make it, though the item would go in."""
    long = REACH + WIDE / 2
    found = judged(tray(base=False), {"SLOT_THROUGH": [rounded(X - long, Y - 8, X + long, Y + 8, 3.2)]})
    odd = [one for one in found if one.file == "sheet-1.dxf"]
    assert [one.code for one in odd] == ["entity-odd"]
    assert odd[0].at is not None
    assert abs(odd[0].at[0] - X) > REACH


def test_what_hangs_too_far_below_the_base() -> None:
    found = judged(replace(tray(), room_below=30.0), GOOD, GOOD)
    assert [(one.code, one.figure, one.limit) for one in found] == [("too-tall", 31.0, 30.0)]
    assert "hangs" in found[0].message
    assert "below the base" in found[0].message


def test_a_cutter_wider_than_the_slot() -> None:
    one = tray(base=False)
    one = replace(one, cutting=replace(one.cutting, cutter=replace(one.cutting.cutter, diameter=19.05)))
    assert ("cutter-too-big", "sheet-1.dxf", "01") in short(judged(one, GOOD))


# ---- the bores at its ends, in the schedule ---------------------------------------------------------


@pytest.mark.parametrize(("change", "code", "figure"), [
    ({"x": round(X + REACH + 0.4, 2), "x_in": format_inch(X + REACH + 0.4)}, "hole-moved", 0.4),
    ({"diameter": 15.5, "slack": 3.5}, "hole-tight", 15.5), ({"diameter": 16.5, "slack": 4.5}, "hole-loose", 16.5),
    ({"drill": "1/2 in"}, "hole-tight", 12.7), ({"depth": "12.00"}, "depth-wrong", 12.0), ({"sheet": "2"}, "hole-moved", None),
    ({"slack": "1.00"}, "hole-loose", 1.0), ({"when": "after-glue"}, "entity-odd", None), ({"use": "shank"}, "entity-odd", None),
])  # fmt: skip
def test_a_line_of_a_slot_s_end_that_is_wrong(change: Mapping[str, object], code: str, figure: float | None) -> None:
    found = judged(tray(base=False), GOOD, holes=rows({}, change))
    mine = [one for one in found if one.code == code]
    assert [(one.placement, one.file) for one in mine] == [("test-tray/01", "holes.csv")], found
    assert figure is None or mine[0].figure == pytest.approx(figure, abs=0.02)
    assert len(found) == 1, found


def test_one_end_without_a_line_and_one_twice() -> None:
    first, second = rows().splitlines()[1:]
    head = rows().splitlines()[0]
    found = judged(tray(base=False), GOOD, holes=f"{head}\n{first}\n")
    assert [(one.code, one.at) for one in found] == [("cut-missing", (round(ENDS[1][0], 3), Y))]
    found = judged(tray(base=False), GOOD, holes="\n".join([head, first, second, second, ""]))
    assert short(found) == [("cut-extra", "holes.csv", "01")]
