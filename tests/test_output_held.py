"""How things are held and cut, in words; widths against shapely, template figures against their closed form."""

from __future__ import annotations

import dataclasses
import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from insertgen.model.drawing import Operation
from insertgen.model.figures import Contour
from insertgen.model.job import Cutter
from insertgen.model.shape import PostKind
from insertgen.output.held import corner_words, held_words
from insertgen.output.methods import method_words
from insertgen.output.routing import template_words
from insertgen.output.words import drill_words, fence_words, passes, sheet_words, slot_width, stack_words
from tests.test_output_drawings import bench
from tests.test_output_stores import by_hand, corners, laser, posts, slots, stadium, steps


def held(drawing, tag):
    return held_words(drawing, next(mark for mark in drawing.marks if mark.tag == tag))


@given(st.floats(0.5, 80.0), st.floats(1.0, 20.0))
def test_passes_are_the_fewest_of_one_cutter_diameter(depth, cutter):
    # common practice, no source: no pass deeper than the cutter is wide
    count = passes(depth, cutter)
    assert depth / count <= cutter + 1e-4
    assert count == 1 or depth / (count - 1) > cutter - 1e-4


def test_no_cutter_takes_no_count_of_passes():
    assert passes(40.0, 0.0) == 1


@given(st.floats(1.0, 30.0), st.floats(1.1, 10.0), st.floats(0.0, 180.0))
def test_slot_width_is_that_of_the_least_rectangle_round_it(width, stretch, angle):
    turn = math.radians(angle)
    vertices = stadium(0.0, 0.0, width * stretch + width, width).vertices
    turned = Contour(tuple((x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn), b) for x, y, b in vertices))
    middle = shapely.LineString([(width / 2, width / 2), (width * stretch + width / 2, width / 2)])
    around = affinity.rotate(middle, angle, origin=(0, 0)).buffer(width / 2, quad_segs=256).minimum_rotated_rectangle
    sides = [math.dist(one, other) for one, other in zip(around.exterior.coords, around.exterior.coords[1:], strict=False)]
    assert slot_width(turned) == pytest.approx(width, rel=1e-5)
    assert slot_width(turned) == pytest.approx(min(sides), rel=1e-3)  # shapely's buffer is a polygon


def test_steps_are_each_named_once_with_their_passes():
    # 9, 15 and 25 mm with a 1/4 in cutter: 1.42, 2.36 and 3.94 diameters
    assert held(steps(), "02") == (
        "pocket 9 mm (23/64 in) deep, in 2 passes; pocket 15 mm (19/32 in) deep, in 3 passes; "
        "pocket 25 mm (63/64 in) deep, in 4 passes"
    )


def test_corner_and_open_edge():
    drawing = corners(split=True)
    said = {mark.tag: corner_words(drawing, mark) for mark in drawing.marks}
    assert [said[tag] for tag in ("01", "02", "03", "04")] == ["corner, sawn right through"] * 4
    assert said["05"] == said["06"] == "open edge, sawn right through"  # at one edge; across from front to back
    assert held(laser(), "06") == "corner, cut right through"


def test_a_slot_says_its_width_its_ends_and_the_base():
    assert held(slots(), "03") == (
        "slot, cut THROUGH, 8 mm (5/16 in) wide, in 3 passes; bore its ends first, 8 mm; through the tray's base too"
    )
    alone = dataclasses.replace(slots(), base=None, holes=(), fences=())
    assert held(alone, "03") == "slot, cut THROUGH, 8 mm (5/16 in) wide"  # by hand, no cutter is known


def test_fence():
    drawing = slots()
    # 87.3 / 25.4 = 3.437; 3-7/16 = 3.4375
    assert fence_words(drawing.fences[0]) == (
        "slot 03 panel saw: fence at the left edge, 87.3 mm from fence to cutter (3-7/16 in), cutter 6.35 mm (1/4 in), "
        "second pass 1.65 mm further out; stop blocks where the bores are"
    )
    assert "second" not in fence_words(dataclasses.replace(drawing.fences[0], shift=0.0))


def test_posts_and_pegs_name_their_dowels():
    drawing = posts()
    assert held(drawing, "01") == "lies between posts: 2 dowels 1/4 in x 35 mm; bore 1/4 in, 15 mm (19/32 in) deep"
    assert held(drawing, "02").startswith("lies between posts: 2 nails 2 mm x 40 mm (no points up) and 1 dowel 1/4 in x 35 mm; ")
    assert held(drawing, "03").startswith("lies by a post: 1 pin 3 mm x 30 mm; ")
    assert held(drawing, "04") == "on a peg: dowel 1/4 in x 40 mm; bore 1/4 in, 15 mm (19/32 in) deep"
    assert held(drawing, "05").endswith("; kept by 01")


def test_start_holes_make_a_cut_a_sawn_one():
    assert held(by_hand(), "01") == "saw THROUGH from a start hole; start hole 10 mm in the waste"
    routed = dataclasses.replace(by_hand(), holes=())
    assert held(routed, "01") == "rout by template-1, THROUGH, in 5 passes"  # 30 mm by the template's 1/4 in cutter: 4.72


def test_each_step_of_a_seat_names_the_template_it_is_routed_by():
    words = held(by_hand(), "03")
    assert "rout by template-1, 12.7 mm (1/2 in) deep" in words
    assert "rout by template-2, 25 mm (63/64 in) deep" in words


def test_outside_and_openings_without_a_start_hole_are_sawn():
    drawing = corners()
    (layer,) = [layer for layer in drawing.sheets[0].layers if layer.operation is Operation.OUTSIDE]
    assert method_words(drawing, layer, layer.entities[0]) == "outside, saw THROUGH last"
    made = by_hand()
    tray = dataclasses.replace(made.tray, cutting=dataclasses.replace(made.tray.cutting, template=None))
    assert held(dataclasses.replace(made, tray=tray, holes=(), templates=()), "02") == "saw THROUGH"


def test_a_laser_says_its_sheets_and_the_depth_it_could_not_cut():
    drawing = laser()
    assert held(drawing, "01") == (
        "sheet 1: cut THROUGH; 6 mm (15/64 in) deep in all; depth asked 9 mm (23/64 in), a laser cuts whole sheets: 6 mm (15/64 in)"
    )
    assert held(drawing, "02") == "sheets 1 and 2: cut THROUGH; 12 mm (15/32 in) deep in all"
    assert held(drawing, "03") == "sheets 1, 2 and 3: cut THROUGH"
    assert held(drawing, "04") == "stands on the face, no cut"
    # written smaller by the kerf, and still the hole of the schedule
    assert held(drawing, "05") == "sheets 1 and 2: hole 6.7 mm by laser, THROUGH"
    assert stack_words(drawing).endswith("cut first, then glued, 16 mm (5/8 in) in all")
    assert sheet_words(drawing, drawing.sheets[1]) == "sheet 2 of 3, 6 mm (15/64 in) ply"


def test_a_laser_that_was_asked_to_glue_first_cuts_sheets_all_the_same():
    glued = dataclasses.replace(laser().tray, glued_first=True)
    assert "cut first, then glued" in stack_words(dataclasses.replace(laser(), tray=glued))
    assert "glued first, then cut as one block" in stack_words(steps())


def test_a_hole_wider_than_the_kerf_allows_is_no_hole_of_the_schedule():
    drawing = laser()
    holes = tuple(dataclasses.replace(hole, bore=dataclasses.replace(hole.bore, diameter=7.0)) for hole in drawing.holes)
    assert "hole" not in held(dataclasses.replace(drawing, holes=holes), "05")


@pytest.mark.parametrize(("machine", "said"), [("router", "30 mm milled"), ("laser", "30 mm by laser"), ("hand", "30 mm, no drill owned")])
def test_a_bore_without_a_drill(machine, said):
    from insertgen.model.seat import Bore

    assert drill_words(Bore(30.0, 30.0, None, "shank"), machine) == said


def test_templates_say_files_rounding_and_reach():
    said = template_words(by_hand())
    assert said[0] == (
        "template-1.dxf: 6 mm (15/64 in) thick, for a bush of 15.88 mm (5/8 in) and a cutter of 6.35 mm (1/4 in); "
        "4 openings: 01, 02, 03, 04"
    )
    assert said[1].endswith("1 opening: 03")
    # (5/8 - 1/4) / 2 = 3/16 in exactly
    assert said[2] == "Wood corners that stick out into a seat come out with a radius of 4.8 mm (3/16 in)."
    # 6 mm of template and a pocket of 25 mm; the through-cuts are sawn
    assert "Reach needed of the cutter: 31 mm (1-7/32 in)" in said[3]
    assert "in 4 passes" in said[3]
    assert said[3].endswith("reaches 25.4 mm (1 in): TOO SHORT, take a longer one.")


@pytest.mark.parametrize(("reach", "short"), [(30.9, True), (31.0, False), (None, False)])
def test_reach_is_held_against_what_is_needed(reach, short):
    drawing = by_hand()
    how = dataclasses.replace(drawing.tray.cutting.template, cutter=Cutter(6.35, reach))
    cutting = dataclasses.replace(drawing.tray.cutting, template=how)
    said = template_words(dataclasses.replace(drawing, tray=dataclasses.replace(drawing.tray, cutting=cutting)))
    assert ("TOO SHORT" in said[-1]) is short


def test_a_bearing_as_wide_as_its_cutter_rounds_nothing():
    drawing = by_hand()
    how = dataclasses.replace(drawing.tray.cutting.template, guide="bearing", diameter=6.35)
    cutting = dataclasses.replace(drawing.tray.cutting, template=how)
    said = template_words(dataclasses.replace(drawing, tray=dataclasses.replace(drawing.tray, cutting=cutting)))
    assert not any("rounded" in line for line in said)
    assert "for a bearing of 6.35 mm" in said[0]


def test_no_templates_no_words():
    assert template_words(bench()) == ()


def test_a_nail_is_told_from_a_dowel():
    assert PostKind.NAIL.value in held(posts(), "02")
    assert "no points up" not in held(posts(), "03")
