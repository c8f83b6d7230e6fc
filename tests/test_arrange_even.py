"""How full, and how even: against optima known by hand."""

from __future__ import annotations

from itertools import combinations

import pytest

from insertgen.arrange.arrange import arrange
from insertgen.model.item import Turn
from insertgen.model.job import KeepOut, Tray
from insertgen.model.layout import Layout
from insertgen.model.seat import Seat
from tests.arrange_values import faults, pocket, posed, rectangle, tray

AMPLE = 600.0


def gaps(where: Tray, seats: tuple[Seat, ...], layout: Layout) -> tuple[float, float]:
    """Least web and least margin, by shapely."""
    cuts = [
        posed(seat.opening[0], one.pose)
        for seat, one in zip(seats, layout.placements, strict=True)
        if seat.opening
    ]
    web = min((a.distance(b) for a, b in combinations(cuts, 2)), default=float("inf"))
    bounds = [cut.bounds for cut in cuts]
    edge = min(min(x0, y0, where.blank.width - x1, where.blank.depth - y1) for x0, y0, x1, y1 in bounds)
    return web, edge


def test_two_bars_share_the_room_left() -> None:
    """2 x 150 on 350: a gap of e above web 6, and half of that above margin 8 at both walls: 2 e = 350 - 300 - 22, so e = 14.

    The search halves down to a step of 1.25 mm (a sixteenth of the web reached), so it may fall short by that.
    """
    seats = tuple(pocket(n, rectangle(150, 200), Turn.FIXED) for n in (1, 2))
    layout = arrange(tray(), seats, seconds=AMPLE)
    web, edge = gaps(tray(), seats, layout)
    assert web >= 6 + 14 - 1.25
    assert edge >= 8 + 7 - 0.625
    assert web + 2 * edge <= 50 + 1e-6  # all the room there is


def test_one_thing_stands_in_the_middle() -> None:
    """Alone, the greatest least margin is that of the middle."""
    seats = (pocket(1, rectangle(100, 60), Turn.FIXED),)
    _, edge = gaps(tray(), seats, arrange(tray(), seats, seconds=AMPLE))
    assert edge >= 95 * 0.8


@pytest.mark.parametrize("spare", [0.25, 1.0])
def test_six_that_just_fit(spare: float) -> None:
    """Three by two on 334 x 234 with a web of 6: (334 - 12) / 3 by (234 - 6) / 2, less what is to spare.

    Nothing is promised with none to spare: the last push asks for some hundredths more than the web.
    """
    seats = tuple(pocket(n, rectangle(322 / 3 - spare, 114 - spare), Turn.FIXED) for n in range(1, 7))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert faults(tray(), seats, layout) == []


@pytest.mark.parametrize("where", [tray(), tray(350, 250, KeepOut((0, 0), (60, 60), "a screw"))])
def test_evening_never_goes_below_what_is_asked(where: Tray) -> None:
    seats = tuple(pocket(n, rectangle(40 + 9 * n, 30 + 5 * n)) for n in range(1, 5))
    layout = arrange(where, seats, seconds=AMPLE)
    web, edge = gaps(where, seats, layout)
    assert web >= 6 - 1e-6
    assert edge >= 8 - 1e-6
    assert faults(where, seats, layout) == []


def test_what_lies_along_stays_so() -> None:
    """Evened out or not, by quarter turns the same."""
    seats = tuple(pocket(n, rectangle(60 + 14 * n, 24 + 3 * n)) for n in range(1, 7))
    before, after = (arrange(tray(), seats, seconds=AMPLE, even=even) for even in (False, True))
    assert [one.pose.angle_deg % 180 for one in after.placements] == [one.pose.angle_deg % 180 for one in before.placements]
    assert gaps(tray(), seats, after)[0] > gaps(tray(), seats, before)[0] + 3
