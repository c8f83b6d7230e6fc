"""What is kept beside what: nearest of all, side by side in a row, or as near as the rules allow."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.arrange.arrange import arrange
from insertgen.arrange.beside import compound, expanded, leaders
from insertgen.arrange.body import bodies
from insertgen.arrange.feasible import Spacing, conflicts
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Turn
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, LeftOutReason
from insertgen.model.seat import Seat
from tests.arrange_values import (
    bit,
    corner,
    faults,
    keep_out,
    on_posts,
    pocket,
    posed,
    rectangle,
    round_outline,
    tray,
)

AMPLE = 600.0
NEAR = 0.03  # places are looked for to hundredths; a disc of 256 sides is 0.002 off its circle


def name(number: int) -> str:
    return f"test-tray/{number:02d}"


def laid(where: Tray, seats: tuple[Seat, ...]) -> Layout:
    layout = arrange(where, seats, seconds=AMPLE)
    assert faults(where, seats, layout) == []
    assert conflicts(where, seats, layout) == []
    return layout


def gaps_from(number: int, seats: tuple[Seat, ...], layout: Layout) -> dict[int, float]:
    """How far every other room is from this one, by number, nearest first."""
    rooms = {seat.item.id: seat.item.room for seat in seats}
    stood = {int(one.id[-2:]): posed(rooms[one.id], one.pose) for one in layout.placements}
    found = {other: float(room.distance(stood[number])) for other, room in stood.items() if other != number}
    return dict(sorted(found.items(), key=lambda pair: pair[1]))


def poses(layout: Layout) -> dict[int, Pose]:
    return {int(one.id[-2:]): one.pose for one in layout.placements}


# ---- in a rack ---------------------------------------------------------------------------------


RACK = (
    *(bit(n, head=20.0 + n, top=30.0 + n) for n in range(1, 9)),
    bit(9, head=13.0, top=8.0, beside=name(4)),
    bit(10, head=16.0, top=80.0, beside=name(6)),
)


def test_spare_bearings_by_their_bit() -> None:
    """Side by side at finger room, 15 here, in the same row; no other head is nearer, and the rest stays in rows."""
    layout = laid(tray(), RACK)
    at = poses(layout)
    for rider, leader in ((9, 4), (10, 6)):
        nearest, gap = next(iter(gaps_from(leader, RACK, layout).items()))
        assert nearest == rider
        assert gap == pytest.approx(15.0, abs=NEAR)
        assert next(iter(gaps_from(rider, RACK, layout))) == leader
        assert at[rider].y == at[leader].y
        between = [n for n, pose in at.items() if pose.y == at[leader].y and n not in (rider, leader)]
        low, high = sorted((at[rider].x, at[leader].x))
        assert not [n for n in between if low < at[n].x < high]
    assert len({pose.y for pose in at.values()}) <= 3


def test_lower_in_front_by_the_leader() -> None:
    at = poses(laid(tray(), RACK))
    rows = sorted({pose.y for pose in at.values()})
    tops = [[seat.item.top for n, seat in enumerate(RACK, 1) if n <= 8 and at[n].y == y] for y in rows]
    for front, behind in pairwise(tops):
        assert max(front) <= min(behind)


def test_several_by_one_right_and_left_then_on() -> None:
    seats = (bit(1), *(bit(n, head=20.0, beside=name(1)) for n in (2, 3, 4)), bit(5), bit(6))
    layout = laid(tray(), seats)
    gaps = gaps_from(1, seats, layout)
    assert set(list(gaps)[:2]) == {2, 3}
    assert [gaps[2], gaps[3], gaps[4]] == pytest.approx([15.0, 15.0, 15 + 20 + 15], abs=NEAR)
    assert len({poses(layout)[n].y for n in (1, 2, 3, 4)}) == 1


def test_by_a_pinned_bit() -> None:
    seats = (
        bit(1, pinned=Pose(100.0, 120.0)),
        bit(2, head=20.0, beside=name(1)),
        *(bit(n) for n in range(3, 9)),
    )
    layout = laid(tray(), seats)
    assert poses(layout)[1] == Pose(100.0, 120.0)
    # heads of 30 and 20, 15 apart: 40 to its right, or a hundredth more
    assert poses(layout)[2].x == pytest.approx(140.0, abs=0.011)
    assert poses(layout)[2].y == 120.0


def test_by_a_pinned_bit_at_the_right_wall() -> None:
    seats = (bit(1, pinned=Pose(335.0, 120.0)), bit(2, head=20.0, beside=name(1)))
    layout = laid(tray(), seats)
    assert (poses(layout)[2].x, poses(layout)[2].y) == pytest.approx((295.0, 120.0), abs=0.011)


# ---- elsewhere ---------------------------------------------------------------------------------


def test_a_pocket_by_a_pocket_at_the_web() -> None:
    seats = (
        pocket(1, rectangle(120, 40)),
        pocket(2, rectangle(50, 30), beside=name(1)),
        *(pocket(n, rectangle(60, 50)) for n in (3, 4, 5)),
    )
    layout = laid(tray(), seats)
    nearest, gap = next(iter(gaps_from(1, seats, layout).items()))
    assert (nearest, gap) == (2, pytest.approx(6.0, abs=NEAR))


def test_a_bit_by_a_pocket_at_finger_room() -> None:
    seats = (
        pocket(1, rectangle(150, 40)),
        bit(2, head=24.0, beside=name(1)),
        bit(3),
        pocket(4, round_outline(60)),
    )
    layout = laid(tray(), seats)
    nearest, gap = next(iter(gaps_from(1, seats, layout).items()))
    assert (nearest, gap) == (2, pytest.approx(15.0, abs=NEAR))


def test_by_a_corner_seat() -> None:
    """Its opening is sawn straight to the edges; the bit's head is finger room from the disc."""
    seats = (
        corner(1, round_outline(90), Turn.FIXED),
        bit(2, head=24.0, beside=name(1)),
        pocket(3, rectangle(60, 60)),
    )
    layout = laid(tray(), seats)
    assert (poses(layout)[1].x, poses(layout)[1].y) == (45.5, 45.5)
    nearest, gap = next(iter(gaps_from(1, seats, layout).items()))
    assert (nearest, gap) == (2, pytest.approx(15.0, abs=NEAR))


def test_turned_with_its_leader() -> None:
    """A bar of 200 x 30 lies along a blank of 90 x 260 only turned; its rider turns with it, its round one need not."""
    seats = (
        pocket(1, rectangle(200, 30)),
        pocket(2, rectangle(60, 20), beside=name(1)),
        bit(3, head=14.0, turn=Turn.FIXED, beside=name(1), room_gap=6.0),
    )
    layout = laid(tray(90, 260), seats)
    assert layout.left_out == ()
    assert poses(layout)[1].angle_deg % 180 == 90
    assert poses(layout)[3].angle_deg == 0
    gaps = gaps_from(1, seats, layout)
    assert [gaps[2], gaps[3]] == pytest.approx([6.0, 6.0], abs=NEAR)


def test_mirrored_ones_stay_mirrored() -> None:
    ell = Outline(((-60, -25), (60, -25), (60, -5), (-40, -5), (-40, 25), (-60, 25)))
    seats = (pocket(1, ell, mirror=True), pocket(2, ell, beside=name(1)), pocket(3, round_outline(40)))
    layout = laid(tray(), seats)
    assert [one.pose.mirror for one in layout.placements] == [True, False, False]
    assert gaps_from(1, seats, layout)[2] == pytest.approx(6.0, abs=NEAR)


# ---- where it does not work --------------------------------------------------------------------


def test_apart_rather_than_left_out() -> None:
    """A keep-out parts a trough of 200 x 60 into 90 and 90 wide: both bars of 70 fit, not side by side (146, or 66 deep)."""
    where = tray(200, 60, keep_out(95, 0, 10, 60))
    seats = (pocket(1, rectangle(70, 30), Turn.FIXED), pocket(2, rectangle(70, 30), Turn.FIXED, beside=name(1)))
    layout = laid(where, seats)
    assert layout.left_out == ()


def test_a_place_by_a_pin_is_given_up_where_something_would_be_left_out() -> None:
    """In a trough of 158 x 56 a pinned square of 40 leaves 40 mm on its left and 50 on its right, webs and margins off.

    A rider of 40 goes right of the pin first; but then a bar of 50 has no place.
    """
    seats = (
        pocket(1, rectangle(40, 40), Turn.FIXED, pinned=Pose(74, 28)),
        pocket(2, rectangle(40, 40), Turn.FIXED, beside=name(1)),
        pocket(3, rectangle(50, 40), Turn.FIXED),
    )
    assert poses(laid(tray(158, 56), seats[:2]))[2].x == pytest.approx(120, abs=0.011)
    assert [round(pose.x, 2) for pose in poses(laid(tray(158, 56), seats)).values()] == [74, 28, 125]


def test_too_many_to_lie_by_one() -> None:
    """A row of 345: of ten riders of 20 at 15 apart by a head of 30, at most (345 - 30) / 35 = 9 stand in it."""
    seats = (bit(1), *(bit(n, head=20.0, beside=name(1)) for n in range(2, 12)))
    layout = laid(tray(345, 80), seats)
    assert layout.left_out == ()


def test_a_leader_left_out_keeps_nobody_out() -> None:
    seats = (pocket(1, rectangle(400, 20)), pocket(2, rectangle(40, 20), beside=name(1)))
    layout = laid(tray(), seats)
    assert [(one.id, one.why) for one in layout.left_out] == [(name(1), LeftOutReason.TOO_BIG)]
    assert list(poses(layout)) == [2]


def test_who_leads_whom() -> None:
    """Chains go to their first; the ones held stop a chain; rings keep by the least id; strangers are nobody."""
    wishes = {2: 1, 3: 2, 4: 5, 5: 4, 6: 6, 7: 99, 8: 3, 9: 8}
    seats = tuple(
        pocket(n, rectangle(20, 20), beside=name(wishes[n]) if n in wishes else None) for n in range(1, 10)
    )
    made = bodies(seats, tray().blank, 8.0)
    led = {int(a[-2:]): int(b[-2:]) for a, b in leaders(made, frozenset({name(8)})).items()}
    assert led == {2: 1, 3: 1, 5: 4, 9: 8}


# ---- the whole and its parts -------------------------------------------------------------------


@settings(max_examples=7, deadline=None, derandomize=True)
@given(
    size=st.tuples(st.integers(20, 120), st.integers(15, 60)),
    riders=st.lists(st.tuples(st.integers(10, 60), st.integers(10, 40), st.booleans()), min_size=1, max_size=3),
    turn=st.sampled_from([0, 90, 180, 270]),
)
def test_one_body_is_what_its_parts_are(
    size: tuple[int, int], riders: list[tuple[int, int, bool]], turn: int
) -> None:
    """Taken apart at any pose, the area of all rooms is the whole's, and each rider is as near as its rule allows."""
    seats = (
        pocket(1, rectangle(*size)),
        *(
            bit(n, head=float(a), room_gap=15.0) if round_one else pocket(n, rectangle(a, b))
            for n, (a, b, round_one) in enumerate(riders, 2)
        ),
    )
    where = tray(600, 600)
    leader, *others = bodies(seats, where.blank, where.margin)
    body, apart = compound(leader, others, where, Spacing(where.web, where.margin), 99)
    assert apart == []
    assert body.gap == max(one.gap for one in (leader, *others))
    placed = expanded([(body, Pose(301.23, 287.65, float(turn)))])
    rooms = [posed(one.seat.item.room, pose) for one, pose in placed]
    assert sum(room.area for room in rooms) == pytest.approx(body.footprint.room.area)
    for room, (one, _) in zip(rooms[1:], placed[1:], strict=True):
        need = 15.0 if one.gap else 6.0
        assert min(room.distance(other) for other in rooms if other is not room) == pytest.approx(
            need, abs=0.15
        )
        assert room.distance(rooms[0]) >= need - 1e-6
        # there is room for all of three about any side of these: none is further off than its rule asks
        assert room.distance(rooms[0]) == pytest.approx(need, abs=0.15)


def test_same_seed_same_layout_and_evened_apart_from_the_rest() -> None:
    seats = (
        *RACK[:4],
        RACK[8],
        pocket(5, rectangle(100, 40)),
        on_posts(6, rectangle(90, 16), (-52, 0), (52, 0), beside=name(5)),
    )
    first, again = (arrange(tray(), seats, seed=2, seconds=AMPLE) for _ in range(2))
    assert first == again
    assert faults(tray(), seats, first) == []
    gaps = gaps_from(5, seats, first)
    assert next(iter(gaps)) == 6
    others = [gap for other, gap in gaps.items() if other != 6]
    assert min(others) > 2 * gaps[6]
    assert math.isclose(gaps[6], 0.0, abs_tol=NEAR)
