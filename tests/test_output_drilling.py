"""The drill-hole schedule as it is worked off: order, words, and its pages as pdftotext reads them."""

from __future__ import annotations

import dataclasses
import math
import re
from itertools import groupby, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.model.drawing import Hole
from insertgen.model.job import DrillSize
from insertgen.model.seat import Bore
from insertgen.output.drilling import drill_changes, drill_plan
from insertgen.output.paper import paper_pdf
from insertgen.output.schedule_pages import is_drilled
from insertgen.output.way import short_way
from tests.test_output_drawings import bench, rack
from tests.test_output_paper import words
from tests.test_output_stores import by_hand, laser, posts, slots

POINTS = st.lists(st.tuples(st.floats(0, 400), st.floats(0, 400)), min_size=1, max_size=25)


def length(way):
    return sum(math.dist(a, b) for a, b in pairwise(way))


def schedule(pdf):
    return [re.sub(r"[ ]+", " ", page) for page in words(pdf).split("\f")[:-1] if "X mm (in)" in page]


# ---- the way ----------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(POINTS)
def test_no_section_turned_round_makes_the_way_shorter(points):
    # what 2-opt is (Croes 1958): a way that no reversal of a section shortens; measured here over the whole way
    order = short_way(points)
    assert sorted(order) == list(range(len(points)))
    way = [points[k] for k in order]
    assert math.hypot(*way[0]) <= min(math.hypot(*point) for point in points) + 1e-6
    for first in range(1, len(way)):
        for last in range(first + 1, len(way)):
            turned = way[:first] + way[first : last + 1][::-1] + way[last + 1 :]
            assert length(turned) >= length(way) - 1e-5


@given(st.lists(st.integers(0, 300), min_size=2, max_size=20, unique=True))
def test_a_row_of_holes_is_bored_from_left_to_right(xs):
    # closed form: along a line from its end the shortest way is its length
    order = short_way([(float(x), 20.0) for x in xs])
    assert [xs[k] for k in order] == sorted(xs)


# ---- the order --------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [rack, slots, posts, by_hand])
def test_every_hole_once_with_the_fewest_drill_changes(make):
    drawing = make()
    rows = [row.hole for group in drill_plan(drawing) for row in group.rows]
    assert sorted(map(repr, rows)) == sorted(map(repr, drawing.holes))
    # no order changes drills less often than there are drills, less one
    assert drill_changes(tuple(rows)) == len({hole.bore.diameter for hole in drawing.holes}) - 1


def test_the_depth_stop_is_set_once_for_each_depth():
    drawing = rack()
    holes = tuple(dataclasses.replace(hole, depth=(12.0, 24.0, 30.0)[k % 3], through=k % 3 == 2) for k, hole in enumerate(drawing.holes))
    for group in drill_plan(dataclasses.replace(drawing, holes=holes)):
        stops = [key for key, _ in groupby((row.hole.through, row.hole.depth) for row in group.rows)]
        assert stops == sorted(set(stops))


def test_dowel_holes_are_bored_before_the_glue():
    eight = Bore(8.0, 8.0, DrillSize("8 mm", 8.0), "dowel", "dowel 8 mm, right through")
    dowels = tuple(Hole("D", sheet, "", (20.0, 20.0), eight, 18.0, True, "before-glue") for sheet in (1, 2))
    plan = drill_plan(dataclasses.replace(rack(), holes=(*rack().holes, *dowels)))
    assert plan[0].when == "before the sheets are glued"
    assert [(row.sheet, row.purpose) for row in plan[0].rows] == [("1", "registration dowel; dowel 8 mm, right through"),
                                                                  ("2", "registration dowel; dowel 8 mm, right through")]  # fmt: skip
    assert all(group.when == "after the sheets are glued" for group in plan[1:])


# ---- the words --------------------------------------------------------------------------------


def row_of(drawing, tag):
    return next(row for group in drill_plan(drawing) for row in group.rows if row.tag == tag)


def test_what_a_hole_is_for_and_why_this_drill():
    drawing = rack()
    # 17/64 in is 6.746875 mm, 3/64 mm... of it less than asked: 6.7; a shank of 1/4 in (6.35 mm) and 0.35 slack
    row = row_of(drawing, "01")
    assert row.purpose == "shank 1/4 in + 0.35"
    assert row.why == "smallest owned that clears 6.7; leaves 0.05"
    assert row.depth == "24 mm (15/16 in)"
    assert row_of(drawing, "20").why == "milled to size"
    assert row_of(posts(), "04").purpose == "peg; dowel 1/4 in x 40 mm"
    assert row_of(posts(), "04").why == "just that size"
    assert row_of(by_hand(), "01").purpose == "start hole; in the waste"
    assert row_of(slots(), "03").purpose == "slot end; through the base too"
    assert row_of(slots(), "03").depth == "THROUGH"


def test_places_are_measured_from_two_edges_in_both_units():
    hole = dataclasses.replace(rack().holes[0], at=(45.461, 107.681))
    (row,) = drill_plan(dataclasses.replace(rack(), holes=(hole,)))[0].rows
    # 45.461 / 25.4 = 1.7898 = 1 + 50.5/64, to the nearest 1/64: 1-51/64
    assert (row.x, row.y) == ("45.46 (1-51/64)", "107.68 (4-15/64)")


# ---- the pages --------------------------------------------------------------------------------


def test_the_schedule_ends_the_paper():
    pdf = paper_pdf(rack(), paper="a4")
    said = words(pdf).split("\f")[:-1]
    assert "drill-hole schedule" in said[-1]
    (page,) = schedule(pdf)
    assert "router bits: drill-hole schedule" in page
    assert "Bore after the sheets are glued" in page
    for part in ("17/64 in 6.75 mm (17/64 in) 8 8 shanks none", "33/64 in 13.1 mm (33/64 in) 4 4 shanks 4", "30 mm milled"):
        assert part in page, part
    # every hole has a row with its x and y
    for hole in rack().holes:
        assert re.search(rf"^{hole.tag} .* {hole.at[0]:.2f} \(.* {hole.at[1]:.2f} \(", page, re.MULTILINE), hole.tag


def test_no_schedule_without_a_hole_to_drill():
    assert not is_drilled(bench())
    assert not is_drilled(laser())
    assert schedule(paper_pdf(bench(), paper="a4")) == []
    assert schedule(paper_pdf(laser(), paper="letter")) == []
