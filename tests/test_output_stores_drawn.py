"""Every way of holding things, on paper and in the preview: what is grey or dark where, and where the texts stand.

Pages are rendered by poppler, distances and overlaps measured by shapely.
"""

from __future__ import annotations

import csv
import dataclasses
import io
import re
import subprocess
from itertools import pairwise

import numpy as np
import pytest
import shapely
from PIL import Image

from insertgen.geometry.region import from_outline
from insertgen.model.drawing import Operation
from insertgen.output.holes import holes_csv
from insertgen.output.labels import label_sheet
from insertgen.output.page import BOTTOM, MARGIN
from insertgen.output.paper import paper_pdf
from insertgen.output.picture import ITEM, PAPER, THROUGH, WOOD
from insertgen.output.preview import preview_png
from insertgen.output.sheet_lines import take_lines
from insertgen.output.spots import Ground, ring_of
from insertgen.output.tiling import plan_tiles
from insertgen.output.wood import corners_gone, wood_rings
from tests.test_output_drawings import bench, item
from tests.test_output_paper import pages, words
from tests.test_output_stores import CASES, by_hand, corners, laser, posts, slots, steps


@pytest.fixture(scope="module")
def papers():
    return {name: paper_pdf(make(), paper="a4") for name, make in CASES.items()}


@pytest.fixture(scope="module")
def said(papers):
    return {name: words(pdf).split("\f")[:-1] for name, pdf in papers.items()}


@pytest.fixture(scope="module")
def pictures():
    return {name: np.asarray(Image.open(io.BytesIO(preview_png(make())))).astype(int) for name, make in CASES.items()}


def at(pixels, drawing, x, y):
    """Colour of the preview at a place of the blank, whose left edge is at 40, and whose back is at 64 px; a legend takes 470."""
    beside = 0 if _wide(pixels) or pixels.shape[1] < 1600 else 470
    scale = min((1600 - 80 - beside) / drawing.blank.width, 1500 / drawing.blank.depth)
    return pixels[round(64 + (drawing.blank.depth - y) * scale), round(40 + x * scale)]


def _wide(pixels):
    """Whether the blank takes the whole width: its right edge is not paper."""
    return (abs(pixels[66:200, 1550] - PAPER).max(axis=1) > 8).all()


def tone(page, tiling, tile, x, y):
    """Grey of a page rendered at 10 px to the mm."""
    column = (tiling.origin[0] + x - tile.window[0]) * 10
    row = page.shape[0] - (tiling.origin[1] + y - tile.window[1]) * 10
    return int(page[round(row), round(column)])


def darkest(page, tiling, tile, x, y):
    """Within 0.1 mm: a hairline is 0.2 mm wide."""
    return min(tone(page, tiling, tile, x + a, y + b) for a in (-0.1, 0.0, 0.1) for b in (-0.1, 0.0, 0.1))


# ---- the wood ---------------------------------------------------------------------------------


def test_wood_is_the_outer_contour_or_else_the_edge():
    assert not corners_gone(bench().sheets[0], bench().blank)
    whole = shapely.Polygon(wood_rings(bench().sheets[0], bench().blank)[0])
    assert whole.area == pytest.approx(349.0 * 449.0)
    parts = [shapely.Polygon(ring) for ring in wood_rings(corners(split=True).sheets[0], corners().blank)]
    assert len(parts) == 2
    assert corners_gone(corners(split=True).sheets[0], corners().blank)
    empty = dataclasses.replace(bench().sheets[0], layers=())
    assert shapely.Polygon(wood_rings(empty, bench().blank)[0]).area == pytest.approx(349.0 * 449.0)


@pytest.mark.parametrize("name", ["corners", "split"])
def test_the_trays_floor_is_seen_where_corners_were(pictures, name):
    drawing, pixels = CASES[name](), pictures[name]
    for x, y in ((5.0, 5.0), (314.0, 5.0), (5.0, 294.0), (300.0, 190.0), (20.0, 134.0)):
        assert at(pixels, drawing, x, y) == pytest.approx(THROUGH, abs=3)
    for x, y in ((145.0, 100.0), (280.0, 150.0), (145.0, 180.0)):
        assert at(pixels, drawing, x, y) == pytest.approx(WOOD, abs=3)
    assert at(pixels, drawing, 162.0, 20.0) == pytest.approx(THROUGH if name == "split" else WOOD, abs=3)


def test_reference_corner_and_front_edge_stand_at_the_whole_blank(papers, said):
    drawing = corners()
    tiling = plan_tiles(drawing.blank, "a4")
    page = pages(papers["corners"], 2, 2)[0]
    tile = tiling.tiles[0]
    assert tone(page, tiling, tile, 1.5, 1.5) < 20  # the black triangle, where there is no wood
    grey, wood = tone(page, tiling, tile, 20.0, 20.0), tone(page, tiling, tile, 150.0, 60.0)
    assert 190 < grey < 230
    assert wood > 250
    # the dashed line of the blank: some of it dark, some not
    row = page[page.shape[0] - round(tiling.origin[1] * 10) - 2 :][:4, round(tiling.origin[0] * 10) + 80 :][:, :1000].min(axis=0) < 128
    assert 0.4 < row.mean() < 0.9
    assert "REFERENCE CORNER" in said["corners"][1]
    assert "FRONT EDGE, blank sawn to this line" in said["corners"][1]
    assert "The reference corner is the whole blank's." in re.sub(r"\s+", " ", said["corners"][0])
    assert "whole blank's" not in said["steps"][0]


def test_a_corner_is_named_in_itself(said):
    pages_ = " ".join(said["corners"][1:])
    assert pages_.count("corner, sawn right through") >= 4
    assert "open edge, sawn right through" in pages_


# ---- cuts -------------------------------------------------------------------------------------


def test_nested_steps_get_darker_going_down(pictures, papers):
    drawing, pixels = steps(), pictures["steps"]
    tones = [int(at(pixels, drawing, x, y).sum()) for x, y in ((300.0, 140.0), (202.0, 195.0), (215.0, 220.0), (290.0, 180.0))]
    assert tones == sorted(tones, reverse=True)
    assert min(one - other for one, other in pairwise(tones)) > 10
    tiling = plan_tiles(drawing.blank, "a4")
    page = pages(papers["steps"], 5, 5)[0]
    paper = [tone(page, tiling, tiling.tiles[3], x, y) for x, y in ((300.0, 140.0), (202.6, 195.0), (215.0, 220.0), (290.0, 180.0))]
    assert paper == sorted(paper, reverse=True)
    assert len(set(paper)) == 4


def test_each_step_is_named_on_the_paper(said):
    sheet = " ".join(said["steps"][1:])
    for depth in ("9 mm", "15 mm", "25 mm"):
        assert f"pocket {depth} deep" in sheet
    assert "Passes: each no deeper than the cutter is wide" in said["steps"][0]


def test_sheets_of_a_laser_are_seen_one_under_the_other(pictures):
    drawing, pixels = laser(), pictures["laser"]
    upper, lower = at(pixels, drawing, 160.0, 60.0), at(pixels, drawing, 180.0, 45.0)
    assert upper.sum() - lower.sum() > 20
    assert lower.sum() - sum(THROUGH) > 60
    assert at(pixels, drawing, 24.0, 103.0) == pytest.approx(THROUGH, abs=3)


def test_lower_sheets_show_what_is_cut_in_them_alone(said):
    first, second, third = ("".join(said["laser"][k : k + 2]) for k in (1, 3, 5))
    assert "01 callipers" in first
    assert "stands here, no cut" in first
    assert "callipers" not in second + third
    assert "stands here" not in second + third
    assert "dial gauge" in second
    assert "dial gauge" not in third
    assert all("corner, cut right through" in sheet for sheet in (first, second, third))


def test_the_base_has_pages_of_its_own_with_fences(said):
    count = len(plan_tiles(slots().blank, "a4").tiles)
    assert len(said["slots"]) == 1 + 2 * count + 1  # the last is the drill-hole schedule
    base = "".join(said["slots"][1 + count : -1])
    assert base.count("tray base, 6 mm (15/64 in) hdf: slots") == count
    for part in ("03 panel saw", "slot, cut THROUGH", "8 mm (5/16 in) wide", "ends: bore 8 mm", "87.3 mm (3-7/16 in) to cutter",
                 "second pass 1.65 mm further out", "FRONT EDGE of the insert"):  # fmt: skip
        assert part in base
    assert "oil stone" not in base
    cover = re.sub(r"\s+", " ", said["slots"][0])
    assert "slot 03 panel saw: fence at the left edge, 87.3 mm from fence to cutter (3-7/16 in)" in cover
    assert "slot 04 dovetail saw: fence at the back edge" in cover


def test_both_ends_of_a_slot_have_crosses(papers):
    drawing = slots()
    tiling = plan_tiles(drawing.blank, "a4")
    for number in (2, 4):  # insert and base
        page = pages(papers["slots"], number, number)[0]
        for y in (24.0, 196.0):
            for dx, dy in ((0.0, 0.0), (2.0, 0.0), (5.5, 0.0), (-5.5, 0.0), (0.0, 2.0)):
                assert darkest(page, tiling, tiling.tiles[0], 90.475 + dx, y + dy) < 128


def test_start_holes_have_a_circle_and_a_cross(papers, said):
    drawing = by_hand()
    tiling = plan_tiles(drawing.blank, "a4")
    page = pages(papers["hand"], 2, 2)[0]
    for dx, dy in ((0.0, 0.0), (3.0, 0.0), (0.0, -3.0), (7.0, 0.0), (3.536, 3.536), (-3.536, 3.536)):  # 10 mm: 5 cos 45 deg
        assert darkest(page, tiling, tiling.tiles[0], 30.0 + dx, 150.0 + dy) < 128
    assert tone(page, tiling, tiling.tiles[0], 32.0, 152.0) > 190
    assert "start hole 10 mm" in said["hand"][1]
    assert "start hole 8 mm" in said["hand"][2]


def test_templates_are_listed_and_not_drawn(said):
    cover = re.sub(r"\s+", " ", said["hand"][0])
    assert "template-1.dxf" in cover
    assert "template-2.dxf" in cover
    assert "come out with a radius of 4.8 mm (3/16 in)" in cover
    templates = [page for page in said["hand"] if "THIS SIDE UP" in page]
    assert len(templates) == len(plan_tiles(by_hand().blank, "a4").tiles)
    assert all("hand work: glued block of 2 sheets" in page for page in templates)
    assert "rout by template-1" in "".join(templates)


def test_items_between_posts_are_outlined_in_light(pictures, said):
    drawing, pixels = posts(), pictures["posts"]
    scale = (pixels.shape[1] - 80) / drawing.blank.width
    x, y = round(40 + 130.0 * scale), round(64 + (219.0 - 187.0) * scale)
    assert abs(pixels[y - 4 : y + 5, x] - ITEM).max(axis=1).min() < 30
    assert "lies between posts" in said["posts"][1]
    assert "lies by a post" in said["posts"][1]
    assert "post: 1/4 in" in said["posts"][1]
    assert "Whole grey line" in said["posts"][0]
    assert "Whole grey line" not in said["steps"][0]


# ---- texts ------------------------------------------------------------------------------------


def boxes(drawing, sheet, tile):
    ground = Ground(tile.window)
    take_lines(drawing, sheet, ground)
    found = []
    for placed in label_sheet(drawing, sheet, ground):
        width, height = placed.block.width / 2, placed.block.height / 2
        if placed.turned:
            width, height = height, width
        x, y = placed.middle
        found.append((placed, shapely.box(x - width, y - height, x + width, y + height)))
    return found


@pytest.mark.parametrize("name", CASES)
def test_texts_stand_clear_of_lines_and_of_each_other(name):
    drawing = CASES[name]()
    for sheet in (*drawing.sheets, *((drawing.base,) if drawing.base else ())):
        lines = shapely.union_all([shapely.LinearRing(ring_of(entity.path)) for layer in sheet.layers for entity in layer.entities])
        for tile in plan_tiles(drawing.blank, "a4").tiles:
            found = [box for _, box in boxes(drawing, sheet, tile)]
            assert found or sheet != drawing.sheets[0]
            for k, box in enumerate(found):
                assert not box.intersects(lines)
                assert not any(box.intersects(other) for other in found[:k])


@pytest.mark.parametrize("make", [steps, lambda: steps(rule=8.0)], ids=["wide", "narrow"])
def test_no_text_stands_in_a_finger_recess(make):
    drawing = make()
    sheet = drawing.sheets[0]
    inside = {mark.placement: from_outline(mark.outline) for mark in drawing.marks}
    bays = []
    for layer in sheet.layers:
        for entity in layer.entities:
            if layer.operation is Operation.POCKET and entity.placement in ("t/03", "t/04"):
                bays.append(shapely.Polygon(ring_of(entity.path)).difference(inside[entity.placement].buffer(0.5)))
    assert sum(bay.area for bay in bays) > 2000  # six bays of 25 x 20 mm
    for tile in plan_tiles(drawing.blank, "a4").tiles:
        for _, box in boxes(drawing, sheet, tile):
            assert not any(box.intersects(bay) for bay in bays)


def test_a_ledge_too_narrow_for_text_is_pointed_at_from_the_wood():
    drawing = steps()
    tiling = plan_tiles(drawing.blank, "a4")
    outer, inner = (shapely.Polygon(ring_of(entity.path)) for depth in (9.0, 15.0) for layer in drawing.sheets[0].layers
                    if layer.depth == depth for entity in layer.entities if entity.placement == "t/02")  # fmt: skip
    found = [(placed, box) for placed, box in boxes(drawing, drawing.sheets[0], tiling.tiles[3]) if placed.block.lines[0].words == "pocket 9 mm deep"]
    assert len(found) == 1
    placed, box = found[0]
    assert placed.leader is not None
    assert outer.difference(inner).contains(shapely.Point(placed.leader))
    assert not box.intersects(outer)


@pytest.mark.parametrize("name", CASES)
def test_every_word_is_within_the_margins(name, papers):
    # pdftotext -bbox: points of 1/72 in, y down
    said = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=papers[name], capture_output=True, check=True).stdout.decode()
    for page in said.split("<page ")[1:]:
        width, height = (float(re.search(rf'{side}="([\d.]+)"', page)[1]) / 72 * 25.4 for side in ("width", "height"))
        ends = [tuple(float(value) / 72 * 25.4 for value in found) for found in
                re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)"', page)]  # fmt: skip
        assert ends
        for x0, y0, x1, y1 in ends:
            assert x0 >= MARGIN - 0.3
            assert x1 <= width - MARGIN + 0.3
            assert y0 >= MARGIN - 2.0  # ascenders above the line's size
            assert y1 <= height - BOTTOM + 1.5


def test_long_notes_and_labels_wrap_in_the_legend():
    drawing = posts()
    long = "ring wrench of the large planer with both of its spare jaws and the bent handle"
    named = tuple(dataclasses.replace(mark, label=long, size="a rather long size as somebody typed it, 200 x 34 mm") for mark in drawing.marks)
    pdf = paper_pdf(dataclasses.replace(drawing, marks=named), paper="letter")
    said = subprocess.run(["pdftotext", "-bbox", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
    assert max(float(x) for x in re.findall(r'xMax="([\d.]+)"', said)) / 72 * 25.4 <= 215.9 - MARGIN + 0.3
    assert "handle" in words(pdf)


# ---- the same again, and the schedule -----------------------------------------------------------


@pytest.mark.parametrize("name", ["slots", "laser"])
def test_the_same_drawing_gives_the_same_bytes(name, papers):
    assert paper_pdf(CASES[name](), paper="a4") == papers[name]
    assert preview_png(CASES[name]()) == preview_png(CASES[name]())


def test_notes_are_written_as_they_are():
    rows = list(csv.DictReader(holes_csv(posts()).splitlines()))
    assert [row["note"] for row in rows if row["tag"] == "02"] == [
        "nail 2 mm x 40 mm, no points up", "dowel 1/4 in x 35 mm", "nail 2 mm x 40 mm, no points up",
    ]  # fmt: skip
    assert {row["use"] for row in csv.DictReader(holes_csv(slots()).splitlines())} == {"slot-end"}
    assert [row["note"] for row in csv.DictReader(holes_csv(by_hand()).splitlines())] == ["in the waste"] * 2


def test_items_that_are_unknown_are_shown_all_the_same():
    drawing = dataclasses.replace(posts(), tray=dataclasses.replace(posts().tray, items=(item("99", "other"),)))
    assert preview_png(drawing).startswith(b"\x89PNG")
    assert paper_pdf(drawing, paper="a4").startswith(b"%PDF")
