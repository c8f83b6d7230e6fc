"""The cut list, read back with the csv module."""

from __future__ import annotations

import csv
import dataclasses
import io
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from insertgen.model.drawing import Drawing, Hole
from insertgen.model.job import Blank, DrillSize
from insertgen.model.seat import Bore
from insertgen.output.cut_list import COLUMNS, cut_list, cut_list_csv
from tests.test_output_drawings import bench, rack
from tests.test_output_stores import by_hand, laser, posts, slots


def rows(*drawings: Drawing) -> list[dict[str, str]]:
    text = cut_list_csv(drawings)
    assert text.splitlines()[0] == ",".join(COLUMNS)
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_the_columns_are_the_ones_that_programs_read():
    assert ",".join(COLUMNS) == "part,quantity,length,width,thickness,length_in,width_in,material,grain,tray,note"


def test_a_blank_of_every_sheet():
    first, second = rows(rack())
    assert (first["part"], first["quantity"], first["length"], first["width"], first["thickness"]) == ("insert blank", "1", "299.0", "149.0", "18.0")
    assert (second["thickness"], second["material"], second["grain"]) == ("12.0", "mdf", "none")
    assert "glue the stack first" in first["note"]
    # 299 / 25.4 = 11.7717: 11 + 49.4/64
    assert (first["length_in"], first["width_in"]) == ("11-49/64", "5-55/64")


def test_equal_parts_are_merged_over_trays():
    other = dataclasses.replace(rack(), tray=dataclasses.replace(rack().tray, name="more bits"))
    found = rows(rack(), other, bench())
    assert [(row["quantity"], row["tray"], row["width"]) for row in found] == [
        ("1", "sanding", "449.0"), ("2", "router bits; more bits", "149.0"), ("2", "router bits; more bits", "149.0"),
    ]  # fmt: skip
    # what is merged is not lost: as many blanks as there are sheets in all stacks
    assert sum(int(row["quantity"]) for row in found) == 2 + 2 + 1


def test_equal_sheets_of_one_laser_stack():
    found = rows(laser())
    assert [(row["quantity"], row["thickness"]) for row in found] == [("2", "6.0"), ("1", "4.0")]
    assert all(row["grain"] == "either way" for row in found)


def test_templates_are_as_large_as_they_are_drawn():
    found = [row for row in rows(by_hand()) if row["part"] == "router template"]
    # the blank, 259 x 199 mm, and 50 mm to be clamped on each side
    assert [(row["length"], row["width"], row["thickness"], row["note"]) for row in found] == [
        ("359.0", "299.0", "6.0", "template-1.dxf"), ("359.0", "299.0", "6.0", "template-2.dxf")]  # fmt: skip


def test_pegs_and_posts_are_cut_to_length():
    found = {(row["part"], row["material"], row["length"]): (row["quantity"], row["note"]) for row in rows(posts())[1:]}
    assert found == {
        ("peg", "dowel 1/4 in", "40.0"): ("2", ""), ("post", "dowel 1/4 in", "35.0"): ("3", ""),
        ("post", "nail 2 mm", "40.0"): ("2", "no point up"), ("post", "pin 3 mm", "30.0"): ("1", ""),
    }  # fmt: skip


def test_a_registration_dowel_goes_through_all_its_sheets():
    bore = Bore(8.0, 8.0, DrillSize("8 mm", 8.0), "dowel")
    places = [(1, 18.0, (15.0, 15.0)), (2, 9.0, (15.0, 15.0)), (1, 18.0, (284.0, 134.0)), (2, 9.0, (284.0, 134.0))]
    holes = tuple(Hole("D", sheet, "", at, bore, depth, depth == 18.0, "before-glue") for sheet, depth, at in places)
    (found,) = [row for row in rows(dataclasses.replace(rack(), holes=holes)) if row["part"] == "registration dowel"]
    assert (found["quantity"], found["length"], found["material"]) == ("2", "27.0", "dowel 8 mm")


def test_what_the_machine_cuts_out_needs_waste_round_it():
    tray = dataclasses.replace(slots().tray, edge_sawn=False)
    assert "waste all round" in rows(dataclasses.replace(slots(), tray=tray))[0]["note"]
    assert rows(slots())[0]["note"] == ""


@given(st.floats(20, 1500), st.floats(20, 1500))
def test_both_units_say_the_same(width, depth):
    drawing = dataclasses.replace(bench(), blank=Blank(width, depth))
    (row,) = rows(drawing)
    for mm, inch in (("length", "length_in"), ("width", "width_in")):
        whole, _, part = row[inch].rpartition("-") if "/" in row[inch] else (row[inch], "", "0")
        value = float(Fraction(whole or "0") + Fraction(part)) * 25.4
        assert abs(value - float(row[mm])) <= 25.4 / 128 + 0.051


def test_only_what_was_placed_is_listed():
    drawing = posts()
    without = dataclasses.replace(drawing, marks=drawing.marks[:1])
    assert [(part.part, part.quantity) for part in cut_list([without])[1:]] == [("post", 2)]


def test_a_quarter_inch_dowel_is_as_wide_as_it_is_thick():
    """6.35 mm: halves go up, on both."""
    found = [row for row in rows(posts()) if row["material"] == "dowel 1/4 in"]
    assert found
    assert {(row["width"], row["thickness"], row["width_in"]) for row in found} == {("6.4", "6.4", "1/4")}
