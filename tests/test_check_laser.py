"""Sheets that a laser cuts one by one, and what its beam takes: drawings made by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from insertgen.check.tray import check_tray
from insertgen.model.figures import Circle, Contour, Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Step
from insertgen.model.job import Stock, Tray
from tests.build_values import (
    box_outline,
    drawn,
    placed,
    pocket_item,
    polygon,
    rounded,
    schedule,
    shank_item,
    tray_of,
)

KERF = 0.2
H = KERF / 2
#: Three sheets of 6 mm; a stepped item 6 and 12 mm deep, a pocket right through, a bit 12 mm deep.
AT = (Pose(100.0, 100.0), Pose(220.0, 100.0), Pose(300.0, 100.0))


def tray(*, kerf: float = KERF) -> Tray:
    wide, deep = box_outline(-30, -20, 30, 20), box_outline(-20, -10, 20, 10)
    stepped = pocket_item(wide, depth=12.0, steps=(Step(wide, 6.0, False), Step(deep, 12.0, False)))
    whole = pocket_item(wide, id="test-tray/02", tag="02", depth=18.0, through=True, steps=(Step(wide, 18.0, True),))
    bit = shank_item(10.0, id="test-tray/03", tag="03", depth=12.0)
    one = tray_of(stepped, whole, bit, machine="laser")
    return replace(one, stack=(Stock("ply", 6.0, None, kerf),) * 3, edge_sawn=False)


def cut(x: float, half: tuple[float, float], by: float = H) -> Contour:
    """A sharp rectangle 1 mm larger than an item's all round, ``by`` smaller for the beam."""
    return polygon(*((x + sx * (half[0] + 1 - by), 100 + sy * (half[1] + 1 - by)) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))))


def rim(by: float = H) -> Contour:
    return polygon((-by, -by), (350 + by, -by), (350 + by, 250 + by), (-by, 250 + by))


WIDE, DEEP, WHOLE, BORE = cut(100, (30, 20)), cut(100, (20, 10)), cut(220, (30, 20)), Circle((300.0, 100.0), 10.0 - KERF)
Cuts = Mapping[str, Sequence[Contour | Circle]]
SHEETS: dict[str, Cuts] = {
    "sheet-1.dxf": {"BORE_THROUGH": [BORE], "THROUGH": [WIDE, WHOLE], "OUTSIDE_THROUGH": [rim()]},
    "sheet-2.dxf": {"BORE_THROUGH": [BORE], "THROUGH": [DEEP, WHOLE], "OUTSIDE_THROUGH": [rim()]},
    "sheet-3.dxf": {"THROUGH": [WHOLE], "OUTSIDE_THROUGH": [rim()]},
}
LINES = schedule({"tag": "03", "x": 300.0, "y": 100.0, "diameter": 10.0, "depth": "12.00", "through": "no", "drill": "laser"})


def judged(changed: Mapping[str, Cuts | None] | None = None, one: Tray | None = None) -> tuple[Finding, ...]:
    one = one or tray()
    sheets = SHEETS | dict(changed or {})
    files = {name: drawn(one, cuts, edge="OUTSIDE_THROUGH") for name, cuts in sheets.items() if cuts is not None}
    return check_tray(one, placed(one, *AT), files, LINES)


def short(findings: tuple[Finding, ...]) -> list[tuple[str, str | None, str | None]]:
    return [(one.code, one.file, one.placement and one.placement[-2:]) for one in findings]


def test_three_sheets_as_due_are_clean() -> None:
    """Sharp corners too: a beam turns them."""
    assert judged() == ()


@pytest.mark.parametrize(("name", "cuts", "tag"), [
    ("sheet-2.dxf", {"BORE_THROUGH": [BORE], "THROUGH": [WHOLE]}, "01"), ("sheet-2.dxf", {"THROUGH": [DEEP, WHOLE]}, "03"),
    ("sheet-3.dxf", {}, "02"),
])  # fmt: skip
def test_a_cut_missing_in_one_sheet(name: str, cuts: Cuts, tag: str) -> None:
    found = judged({name: {**cuts, "OUTSIDE_THROUGH": [rim()]}})
    assert short(found) == [("cut-missing", name, tag)]
    assert found[0].at == (AT[int(tag) - 1].x, 100.0)


@pytest.mark.parametrize(("layer", "path"), [("THROUGH", DEEP), ("BORE_THROUGH", BORE)])
def test_a_cut_in_a_sheet_that_is_the_floor(layer: str, path: Contour | Circle) -> None:
    cuts: dict[str, Sequence[Contour | Circle]] = {"THROUGH": [WHOLE], "OUTSIDE_THROUGH": [rim()]}
    found = judged({"sheet-3.dxf": {**cuts, layer: [*cuts.get(layer, ()), path]}})
    assert short(found) == [("cut-extra", "sheet-3.dxf", None)]


def test_a_step_within_the_one_that_is_cut_out_already() -> None:
    """In the top sheet the wider step takes all: a line within it would only fall apart."""
    found = judged({"sheet-1.dxf": {**SHEETS["sheet-1.dxf"], "THROUGH": [WIDE, DEEP, WHOLE]}})
    assert short(found) == [("cut-extra", "sheet-1.dxf", "01")]


def test_a_sheet_missing_or_one_too_many() -> None:
    assert short(judged({"sheet-2.dxf": None})) == [("cut-missing", "sheet-2.dxf", None)]
    assert short(judged({"sheet-4.dxf": SHEETS["sheet-3.dxf"]})) == [("cut-extra", "sheet-4.dxf", None)]


def test_a_kerf_taken_into_account_twice() -> None:
    """0.1 mm less on every side than 1 mm: the seat comes out with 0.9."""
    found = judged({"sheet-3.dxf": {"THROUGH": [cut(220, (30, 20), KERF)], "OUTSIDE_THROUGH": [rim()]}})
    assert short(found) == [("item-bound", "sheet-3.dxf", "02")]
    assert found[0].figure == pytest.approx(0.9, abs=0.01)


def test_a_bore_drawn_without_the_kerf_or_with_twice_of_it() -> None:
    top = SHEETS["sheet-1.dxf"]
    found = judged({"sheet-1.dxf": {**top, "BORE_THROUGH": [Circle(BORE.centre, 10.0 - 2 * KERF)]}})
    assert [(one.code, one.figure) for one in found if one.file == "sheet-1.dxf"] == [("hole-tight", 9.8)]
    assert judged({"sheet-1.dxf": {**top, "BORE_THROUGH": [Circle(BORE.centre, 10.0)]}}) != ()  # 10.2 wide, the line says 10


def test_an_outside_drawn_without_the_kerf() -> None:
    """The insert would come out 0.1 mm smaller on every side."""
    found = judged({"sheet-3.dxf": {"THROUGH": [WHOLE], "OUTSIDE_THROUGH": [rim(0.0)]}})
    assert short(found) == [("entity-odd", "sheet-3.dxf", None)]
    assert found[0].figure == pytest.approx(H * 2**0.5, abs=0.02)  # at a corner


def test_a_pocket_s_layer_in_a_sheet_cut_through() -> None:
    top = {"BORE_THROUGH": [BORE], "THROUGH": [WHOLE], "POCKET_6MM": [WIDE], "OUTSIDE_THROUGH": [rim()]}
    assert [(one.code, one.layer) for one in judged({"sheet-1.dxf": top})] == [("depth-wrong", "POCKET_6MM")]


def test_a_single_sheet_has_its_kerf_too() -> None:
    one = tray()
    one = replace(one, stack=(Stock("ply", 18.0, None, KERF),), items=one.items[1:2])
    files = {"sheet-1.dxf": drawn(one, {"THROUGH": [WHOLE], "OUTSIDE_THROUGH": [rim()]}, edge="OUTSIDE_THROUGH")}
    assert check_tray(one, placed(one, AT[1]), files, schedule()) == ()


def test_a_router_s_cutter_would_not_get_into_those_corners() -> None:
    """The same drawing, kerf 0, for a router: sharp corners."""
    one = tray(kerf=0.0)
    one = replace(one, cutting=replace(one.cutting, machine="router"), stack=(Stock("ply", 18.0),), items=one.items[1:2])
    for contour, codes in ((cut(220, (30, 20), 0.0), ["cutter-too-big"]), (rounded(189, 79, 251, 121, 3.2), [])):
        files = {"sheet-1.dxf": drawn(one, {"THROUGH": [contour], "OUTSIDE_THROUGH": [rim(0.0)]}, edge="OUTSIDE_THROUGH")}
        assert [each.code for each in check_tray(one, placed(one, AT[1]), files, schedule())] == codes
