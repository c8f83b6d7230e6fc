"""Corner seats: places in closed form, wood in one piece, and what others must keep off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point

from insertgen.arrange.arrange import arrange
from insertgen.arrange.body import bodies
from insertgen.arrange.budget import Budget
from insertgen.arrange.corners import corner_places
from insertgen.arrange.feasible import WALL, WOOD, Spacing, conflicts, stand
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Turn
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, LeftOutReason, Placement
from insertgen.model.seat import Seat
from tests.arrange_values import (
    bit,
    corner,
    faults,
    keep_out,
    on_posts,
    pocket,
    rectangle,
    round_outline,
    sawn,
    tray,
)

AMPLE = 600.0


def laid(where: Tray, seats: tuple[Seat, ...], seed: int = 0) -> Layout:
    layout = arrange(where, seats, seed=seed, seconds=AMPLE)
    assert faults(where, seats, layout) == []
    assert conflicts(where, seats, layout) == []
    return layout


def spots(layout: Layout) -> dict[str, tuple[float, float]]:
    return {one.id[-2:]: (one.pose.x, one.pose.y) for one in layout.placements}


def judged(where: Tray, seats: Sequence[Seat], *poses: Pose) -> list[tuple[str, float]]:
    placements = tuple(Placement(s.item.id, "", "", pose, False) for s, pose in zip(seats, poses, strict=True))
    layout = Layout(where.slug, 0, 1, False, where.blank, placements, ())
    return [(one.other, one.shortfall) for one in conflicts(where, seats, layout)]


# ---- where they go -----------------------------------------------------------------------------


@settings(max_examples=6, deadline=None, derandomize=True)
@given(
    diameter=st.floats(30.0, 120.0),
    clearance=st.integers(0, 300).map(lambda hundredths: hundredths / 100),
    play=st.integers(0, 200).map(lambda hundredths: hundredths / 100),
    margin=st.floats(5.0, 12.0),
)
def test_a_disc_in_a_corner(diameter: float, clearance: float, play: float, margin: float) -> None:
    """Its centre is half its diameter and its clearance from the tray's walls, which stand ``play`` off the blank.

    Poses are written to hundredths, away from the wall.
    """
    where = tray(350, 250, play=play, margin=margin)
    layout = laid(where, (corner(1, round_outline(diameter), Turn.FIXED, clearance=clearance),))
    ((x, y),) = spots(layout).values()
    at = diameter / 2 + clearance - play
    assert at - 1e-6 <= x <= at + 0.01 + 1e-6
    assert at - 1e-6 <= y <= at + 0.01 + 1e-6


def test_four_discs_in_four_corners_in_the_order_front_left_to_back_left() -> None:
    diameters = (60.0, 90.0, 70.0, 80.0)
    layout = laid(tray(), tuple(corner(n, round_outline(d), Turn.FIXED) for n, d in enumerate(diameters, 1)))
    far = {n: d / 2 + 1.0 - 0.5 for n, d in enumerate(diameters, 1)}
    assert spots(layout) == {
        "02": (far[2], far[2]),
        "04": (350 - far[4], far[4]),
        "03": (350 - far[3], 250 - far[3]),
        "01": (far[1], 250 - far[1]),
    }


def test_equal_ones_take_corners_by_their_ids() -> None:
    layout = laid(tray(), tuple(corner(n, round_outline(60), Turn.FIXED) for n in (3, 1, 2)))
    assert spots(layout) == {"01": (30.5, 30.5), "02": (319.5, 30.5), "03": (319.5, 219.5)}


def test_a_turn_that_fits_its_corner_is_found() -> None:
    """Two bars of 240 x 150 on a blank of 350 x 250: both along the front is 480 of 351, one behind the other 300 of 251.

    Both turned they are 300 of 351 wide: the one turn in which both have a corner.
    """
    layout = laid(tray(), (corner(1, rectangle(240, 150)), corner(2, rectangle(240, 150))))
    assert [one.pose.angle_deg % 180 for one in layout.placements] == [90, 90]
    assert spots(layout) == {"01": (75.5, 120.5), "02": (274.5, 120.5)}


@pytest.mark.parametrize(("width", "depth"), [(257, 257), (259, 262), (262, 257), (300, 400)])
def test_three_grits_and_a_sander(width: float, depth: float) -> None:
    """Discs of 127 side by side ask for 2 x 127 + 4 x 1 = 258 of the tray, which is 1 wider than its blank."""
    where = tray(width, depth)
    seats = (*(corner(n, round_outline(127), Turn.FIXED) for n in (1, 2, 3)), corner(4, rectangle(112, 96)))
    layout = laid(where, seats)
    assert layout.left_out == ()
    far = 63.5 + 1 - 0.5
    for name, at in {"01": (far, far), "02": (width - far, far), "03": (width - far, depth - far)}.items():
        assert spots(layout)[name] == pytest.approx(at, abs=0.011)
    x, y = spots(layout)["04"]
    turned = layout.placements[3].pose.angle_deg % 180 == 90
    half = (48, 56) if turned else (56, 48)
    assert (x, y) == pytest.approx((half[0] + 0.5, depth - half[1] - 0.5), abs=0.011)


def test_a_hair_narrower_and_the_discs_do_not_go_side_by_side() -> None:
    where = tray(256.9, 257)
    seats = tuple(corner(n, round_outline(127), Turn.FIXED) for n in (1, 2, 3, 4))
    layout = laid(where, seats)
    assert [one.why for one in layout.left_out] == [LeftOutReason.NO_ROOM] * 2


def test_a_fifth_goes_along_the_left_edge() -> None:
    """Slid back from the front until the web is left: in the order of corners a web from the front left disc.

    Openings of 63 mm, web 6: centres 69 apart, both 31 from the left edge.
    """
    layout = laid(tray(350, 350), tuple(corner(n, round_outline(61), Turn.FIXED) for n in range(1, 6)))
    assert spots(layout)["05"] == pytest.approx((31, 31 + 69), abs=0.03)


def test_an_edge_seat_as_near_the_pinned_one_as_the_web() -> None:
    where = tray(400, 100)  # opposite corners only, then the pinned one in the middle of the front
    seats = (
        corner(1, round_outline(90), Turn.FIXED, pinned=Pose(200, 45.5)),
        *(corner(n, round_outline(90), Turn.FIXED) for n in (2, 3, 4)),
    )
    layout = laid(where, seats)
    assert [one.id[-2:] for one in layout.left_out] == ["04"]
    assert spots(layout) == {"01": (200, 45.5), "02": (45.5, 45.5), "03": (354.5, 45.5)}


def test_too_big_for_the_tray() -> None:
    """A tray of 351 x 251 holds 349 x 249 with 1 all round, and nothing larger, though the blank is smaller."""
    for size, left in (((349, 249), 0), ((349.02, 249), 1), ((349, 249.02), 1)):
        layout = arrange(tray(), (corner(1, rectangle(*size), Turn.FIXED),), seconds=AMPLE)
        # as large as the tray there is no wood left of the blank
        assert [one.why for one in layout.left_out] == [
            LeftOutReason.TOO_BIG if left else LeftOutReason.NO_ROOM
        ]


def test_keep_outs_close_a_corner() -> None:
    where = tray(350, 250, keep_out(0, 0, 20, 20))
    layout = laid(where, (corner(1, round_outline(60), Turn.FIXED),))
    assert spots(layout) == {"01": (319.5, 30.5)}


# ---- the wood ----------------------------------------------------------------------------------


def test_wood_is_not_parted() -> None:
    """A bar right across a narrow blank would leave one piece only if it lies at an end, not in the middle."""
    where = tray(350, 100)
    bar, pose = corner(1, rectangle(98, 60), Turn.QUARTER), Pose(175, 50, 90)
    assert WOOD in [other for other, _ in judged(where, (bar,), pose)]
    assert judged(where, (bar,), Pose(30.5, 50, 90)) == []
    assert laid(where, (bar,)).left_out == ()


def test_openings_may_run_together_but_items_not() -> None:
    where, pair = tray(), (corner(1, round_outline(60)), corner(2, round_outline(60)))
    at = Pose(30.5, 30.5)
    assert judged(where, pair, at, Pose(30.5 + 62, 30.5)) == []  # items 2 apart, openings touch
    found = judged(where, pair, at, Pose(30.5 + 61.5, 30.5))
    assert max(short for _, short in found) == pytest.approx(0.5, abs=1e-9)


def test_nothing_stands_where_another_corner_seat_is_sawn_away() -> None:
    """In the nook between a disc and the front wall 3 mm are left between the items, but no wood to hold the small one."""
    where, pair = tray(), (corner(1, round_outline(60)), corner(2, round_outline(8)))
    assert judged(where, pair, Pose(30.5, 30.5), Pose(61.5 + 4.1, 4.5)) == []
    found = judged(where, pair, Pose(30.5, 30.5), Pose(57.0, 4.5))
    assert [other for other, _ in found] == ["test-tray/02"]


def test_room_and_wall_are_the_trays() -> None:
    one = corner(1, round_outline(60))
    assert judged(tray(), (one,), Pose(30.5, 100)) == []
    assert judged(tray(), (one,), Pose(30.4, 100)) == [(WALL, pytest.approx(0.1, abs=1e-9))]
    wide = replace(one, item=replace(one.item, room=round_outline(66)))
    assert judged(tray(), (wide,), Pose(32.5, 100)) == []  # 33 less the play
    assert judged(tray(), (wide,), Pose(32.4, 100)) == [(WALL, pytest.approx(0.1, abs=1e-9))]


def test_off_the_edges_there_is_no_margin_to_keep() -> None:
    """Pinned in the middle it opens to nothing, 7 from the edge to that edge: neither is a fault of the layout."""
    one = corner(1, round_outline(60))
    for x in (175.0, 38.0, 30.5):
        assert judged(tray(), (one,), Pose(x, 125)) == []


@pytest.mark.parametrize(("x", "shortfall"), [(87.5, None), (86.5, 1.0)])
def test_others_keep_the_web_from_what_is_sawn_away(x: float, shortfall: float | None) -> None:
    """A disc's opening of 62 in the corner is sawn straight to the edge, so it ends at x = 61.5 at y = 10 as well."""
    bite, small = corner(1, round_outline(60)), pocket(2, rectangle(40, 4))
    found = judged(tray(), (bite, small), Pose(30.5, 30.5), Pose(x, 12.0))
    if shortfall is None:
        assert found == []
    else:
        assert max(short for _, short in found) == pytest.approx(shortfall, abs=0.002)


def test_a_pinned_one_keeps_its_pin_and_opens_to_its_edge() -> None:
    """Pinned 3 off the left edge, it opens to it: a pocket of 20 x 20 behind must clear 31 + 6 of it, not only beside."""
    pinned = corner(1, round_outline(60), pinned=Pose(34.0, 120.0, 15.0))
    others = tuple(pocket(n, rectangle(48, 30)) for n in range(2, 5))
    layout = laid(tray(), (pinned, *others))
    assert layout.placements[0].pose == Pose(34.0, 120.0, 15.0)
    assert layout.placements[0].pinned


@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize("angle", [0.0, 90.0, 155.0])
def test_a_pinned_one_is_opened_in_its_own_frame(mirror: bool, angle: float) -> None:
    """What the search holds, moved to the pin, is what shapely finds sawn away."""
    seat = corner(1, Outline(((-40, -20), (50, -30), (0, 40))), pinned=Pose(47.25, 61.5, angle, mirror))
    where = tray()
    pins = [(bodies((seat,), where.blank, where.margin, where.play)[0], seat.item.pinned)]
    (((body, pose),), _) = corner_places(where, Spacing(6.0, 8.0), pins, [], Budget(math.inf))
    held, truth = stand(body.footprint, pose).opening, sawn(seat, pose, where)
    assert held.symmetric_difference(truth).area < truth.length * 1e-6  # unions stand on a grid of 1e-6
    samples = [(pose.x + x, pose.y + y) for x, y in _turned(body.opening.samples, angle)]
    assert max(truth.boundary.distance(Point(one)) for one in samples) < 1e-6


def _turned(points: np.ndarray, angle: float) -> np.ndarray:
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return points @ np.array([[cos, sin], [-sin, cos]])


# ---- with everything else ----------------------------------------------------------------------


def test_corners_stay_when_the_rest_is_evened_out() -> None:
    seats = (
        *(corner(n, round_outline(70), Turn.FIXED) for n in (1, 2, 3, 4)),
        pocket(5, rectangle(80, 50)),
        on_posts(6, rectangle(120, 20), (-65, 0), (65, 0)),
        bit(7),
        bit(8),
    )
    layout = laid(tray(), seats)
    assert layout.left_out == ()
    assert {n: xy for n, xy in spots(layout).items() if n <= "04"} == {
        "01": (35.5, 35.5), "02": (314.5, 35.5), "03": (314.5, 214.5), "04": (35.5, 214.5),
    }  # fmt: skip
    assert layout == arrange(tray(), seats, seconds=AMPLE)


sizes = st.integers(20, 150).map(float)
shapes = st.one_of(st.builds(rectangle, sizes, sizes), st.builds(round_outline, sizes))


@settings(max_examples=6, deadline=None, derandomize=True)
@given(
    outlines=st.lists(st.tuples(shapes, st.sampled_from([Turn.FIXED, Turn.QUARTER, Turn.HALF])), max_size=5),
    width=st.integers(180, 320),
    blocked=st.booleans(),
)
def test_every_layout_with_corners_is_sound(
    outlines: list[tuple[Outline, Turn]], width: int, blocked: bool
) -> None:
    where = tray(width, 240, *([keep_out(width / 2, 0, 20, 30)] if blocked else []))
    seats = tuple(corner(n, outline, turn) for n, (outline, turn) in enumerate(outlines, 1))
    seats += (pocket(8, rectangle(50, 30)),)
    layout = laid(where, seats)
    assert len(layout.placements) + len(layout.left_out) == len(seats)


def test_the_judge_of_corners_is_not_blind() -> None:
    seats = tuple(corner(n, round_outline(60), Turn.FIXED) for n in (1, 2))
    layout = laid(tray(), seats)
    for index, x, y in ((0, 30.4, 30.5), (0, 30.5, 30.4), (1, 30.5 + 61.9, 30.5), (1, 319.6, 30.5)):
        placements = list(layout.placements)
        placements[index] = replace(placements[index], pose=Pose(x, y))
        moved = replace(layout, placements=tuple(placements))
        assert len(faults(tray(), seats, moved)) == 1
        assert conflicts(tray(), seats, moved)


def test_square_of_discs_gap_in_closed_form() -> None:
    """Four equal discs in the corners of a square tray inside of a: neighbours a - 2 d - 2 c apart."""
    a, d, c = 259.0, 120.0, 1.0
    layout = laid(tray(a - 1, a - 1), tuple(corner(n, round_outline(d), Turn.FIXED) for n in (1, 2, 3, 4)))
    xy = spots(layout)
    assert math.dist(xy["01"], xy["02"]) - d == pytest.approx(a - 2 * d - 2 * c, abs=0.02)
