"""The drill-hole schedule edited by itself, or beside a drawing that is wrong itself."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from insertgen.check.tray import check_tray
from insertgen.model.finding import Severity
from tests.test_check_faults import move
from tests.test_check_made import AT, BORES, cut_of, edited, judged, listed, made, made_from, the, with_item


def rows() -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(made().holes)))


def row(tag: str) -> dict[str, str]:
    return next(one for one in rows() if one["tag"] == tag)


def text(lines: list[dict[str, str]]) -> str:
    out = io.StringIO()
    table = csv.DictWriter(out, list(rows()[0]), lineterminator="\n")
    table.writeheader()
    table.writerows(lines)
    return out.getvalue()


def changed(tag: str, **fields: str) -> str:
    return text([one | fields if one["tag"] == tag else one for one in rows()])


def test_writing_the_rows_again_changes_nothing() -> None:
    assert text(rows()) == made().holes
    assert [one["tag"] for one in rows()] == list(BORES)


@pytest.mark.parametrize("tag", ["05", "07", "09"])
def test_a_line_moved(tag: str) -> None:
    x, y = AT[tag]
    # 1/8 in to the right, in both columns
    inches = {"x": f"{x + 3.175:.2f}", "x_in": _inches(x + 3.175)}
    found = judged(holes=changed(tag, **inches))
    one = the(found, "hole-moved", tag, place=(x + 3.175, y), figure=3.175)
    assert one.file == "holes.csv"
    assert len(found) == 1, listed(found)


@pytest.mark.parametrize("column", ["x_in", "y_in"])
def test_only_the_inches_of_a_line_moved(column: str) -> None:
    """Who measures in inches reads these."""
    found = judged(holes=changed("06", **{column: _inches(AT["06"][0 if column == "x_in" else 1] + 3.175)}))
    assert the(found, "hole-moved", "06").file == "holes.csv"
    assert len(found) == 1, listed(found)


def _inches(length: float) -> str:
    """To 1/64 in; 1 in = 25.4 mm (international yard and pound agreement, 1959)."""
    whole, parts = divmod(round(length / 25.4 * 64), 64)
    return f"{whole}-{parts}/64" if parts else str(whole)


@pytest.mark.parametrize(("tag", "column", "code", "by"), [
    ("05", "diameter", "hole-tight", -0.5), ("05", "diameter", "hole-loose", 0.8), ("07", "diameter", "hole-tight", -0.1),
])  # fmt: skip
def test_a_line_of_another_width(tag: str, column: str, code: str, by: float) -> None:
    width = float(row(tag)[column]) + by
    found = judged(holes=changed(tag, **{column: f"{width:.2f}"}))
    assert {one.code for one in found} >= {code}, listed(found)
    assert {one.placement for one in found} == {f"test-tray/{tag}"}
    one = next(one for one in found if one.code == code and one.figure == pytest.approx(width, abs=0.01))
    assert one.file == "holes.csv"
    assert len(found) == 1, listed(found)  # one fault, said once


@pytest.mark.parametrize(("drill", "code"), [("1/4 in", "hole-tight"), ("1/2 in", "hole-loose"), ("9/7 in", "hole-tight")])
def test_a_line_with_another_drill(drill: str, code: str) -> None:
    found = judged(holes=changed("05", drill=drill))
    one = the(found, code, "05")
    assert drill in one.message
    assert one.file == "holes.csv"


@pytest.mark.parametrize(("fields", "figure"), [
    ({"depth": "10.00"}, 10.0), ({"depth": "18.00"}, 18.0), ({"through": "yes"}, 15.0),
])  # fmt: skip
@pytest.mark.parametrize("tag", ["05", "08"])
def test_a_line_of_another_depth(tag: str, fields: dict[str, str], figure: float) -> None:
    if tag == "08" and "through" not in fields:
        fields, figure = {"depth": "5.00"}, 5.0
    elif tag == "08":
        figure = float(row(tag)["depth"])
    found = judged(holes=changed(tag, **fields))
    assert the(found, "depth-wrong", tag, figure=figure).file == "holes.csv"
    assert len(found) == 1, listed(found)


@pytest.mark.parametrize("tag", BORES)
def test_of_a_bore_moved_in_the_drawing_alone_only_that_is_said(tag: str) -> None:
    found = judged(edited(move(tag, 1.2, -1.6)))
    assert [(one.code, one.file, one.placement) for one in found] == [("hole-moved", "sheet-1.dxf", f"test-tray/{tag}")]


@pytest.mark.parametrize("radius", [2.5, 5.0])
def test_of_a_bore_widened_or_narrowed_in_the_drawing_alone_only_that_is_said(radius: float) -> None:
    found = judged(edited(lambda space: cut_of(space, "05").dxf.set("radius", radius)))
    assert [one.file for one in found] == ["sheet-1.dxf"], listed(found)


def test_drawing_and_line_both_moved() -> None:
    x, y = AT["06"]
    holes = changed("06", x=f"{x + 3.175:.2f}", x_in=_inches(x + 3.175))
    found = judged(edited(move("06", 3.175, 0.0)), holes=holes)
    assert [(one.code, one.file) for one in found] == [("hole-moved", "holes.csv"), ("hole-moved", "sheet-1.dxf")]
    assert {one.placement for one in found} == {"test-tray/06"}
    assert all(one.at == pytest.approx((x + 3.175, y), abs=0.01) for one in found)


def test_a_line_missing_doubled_or_of_nobodys() -> None:
    found = judged(holes=text([one for one in rows() if one["tag"] != "08"]))
    the(found, "cut-missing", "08", place=AT["08"])
    the(judged(holes=text([*rows(), row("08")])), "cut-extra", "08")
    the(judged(holes=text([*rows(), row("08") | {"tag": "77"}])), "cut-extra", None)


@pytest.mark.parametrize(("column", "value", "code"), [
    ("sheet", "2", "hole-moved"), ("use", "screw", "entity-odd"), ("when", "after-glue", "entity-odd"), ("when", "", "entity-odd"),
    ("wanted", "5.00", "hole-tight"), ("wanted", "12.00", "hole-loose"), ("slack", "0.40", "hole-tight"), ("slack", "-0.30", "hole-loose"),
    ("drill", "laser", "entity-odd"), ("drill", "none", "entity-odd"),
])  # fmt: skip
@pytest.mark.parametrize("tag", ["06", "09"])
def test_a_line_that_says_another_sheet_use_moment_wish_or_slack(tag: str, column: str, value: str, code: str) -> None:
    found = judged(holes=changed(tag, **{column: value}))
    assert [(one.code, one.file, one.placement) for one in found] == [(code, "holes.csv", f"test-tray/{tag}")], listed(found)
    assert column in found[0].message or column in ("wanted", "slack")


@pytest.mark.parametrize("field", ["x", "diameter", "depth"])
@pytest.mark.parametrize("value", ["", "wide", "nan"])
def test_a_figure_that_is_none(field: str, value: str) -> None:
    found = judged(holes=changed("07", **{field: value}))
    assert {one.code for one in found} == {"entity-odd"}, listed(found)
    assert {one.file for one in found} == {"holes.csv"}


@pytest.mark.parametrize("holes", ["tag,x\n05,1\n", "\x00\n", "05;160;150\n"])
def test_no_schedule_of_ours(holes: str) -> None:
    found = judged(holes=holes)
    assert any(one.severity is Severity.ERROR for one in found)
    assert {one.file for one in found} == {"holes.csv"}


def test_a_schedule_missing() -> None:
    found = check_tray(made().tray, made().layout, {"sheet-1.dxf": made().dxf}, None)
    assert [(one.code, one.file) for one in found] == [("cut-missing", "holes.csv")]


def test_a_bore_that_no_owned_drill_is_for() -> None:
    """By hand nothing is milled: the largest owned drill is too small for a 90 mm shank."""
    tray = with_item("07", bore=90.0)
    tray = replace(tray, cutting=replace(tray.cutting, machine="hand"))
    other = made_from(tray)
    found = [one for one in judged(other.dxf, tray=tray, holes=other.holes) if one.code == "hole-tight"]
    assert [(one.placement, one.file) for one in found] == [("test-tray/07", "holes.csv")]
    assert "90 mm" in found[0].message + found[0].remedy
