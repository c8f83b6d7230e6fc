"""Plane geometry against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from insertgen.geometry.arcs import arc_centre, fit_path, flatten, least_inside_radius, rectangle
from insertgen.geometry.distance import gap_between, gap_inside
from insertgen.geometry.offset import grown, opened, shrunk, swept
from insertgen.geometry.pose import move_outline, move_path, move_point, move_region
from insertgen.geometry.region import (
    area,
    bounds,
    box,
    covers,
    disc,
    fault,
    from_outline,
    from_path,
    minus,
    pieces,
    stadium,
    to_outlines,
    union,
)
from insertgen.model.figures import Circle, Contour, Outline, Pose

angles = st.floats(-720, 720)
places = st.floats(-500, 500)
poses = st.builds(Pose, places, places, angles, st.booleans())


@given(st.floats(5, 200), st.floats(5, 200), st.floats(0.1, 20))
def test_growing_a_convex_outline_is_steiners_formula(width: float, depth: float, r: float) -> None:
    # Steiner: A + P r + pi r^2
    expected = width * depth + 2 * (width + depth) * r + math.pi * r * r
    assert area(grown(box(0, 0, width, depth), r)) == pytest.approx(expected, rel=2e-3 * r * r / expected + 1e-9)


@given(st.floats(1, 10))
def test_a_square_opened_by_a_disc_loses_four_minus_pi_r2(r: float) -> None:
    side = 3 * r
    lost = side * side - area(opened(box(0, 0, side, side), r))
    assert lost == pytest.approx((4 - math.pi) * r * r, rel=5e-3)


@pytest.mark.parametrize("angle_deg", [30, 60, 90, 120])
def test_a_corner_loses_what_the_closed_form_says(angle_deg: float) -> None:
    # a corner of inside angle t loses r^2 (cot(t/2) - (pi - t)/2)
    t, r, arm = math.radians(angle_deg), 3.0, 100.0
    corner = Outline(((0, 0), (arm, 0), (arm * math.cos(t), arm * math.sin(t))))
    region = from_outline(corner)
    near = disc((0, 0), 60)
    lost = area(minus(region, opened(region, r)).intersection(near))
    assert lost == pytest.approx(r * r * (1 / math.tan(t / 2) - (math.pi - t) / 2), rel=5e-3)


def test_gap_in_a_corner() -> None:
    # r - (r - c) / sin(t/2): 0.099 mm at 90 degrees, 1 mm clearance, 1/4 in cutter
    r, c = 3.175, 1.0
    item = box(0, 0, 50, 50)
    gap = gap_inside(item, opened(grown(item, c), r))
    assert gap.distance == pytest.approx(r - (r - c) / math.sin(math.pi / 4), abs=0.002)


@given(poses, places, places)
def test_poses_keep_distances_and_mirrors_flip_areas(pose: Pose, x: float, y: float) -> None:
    origin, point = move_point((0, 0), pose), move_point((x, y), pose)
    assert origin == pytest.approx((pose.x, pose.y))
    assert math.dist(origin, point) == pytest.approx(math.hypot(x, y), abs=1e-6)
    ring = move_outline(Outline(((0, 0), (2, 0), (0, 1))), pose).outer
    (x0, y0), (x1, y1), (x2, y2) = ring
    turned = (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
    assert turned == pytest.approx(-2 if pose.mirror else 2, abs=1e-6)


def test_the_pose_formula_by_hand() -> None:
    # p' = R(angle) M p + (x, y), M the mirror in x
    assert move_point((3.0, 1.0), Pose(10, 20, 90, mirror=True)) == (9.0, 17.0)


@given(poses)
@settings(max_examples=30)
def test_a_moved_contour_is_the_moved_region(pose: Pose) -> None:
    contour = Contour(((0, 0, 0.0), (30, 0, 0.5), (30, 20, 0.0), (0, 20, -0.3)))
    moved = from_path(move_path(contour, pose))
    assert area(minus(moved, grown(move_region(from_path(contour), pose), 1e-6))) < 1e-3
    assert area(moved) == pytest.approx(area(from_path(contour)), abs=1e-3)


@given(st.floats(0.05, 1.0), st.booleans(), angles)
def test_arc_centres_lie_at_equal_distance(bulge: float, left: bool, angle: float) -> None:
    start, end = (2.0, 1.0), (2.0 + 10 * math.cos(angle), 1.0 + 10 * math.sin(angle))
    centre, radius = arc_centre(start, end, bulge if left else -bulge)
    assert math.dist(centre, start) == pytest.approx(radius)
    assert math.dist(centre, end) == pytest.approx(radius)
    # chord = 2 r sin(half the arc's angle), bulge = tan(a quarter of it)
    assert 2 * radius * math.sin(2 * math.atan(bulge)) == pytest.approx(10)


def test_a_round_ring_becomes_a_circle_and_a_square_does_not() -> None:
    ring = to_outlines(disc((3, 4), 20))[0].outer
    fitted = fit_path(ring, 0.01)
    assert isinstance(fitted, Circle)
    assert fitted.centre == pytest.approx((3, 4), abs=1e-9)
    assert fitted.diameter == pytest.approx(20, abs=1e-6)
    square = fit_path(((0, 0), (10, 0), (10, 10), (0, 10)), 0.01)
    assert isinstance(square, Contour)
    assert len(square.vertices) == 4


def test_a_rounded_rectangle_is_four_lines_and_four_arcs_of_the_right_radius() -> None:
    ring = to_outlines(opened(box(0, 0, 60, 30), 3.2))[0].outer
    fitted = fit_path(ring, 0.01)
    assert isinstance(fitted, Contour)
    assert sorted(round(bulge, 3) for _, _, bulge in fitted.vertices) == [0, 0, 0, 0, 0.414, 0.414, 0.414, 0.414]
    assert least_inside_radius(fitted) == pytest.approx(3.2, abs=1e-3)  # tan(90/4) = 0.414


rings = st.lists(st.tuples(st.floats(20, 60), st.floats(0.5, 1.5)), min_size=5, max_size=14)


@given(rings, st.floats(0.5, 6))
@settings(max_examples=60, deadline=None)
def test_fits_stay_within_their_tolerance(spokes: list[tuple[float, float]], r: float) -> None:
    turns = np.cumsum([turn for _, turn in spokes])
    around = turns / turns[-1] * 2 * math.pi
    ring = tuple((length * math.cos(a), length * math.sin(a)) for (length, _), a in zip(spokes, around, strict=True))
    assume(fault(Outline(ring)) is None)
    region = opened(grown(from_outline(Outline(ring)), 1.0), r)
    assume(pieces(region))
    source = pieces(region)[0]
    fitted = fit_path(to_outlines(source)[0].outer, 0.01)
    back = from_path(fitted)
    # (arcs of the source are chords themselves, 0.002 mm off)
    assert covers(grown(back, 0.0125), source)
    assert covers(grown(source, 0.0125), back)
    if isinstance(fitted, Contour):
        assert max(abs(bulge) for _, _, bulge in fitted.vertices) <= 1
        assert len(fitted.vertices) <= len(to_outlines(source)[0].outer)


def test_sharp_corners_have_no_inside_radius() -> None:
    assert least_inside_radius(rectangle(20, 10)) == 0
    clockwise = Contour(tuple(reversed(rectangle(20, 10).vertices)))
    assert least_inside_radius(clockwise) == 0


def test_gaps() -> None:
    assert gap_between(box(0, 0, 1, 1), box(4, 5, 6, 6)).distance == 5  # 3, 4, 5
    gap = gap_inside(box(2, 2, 12, 8), box(0, 0, 10, 10))
    assert gap.distance == pytest.approx(-2)
    assert gap.to[0] == pytest.approx(10)


def test_small_figures() -> None:
    assert area(stadium(30, 10)) == pytest.approx(200 + math.pi * 25, rel=1e-3)
    assert bounds(stadium(10, 10)) == pytest.approx((-5, -5, 5, 5))
    assert area(swept((0, 0), (10, 0), 2)) == pytest.approx(40 + math.pi * 4, rel=1e-3)
    assert area(shrunk(box(0, 0, 10, 10), 1)) == pytest.approx(64)
    assert len(pieces(union([box(0, 0, 1, 1), box(5, 5, 9, 9)]))) == 2
    assert fault(Outline(((0, 0), (1, 1), (1, 0), (0, 1)))) is not None
    assert len(flatten(Contour(((1, 0, 1.0), (-1, 0, 1.0))), 0.001)) > 60
