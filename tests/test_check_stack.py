"""Sheets that a router cuts one by one, to a depth each, and the dowels that join them: drawings made by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest

from insertgen.check.tray import check_tray
from insertgen.model.figures import Circle, Contour, Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Step
from insertgen.model.job import KeepOut, Stock, Tray
from insertgen.model.layout import Layout
from tests.build_values import (
    box_outline,
    drawn,
    placed,
    pocket_item,
    rounded,
    schedule,
    shank_item,
    tray_of,
)

#: 18 mm on 12 mm, floor 3. A stepped item 10 and 24 mm deep, a pocket right through, a bit 25 mm deep, a block 9 mm deep.
WIDE, DEEP = box_outline(-30, -20, 30, 20), box_outline(-20, -10, 20, 10)
AT = (Pose(80.0, 100.0), Pose(180.0, 100.0), Pose(260.0, 100.0), Pose(180.0, 180.0))
MM8, OTHER = (20.0, 20.0), (330.0, 215.0)


def tray(**changes: object) -> Tray:
    stepped = pocket_item(WIDE, depth=24.0, steps=(Step(WIDE, 10.0, False), Step(DEEP, 24.0, False)))
    whole = pocket_item(DEEP, id="test-tray/02", tag="02", depth=30.0, through=True, steps=(Step(DEEP, 30.0, True),))
    bit = shank_item(10.0, id="test-tray/03", tag="03", depth=25.0)
    block = pocket_item(DEEP, id="test-tray/04", tag="04", depth=9.0)
    one = tray_of(stepped, whole, bit, block)
    return replace(one, stack=(Stock("mdf", 18.0), Stock("ply", 12.0)), glued_first=False, **changes)  # type: ignore[arg-type]  # any field of a tray, of its own type


def cut(pose: Pose, half: tuple[float, float]) -> Contour:
    x, y = pose.x, pose.y
    return rounded(x - half[0] - 1, y - half[1] - 1, x + half[0] + 1, y + half[1] + 1, 3.2)


WIDE_CUT, DEEP_CUT, WHOLE, BLOCK = cut(AT[0], (30, 20)), cut(AT[0], (20, 10)), cut(AT[1], (20, 10)), cut(AT[3], (20, 10))
BORE = Circle((260.0, 100.0), 10.0)
D1, D2 = Circle(MM8, 8.0), Circle(OTHER, 8.0)
Cuts = Mapping[str, Sequence[Contour | Circle]]
TOP: Cuts = {"BORE_THROUGH": [BORE, D1, D2], "POCKET_10MM": [WIDE_CUT], "POCKET_9MM": [BLOCK], "THROUGH": [DEEP_CUT, WHOLE]}
BOTTOM: Cuts = {"BORE_7MM": [BORE], "BORE_9MM": [D1, D2], "POCKET_6MM": [DEEP_CUT], "THROUGH": [WHOLE]}


def row(tag: str, sheet: int, at: tuple[float, float], wide: float, **changes: object) -> dict[str, object]:
    base: dict[str, object] = {"tag": tag, "sheet": sheet, "x": at[0], "y": at[1], "diameter": wide, "when": "before-glue"}
    if tag[0] == "D":
        base["use"] = "dowel"
    return base | changes


BLIND = {"through": "no"}
ROWS = (
    row("03", 1, BORE.centre, 10.0), row("03", 2, BORE.centre, 10.0, depth="7.00", **BLIND),
    row("D1", 1, MM8, 8.0), row("D1", 2, MM8, 8.0, depth="9.00", **BLIND),
    row("D2", 1, OTHER, 8.0), row("D2", 2, OTHER, 8.0, depth="9.00", **BLIND),
)  # fmt: skip


def judged(
    top: Cuts = TOP, bottom: Cuts = BOTTOM, rows: Sequence[Mapping[str, object]] | None = ROWS, one: Tray | None = None,
    layout: Layout | None = None,
) -> tuple[Finding, ...]:  # fmt: skip
    one = one or tray()
    files = {"sheet-1.dxf": drawn(one, top), "sheet-2.dxf": drawn(one, bottom)}
    return check_tray(one, layout or placed(one, *AT), files, None if rows is None else schedule(*rows))


def short(findings: tuple[Finding, ...]) -> list[tuple[str, str | None, str | None]]:
    return sorted((one.code, one.file or "", one.placement and one.placement.rpartition("/")[2]) for one in findings)


def moved(path: Circle, dx: float, dy: float = 0.0) -> Circle:
    return Circle((path.centre[0] + dx, path.centre[1] + dy), path.diameter)


def test_two_sheets_as_due_are_clean() -> None:
    assert judged() == ()


# ---- what is cut in which sheet ----------------------------------------------------------------


@pytest.mark.parametrize(("sheet", "layer", "path", "tag"), [
    (2, "POCKET_6MM", DEEP_CUT, "01"), (1, "POCKET_10MM", WIDE_CUT, "01"), (1, "THROUGH", DEEP_CUT, "01"),
    (2, "THROUGH", WHOLE, "02"), (1, "BORE_THROUGH", BORE, "03"), (2, "BORE_7MM", BORE, "03"), (1, "POCKET_9MM", BLOCK, "04"),
])  # fmt: skip
def test_a_cut_missing_in_one_sheet(sheet: int, layer: str, path: Contour | Circle, tag: str) -> None:
    cuts = TOP if sheet == 1 else BOTTOM
    less = {name: [one for one in paths if not (name == layer and one is path)] for name, paths in cuts.items()}
    found = judged(less if sheet == 1 else TOP, less if sheet == 2 else BOTTOM)
    assert ("cut-missing", f"sheet-{sheet}.dxf", tag) in short(found)
    assert {(one.file, one.placement) for one in found} == {(f"sheet-{sheet}.dxf", f"test-tray/{tag}")}
    at = {"01": AT[0], "02": AT[1], "03": AT[2], "04": AT[3]}[tag]
    assert next(one for one in found if one.code == "cut-missing").at == (at.x, at.y)


def test_a_depth_in_the_wrong_sheet() -> None:
    """The block's 9 mm pocket in the lower sheet: missing above, nobody's below."""
    top = {name: paths for name, paths in TOP.items() if name != "POCKET_9MM"}
    found = judged(top, {**BOTTOM, "POCKET_9MM": [BLOCK]})
    assert short(found) == [("cut-extra", "sheet-2.dxf", None), ("cut-missing", "sheet-1.dxf", "04")]


def test_a_depth_from_the_stack_s_face_instead_of_the_sheet_s() -> None:
    found = judged(bottom={**BOTTOM, "POCKET_6MM": [], "POCKET_24MM": [DEEP_CUT]})
    assert ("depth-wrong", "sheet-2.dxf", "01") in short(found)
    wrong = next(one for one in found if one.code == "depth-wrong")
    assert (wrong.figure, wrong.limit, wrong.layer) == (24.0, 6.0, "POCKET_24MM")


def test_the_two_sheets_swapped() -> None:
    found = judged(BOTTOM, TOP)
    assert {"cut-missing", "depth-wrong", "cut-extra"} <= {one.code for one in found}


def test_a_seat_that_would_leave_a_skin_goes_right_through_its_sheet() -> None:
    """16 mm of 18 leave 2, less than the floor of 3: drawn through it is right, 16 mm deep it is not."""
    one = tray()
    one = replace(one, items=(*one.items[:3], replace(one.items[3], depth=16.0, steps=(Step(DEEP, 16.0, False),))))
    through = {**TOP, "POCKET_9MM": [], "THROUGH": [DEEP_CUT, WHOLE, BLOCK]}
    assert judged(through, one=one) == ()
    found = judged({**TOP, "POCKET_9MM": [], "POCKET_16MM": [BLOCK]}, one=one)
    assert short(found) == [("depth-wrong", "sheet-1.dxf", "04")]
    assert (found[0].figure, found[0].limit) == (16.0, 18.0)


def test_what_leaves_just_the_floor_does_not() -> None:
    one = tray()
    one = replace(one, items=(*one.items[:3], replace(one.items[3], depth=15.0, steps=(Step(DEEP, 15.0, False),))))
    assert judged({**TOP, "POCKET_9MM": [], "POCKET_15MM": [BLOCK]}, one=one) == ()


def test_a_mirrored_sheet() -> None:
    """The lower sheet drawn as seen from below."""

    def mirrored(path: Contour | Circle) -> Contour | Circle:
        if isinstance(path, Circle):
            return Circle((350.0 - path.centre[0], path.centre[1]), path.diameter)
        return Contour(tuple((350.0 - x, y, -bulge) for x, y, bulge in path.vertices))

    found = judged(bottom={name: [mirrored(path) for path in paths] for name, paths in BOTTOM.items()})
    wrong = {one.placement for one in found if one.file == "sheet-2.dxf"}
    assert {"test-tray/01", "test-tray/02", "test-tray/03", "test-tray/D1", "test-tray/D2"} <= wrong
    assert not [one for one in found if one.file == "sheet-1.dxf"], "the upper sheet is right"


# ---- dowels ------------------------------------------------------------------------------------


@pytest.mark.parametrize("sheet", [1, 2])
def test_a_dowel_moved_in_one_sheet(sheet: int) -> None:
    layer = "BORE_THROUGH" if sheet == 1 else "BORE_9MM"
    cuts = TOP if sheet == 1 else BOTTOM
    off = {**cuts, layer: [moved(path, 1.2, -1.6) if path is D2 else path for path in cuts[layer]]}
    found = judged(off if sheet == 1 else TOP, off if sheet == 2 else BOTTOM)
    assert short(found) == [("hole-moved", f"sheet-{sheet}.dxf", "D2")]
    assert found[0].figure == pytest.approx(2.0)
    assert found[0].at == (331.2, 213.4)


@pytest.mark.parametrize("sheet", [1, 2])
def test_a_dowel_missing_in_one_sheet(sheet: int) -> None:
    layer = "BORE_THROUGH" if sheet == 1 else "BORE_9MM"
    cuts = TOP if sheet == 1 else BOTTOM
    less = {**cuts, layer: [path for path in cuts[layer] if path is not D1]}
    found = judged(less if sheet == 1 else TOP, less if sheet == 2 else BOTTOM)
    assert short(found) == [("cut-missing", f"sheet-{sheet}.dxf", "D1")]
    assert found[0].at == MM8


def test_one_dowel_only() -> None:
    top, bottom = {**TOP, "BORE_THROUGH": [BORE, D1]}, {**BOTTOM, "BORE_9MM": [D1]}
    found = judged(top, bottom, ROWS[:4])
    assert short(found) == [("cut-missing", "sheet-1.dxf", None)]
    assert (found[0].figure, found[0].limit) == (1.0, 2.0)


def test_no_dowels_at_all() -> None:
    found = judged({**TOP, "BORE_THROUGH": [BORE]}, {**BOTTOM, "BORE_9MM": []}, ROWS[:2])
    assert short(found) == [("cut-missing", "sheet-1.dxf", None)]


def test_a_large_blank_asks_for_three() -> None:
    one = tray(blank=replace(tray().blank, width=450.0), inside=(451.0, 251.0))
    assert short(judged(one=one)) == [("cut-missing", "sheet-1.dxf", None)]


@pytest.mark.parametrize(("place", "said"), [((330.0, 230.0), "half a turn"), ((330.0, 20.0), "left to right"), ((20.0, 230.0), "front to back")])
def test_dowels_on_which_a_sheet_goes_wrongly_too(place: tuple[float, float], said: str) -> None:
    path = Circle(place, 8.0)
    rows = (*ROWS[:4], row("D2", 1, place, 8.0), row("D2", 2, place, 8.0, depth="9.00", **BLIND))
    found = judged({**TOP, "BORE_THROUGH": [BORE, D1, path]}, {**BOTTOM, "BORE_9MM": [D1, path]}, rows)
    assert short(found) == [("entity-odd", "sheet-1.dxf", "D1")]
    assert said in found[0].message


def test_a_dowel_too_near_a_cut_and_one_too_near_the_edge() -> None:
    # the wide cut's right side is at x = 111; a hole of 8 mm with its middle at 119 leaves 4 mm
    near, edge = Circle((119.0, 100.0), 8.0), Circle((10.0, 215.0), 8.0)
    rows = (*ROWS[:2], *(
        row(tag, sheet, path.centre, 8.0, **({} if sheet == 1 else {"depth": "9.00", **BLIND}))
        for tag, path in (("D1", near), ("D2", edge)) for sheet in (1, 2)
    ))  # fmt: skip
    found = judged({**TOP, "BORE_THROUGH": [BORE, near, edge]}, {**BOTTOM, "BORE_9MM": [near, edge]}, rows)
    said = {(one.code, one.file, one.placement) for one in found}
    assert ("web-thin", "sheet-1.dxf", "test-tray/01") in said
    assert ("margin-thin", "sheet-1.dxf", "test-tray/D2") in said
    web = next(one for one in found if one.code == "web-thin" and one.file == "sheet-1.dxf")
    assert (web.figure, web.limit, web.others) == (pytest.approx(4.0, abs=0.01), 6.0, ("test-tray/D1",))
    margin = next(one for one in found if one.code == "margin-thin")
    assert margin.figure == pytest.approx(6.0, abs=0.01)


def test_a_dowel_on_a_keep_out() -> None:
    one = tray(keep_out=(KeepOut((325.0, 210.0), (10.0, 10.0), "screw"),))
    assert ("overlap", "sheet-1.dxf", "D2") in short(judged(one=one))


def test_a_dowel_s_hole_of_another_width_in_one_sheet() -> None:
    for wide, code in ((8.4, "hole-loose"), (7.5, "hole-tight")):
        found = judged(bottom={**BOTTOM, "BORE_9MM": [D1, Circle(OTHER, wide)]})
        assert (code, "sheet-2.dxf", "D2") in short(found)


def test_a_dowel_s_hole_through_the_bottom_sheet() -> None:
    found = judged(bottom={**BOTTOM, "BORE_9MM": [D1], "BORE_THROUGH": [D2]})
    assert short(found) == [("depth-wrong", "sheet-2.dxf", "D2")]
    found = judged(bottom={**BOTTOM, "BORE_9MM": [D1], "BORE_11MM": [D2]})
    assert short(found) == [("depth-wrong", "sheet-2.dxf", "D2"), ("floor-thin", "sheet-2.dxf", "D2")]


def test_a_bore_of_nobody_s_in_both_sheets_is_no_dowel() -> None:
    stranger = Circle((100.0, 200.0), 8.0)
    found = judged({**TOP, "BORE_THROUGH": [*TOP["BORE_THROUGH"], stranger]}, {**BOTTOM, "BORE_9MM": [D1, D2, stranger]})
    assert short(found) == [("cut-extra", "sheet-1.dxf", None), ("cut-extra", "sheet-2.dxf", None)]


# ---- the schedule ------------------------------------------------------------------------------


def changed(at: int, **said: object) -> tuple[Mapping[str, object], ...]:
    return (*ROWS[:at], {**ROWS[at], **said}, *ROWS[at + 1 :])


@pytest.mark.parametrize(("rows", "code", "tag"), [
    (changed(1, sheet=1), "hole-moved", "03"), (changed(1, depth="25.00"), "depth-wrong", "03"),
    (changed(0, through="no"), "depth-wrong", "03"), (changed(0, when="after-glue"), "entity-odd", "03"),
    (changed(3, x=26.0, x_in="1-1/64"), "hole-moved", "D1"), (changed(3, use="peg"), "entity-odd", "D1"),
    (changed(3, depth="12.00", through="yes"), "depth-wrong", "D1"), (changed(5, diameter=8.5), "hole-loose", "D2"),
    (changed(2, wanted="7.50"), "hole-tight", "D1"), (changed(2, slack="0.50"), "hole-tight", "D1"),
    (ROWS[:1] + ROWS[2:], "cut-missing", "03"), (ROWS[:3] + ROWS[4:], "cut-missing", "D1"),
])  # fmt: skip
def test_a_line_of_the_schedule_that_is_wrong(rows: tuple[Mapping[str, object], ...], code: str, tag: str) -> None:
    found = judged(rows=rows)
    assert [one for one in short(found) if one[1] != "holes.csv"] == []
    assert (code, "holes.csv", tag) in short(found)
    assert {one.placement for one in found} == {f"test-tray/{tag}"}


def test_no_schedule_at_all() -> None:
    """Of two sheets alone the dowels are found all the same."""
    assert short(judged(rows=None)) == [("cut-missing", "holes.csv", None)]


def test_a_line_too_many() -> None:
    assert short(judged(rows=(*ROWS, ROWS[2]))) == [("cut-extra", "holes.csv", "D1")]
