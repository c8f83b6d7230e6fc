"""Marks: strokes held against the font's own renderer, places against shapely, bytes against GDAL."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pyogrio
import pyogrio.raw
import pytest
import shapely
from HersheyFonts import HersheyFonts
from hypothesis import given
from hypothesis import strategies as st

from insertgen.arrange.arrange import arrange
from insertgen.exchange.dxf import DxfStyle, read_dxf
from insertgen.exchange.layers import HOUSE
from insertgen.exchange.marks import HOLD, TAB, TEXT, MarkLayer, Marks, write_marks
from insertgen.exchange.strokes import engravable, stroke_text
from insertgen.files.job import read_job
from insertgen.geometry.arcs import flatten, quartered, rectangle
from insertgen.items.resolve import items_of
from insertgen.model.drawing import Drawing, Operation
from insertgen.model.figures import Circle, Contour
from insertgen.model.shape import Shape
from insertgen.seats.seat import seat_for
from insertgen.sheets.draw import draw
from insertgen.sheets.marks import marks_of

JOB = """
format = 1
name = "invented shop"
units = "mm"
[cutting]
with = "MACHINE"
cutter = { diameter = 6, reach = 25 }
[stock.mdf]
thickness = 18
[[tray]]
name = "marked"
inside = [301, 221]
stack = ["mdf"]
edge = "EDGE"
[[tray.item]]
name = "long block of wood"
rectangle = { length = 110, width = 60, height = 80 }
store = "through"
at = { x = 70, y = 150 }
[[tray.item]]
name = "tin"
disc = { diameter = 70, height = 60 }
store = "through"
at = { x = 220, y = 150 }
[[tray.item]]
name = "knife"
rectangle = { length = 120, width = 22, height = 20 }
at = { x = 80, y = 40 }
[[tray.item]]
name = "bit"
shank = { diameter = "1/4 in", head = 20, head_height = 30, reach = 40 }
at = { x = 200, y = 50 }
"""


def no_shape(name: str) -> Shape:
    raise AssertionError(name)


@cache
def drawing(machine: str = "router", edge: str = "cut", extra: str = "") -> Drawing:
    text = JOB.replace("MACHINE", machine).replace("EDGE", edge) + extra
    (tray,) = read_job(text, "shop.toml", no_shape).trays
    tray = replace(tray, items=items_of(tray))
    seats = tuple(seat_for(item, tray) for item in tray.items)
    return draw(tray, seats, arrange(tray, seats, seed=0, seconds=2.0))


def layer(marks: Marks, name: str) -> MarkLayer:
    return next((one for one in marks.layers if one.name == name), MarkLayer(name))


def openings(drawn: Drawing, *operations: Operation) -> list[shapely.Polygon]:
    return [
        shapely.Polygon(flatten(quartered(entity.path) if isinstance(entity.path, Circle) else entity.path, 0.005))
        for one in drawn.sheets[0].layers
        if one.operation in (operations or (Operation.BORE, Operation.POCKET, Operation.THROUGH))
        for entity in one.entities
    ]


# ---- strokes -----------------------------------------------------------------------------------


@cache
def the_font() -> HersheyFonts:
    font = HersheyFonts()
    font.load_default_font("futural")
    return font


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1, max_size=12))
def test_strokes_are_those_of_the_fonts_own_renderer(text: str) -> None:
    theirs = [np.array(list(stroke), dtype=float) for stroke in the_font().strokes_for_text(text)]
    ours = [np.array(stroke) for stroke in stroke_text(text, 21.0).strokes]
    assert len(ours) == len(theirs)
    if not theirs:
        return
    moved = ours[0][0] - theirs[0][0] * (1, -1)  # their y runs down, their origin is another
    for one, other in zip(ours, theirs, strict=True):
        assert one == pytest.approx(other * (1, -1) + moved)


def test_capitals_are_as_tall_as_asked() -> None:
    assert stroke_text("H", 5.0).box[1::2] == (0.0, 5.0)


@given(st.text(max_size=30))
def test_any_text_can_be_engraved_and_what_is_lacking_is_said(text: str) -> None:
    written, lacked = engravable(text)
    assert all(32 <= ord(sign) <= 126 for sign in written)
    assert set(lacked) == {sign for sign in text if not 32 <= ord(sign) <= 126}
    stroke_text(written, 5.0)


# ---- labels ------------------------------------------------------------------------------------


def test_every_item_has_a_label_clear_of_every_cut_and_of_what_stands_there() -> None:
    drawn = drawing()
    (marks,) = marks_of(drawn)
    texts = shapely.MultiLineString(list(layer(marks, TEXT).lines))
    count = sum(len(stroke_text(f"{mark.tag} {mark.label}", 5.0).strokes) for mark in drawn.marks)
    assert len(texts.geoms) == count
    for opening in openings(drawn):
        assert texts.distance(opening) >= 1.5
    rim = shapely.box(0, 0, drawn.blank.width, drawn.blank.depth)
    assert rim.buffer(-1.5).contains(texts)
    for mark in drawn.marks:
        assert texts.distance(shapely.Polygon(mark.room.outer)) > 0


def test_a_label_without_room_beside_its_seat_stands_on_its_floor() -> None:
    text = JOB[: JOB.index("[[tray.item]]")].replace("MACHINE", "router").replace("EDGE", "sawn")
    text = text.replace("[301, 221]", "[141, 101]")
    text += '[[tray.item]]\nname = "tray of screws"\nrectangle = { length = 121, width = 81, height = 20 }\ngrips = 0\n'
    (tray,) = read_job(text, "shop.toml", no_shape).trays
    tray = replace(tray, items=items_of(tray))
    seats = tuple(seat_for(item, tray) for item in tray.items)
    drawn = draw(tray, seats, arrange(tray, seats, seed=0, seconds=2.0))
    (marks,) = marks_of(drawn)
    (pocket,) = (one for one in drawn.sheets[0].layers if one.operation is Operation.POCKET)
    (floor,) = openings(drawn)
    lines = layer(marks, f"{TEXT}_{pocket.depth:g}MM").lines
    assert len(lines) == len(stroke_text("01 tray of screws", 5.0).strokes)
    assert floor.buffer(-1.5).contains(shapely.MultiLineString(lines))
    assert not layer(marks, TEXT).lines


def test_what_the_font_lacks_is_named() -> None:
    extra = '[[tray.item]]\nname = "Größe 鑿"\nrectangle = { length = 30, width = 12, height = 9 }\nat = { x = 260, y = 40 }\n'
    (marks,) = marks_of(drawing(extra=extra))
    (said,) = (one for one in marks.said if "lacks" in one)
    assert "ö, ß, 鑿" in said
    assert "05 Grosse ?" in said


# ---- tabs --------------------------------------------------------------------------------------


def test_three_or_four_tabs_bridge_the_cut_round_every_loose_piece() -> None:
    drawn = drawing()
    (marks,) = marks_of(drawn)
    tabs = [shapely.LineString(line) for line in layer(marks, TAB).lines]
    through = openings(drawn, Operation.THROUGH)
    for opening in through:
        swath = opening.difference(opening.buffer(-6))  # where the cutter of 6 mm runs
        crossing = [tab for tab in tabs if tab.intersects(opening)]
        assert len(crossing) in (3, 4)
        for tab in crossing:
            assert tab.intersection(swath).length == pytest.approx(6.0, abs=0.05)
            assert tab.length == pytest.approx(8.0)
            # one end on the wood, one on the piece
            assert [opening.contains(shapely.Point(end)) for end in tab.coords] == [False, True]
            assert opening.buffer(-6).contains(shapely.Point(tab.coords[1]))
    (rim,) = openings(drawn, Operation.OUTSIDE)
    outer = [tab for tab in tabs if tab.intersects(rim.exterior)]
    assert len(outer) == 4
    for tab in outer:  # the cutter runs outside of the blank
        assert tab.difference(rim).length == pytest.approx(7.0, abs=0.01)
    assert len(tabs) == len(outer) + sum(1 for tab in tabs if any(tab.intersects(one) for one in through))


def test_tabs_are_on_straights_where_there_are_any() -> None:
    (marks,) = marks_of(drawing())
    block = next(mark for mark in drawing().marks if mark.label == "long block of wood")
    x0, y0, x1, y1 = shapely.Polygon(block.outline.outer).bounds
    mine = [line for line in layer(marks, TAB).lines if x0 - 5 < line[0][0] < x1 + 5 and y0 - 5 < line[0][1] < y1 + 5]
    assert len(mine) == 4
    for (ax, ay), (bx, by) in mine:  # square to a side of the rectangle
        assert abs(ax - bx) < 1e-5 or abs(ay - by) < 1e-5


# ---- hold-down places --------------------------------------------------------------------------


def test_hold_down_places_are_in_waste_and_clear_of_every_cut() -> None:
    drawn = drawing()
    (marks,) = marks_of(drawn)
    clear = 6.0 + drawn.tray.margin
    heads = [shapely.Point(one.centre).buffer(one.diameter / 2) for one in layer(marks, HOLD).circles]
    assert len(heads) == 6  # two loose pieces and the corners beyond the blank
    (rim,) = openings(drawn, Operation.OUTSIDE)
    through = openings(drawn, Operation.THROUGH)
    edges = [one.exterior for one in (*openings(drawn), rim)]
    for head in heads:
        assert not rim.intersects(head) or any(one.contains(head) for one in through)
        assert min(edge.distance(head) for edge in edges) >= clear - 0.05


def test_on_a_blank_sawn_to_size_they_keep_clear_too_and_it_is_said() -> None:
    drawn = drawing(edge="sawn")
    (marks,) = marks_of(drawn)
    blank = shapely.box(0, 0, drawn.blank.width, drawn.blank.depth)
    heads = [shapely.Point(one.centre).buffer(one.diameter / 2) for one in layer(marks, HOLD).circles]
    assert len(heads) > 2
    texts = shapely.MultiLineString(list(layer(marks, TEXT).lines))
    for head in heads:
        assert blank.contains(head)
        assert min(one.exterior.distance(head) for one in openings(drawn)) >= 6.0 + drawn.tray.margin - 0.05
        assert texts.distance(head) > 1
    assert any("on the insert itself" in one for one in marks.said)


@pytest.mark.parametrize("machine", ["hand", "laser"])
def test_only_a_router_needs_its_work_held_down(machine: str) -> None:
    without_pocket = JOB[: JOB.index('[[tray.item]]\nname = "knife"')]
    text = without_pocket.replace("MACHINE", machine).replace("EDGE", "cut")
    (tray,) = read_job(text, "shop.toml", no_shape).trays
    tray = replace(tray, items=items_of(tray))
    seats = tuple(seat_for(item, tray) for item in tray.items)
    (marks,) = marks_of(draw(tray, seats, arrange(tray, seats, seed=0, seconds=2.0)))
    assert layer(marks, TEXT).lines
    assert not layer(marks, HOLD).circles
    assert bool(layer(marks, TAB).lines) == (machine == "laser")


# ---- bytes -------------------------------------------------------------------------------------


@pytest.mark.parametrize("release", ["r2000", "r12"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_gdal_reads_open_lines_and_circles_by_layer(tmp_path: Path, release: str, units: str) -> None:
    (marks,) = marks_of(drawing())
    data = write_marks(marks, DxfStyle(release, units))
    assert data == write_marks(marks, DxfStyle(release, units))
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.5", "DXF_CLOSED_LINE_AS_POLYGON": "TRUE"})
    file = tmp_path / "marks.dxf"
    file.write_bytes(data)
    meta, _, geometry, fields = pyogrio.raw.read(file)
    layers = list(dict(zip(meta["fields"], fields, strict=True))["Layer"])
    assert {name: layers.count(name) for name in layers} == {
        TEXT: len(layer(marks, TEXT).lines), TAB: len(layer(marks, TAB).lines), HOLD: 6, HOUSE.edge: 1,
    }  # fmt: skip
    unit = 25.4 if units == "in" else 1.0
    lengths = sum(shape.length for name, shape in zip(layers, shapely.from_wkb(geometry), strict=True) if name == TEXT) * unit
    assert lengths == pytest.approx(sum(shapely.LineString(line).length for line in layer(marks, TEXT).lines))


def test_only_the_blank_is_closed() -> None:
    (marks,) = marks_of(drawing())
    read = read_dxf(write_marks(marks)).entities
    closed = [one for one in read if one.closed and isinstance(one.path, Contour)]
    assert [(one.layer, one.path) for one in closed] == [(HOUSE.edge, rectangle(300.0, 220.0))]
