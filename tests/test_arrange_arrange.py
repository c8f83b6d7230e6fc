"""Layouts of whole trays, judged by shapely alone (tests/arrange_values.py) and by what must be so."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.arrange.arrange import arrange
from insertgen.arrange.feasible import conflicts
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Turn
from insertgen.model.layout import LeftOutReason
from insertgen.model.seat import Seat
from tests.arrange_values import bit, faults, keep_out, pocket, rectangle, round_outline, stander, tray

#: No layout here may depend on how fast the machine is: a ceiling that never bites.
AMPLE = 600.0

ELL = Outline(((-60, -25), (60, -25), (60, -5), (-40, -5), (-40, 25), (-60, 25)))


# ---- how many there are ------------------------------------------------------------------------


def test_no_item() -> None:
    layout = arrange(tray(), (), seconds=AMPLE)
    assert (layout.placements, layout.left_out) == ((), ())
    assert layout.blank == tray().blank


@pytest.mark.parametrize("seat", [pocket(1, ELL), bit(1), stander(1, rectangle(80, 40))])
def test_one_item(seat: Seat) -> None:
    layout = arrange(tray(), (seat,), seconds=AMPLE)
    assert [one.id for one in layout.placements] == ["test-tray/01"]
    assert faults(tray(), (seat,), layout) == []


@pytest.mark.parametrize("diameter", [22.3, 31.7, 84.1])
def test_one_alone_lies_in_the_middle(diameter: float) -> None:
    """Sizes whose halves round: the two walls' limits meet in the middle, and must not pass each other."""
    (placement,) = arrange(tray(300, 220), (pocket(1, round_outline(diameter)),), seconds=AMPLE).placements
    assert (placement.pose.x, placement.pose.y) == pytest.approx((150, 110), abs=0.01)


def test_placements_are_in_job_order() -> None:
    seats = tuple(pocket(n, rectangle(20 + 7 * (n * 5 % 7), 30)) for n in range(1, 5))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert [one.id for one in layout.placements] == [seat.item.id for seat in seats]


# ---- what does not go in -----------------------------------------------------------------------


def test_exactly_as_large_as_the_usable_area() -> None:
    """A blank of 350 x 250 less two margins of 8 is 334 x 234: one place, the middle."""
    seat = pocket(1, rectangle(334, 234), Turn.FIXED)
    (placement,) = arrange(tray(), (seat,), seconds=AMPLE).placements
    assert (placement.pose.x, placement.pose.y, placement.pose.angle_deg) == pytest.approx(
        (175, 125, 0), abs=1e-6
    )


@pytest.mark.parametrize("size", [(334.01, 234), (334, 234.01)])
def test_a_hundredth_too_large(size: tuple[float, float]) -> None:
    layout = arrange(tray(), (pocket(1, rectangle(*size), Turn.FIXED),), seconds=AMPLE)
    assert [(one.id, one.why) for one in layout.left_out] == [("test-tray/01", LeftOutReason.TOO_BIG)]


def test_too_big_unless_turned() -> None:
    size = rectangle(234, 334)
    assert (
        arrange(tray(), (pocket(1, size, Turn.HALF),), seconds=AMPLE).left_out[0].why == LeftOutReason.TOO_BIG
    )
    (placement,) = arrange(tray(), (pocket(1, size, Turn.QUARTER),), seconds=AMPLE).placements
    assert placement.pose.angle_deg % 180 == 90


def test_no_room_for_eight_of_ten() -> None:
    """Discs of 150 on 334 x 234: middles at least 156 apart in 184 x 84 are at most two.

    (Of three, two would be at most 92 apart along x, so at most sqrt(92^2 + 84^2) = 124.6.)
    """
    seats = tuple(pocket(n, round_outline(150)) for n in range(1, 11))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert len(layout.placements) == 2
    assert [one.why for one in layout.left_out] == [LeftOutReason.NO_ROOM] * 8
    assert faults(tray(), seats, layout) == []


def test_too_tall_by_a_tenth() -> None:
    """18 thick under a headroom of 60: what stands 42 above the face just goes in."""
    seats = (pocket(1, rectangle(50, 50), top=42.0), pocket(2, rectangle(50, 50), top=42.1), bit(3, top=42.1))
    layout = arrange(tray(headroom=60.0), seats, seconds=AMPLE)
    assert [one.id for one in layout.placements] == ["test-tray/01"]
    assert [(one.id, one.why) for one in layout.left_out] == [
        ("test-tray/02", LeftOutReason.TOO_TALL),
        ("test-tray/03", LeftOutReason.TOO_TALL),
    ]


# ---- keep-outs ---------------------------------------------------------------------------------


def test_keep_outs_over_the_whole_tray() -> None:
    seats = (pocket(1, rectangle(30, 30)), bit(2), stander(3, rectangle(30, 30)))
    layout = arrange(tray(350, 250, keep_out(0, 0, 200, 250), keep_out(200, 0, 150, 250)), seats, seconds=AMPLE)
    assert layout.placements == ()
    assert [one.why for one in layout.left_out] == [LeftOutReason.NO_ROOM] * 3


def test_round_keep_outs() -> None:
    where = tray(350, 250, keep_out(0, 0, 150, 250), keep_out(220, 100, 20, 20))
    seats = (pocket(1, rectangle(90, 60)), pocket(2, round_outline(60)), pocket(3, ELL))
    layout = arrange(where, seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert faults(where, seats, layout) == []


# ---- pins --------------------------------------------------------------------------------------


def test_pins_are_kept_even_where_they_collide() -> None:
    here, out = Pose(100.123, 90.456, 33.0), Pose(345.0, 125.0)
    seats = (
        pocket(1, ELL, pinned=here),
        pocket(2, rectangle(50, 50), pinned=here),
        pocket(3, rectangle(40, 40), pinned=out),
        pocket(4, round_outline(60)),
    )
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert [(one.pose, one.pinned) for one in layout.placements[:3]] == [
        (here, True),
        (here, True),
        (out, True),
    ]
    assert not layout.placements[3].pinned
    concerned = {one.id for one in conflicts(tray(), seats, layout)}
    assert concerned == {"test-tray/01", "test-tray/03"}  # a pair is named once
    assert not any("04" in fault for fault in faults(tray(), seats, layout))


def test_a_pin_too_tall_is_kept_too() -> None:
    layout = arrange(tray(headroom=20.0), (bit(1, pinned=Pose(50, 50)),), seconds=AMPLE)
    assert layout.left_out == ()


def test_the_rest_goes_round_the_pins() -> None:
    """Pinned in the middle of 350 x 250, a disc of 100 leaves 117 on its left and right for squares of 90."""
    seats = (
        pocket(1, round_outline(100), pinned=Pose(175, 125)),
        *(pocket(n, rectangle(90, 90)) for n in (2, 3, 4)),
    )
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert layout.placements[0].pose == Pose(175, 125)
    assert faults(tray(), seats, layout) == []


# ---- turns and mirror --------------------------------------------------------------------------


@pytest.mark.parametrize(("turn", "step"), [(Turn.FIXED, 360), (Turn.HALF, 180), (Turn.QUARTER, 90)])
def test_turns(turn: Turn, step: int) -> None:
    seats = tuple(pocket(n, ELL, turn) for n in range(1, 7))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert len(layout.placements) >= 5
    assert all(one.pose.angle_deg % step == 0 for one in layout.placements)


def test_any_turn_may_lie_askew() -> None:
    """A bar of 372 x 10 is longer than either side of a blank of 350 x 250, not than its diagonal of 430."""
    seats = (pocket(1, rectangle(372, 10), Turn.ANY),)
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert layout.placements[0].pose.angle_deg % 90 != 0
    assert faults(tray(), seats, layout) == []
    straight = arrange(tray(), (pocket(1, rectangle(372, 10)),), seconds=AMPLE)
    assert straight.left_out[0].why == LeftOutReason.TOO_BIG


@pytest.mark.parametrize("mirror", [False, True])
def test_mirror_is_kept(mirror: bool) -> None:
    seats = tuple(pocket(n, ELL, mirror=mirror) for n in range(1, 5))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert [one.pose.mirror for one in layout.placements] == [mirror] * 4
    assert faults(tray(), seats, layout) == []


# ---- the same again ----------------------------------------------------------------------------


MIXED = (
    pocket(1, ELL),
    pocket(2, round_outline(45)),
    pocket(3, rectangle(60, 25), Turn.HALF),
    bit(4),
    bit(5, top=60.0),
)


def test_same_seed_same_layout() -> None:
    """Every float to the last bit; nor does a ceiling that did not bite change any."""
    first, again = (arrange(tray(), MIXED, seed=3, seconds=seconds) for seconds in (AMPLE, 2 * AMPLE))
    assert first == again
    assert not first.stopped_by_time


def test_another_seed_is_as_sound() -> None:
    layout = arrange(tray(), MIXED, seed=4, seconds=AMPLE)
    assert layout.seed == 4
    assert layout.left_out == ()
    assert faults(tray(), MIXED, layout) == []


def test_stopped_at_once_is_sound_and_says_so() -> None:
    layout = arrange(tray(), MIXED, seconds=0.0)
    assert layout.stopped_by_time
    assert len(layout.placements) + len(layout.left_out) == len(MIXED)
    assert faults(tray(), MIXED, layout) == []


def test_progress_is_told() -> None:
    told: list[str] = []
    arrange(tray(), MIXED[:3], seconds=AMPLE, progress=told.append)
    assert told


# ---- at random ---------------------------------------------------------------------------------


sizes = st.integers(100, 1400).map(lambda tenths: tenths / 10)
outlines = st.one_of(st.builds(rectangle, sizes, sizes), st.builds(round_outline, sizes))
kinds = st.tuples(outlines, st.sampled_from(Turn), st.booleans(), st.sampled_from([0.0, 20.0]))


@settings(max_examples=8, deadline=None, derandomize=True)
@given(things=st.lists(kinds, max_size=4), blocked=st.booleans(), seed=st.integers(0, 3))
def test_every_layout_is_sound(
    things: list[tuple[Outline, Turn, bool, float]], blocked: bool, seed: int
) -> None:
    where = tray(300, 220, *([keep_out(130, 0, 40, 60)] if blocked else []))
    seats = tuple(
        pocket(n, outline, turn, mirror=mirror, room_gap=gap)
        for n, (outline, turn, mirror, gap) in enumerate(things, 1)
    )
    layout = arrange(where, seats, seed=seed, seconds=AMPLE)
    assert sorted([one.id for one in layout.placements] + [one.id for one in layout.left_out]) == [
        seat.item.id for seat in seats
    ]
    assert faults(where, seats, layout) == []
    assert conflicts(where, seats, layout) == []
    step = {Turn.FIXED: 360, Turn.HALF: 180, Turn.QUARTER: 90, Turn.ANY: 1}
    by_id = {seat.item.id: seat.item for seat in seats}
    for one in layout.placements:
        assert one.pose.angle_deg % step[by_id[one.id].turn] == 0
        assert one.pose.mirror == by_id[one.id].mirror


@settings(max_examples=6, deadline=None, derandomize=True)
@given(tops=st.lists(st.sampled_from([30.0, 45.0, 60.0]), min_size=1, max_size=10), head=st.integers(8, 40))
def test_every_rack_is_sound(tops: list[float], head: int) -> None:
    seats = tuple(bit(n, head=float(head), top=top) for n, top in enumerate(tops, 1))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert faults(tray(), seats, layout) == []


def test_the_judge_is_not_blind() -> None:
    """Moved by 1 mm towards its neighbour or the wall, what was just far enough is named."""
    seats = (
        pocket(1, rectangle(40, 40), pinned=Pose(28, 28)),
        pocket(2, rectangle(40, 40), pinned=Pose(74, 28)),
    )
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert faults(tray(), seats, layout) == []
    for by in (-1.0, 1.0):
        first, other = layout.placements
        moved = replace(layout, placements=(replace(first, pose=Pose(28 + by, 28)), other))
        assert len(faults(tray(), seats, moved)) == 1
