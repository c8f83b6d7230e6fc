"""The drill-hole schedule, read back with the csv module."""

from __future__ import annotations

import csv
import dataclasses
from fractions import Fraction

import pytest

from insertgen.model.seat import Bore
from insertgen.output.holes import holes_csv
from tests.test_output_drawings import bench, rack


def read(drawing):
    return list(csv.DictReader(holes_csv(drawing).splitlines()))


def test_columns_are_those_of_the_format():
    head = holes_csv(rack()).splitlines()[0]
    assert head == "tag,tray,sheet,label,use,x,y,x_in,y_in,diameter,drill,wanted,slack,depth,through,when,note"


def test_a_row_a_hole_in_tag_order_whatever_the_order_drawn():
    drawing = rack()
    shuffled = dataclasses.replace(drawing, holes=drawing.holes[::-1])
    assert holes_csv(shuffled) == holes_csv(drawing)
    assert [row["tag"] for row in read(shuffled)] == [f"{k:02d}" for k in range(1, 21)]


def test_tags_count_as_numbers():
    drawing = rack()
    holes = tuple(dataclasses.replace(hole, tag=tag) for hole, tag in zip(drawing.holes, ("100", "99", "", "9"), strict=False))
    assert [row["tag"] for row in read(dataclasses.replace(drawing, holes=holes))] == ["9", "99", "100", ""]


def test_places_to_a_hundredth_and_the_nearest_64th():
    for row, hole in zip(read(rack()), rack().holes, strict=True):
        for axis, exact in zip("xy", hole.at, strict=True):
            assert float(row[axis]) == pytest.approx(exact, abs=0.00501)
            whole, _, part = row[f"{axis}_in"].rpartition("-")
            inch = Fraction(whole or 0) + Fraction(part)
            # 1 in = 25.4 mm exactly (1959 agreement)
            assert abs(float(inch) * 25.4 - exact) <= 25.4 / 128 + 1e-9
            assert 64 % inch.denominator == 0


def test_slack_is_diameter_less_wanted():
    drawing = rack()
    hole = dataclasses.replace(drawing.holes[0], bore=Bore(6.75, 6.35, None, "peg", 'for the "long" one, yes'))
    row = read(dataclasses.replace(drawing, holes=(hole,)))[0]
    assert (row["diameter"], row["wanted"], row["slack"]) == ("6.75", "6.35", "0.40")
    assert (row["drill"], row["use"], row["note"]) == ("milled", "peg", 'for the "long" one, yes')


def test_drill_names_and_through():
    rows = read(rack())
    assert rows[0]["drill"] == "17/64 in"
    assert [row["through"] for row in rows[15:]] == ["yes", "yes", "yes", "yes", "no"]


def test_no_holes_leave_the_head():
    assert holes_csv(bench()).count("\n") == 1


def test_lines_end_in_a_plain_newline():
    assert "\r" not in holes_csv(rack())


@pytest.mark.parametrize(("machine", "said"), [("router", "milled"), ("laser", "laser"), ("hand", "none")])
def test_what_makes_a_hole_that_no_drill_does(machine, said):
    """A laser does not mill; by hand nothing does, and the check says that no owned drill is large enough."""
    drawing = rack()
    tray = dataclasses.replace(drawing.tray, cutting=dataclasses.replace(drawing.tray.cutting, machine=machine))
    rows = read(dataclasses.replace(drawing, tray=tray))
    assert [row["drill"] for row in rows if row["tag"] == "20"] == [said]
    assert rows[0]["drill"] == "17/64 in"
