"""Conflicts against closed forms: distances of circles and rectangles known by hand."""

from __future__ import annotations

import math

import pytest

from insertgen.arrange.feasible import TOLERANCE, WALL, conflicts
from insertgen.model.figures import Outline, Pose
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.seat import Seat
from tests.arrange_values import bit, keep_out, pocket, rectangle, round_outline, stander, tray


def judged(where: Tray, *stood: tuple[Seat, Pose]) -> list[tuple[str, str, float, tuple[float, float]]]:
    placements = tuple(Placement(seat.item.id, "thing", "thing", pose, False) for seat, pose in stood)
    layout = Layout(where.slug, 0, 1, False, where.blank, placements, ())
    return [tuple(found) for found in conflicts(where, [seat for seat, _ in stood], layout)]


FIRST, SECOND = pocket(1, round_outline(40)), pocket(2, round_outline(30))


@pytest.mark.parametrize(
    ("dx", "dy", "shortfall"),
    [
        (60.0, 0.0, None),  # gap 60 - 35 = 25, web 6
        (41.0, 0.0, None),  # gap 6, the web itself
        (41.0 - 1e-7, 0.0, None),  # within the tolerance
        (40.9, 0.0, 0.1),
        (39.0, 0.0, 2.0),
        (0.0, -39.0, 2.0),
        (24.0, 32.0, 1.0),  # 3-4-5: centres 40 apart, gap 5
        (30.0, 0.0, 11.0),  # 5 into each other, and the web
    ],
)
def test_two_discs(dx: float, dy: float, shortfall: float | None) -> None:
    found = judged(tray(), (FIRST, Pose(150, 120)), (SECOND, Pose(150 + dx, 120 + dy)))
    if shortfall is None:
        assert found == []
        return
    # a disc of 256 sides lies at most r (1 - cos(pi / 256)) inside its circle: 0.0015 and 0.0011 mm
    assert {one[:2] for one in found} == {("test-tray/01", "test-tray/02")}
    assert max(one[2] for one in found) == pytest.approx(shortfall, abs=0.003)


def test_where_two_discs_are_too_near() -> None:
    ((_, _, _, at),) = judged(tray(), (FIRST, Pose(150, 120)), (SECOND, Pose(189, 120)))
    assert math.dist(at, (170, 120)) < 0.01


@pytest.mark.parametrize(
    ("x", "y", "shortfall"),
    [(58, 33, None), (55, 33, 3.0), (58, 30, 3.0), (292, 217, None), (292.5, 217, 0.5), (292, 217 + 0.001, 0.001),
     (58 - TOLERANCE / 2, 33, None), (40, 100, 18.0)],
)  # fmt: skip
def test_margin(x: float, y: float, shortfall: float | None) -> None:
    """A rectangle of 100 x 50 on a blank of 350 x 250: margin 8, so its middle may be at 58 to 292, 33 to 217."""
    found = judged(tray(), (pocket(1, rectangle(100, 50)), Pose(x, y)))
    if shortfall is None:
        assert found == []
    else:
        assert {one[1] for one in found} == {WALL}
        assert max(one[2] for one in found) == pytest.approx(shortfall, abs=1e-9)


def test_turned_rectangle_at_the_wall() -> None:
    """Half the width of a l x w rectangle turned by 45 degrees is (l + w) / (2 sqrt 2)."""
    half = 120 / (2 * math.sqrt(2))
    seat = pocket(1, rectangle(100, 20))
    assert judged(tray(), (seat, Pose(half + 8, 120, 45.0))) == []
    ((_, other, shortfall, at),) = judged(tray(), (seat, Pose(half + 7, 120, 45.0)))
    assert (other, shortfall) == (WALL, pytest.approx(1.0, abs=1e-9))
    assert at[0] == pytest.approx(7.0, abs=1e-9)


def test_mirror() -> None:
    """An L with its upright, 10 wide, on the left: mirrored, that stands where a square in its bay is."""
    ell = pocket(1, Outline(((-30, -30), (30, -30), (30, -20), (-20, -20), (-20, 30), (-30, 30))))
    square, there = pocket(2, rectangle(20, 20)), Pose(120, 140)
    assert judged(tray(), (ell, Pose(100, 120)), (square, there)) == []
    found = judged(tray(), (ell, Pose(100, 120, 0.0, True)), (square, there))
    assert max(one[2] for one in found) == pytest.approx(16.0, abs=1e-9)  # 10 into each other, and the web


@pytest.mark.parametrize(("x", "shortfall"), [(44.0, None), (42.0, 2.0)])
def test_keep_out(x: float, shortfall: float | None) -> None:
    """A square of 40 beside a keep-out that ends at x = 18: web 6, so its middle at 44 or more."""
    found = judged(tray(350, 250, keep_out(0, 100, 18, 50)), (pocket(1, rectangle(40, 40)), Pose(x, 120)))
    if shortfall is None:
        assert found == []
    else:
        assert [one[:2] for one in found] == [("test-tray/01", "keep-out: a screw")]
        assert found[0][2] == pytest.approx(shortfall, abs=1e-9)


@pytest.mark.parametrize(
    ("gaps", "apart", "shortfall"),
    [((15.0, 15.0), 45.0, None), ((15.0, 15.0), 40.0, 5.0), ((15.0, 0.0), 40.0, 5.0), ((0.0, 15.0), 40.0, 5.0),
     ((0.0, 0.0), 40.0, None), ((0.0, 0.0), 30.0, None)],
)  # fmt: skip
def test_finger_room(gaps: tuple[float, float], apart: float, shortfall: float | None) -> None:
    """Heads of 30: at ``apart`` between middles, ``apart`` - 30 between heads; the larger of two gaps counts."""
    one, other = (bit(number, room_gap=gap) for number, gap in enumerate(gaps, 1))
    found = judged(tray(), (one, Pose(100, 120)), (other, Pose(100 + apart, 120)))
    assert [one[2] for one in found] == ([] if shortfall is None else [pytest.approx(shortfall, abs=1e-9)])


def test_heads_may_stand_in_the_margin_but_not_out_of_the_blank() -> None:
    assert judged(tray(), (bit(1, head=30), Pose(15, 120))) == []
    ((_, other, shortfall, _),) = judged(tray(), (bit(1, head=30), Pose(14, 120)))
    assert (other, shortfall) == (WALL, pytest.approx(1.0, abs=1e-9))


def test_what_only_stands_needs_no_web_but_is_not_over_an_opening() -> None:
    one, other = stander(1, rectangle(40, 40)), pocket(2, rectangle(40, 40))
    assert judged(tray(), (one, Pose(100, 120)), (other, Pose(140, 120))) == []
    found = judged(tray(), (one, Pose(100, 120)), (other, Pose(138, 120)))
    assert found
    assert all(shortfall == pytest.approx(2.0, abs=1e-9) for _, _, shortfall, _ in found)


def test_a_thing_inside_a_ring() -> None:
    """In a ring of 100 / 80 a disc of 20 has 30 all round; one of 70 has 5, 1 less than the web."""
    ring = Outline(round_outline(100).outer, (round_outline(80).outer,))
    middle = Pose(150, 120)
    assert judged(tray(), (pocket(1, ring), middle), (pocket(2, round_outline(20)), middle)) == []
    found = judged(tray(), (pocket(1, ring), middle), (pocket(2, round_outline(70)), middle))
    assert max(one[2] for one in found) == pytest.approx(1.0, abs=0.003)
