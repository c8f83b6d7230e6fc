"""Start holes: where the saw gets into a closed through-cut by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from insertgen.check.tray import check_tray
from insertgen.model.figures import Pose
from insertgen.model.finding import Finding
from insertgen.model.job import Cutter, Template, Tray
from tests.build_values import box_outline, drawn, placed, pocket_item, polygon, schedule, tray_of

X, Y = 150.0, 120.0
CUT = polygon((X - 31, Y - 21), (X + 31, Y - 21), (X + 31, Y + 21), (X - 31, Y + 21))
START = {"use": "start", "x": X, "y": Y, "diameter": 10.0, "drill": "10 mm", "note": "in the waste"}


def tray(**settings: object) -> Tray:
    return tray_of(pocket_item(box_outline(-30, -20, 30, 20), **({"through": True, "depth": 18.0} | settings)), machine="hand")


def judged(one: Tray, *rows: Mapping[str, object], layer: str = "THROUGH") -> tuple[Finding, ...]:
    return check_tray(one, placed(one, Pose(X, Y)), {"sheet-1.dxf": drawn(one, {layer: [CUT]})}, schedule(*rows))


def test_a_start_hole_in_the_waste_is_clean() -> None:
    assert judged(tray(), START) == ()
    assert judged(tray(), {**START, "x": X + 25, "y": Y - 15, "diameter": 6.0, "drill": "6 mm"}) == ()


def test_a_start_hole_missing() -> None:
    found = judged(tray())
    assert [(one.code, one.file, one.placement, one.at) for one in found] == [("cut-missing", "holes.csv", "test-tray/01", (X, Y))]
    assert "start hole" in found[0].message


@pytest.mark.parametrize(("change", "code", "figure"), [
    ({"x": X + 27}, "hole-moved", -1.0), ({"x": X + 25.8}, "hole-moved", 0.2), ({"x": X + 60}, "hole-moved", None),
    ({"drill": "6 mm"}, "hole-tight", 6.0), ({"drill": "none"}, "hole-tight", None), ({"drill": "milled"}, "entity-odd", None), ({"depth": "9.00"}, "depth-wrong", 9.0),
    ({"drill": "no such"}, "hole-tight", None),
])  # fmt: skip
def test_a_start_hole_that_is_wrong(change: Mapping[str, object], code: str, figure: float | None) -> None:
    """The waste reaches 31 mm to the right, the hole 5 mm from its middle."""
    found = judged(tray(), {**START, **change})
    assert [(one.code, one.file, one.placement) for one in found] == [(code, "holes.csv", "test-tray/01")]
    assert figure is None or found[0].figure == pytest.approx(figure, abs=0.02)


def test_two_start_holes_in_one_cut() -> None:
    found = judged(tray(), START, {**START, "x": X + 10})
    assert [one.code for one in found] == ["cut-extra"]


def test_what_is_routed_needs_no_start() -> None:
    pocket = tray(through=False, depth=10.0)
    rounded = judged(pocket, layer="POCKET_10MM")
    assert [one.code for one in rounded] == ["cutter-too-big"]  # the sharp corners; and no start hole is missed
    one = tray()
    one = replace(one, cutting=replace(one.cutting, template=Template("bush", 15.875, Cutter(6.35), 6.0)))
    assert "holes.csv" not in {each.file for each in judged(one)}
    machine = replace(tray(), cutting=replace(tray().cutting, machine="router"))
    assert {(each.code, each.file) for each in judged(machine, START)} == {
        ("cutter-too-big", "sheet-1.dxf"), ("cut-extra", "holes.csv"),
    }  # fmt: skip
