"""Where an edge may stand, and how far the outline moves by it: against similar triangles."""

from __future__ import annotations

import numpy as np
import pytest

from insertgen.photo.camera import Camera, Lens
from insertgen.photo.standing import Standing

CAMERA = Camera(Lens(1800.0, (1199.5, 899.5)), 600.0, (0.0, 0.0))
SIDE = 60.0


def ring_at(middle: float, height: float) -> np.ndarray:
    """Pixels of a square of 60 mm whose middle lies so far to the right of the camera's foot, all of it at one height."""
    along = np.linspace(-SIDE / 2, SIDE / 2, 60, endpoint=False)
    still = np.full_like(along, SIDE / 2)
    square = np.concatenate([np.stack(side, axis=1) for side in ((along, -still), (still, along), (-along, still), (-still, -along))])
    places = square + np.array(CAMERA.foot) + np.array([middle, 0.0])
    return CAMERA.project(np.column_stack([places, np.full(len(places), height)]))


def test_at_a_given_height_the_outline_is_the_square() -> None:
    placed = Standing(height=40.0).cast(CAMERA, ring_at(100.0, 20.0))
    assert np.ptp(placed, axis=0) == pytest.approx([SIDE, SIDE], abs=0.01)


def test_low_and_high_casts_move_as_similar_triangles_do() -> None:
    """A ray that comes down at x from the foot is at height h when at x (D - h) / D."""
    ring = ring_at(100.0, 0.0)
    low, high, _ = Standing(height=40.0).casts_around(CAMERA, ring)
    on_bench = CAMERA.cast(ring, 0.0) - np.array(CAMERA.foot)
    for cast, height in ((low, 8.0), (high, 32.0)):
        assert np.abs(cast - np.array(CAMERA.foot) - on_bench * (600.0 - height) / 600.0).max() < 1e-6


def test_upright_walls_from_the_side_make_it_narrower_and_from_above_hardly() -> None:
    """The far wall a quarter of the height higher, the near one lower: width less 2 (h / 4) x / D, about, for the middle of both at x."""
    for middle, share in ((250.0, 0.9), (0.0, 0.0)):
        *_, walls = Standing(height=40.0).casts_around(CAMERA, ring_at(middle, 20.0))
        expected = 2 * 10.0 * middle / (600.0 - 20.0)
        narrower = SIDE - float(np.ptp(walls[:, 0]))
        if middle:
            assert share * expected < narrower < 1.1 * expected
        else:
            assert abs(narrower) < 1.0


def test_with_the_edges_height_given_walls_say_nothing() -> None:
    assert len(Standing(edge_height=20.0).casts_around(CAMERA, ring_at(100.0, 20.0))) == 2
    assert len(Standing().casts_around(CAMERA, ring_at(100.0, 20.0))) == 2
