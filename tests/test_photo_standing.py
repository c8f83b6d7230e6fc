"""Where an edge may stand, and how far the outline moves by it: against similar triangles."""

from __future__ import annotations

import numpy as np
import pytest

from insertgen.photo.boundary import Boundary
from insertgen.photo.camera import Camera, Lens
from insertgen.photo.standing import Stance, Standing, stance_of
from insertgen.photo.taking import say_edge

CAMERA = Camera(Lens(1800.0, (1199.5, 899.5)), 600.0, (0.0, 0.0))
FOOT = np.array(CAMERA.foot)
SIDE = 60.0
BLANK = np.zeros((1800, 2400, 3), np.uint8)


def ring_at(middle: float, height: float, side: float = SIDE) -> np.ndarray:
    """Pixels of a square whose middle lies so far to the right of the camera's foot, all of it at one height."""
    along = np.linspace(-side / 2, side / 2, 60, endpoint=False)
    still = np.full_like(along, side / 2)
    square = np.concatenate([np.stack(edge, axis=1) for edge in ((along, -still), (still, along), (-along, still), (-still, -along))])
    places = square + FOOT + np.array([middle, 0.0])
    return CAMERA.project(np.column_stack([places, np.full(len(places), height)]))


def stance(standing: Standing, ring: np.ndarray, *holes: np.ndarray) -> Stance:
    return stance_of(standing, CAMERA, BLANK, Boundary(ring, holes))


def test_at_a_given_height_the_outline_is_the_square() -> None:
    outer, hole = stance(Standing(edge_height=20.0), ring_at(100.0, 20.0), ring_at(100.0, 20.0, 10.0)).cast(CAMERA)
    assert np.ptp(outer, axis=0) == pytest.approx([SIDE, SIDE], abs=0.01)
    assert np.ptp(hole, axis=0) == pytest.approx([10.0, 10.0], abs=0.01)


@pytest.mark.parametrize(("known", "low"), [(Standing(edge_height=40.0), 38.0), (Standing(), -5.0), (Standing(height=0.0), 0.0)])
def test_a_lower_edge_moves_the_outline_as_similar_triangles_do(known: Standing, low: float) -> None:
    """A ray that comes down at x from the foot is at height h when at x (D - h) / D; 5 % of a measured height, 5 mm of none."""
    ring = ring_at(100.0, 0.0)
    on_bench = CAMERA.cast(ring, 0.0) - FOOT
    (lower,) = stance(known, ring).lower(CAMERA)
    assert np.abs(lower - FOOT - on_bench * (600.0 - low) / 600.0).max() < 1e-6


def test_upright_walls_from_the_side_make_it_narrower_and_from_above_hardly() -> None:
    """The far wall a quarter of the height higher, the near one lower: width less 2 (h / 4) x / D, about, for the middle of both at x."""
    for middle, share in ((250.0, 0.9), (0.0, 0.0)):
        (walls,) = stance(Standing(height=40.0, upright=True), ring_at(middle, 20.0)).cast(CAMERA)
        expected = 2 * 10.0 * middle / (600.0 - 20.0)
        narrower = SIDE - float(np.ptp(walls[:, 0]))
        if middle:
            assert share * expected < narrower < 1.1 * expected
        else:
            assert abs(narrower) < 1.0


def test_of_a_hole_with_upright_walls_the_near_side_is_the_one_away_from_the_foot() -> None:
    """The camera sees the far rim's foot and the near rim's top: a hole seen from the side is wider than it looks."""
    inner = ring_at(250.0, 20.0, 10.0)
    _, hole = stance(Standing(height=40.0, upright=True), ring_at(250.0, 20.0), inner).cast(CAMERA)
    assert float(np.ptp(hole[:, 0])) > 10.0 + 2 * 10.0 * 240.0 / 580.0 * 0.9


@pytest.mark.parametrize(("known", "said"), [
    (Standing(height=40.0), 1), (Standing(height=40.0, upright=True), 0), (Standing(edge_height=20.0), 0), (Standing(height=0.0), 0), (Standing(), 0),
])  # fmt: skip
def test_the_look_is_named_only_where_it_told(known: Standing, said: int) -> None:
    assert len(say_edge(known, stance(known, ring_at(100.0, 20.0)))) == said


def test_only_by_look_may_points_be_off_one_by_one() -> None:
    ring = ring_at(100.0, 20.0)
    assert stance(Standing(edge_height=20.0), ring).together
    assert not stance(Standing(height=40.0), ring).together
    heights = stance(Standing(height=40.0), ring).edges[0].height
    assert heights.min() >= 0
    assert heights.max() <= 40.0
