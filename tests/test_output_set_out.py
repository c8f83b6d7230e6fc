"""Blanks on their stock: none lost, none over another, all to be sawn by cuts from edge to edge."""

from __future__ import annotations

import csv
import io
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.model.drawing import Drawing, SheetDrawing
from insertgen.model.job import Blank, Cutter, Stock, Tray
from insertgen.output.cut_list import cut_list_csv
from insertgen.output.report_html import report_html
from insertgen.output.report_page import TrayPage
from insertgen.output.report_stock import stock_section
from insertgen.output.set_out import Piece, StockSheet, set_out
from tests.build_values import tray_of

SAW = 4.0
SIZE = (1220.0, 610.0)
MDF = Stock("mdf", 18.0, SIZE)


def tray(name: str, width: float, depth: float, *, stack: tuple[Stock, ...] = (MDF,), sawn: bool = True) -> Drawing:
    one: Tray = replace(tray_of(width=width, depth=depth), name=name, slug=name, stack=stack, edge_sawn=sawn)
    return Drawing(one, Blank(width, depth), (), (), ())


def boxes(sheet: StockSheet) -> list[shapely.Polygon]:
    return [shapely.box(one.at[0], one.at[1], one.at[0] + one.width, one.at[1] + one.depth) for one in sheet.pieces]


def sawable(pieces: Sequence[Piece]) -> bool:
    """Whether cuts from edge to edge part them all: some line meets none, and so on on either side of it."""
    if len(pieces) < 2:
        return True
    for axis in (0, 1):
        spans = sorted((one.at[axis], one.at[axis] + (one.width if axis == 0 else one.depth)) for one in pieces)
        reach = spans[0][1]
        for start, end in spans[1:]:
            if start >= reach + SAW - 1e-6:
                line = (reach + start) / 2
                low = [one for one in pieces if one.at[axis] < line]
                return sawable(low) and sawable([one for one in pieces if one not in low])
            reach = max(reach, end)
    return False


sides = st.floats(100.0, 600.0).map(lambda side: round(side, 1))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(sides, sides, st.booleans()), min_size=1, max_size=9))
def test_all_blanks_lie_apart_and_can_be_sawn(blanks: list[tuple[float, float, bool]]) -> None:
    drawings = [tray(f"t{number}", wide, deep, sawn=sawn) for number, (wide, deep, sawn) in enumerate(blanks)]
    found = set_out(drawings)
    laid = [piece.name for sheet in found.sheets for piece in sheet.pieces] + [piece.name for _, piece in found.left]
    assert Counter(laid) == Counter(drawing.tray.name for drawing in drawings)
    by_name = {drawing.tray.name: drawing for drawing in drawings}
    for sheet in found.sheets:
        for piece in sheet.pieces:
            blank = by_name[piece.name].blank
            assert sorted((piece.width, piece.depth)) == sorted((blank.width, blank.depth))
            assert ((piece.width, piece.depth) == (blank.depth, blank.width)) if piece.turned else (piece.width == blank.width)
            beside = 0.0 if by_name[piece.name].tray.edge_sawn else 6.35 + 3.0
            x, y = piece.at
            assert min(x, y, SIZE[0] - x - piece.width, SIZE[1] - y - piece.depth) >= beside - 1e-6
        for number, one in enumerate(boxes(sheet)):
            for other in boxes(sheet)[:number]:
                assert one.distance(other) >= SAW - 1e-6
        assert sawable(sheet.pieces)
    area = sum(wide * deep for wide, deep, _ in blanks)
    assert len(found.sheets) >= math.floor(area / (SIZE[0] * SIZE[1]))


@pytest.mark.parametrize(("blanks", "sheets"), [
    ([(608.0, 303.0)] * 4, 1),  # two by two: 2 x 608 + 4 = 1220, 2 x 303 + 4 = 610
    ([(608.0, 303.1)] * 4, 2), ([(303.0, 608.0)] * 4, 1), ([(1220.0, 610.0)] * 2, 2),
    ([(459.0, 379.0)] * 2 + [(249.0, 579.0), (299.0, 199.0)], 1),
])  # fmt: skip
def test_how_many_sheets(blanks: list[tuple[float, float]], sheets: int) -> None:
    found = set_out([tray(f"t{number}", *blank) for number, blank in enumerate(blanks)])
    assert len(found.sheets) == sheets
    assert found.left == ()


def test_a_cutter_round_the_blank_needs_room() -> None:
    """1200 x 595 mm: sawn it goes on 1220 x 610; with a cutter of 6.35 mm and 3 mm round it 613.7 would be needed."""
    sawn, cut = (tray("one", 1200.0, 595.0, sawn=sawn) for sawn in (True, False))
    assert len(set_out([sawn]).sheets) == 1
    found = set_out([cut])
    assert found.sheets == ()
    assert [piece.name for _, piece in found.left] == ["one"]
    assert "one, 1200 x 595 mm" in stock_section([cut])
    (row,) = [row for row in csv.DictReader(io.StringIO(cut_list_csv([cut]))) if row["part"] == "stock sheet"]
    assert (row["quantity"], row["tray"]) == ("0", "one")
    assert "goes on no sheet of this size: 9.4 mm more are needed on every side" in row["note"]


def test_sheets_to_have_ready_are_in_the_cut_list() -> None:
    ply = Stock("birch ply", 9.0)
    drawings = [tray("a", 700.0, 500.0, stack=(MDF, ply)), tray("b", 300.0, 200.0), tray("c", 600.0, 400.0)]
    rows = [row for row in csv.DictReader(io.StringIO(cut_list_csv(drawings))) if row["part"] == "stock sheet"]
    # a lies beside c turned, 700 + 4 + 400 = 1104 of 1220; b is 300 x 200: neither beside (112 left) nor behind (106 left)
    assert [(row["quantity"], row["length"], row["width"], row["material"], row["note"]) for row in rows] == [
        ("2", "1220.0", "610.0", "mdf", "3 blanks, 2, 1 a sheet")]  # fmt: skip
    assert sum(len(sheet.pieces) for sheet in set_out(drawings).sheets) == 3
    assert not [row for row in rows if row["material"] == "birch ply"], "its size is not known"


def test_the_report_shows_each_sheet_and_each_blank_by_name() -> None:
    drawings = [tray(f"t{number}", 608.0, 400.0) for number in range(4)]
    page = stock_section(drawings)
    assert page.count("<svg") == 2
    assert all(f">t{number}<" in page for number in range(4))
    assert "mdf, sheet 2, 1220 x 610 mm" in page
    assert stock_section([tray("one", 300.0, 200.0, stack=(Stock("mdf", 18.0),))]) == ""


def test_a_tray_s_name_is_no_html() -> None:
    assert "<b>" not in stock_section([tray("<b>", 300.0, 200.0)])


def test_no_cutter_and_no_kerf() -> None:
    by_hand = tray("one", 300.0, 200.0, sawn=False)
    by_hand = replace(by_hand, tray=replace(by_hand.tray, cutting=replace(by_hand.tray.cutting, machine="hand", cutter=Cutter(0.0))))
    (sheet,) = set_out([by_hand]).sheets
    assert sheet.pieces[0].at == (3.0, 3.0)


def test_the_contents_lead_to_the_stock_where_there_is_some() -> None:
    for stock, count in ((MDF, 1), (Stock("mdf", 18.0), 0)):
        one = tray("one", 300.0, 200.0, stack=(stock,))
        sheet = SheetDrawing(1, "mdf", 18.0, (), "sheet-1")
        page = report_html("job", [TrayPage(replace(one, sheets=(sheet,)), (), ())], (), (), "0")
        assert page.count('<a href="#stock-sheets">') == page.count('<section id="stock-sheets">') == count
