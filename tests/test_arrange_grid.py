"""Equal things in rows: sizes worked out beside each check, layouts judged by shapely."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from insertgen.arrange.arrange import arrange
from insertgen.arrange.body import bodies
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.grid import gridded
from insertgen.model.item import Turn
from insertgen.model.layout import Layout
from insertgen.model.seat import Seat
from tests.arrange_values import bit, faults, keep_out, pocket, rectangle, round_outline, stander, tray

AMPLE = 600.0


def _lines(layout: Layout, names: set[str]) -> tuple[int, int]:
    """How many different x and y the things of these names have."""
    poses = [one.pose for one in layout.placements if one.id in names]
    return len({round(one.x, 3) for one in poses}), len({round(one.y, 3) for one in poses})


def _many(count: int, first: int = 1) -> list[Seat]:
    return [pocket(n, rectangle(50, 22), Turn.HALF) for n in range(first, first + count)]


@pytest.mark.parametrize("count", [4, 6, 9])
def test_more_than_three_stand_in_rows_and_columns(count: int) -> None:
    seats = (*_many(count), pocket(30, rectangle(120, 40)))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert faults(tray(), seats, layout) == []
    columns, rows = _lines(layout, {seat.item.id for seat in seats[:-1]})
    assert columns * rows == count


def test_they_are_in_job_order_from_the_front_left() -> None:
    layout = arrange(tray(), tuple(_many(6)), seconds=AMPLE)
    places = [(round(one.pose.y, 3), one.pose.x) for one in layout.placements]
    assert places == sorted(places)


def test_three_are_no_grid() -> None:
    made = bodies(tuple(_many(3)), tray().blank, tray().margin)
    assert gridded(made, (), tray(), Spacing(6.0, 8.0), 0) == made


@pytest.mark.parametrize(
    ("make", "pitch"),
    [
        (lambda n: pocket(n, rectangle(50, 22), Turn.HALF), (56.0, 28.0)),  # web 6
        (lambda n: pocket(n, rectangle(50, 22), Turn.HALF, room_gap=20.0), (70.0, 42.0)),  # finger room 20
        (lambda n: pocket(n, round_outline(38), Turn.FIXED), (44.0, 44.0)),
        (lambda n: stander(n, rectangle(50, 30), turn=Turn.FIXED, room_gap=3.0), (53.0, 33.0)),
    ],
)
def test_pitches_are_size_and_gap(make: Callable[[int], Seat], pitch: tuple[float, float]) -> None:
    made = bodies(tuple(make(n) for n in range(1, 5)), tray().blank, tray().margin)
    (grid,) = gridded(made, (), tray(), Spacing(6.0, 8.0), 0)
    (x0, x1), (y0, y1) = (sorted({getattr(member.pose, axis) for member in grid.members}) for axis in "xy")
    assert (round(x1 - x0, 3), round(y1 - y0, 3)) == pitch


def test_racks_and_what_is_kept_apart_are_in_no_grid() -> None:
    made = bodies((*_many(4), *(bit(n) for n in range(5, 10))), tray().blank, tray().margin)
    assert gridded(made, {"test-tray/02"}, tray(), Spacing(6.0, 8.0), 0) == made


def test_a_grid_is_given_up_where_only_then_all_fit() -> None:
    """Two free fields of 334 x 107 with a bar of keep-out between: 8 discs of 80 lie 4 and 4.

    As one grid they are at least two rows of 4 (172 deep) or one of 8 (682 wide): more than either field.
    """
    seats = tuple(pocket(n, round_outline(80), Turn.FIXED) for n in range(1, 9))
    where = tray(366, 250, keep_out(0, 121, 366, 8))
    layout = arrange(where, seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert faults(where, seats, layout) == []


def test_different_wishes_are_different_grids() -> None:
    """Groups and what is to be at the front keep to themselves."""
    seats = [pocket(n, rectangle(40, 20), group="a" if n < 5 else "b") for n in range(1, 9)]
    made = bodies(tuple(seats), tray().blank, tray().margin)
    grids = gridded(made, (), tray(), Spacing(6.0, 8.0), 0)
    assert [[member.body.group for member in grid.members] for grid in grids] == [["a"] * 4, ["b"] * 4]
