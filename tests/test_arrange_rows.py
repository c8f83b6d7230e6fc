"""Racks: straight rows parallel to the front, lower in front, heads apart."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

import pytest

from insertgen.arrange.arrange import arrange
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, LeftOutReason
from insertgen.model.seat import Seat
from tests.arrange_values import bit, faults, keep_out, pocket, rectangle, tray

AMPLE = 600.0


def rows_of(layout: Layout, seats: tuple[Seat, ...]) -> list[list[tuple[float, float]]]:
    """(x, top) of what stands in each row, rows from the front."""
    tops = {seat.item.id: seat.item.top or 0.0 for seat in seats if seat.item.bore}
    rows: dict[float, list[tuple[float, float]]] = defaultdict(list)
    for one in layout.placements:
        if one.id in tops:
            rows[one.pose.y].append((one.pose.x, tops[one.id]))
    return [sorted(rows[y]) for y in sorted(rows)]


TWELVE = tuple(bit(n, top=40.0 + 10 * (n * 7 % 4)) for n in range(1, 13))


def laid(where: Tray, seats: tuple[Seat, ...]) -> Layout:
    layout = arrange(where, seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert faults(where, seats, layout) == []
    return layout


def test_twelve_bits_in_straight_rows() -> None:
    """Heads of 30, 15 apart: 8 to a row of 350 at most (8 x 30 + 7 x 15 = 345), so two rows or more, equally full."""
    rows = rows_of(laid(tray(), TWELVE), TWELVE)
    assert [len(row) for row in rows] in ([6, 6], [4, 4, 4], [3, 3, 3, 3])
    for row in rows:
        gaps = [b[0] - a[0] - 30 for a, b in pairwise(row)]
        assert min(gaps) >= 15 - 1e-6
        assert max(gaps) - min(gaps) < 0.05  # one size of head: spread evenly, to the hundredth


def test_lower_in_front() -> None:
    rows = rows_of(laid(tray(), TWELVE), TWELVE)
    for front, behind in pairwise(rows):
        assert max(top for _, top in front) <= min(top for _, top in behind)


def test_rows_beside_pockets() -> None:
    seats = (*TWELVE[:6], pocket(13, rectangle(120, 80)), pocket(14, rectangle(60, 90)))
    rows = rows_of(laid(tray(), seats), seats)
    assert len(rows) <= 3
    assert max(len(row) for row in rows) >= 2


def test_rows_pass_a_keep_out() -> None:
    where = tray(350, 250, keep_out(150, 0, 50, 250))
    rows = rows_of(laid(where, TWELVE[:8]), TWELVE[:8])
    assert len(rows) <= 4


@pytest.mark.parametrize(("count", "left"), [(8, 0), (9, 1)])
def test_one_row_as_full_as_it_gets(count: int, left: int) -> None:
    """On 345 x 40, eight heads of 30 with 15 between are just 345 wide; a ninth finds no room."""
    seats = tuple(bit(n) for n in range(1, count + 1))
    where = tray(345, 40)
    layout = arrange(where, seats, seconds=AMPLE)
    assert [one.why for one in layout.left_out] == [LeftOutReason.NO_ROOM] * left
    assert faults(where, seats, layout) == []


def test_equal_bits_stand_together() -> None:
    seats = tuple(bit(n, bore=6.75 if n % 2 else 13.1, top=40.0) for n in range(1, 7))
    bores = {seat.item.id: seat.item.bore for seat in seats}
    layout = laid(tray(350, 60), seats)
    order = [bores[one.id] for one in sorted(layout.placements, key=lambda one: one.pose.x)]
    assert order == sorted(order)
