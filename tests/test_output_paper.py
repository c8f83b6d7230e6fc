"""The paper template, measured on the page as rendered by poppler's pdftoppm at 254 dpi: 10 pixels to the mm."""

from __future__ import annotations

import dataclasses
import io
import math
import re
import subprocess

import numpy as np
import pdfplumber
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.lib.pagesizes import A3, A4, ELEVENSEVENTEEN, LETTER

from insertgen.errors import InsertgenError
from insertgen.model.drawing import Drawing, Entity, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle
from insertgen.model.job import Blank, Stock
from insertgen.output.held import held_words
from insertgen.output.page import BOTTOM, MARGIN
from insertgen.output.paper import paper_pdf
from insertgen.output.papers import PAPERS, parse_printed
from insertgen.output.preview import preview_png
from insertgen.output.tiling import LEAST_OVERLAP, OVERLAP, plan_tiles, registration_marks, tiles_with
from tests.test_output_drawings import bench, crowded, edge, rack, tray
from tests.test_output_stores import slots

DPI = 254  # 1 mm = 10 px, as 1 in = 25.4 mm
COVER = {"bench": 1, "rack": 1, "crowded": 4}


def pages(pdf: bytes, first: int = 1, last: int | None = None) -> list[np.ndarray]:
    """Grey pictures of pages; a missing pdftoppm fails the test, as it should."""
    command = ["pdftoppm", "-r", str(DPI), "-gray", "-f", str(first), *(["-l", str(last)] if last else []), "-"]
    out = subprocess.run(command, input=pdf, capture_output=True, check=True).stdout
    found, buffer = [], io.BytesIO(out)
    while buffer.tell() < len(out):
        head = b"".join(buffer.readline() for _ in range(3)).split()
        assert head[0] == b"P5"
        wide, high = int(head[1]), int(head[2])
        found.append(np.frombuffer(buffer.read(wide * high), dtype=np.uint8).reshape(high, wide))
    return found


def words(pdf: bytes) -> str:
    return subprocess.run(["pdftotext", "-layout", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()


def bars(page: np.ndarray, *, upright: bool) -> list[int]:
    """Lengths in px of the long thick black bars along an edge of the page."""
    dark = page < 128
    # the strip of the bars alone: 18 mm from the bottom, 12 mm from the left
    strip = dark[-round(BOTTOM * 10) - 44 : -round(BOTTOM * 10), :] if not upright else dark[:, round(MARGIN * 10) : round(MARGIN * 10) + 44].T
    lengths = []
    for line in strip:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(np.int8), [0]])))
        runs = edges[1::2] - edges[::2]
        lengths.append(int(runs.max(initial=0)))
    return [length for length, before in zip(lengths, [0, *lengths], strict=False) if length > 900 and abs(length - before) > 3]


@pytest.fixture(scope="module")
def bench_pages():
    return pages(paper_pdf(bench(), paper="a4"), 2)


def test_a4_is_iso_216_and_letter_is_8_1_2_by_11_in():
    # ISO 216: A4 is 210 x 297 mm; reportlab's table gives points of 1/72 in
    assert PAPERS["a4"] == (210.0, 297.0)
    assert PAPERS["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4), abs=1e-9)
    for paper, points in (("a4", A4), ("letter", LETTER)):
        assert PAPERS[paper] == pytest.approx([value / 72 * 25.4 for value in points], abs=0.01)


@pytest.mark.parametrize(("paper", "pixels"), [("a4", (2100, 2970)), ("letter", (2159, 2794))])
def test_page_sizes_as_rendered(paper, pixels):
    for page in pages(paper_pdf(rack(), paper=paper)):
        assert sorted(page.shape) == pytest.approx(pixels, abs=1)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("make", [bench, rack])
def test_check_bars_on_both_axes_of_every_template_page(make, paper):
    drawing = make()
    count = len(plan_tiles(drawing.blank, paper).tiles)
    found = pages(paper_pdf(drawing, paper=paper), 2, 1 + count)
    assert len(found) == count
    for page in found:
        for upright in (False, True):
            # 100 mm at 254 dpi is 1000 px, 4 in is 1016 px
            assert sorted(bars(page, upright=upright)) == pytest.approx([1000, 1016], abs=1)


def test_bars_of_a_page_that_lies():
    wide = dataclasses.replace(rack(), blank=Blank(260.0, 149.0))
    pdf = paper_pdf(wide, paper="a4")
    page = pages(pdf, 2)[0]
    assert page.shape[1] > page.shape[0]
    for upright in (False, True):
        assert sorted(bars(page, upright=upright)) == pytest.approx([1000, 1016], abs=1)


def test_margins_stay_white(bench_pages):
    for page in bench_pages:
        assert (page[-round(BOTTOM * 10) + 1 :] > 250).all()
        for band in (page[: round(MARGIN * 10) - 1], page[:, : round(MARGIN * 10) - 1], page[:, -round(MARGIN * 10) + 2 :]):
            assert (band > 250).all()


def test_the_viewer_is_asked_not_to_scale():
    pdf = paper_pdf(rack(), paper="a4")
    # ISO 32000-1, 12.2: the catalogue's ViewerPreferences, here an object of its own
    number = re.search(rb"/Type /Catalog[^>]*/ViewerPreferences (\d+) 0 R", pdf)[1]
    assert re.search(rb"\n%s 0 obj\s*<<\s*/PrintScaling /None\s*>>" % number, pdf)


def test_the_same_drawing_gives_the_same_bytes_without_a_date():
    pdf = paper_pdf(bench(), paper="letter")
    assert pdf == paper_pdf(bench(), paper="letter")
    assert b"D:2000" in pdf or b"CreationDate" not in pdf


def test_other_papers_are_refused():
    with pytest.raises(InsertgenError, match="a4, letter, a3, tabloid"):
        paper_pdf(rack(), paper="foolscap")


# ---- where things lie on the page ------------------------------------------------------------


def one_circle(centre, diameter):
    return Drawing(
        tray("one", 349.0, 449.0, stack=(Stock("ply", 18.0),)), Blank(349.0, 449.0),
        (SheetDrawing(1, "ply", 18.0, (
            Layer("POCKET_9MM", Operation.POCKET, 9.0, False, (Entity(Circle(centre, diameter), "one/01"),)),
            edge(349.0, 449.0),
        )),), (), (),
    )  # fmt: skip


@pytest.mark.parametrize("tile", range(4))
def test_a_circle_lies_where_it_must_on_each_page(tile):
    tiling = plan_tiles(Blank(349.0, 449.0), "a4")
    x0, y0, x1, y1 = tiling.tiles[tile].window
    centre, diameter = ((x0 + x1) / 2 + 3.21, (y0 + y1) / 2 - 7.65), 61.3
    page = pages(paper_pdf(one_circle(centre, diameter), paper="a4"), 2 + tile, 2 + tile)[0]
    x, y = (tiling.origin[0] + centre[0] - x0) * 10, page.shape[0] - (tiling.origin[1] + centre[1] - y0) * 10
    # the tinted disc: hairline on the nominal radius, half of it outside
    reach = 400
    part = page[round(y) - reach : round(y) + reach, round(x) - reach : round(x) + reach] < 252
    rows, columns = np.nonzero(part)
    assert (columns.min() + columns.max() + 1) / 2 + round(x) - reach == pytest.approx(x, abs=1)
    assert (rows.min() + rows.max() + 1) / 2 + round(y) - reach == pytest.approx(y, abs=1)
    assert columns.max() + 1 - columns.min() == pytest.approx((diameter + 0.2) * 10, abs=2)
    assert rows.max() + 1 - rows.min() == pytest.approx((diameter + 0.2) * 10, abs=2)


def test_neighbouring_pages_show_the_same_band(bench_pages):
    tiling = plan_tiles(bench().blank, "a4")
    for left in (tile for tile in tiling.tiles if tile.column == 0):
        right = next(tile for tile in tiling.tiles if (tile.row, tile.column) == (left.row, 1))
        shared = [mark for mark in registration_marks(tiling, left) if mark in registration_marks(tiling, right)]
        assert len(shared) >= 2
        for mark in shared:
            seen = [cross(bench_pages[tiling.tiles.index(tile)], tiling, tile, mark) for tile in (left, right)]
            assert seen[0] > 0.95
            assert seen[1] > 0.95


def cross(page, tiling, tile, mark):
    """Share of dark pixels along the level arm of a registration mark."""
    x = (tiling.origin[0] + mark[0] - tile.window[0]) * 10
    y = page.shape[0] - (tiling.origin[1] + mark[1] - tile.window[1]) * 10
    return (page[round(y) - 1 : round(y) + 2, round(x) - 38 : round(x) + 38].min(axis=0) < 128).mean()


@settings(max_examples=60, deadline=None)
@given(st.floats(20, 1500), st.floats(20, 1500), st.sampled_from(["a4", "letter"]))
def test_tiles_cover_the_blank_with_the_overlap(width, depth, paper):
    tiling = plan_tiles(Blank(width, depth), paper)
    room = tiling.page[0] - MARGIN - tiling.origin[0], tiling.page[1] - MARGIN - tiling.origin[1]
    assert len(tiling.tiles) == tiling.rows * tiling.columns
    by_place = {(tile.row, tile.column): tile.window for tile in tiling.tiles}
    for (row, column), (x0, y0, x1, y1) in by_place.items():
        assert x1 - x0 <= room[0] + 1e-6
        assert y1 - y0 <= room[1] + 1e-6
        if column:
            assert by_place[row, column - 1][2] - x0 == pytest.approx(tiling.overlap[0])
        if row:
            assert by_place[row - 1, column][3] - y0 == pytest.approx(tiling.overlap[1])
    for shared in tiling.overlap:
        assert LEAST_OVERLAP - 1e-9 <= shared <= OVERLAP
    assert min(tile.window[0] for tile in tiling.tiles) == min(tile.window[1] for tile in tiling.tiles) == 0
    assert max(tile.window[2] for tile in tiling.tiles) == pytest.approx(width)
    assert max(tile.window[3] for tile in tiling.tiles) == pytest.approx(depth)


@pytest.mark.parametrize(("blank", "paper", "count", "lying"), [
    (Blank(150, 150), "a4", 1, False),
    (Blank(250, 150), "a4", 1, True),
    (Blank(349, 449), "a4", 4, False),
])  # fmt: skip
def test_the_way_round_that_takes_fewer_pages(blank, paper, count, lying):
    tiling = plan_tiles(blank, paper)
    assert len(tiling.tiles) == count
    assert (tiling.page[0] > tiling.page[1]) is lying


# ---- papers, and printers that are off ---------------------------------------------------------


def sizes(pdf: bytes) -> list[tuple[float, float]]:
    """Width and height of every page in mm, as another library reads them: pypdfium2."""
    document = pypdfium2.PdfDocument(pdf)
    return [tuple(value / 72 * 25.4 for value in document[k].get_size()) for k in range(len(document))]


def vertical_and_level(pdf: bytes, number: int) -> tuple[set[float], set[float]]:
    """Lengths in mm of all filled black bars of a page as pdfplumber reads them: level ones, upright ones."""
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        rects = [one for one in document.pages[number].rects if one["fill"]]
    level = {round(one["width"] / 72 * 25.4, 2) for one in rects if one["width"] > 5 * one["height"]}
    upright = {round(one["height"] / 72 * 25.4, 2) for one in rects if one["height"] > 5 * one["width"]}
    return level, upright


@pytest.mark.parametrize(("paper", "published"), [("a3", A3), ("tabloid", ELEVENSEVENTEEN)])
def test_larger_papers_have_their_published_size(paper, published):
    assert PAPERS[paper] == pytest.approx([value / 72 * 25.4 for value in published], abs=0.01)
    found = sizes(paper_pdf(rack(), paper=paper))
    assert sorted(found[1]) == pytest.approx(sorted(PAPERS[paper]), abs=0.01)


def test_a_paper_of_any_size_that_holds_the_bars():
    assert sorted(sizes(paper_pdf(rack(), paper="13x19 in"))[1]) == pytest.approx([13 * 25.4, 19 * 25.4], abs=0.01)
    for paper, said in (("100x150mm", "check bars"), ("210x5200mm", "200 in"), ("2x3", "a4, letter")):
        with pytest.raises(InsertgenError, match=said):
            paper_pdf(rack(), paper=paper)


def test_one_page_holds_the_whole_blank():
    drawing = bench()
    found = sizes(paper_pdf(drawing, paper="one"))
    assert len(found) == 2
    assert found[0] == pytest.approx((210, 297), abs=0.01)  # the cover is read, not stuck on
    assert found[1][0] >= drawing.blank.width + 2 * MARGIN
    assert found[1][1] >= drawing.blank.depth + BOTTOM + MARGIN
    said = words(paper_pdf(drawing, paper="one")).split("\f")[1]
    for mark in drawing.marks:
        assert mark.label in said
    with pytest.raises(InsertgenError, match=r"5080 mm \(200 in\)"):
        plan_tiles(Blank(5100.0, 300.0), "one")


def test_no_row_of_pages_for_a_fifth_of_a_millimetre():
    # letter: 279.4 less 12 and 12 at the top, 18 and 4.4 at the bottom, leaves 233.0 mm; two pages with 10 mm
    # shared hold 456.0 mm, with 8 mm shared 458.0 mm
    assert plan_tiles(Blank(180.0, 456.2), "letter").rows == 2
    assert plan_tiles(Blank(180.0, 456.2), "letter").overlap[1] == pytest.approx(9.8)
    assert plan_tiles(Blank(180.0, 458.1), "letter").rows == 3


def test_a_base_has_no_page_beyond_its_last_slot():
    drawing = slots()  # slots from x 86 to 94 mm and from 140 to 270, 150 to 158 from the front
    tiling = plan_tiles(drawing.blank, "a4")
    assert tiling.columns == 2
    assert tiles_with(tiling, [((86.0, 20.0), (94.0, 20.0), (94.0, 200.0))]) == (tiling.tiles[0],)
    assert tiles_with(tiling, [((200.0, 20.0), (270.0, 20.0), (270.0, 200.0))]) == tiling.tiles  # the corner is needed to join
    layer = drawing.base.layers[0]
    left = dataclasses.replace(layer, entities=layer.entities[:1])
    base = dataclasses.replace(drawing.base, layers=(left, *drawing.base.layers[1:]))
    said = words(paper_pdf(dataclasses.replace(drawing, base=base), paper="a4")).split("\f")
    assert sum("tray base" in page and "THIS SIDE UP" in page for page in said) == 1
    assert "tray base, 6 mm (15/64 in) hdf: slots: 1 page." in re.sub(r"\s+", " ", said[0])


@pytest.mark.parametrize("printed", [(98.6, 99.1), (80.0, 120.0), (103.0, 100.0)])
def test_a_printer_that_is_off_is_put_right(printed):
    pdf = paper_pdf(bench(), paper="a4", printed=printed)
    assert sizes(pdf)[1] == pytest.approx((210, 297), abs=0.01)  # the paper stays what it is
    level, upright = vertical_and_level(pdf, 1)
    # drawn 100 / measured as long: the printer makes 100 mm of it
    assert any(length * printed[0] / 100 == pytest.approx(100.0, abs=0.02) for length in level)
    assert any(length * printed[1] / 100 == pytest.approx(100.0, abs=0.02) for length in upright)


def test_x_is_the_short_side_of_a_paper_that_lies():
    drawing = dataclasses.replace(rack(), blank=Blank(250.0, 149.0))
    pdf = paper_pdf(drawing, paper="a4", printed=(95.0, 99.0))
    assert sizes(pdf)[1] == pytest.approx((297, 210), abs=0.01)
    level, upright = vertical_and_level(pdf, 1)
    assert any(length == pytest.approx(100 / 0.99, abs=0.02) for length in level)
    assert any(length == pytest.approx(100 / 0.95, abs=0.02) for length in upright)
    said = words(pdf).split("\f")
    assert "measure y: upper bar 100 mm" in said[1]
    assert "98.6x99.1" not in said[0]
    assert "95 mm (x) and 99 mm (y)" in said[0]


@pytest.mark.parametrize("printed", [(79.9, 100.0), (100.0, 120.1), (0.0, 100.0), (math.nan, 100.0)])
def test_a_measure_that_no_printer_makes_is_refused(printed):
    with pytest.raises(InsertgenError, match="80 to 120 mm"):
        paper_pdf(rack(), paper="a4", printed=printed)


@pytest.mark.parametrize("text", ["98.6", "98.6x", "98,6x99,1", "-98x99", "3.9x3.9", "98.6x99.1 in", "98.6x9999"])
def test_what_is_no_measure_of_two_bars_is_refused(text):
    with pytest.raises(InsertgenError, match=r"98\.6x99\.1|80 to 120 mm"):
        parse_printed(text)


@settings(max_examples=40, deadline=None)
@given(st.floats(20, 900), st.floats(20, 900), st.floats(80, 120), st.floats(80, 120))
def test_the_corrected_page_is_still_the_paper(width, depth, x, y):
    tiling = plan_tiles(Blank(width, depth), "a4", (x, y))
    page = [side * much for side, much in zip(tiling.page, tiling.scale, strict=True)]
    assert sorted(page) == pytest.approx([210, 297])
    for tile in tiling.tiles:
        x0, y0, x1, y1 = tile.window
        assert tiling.origin[0] + x1 - x0 <= tiling.page[0] - MARGIN + 1e-6
        assert tiling.origin[1] + y1 - y0 <= tiling.page[1] - MARGIN + 1e-6


# ---- what is said ----------------------------------------------------------------------------


def test_the_cover_says_what_it_is():
    said = words(paper_pdf(rack(), paper="a4")).split("\f")[0]
    for part in ("router bits", "299 x 149 mm (11-49/64 x 5-55/64 in)", "glued block of 2 sheets, 30 mm (1-3/16 in)",
                 "Front edge", "Print at 100 %, no fitting", "row A", "column 2", "17/64 in (8)",
                 "bore 33/64 in, THROUGH", "bore 30 mm milled, 24 mm"):  # fmt: skip
        assert part in said
    assert said.count("local rules come first.") == len(rack().cautions)


@pytest.mark.parametrize("make", [bench, rack, crowded])
def test_every_tag_is_on_a_template_page(make):
    drawing = make()
    said = "".join(words(paper_pdf(drawing, paper="a4")).split("\f")[COVER[make.__name__] :])
    for mark in drawing.marks:
        assert re.search(rf"\b{mark.tag}\b", said), mark.tag


def test_every_template_page_says_which_side_and_edge():
    said = words(paper_pdf(bench(), paper="a4")).split("\f")[1:-1]
    assert len(said) == 4
    for page in said:
        for part in ("THIS SIDE UP", "FRONT EDGE", "row ", "Print at 100 %, no fitting", "measure x: upper bar 100 mm, lower bar 4 in", "measure y: right bar 100 mm, left bar 4 in"):
            assert part in page
    assert "REFERENCE CORNER" in said[0]
    assert "pocket 6.35 mm deep" in said[0]
    assert "cut THROUGH" in said[0]
    assert "KEEP OUT" in said[1]
    assert "divider screw" in said[1]


def test_every_bore_says_its_drill_and_depth():
    said = "".join(words(paper_pdf(rack(), paper="a4")).split("\f")[1:])
    for hole in rack().holes:
        assert f"{hole.tag}: {hole.bore.drill.name if hole.bore.drill else '30 mm milled'}" in said
    assert "THROUGH" in said
    assert "24 mm deep" in said


def test_a_template_for_each_sheet_that_is_cut_first():
    drawing = bench()
    sheets = (drawing.sheets[0], dataclasses.replace(drawing.sheets[0], number=2, layers=drawing.sheets[0].layers[-2:]))
    both = dataclasses.replace(drawing, sheets=sheets, tray=dataclasses.replace(drawing.tray, glued_first=False))
    said = [page for page in words(paper_pdf(both, paper="a4")).split("\f") if "THIS SIDE UP" in page]
    assert len(said) == 8
    assert "sheet 2 of 2" in said[4]
    assert "sheets 1 and 2: cut THROUGH" in held_words(both, drawing.marks[4])


def test_signs_outside_the_typeface_do_not_break_the_page():
    drawing = rack()
    odd = dataclasses.replace(drawing.marks[0], label="wiertło Ø6 \N{GREEK SMALL LETTER OMEGA} \U0001f527")
    said = words(paper_pdf(dataclasses.replace(drawing, marks=(odd, *drawing.marks[1:])), paper="a4"))
    assert "wiertlo Ø6 ? ?" in said or "wiertlo Ø6 \N{GREEK SMALL LETTER OMEGA} ?" in said


@pytest.mark.parametrize(("width", "depth"), [(1800.0, 700.0), (40.0, 30.0), (60.0, 900.0)])
def test_blanks_of_any_size(width, depth):
    drawing = Drawing(
        tray("odd", width, depth), Blank(width, depth), (SheetDrawing(1, "mdf", 18.0, (edge(width, depth),)),), (), ()
    )
    said = words(paper_pdf(drawing, paper="letter")).split("\f")[:-1]
    assert len(said) == 1 + len(plan_tiles(drawing.blank, "letter").tiles)
    assert preview_png(drawing).startswith(b"\x89PNG")


def test_an_item_without_a_cut_says_so():
    assert held_words(crowded(), crowded().marks[-1]) == "stands on the face, no cut"


def test_arcs_are_drawn_within_a_hundredth():
    from insertgen.output.spots import ring_of

    for diameter in (3.0, 30.0, 300.0):
        ring = ring_of(Circle((0.0, 0.0), diameter))
        for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
            assert math.hypot(x0, y0) == pytest.approx(diameter / 2)
            assert diameter / 2 - math.hypot((x0 + x1) / 2, (y0 + y1) / 2) <= 0.01
