"""What the search works with: signed distances against shapely's, windows against hand reckoning."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point, Polygon

from insertgen.arrange.body import Field, angles, bodies
from insertgen.model.figures import Outline
from insertgen.model.item import Turn
from insertgen.model.job import Blank
from tests.arrange_values import bit, pocket, rectangle, round_outline, stander

BLANK = Blank(350.0, 250.0)

FIGURES = {
    "L": Outline(((-60, -25), (60, -25), (60, -5), (-40, -5), (-40, 25), (-60, 25))),
    "disc": round_outline(60),
    "ring": Outline(round_outline(100).outer, (round_outline(60).outer,)),
}


@pytest.mark.parametrize("name", sorted(FIGURES))
def test_signed_distances(name: str) -> None:
    """Boundary points no further apart than a quarter of the step: off by an eighth of it at most."""
    (body,) = bodies((pocket(1, FIGURES[name]),), BLANK, 8.0)
    field = body.opening
    assert isinstance(field, Field)
    figure = Polygon(FIGURES[name].outer, FIGURES[name].holes)
    rng = np.random.default_rng(1)
    seen = set()
    for row, column in zip(*(rng.integers(0, size, 200) for size in field.table.shape), strict=True):
        node = Point(field.origin[0] + column * field.step, field.origin[1] + row * field.step)
        signed = figure.boundary.distance(node) * (-1 if figure.contains(node) else 1)
        assert field.table[row, column] == pytest.approx(signed, abs=field.step / 8 + 1e-9)
        seen.add(signed < 0)
    assert seen == {True, False}


def test_samples_lie_on_the_boundary_with_all_corners() -> None:
    (body,) = bodies((pocket(1, FIGURES["L"]),), BLANK, 8.0)
    samples = body.room.samples
    boundary = Polygon(FIGURES["L"].outer).exterior
    assert max(boundary.distance(Point(sample)) for sample in samples) < 1e-9
    assert set(FIGURES["L"].outer) <= {(float(x), float(y)) for x, y in samples}
    assert max(np.hypot(*(samples - np.roll(samples, 1, axis=0)).T)) <= 4.0 + 1e-9


def test_windows() -> None:
    """A rectangle of 100 x 40 with margin 8 may have its middle at 58 to 292, 28 to 222; turned, at 28 to 322, 58 to 192."""
    (body,) = bodies((pocket(1, rectangle(100, 40)),), BLANK, 8.0)
    assert np.asarray(body.windows[0]) == pytest.approx(np.array([[58, 292], [28, 222]]))
    assert np.asarray(body.windows[90]) == pytest.approx(np.array([[28, 322], [58, 192]]))


def test_what_only_stands_needs_no_margin() -> None:
    (body,) = bodies((stander(1, rectangle(100, 40)),), BLANK, 8.0)
    assert np.asarray(body.windows[0]) == pytest.approx(np.array([[50, 300], [20, 230]]))


def test_a_head_wider_than_its_bore_decides_the_window() -> None:
    (body,) = bodies((bit(1, head=40.0),), BLANK, 8.0)
    assert np.asarray(body.windows[0]) == pytest.approx(np.array([[20, 330], [20, 230]]))
    assert not body.room_inside


def test_a_turn_in_which_it_does_not_fit_is_none_of_its_turns() -> None:
    (body,) = bodies((pocket(1, rectangle(300, 40)),), BLANK, 8.0)
    assert body.turns == (0, 180)


def test_equal_seats_are_worked_out_once() -> None:
    one, other, third = bodies(
        (pocket(1, rectangle(50, 40)), pocket(2, rectangle(50, 40)), pocket(3, rectangle(50, 41))), BLANK, 8.0
    )
    assert one.opening is other.opening
    assert (one.id, other.id) == ("test-tray/01", "test-tray/02")
    assert one.key == other.key != third.key


def test_angles() -> None:
    assert angles(Turn.FIXED) == (0,)
    assert angles(Turn.HALF) == (0, 180)
    assert angles(Turn.QUARTER) == (0, 90, 180, 270)
    assert set(angles(Turn.QUARTER)) < set(angles(Turn.ANY))
