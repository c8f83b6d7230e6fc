"""Rings that cross themselves, made whole again."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon

from insertgen.photo.boundary import Boundary, untangled


def dumb_bell(neck: float) -> np.ndarray:
    """Two squares of 60 px joined by a neck 100 px long and so wide; its sides cross if that is negative."""
    half = neck / 2
    corners = [(0, -30), (60, -30), (60, -half), (160, -half), (160, -30), (220, -30), (220, 30), (160, 30), (160, half), (60, half), (60, 30), (0, 30)]
    return np.array(corners, float) + 100.0


def test_a_ring_that_crosses_nothing_stays_as_it_is() -> None:
    ring = Boundary(dumb_bell(8.0), ())
    assert untangled(ring) is ring


@pytest.mark.parametrize("rough", [None, dumb_bell(12.0)], ids=["alone", "with a rough ring near it"])
def test_a_neck_whose_sides_were_drawn_across_each_other_is_bridged_by_the_rough_ring(rough: np.ndarray | None) -> None:
    """Area by shapely: both squares and a neck no wider than the rough one; without it one square is all that is left."""
    whole = Polygon(untangled(Boundary(dumb_bell(-1.0), ()), rough).outer)
    assert whole.is_valid
    if rough is None:
        assert whole.area == pytest.approx(3600, rel=0.05)
    else:
        assert 7200 + 100 * 3 < whole.area < 7200 + 100 * 13
