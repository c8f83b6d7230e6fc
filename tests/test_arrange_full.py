"""Full racks and full trays: closed forms worked out beside each check."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

import numpy as np
import pytest

from insertgen.arrange.arrange import arrange
from insertgen.arrange.feasible import conflicts
from insertgen.model.figures import Pose
from insertgen.model.item import Turn
from insertgen.model.job import KeepOut, Tray
from insertgen.model.layout import Layout, LeftOutReason
from insertgen.model.seat import Seat
from tests.arrange_seats import bit_of, box_outline, lopsided, round_outline, seat_of, tray_of


def rows_of(layout: Layout) -> list[list[str]]:
    """Ids of every row, front row first, left to right."""
    rows: dict[float, list[tuple[float, str]]] = defaultdict(list)
    for placement in layout.placements:
        rows[placement.pose.y].append((placement.pose.x, placement.id))
    return [[name for _, name in sorted(rows[y])] for y in sorted(rows)]


def mixed_bits(count: int, gap: float) -> tuple[Seat, ...]:
    rng = np.random.default_rng(7)
    bits = []
    for number in range(1, count + 1):
        shank = (6.35, 9.525, 12.7)[number % 3]
        head = max(shank, round(float(rng.uniform(12, 45)), 1))
        bits.append(bit_of(number, shank, head, float(rng.integers(15, 60)), gap=gap))
    return tuple(bits)


def judged(tray: Tray, seats: tuple[Seat, ...]) -> Layout:
    layout = arrange(tray, seats, seconds=60)
    assert conflicts(tray, seats, layout) == []
    return layout


def test_a_row_shares_its_width_equally() -> None:
    # 5 heads of 20, finger room 12, in 300: 5 x 20 + 4 x 12 + 6 e = 300, so e = 25.33
    tray = tray_of(300, 40, margin=4.0)  # so that heads, not bores, meet the edge first
    layout = judged(tray, tuple(bit_of(n, 6.35, 20, 30.0) for n in range(1, 6)))
    xs = sorted(placement.pose.x for placement in layout.placements)
    e = (300 - 5 * 20 - 4 * 12) / 6
    assert xs == pytest.approx([10 + e + k * (20 + 12 + e) for k in range(5)], abs=0.05)
    assert {placement.pose.y for placement in layout.placements} == {20.0}


def test_24_bits_of_three_shanks_stand_in_straight_rows_lower_in_front() -> None:
    tray, seats = tray_of(300, 150), mixed_bits(24, 4.0)
    layout = judged(tray, seats)
    assert not layout.left_out
    tops = {seat.item.id: seat.item.top for seat in seats}
    rows = rows_of(layout)
    assert 3 <= len(rows) <= 5
    for front, behind in pairwise(rows):
        assert max(tops[name] for name in front) <= min(tops[name] for name in behind)


def test_in_a_row_bits_stand_by_shank() -> None:
    shanks = {f"t/{n:02d}": shank for n, shank in enumerate((12.7, 6.35, 9.525, 6.35, 12.7, 9.525), 1)}
    seats = tuple(bit_of(n, shank, 18, 30.0) for n, shank in enumerate(shanks.values(), 1))
    [row] = rows_of(judged(tray_of(400, 60), seats))
    assert [shanks[name] for name in row] == sorted(shanks.values())


def test_40_bits_find_room_in_rows() -> None:
    layout = judged(tray_of(450, 350), mixed_bits(40, 15.0))
    assert not layout.left_out
    assert len(rows_of(layout)) <= 8


def test_equal_bits_fill_rows_about_equally() -> None:
    # ten equal heads, four to a row at most: 4 + 3 + 3 or 4 + 4 + 2 would both fit, none may be left with one
    rows = rows_of(judged(tray_of(150, 150), tuple(bit_of(n, 6.35, 20, 30.0) for n in range(1, 11))))
    assert sum(len(row) for row in rows) == 10
    assert max(len(row) for row in rows) - min(len(row) for row in rows) <= 2


def test_unknown_heights_stand_behind() -> None:
    seats = tuple(bit_of(n, 6.35, 30, top) for n, top in enumerate((None, 20.0, None, 20.0), 1))
    rows = rows_of(judged(tray_of(110, 150), seats))
    assert rows == [["t/02", "t/04"], ["t/01", "t/03"]]


def test_rows_pass_a_keep_out_and_a_pinned_bit() -> None:
    tray = tray_of(300, 200, keep_out=(KeepOut((140, 80), (20, 40), "divider screw"),))
    pinned = bit_of(30, 6.35, 25, 30.0, pinned=Pose(60, 100))
    seats = (*mixed_bits(14, 8.0), pinned)
    layout = judged(tray, seats)
    assert not layout.left_out
    assert next(p.pose for p in layout.placements if p.pinned) == Pose(60, 100)


def test_a_rack_too_full_leaves_out_and_says_so() -> None:
    seats = tuple(bit_of(n, 6.35, 40, 30.0, gap=20) for n in range(1, 13))
    layout = judged(
        tray_of(200, 100), seats
    )  # 3 x 1 heads of 40 with 20 between: 160 of 200, and 100 < 40 + 20 + 40 + 1
    assert len(layout.placements) + len(layout.left_out) == 12
    assert len(layout.placements) >= 6
    assert {one.why for one in layout.left_out} == {LeftOutReason.NO_ROOM}


def test_rack_and_pockets_share_a_tray() -> None:
    pockets = tuple(seat_of(n, lopsided(100 + 5 * n, 50, 0.4)) for n in range(1, 5))
    bits = tuple(bit_of(n, 6.35, 20, 10.0 * (n % 3 + 1)) for n in range(10, 17))
    seats = (*pockets, *bits)
    layout = judged(tray_of(320, 240), seats)
    assert not layout.left_out
    stood = [placement for placement in layout.placements if placement.id >= "t/10"]
    assert len({placement.pose.y for placement in stood}) <= 3


def test_a_rack_that_leaves_no_strip_still_finds_its_places() -> None:
    # a bar across the middle: no strip along a side holds all bits beside the pocket, the two strips do
    seats = (
        seat_of(1, box_outline(284, 60), pinned=Pose(150, 80)),
        *(bit_of(n, 6.35, 20, 30.0) for n in range(2, 12)),
    )
    layout = judged(tray_of(300, 160), seats)
    assert not layout.left_out


@pytest.mark.parametrize(("width", "depth"), [(84.0, 44.0), (84.0025, 44.0), (3.3125 * 25.4, 44.015625 * 25.4)])
def test_a_thing_exactly_as_large_as_the_usable_area(width: float, depth: float) -> None:
    tray = tray_of(width, depth)
    seats = (seat_of(1, box_outline(width - 16, depth - 16), turn=Turn.FIXED),)
    layout = arrange(tray, seats, seconds=60)
    assert not layout.left_out
    assert conflicts(tray, seats, layout) == []


def test_three_discs_in_a_trough_share_its_length() -> None:
    # 3 discs of 40 in 300, web 6, margin 8, half at the walls: 2 (8 + e / 2) + 3 x 40 + 2 (6 + e) = 300, so e = 50.67 at best
    tray = tray_of(300, 56)
    seats = tuple(seat_of(n, round_outline(40), turn=Turn.FIXED) for n in (1, 2, 3))
    layout = arrange(tray, seats, seconds=60)
    xs = sorted(placement.pose.x for placement in layout.placements)
    assert xs[1] - xs[0] - 40 == pytest.approx(6 + 152 / 3, abs=1.5)
    assert xs[2] - xs[1] - 40 == pytest.approx(6 + 152 / 3, abs=1.5)


def test_sixteen_blocks_that_only_just_fit() -> None:
    # 4 x 102.5 + 3 x 6 = 428 of 430; 4 x 78 + 3 x 6 = 330 of 330
    tray = tray_of(450, 350, margin=10.0)
    seats = tuple(seat_of(n, box_outline(102.5, 78)) for n in range(1, 17))
    layout = arrange(tray, seats, seconds=60)
    assert not layout.left_out
    assert conflicts(tray, seats, layout) == []


def test_stopped_before_anything_was_tried_what_has_room_is_placed_all_the_same() -> None:
    seats = tuple(seat_of(n, box_outline(60 + n, 40)) for n in range(1, 6))
    layout = arrange(tray_of(450, 350), seats, seconds=60, stop=lambda: True)
    assert layout.stopped_by_time
    assert layout.left_out == ()
    assert conflicts(tray_of(450, 350), seats, layout) == []
