"""What edges enclose, against another library's filling of holes (scipy.ndimage.binary_fill_holes, from the registry)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.ndimage import binary_fill_holes

from insertgen.photo.enclosure import enclosed_at, enclosure

EDGES = arrays(np.float32, st.tuples(st.integers(1, 9), st.integers(1, 9)), elements=st.sampled_from([0.0, 0.25, 0.5, 1.0]))


@given(EDGES, st.sampled_from([0.1, 0.25, 0.6]))
def test_what_no_way_leads_out_of_is_what_holes_are_filled_with(edge: np.ndarray, level: float) -> None:
    assert np.array_equal(enclosed_at(edge, level), binary_fill_holes(edge >= level))


@given(EDGES)
def test_no_pixel_is_enclosed_by_more_than_the_strongest_edge(edge: np.ndarray) -> None:
    found = enclosure(edge, np.array([0.2, 0.4, 0.8]))
    for level in (0.2, 0.4, 0.8):
        assert np.array_equal(found >= np.float32(level), binary_fill_holes(edge >= level))


@pytest.mark.parametrize(("gap", "walled"), [(False, 0.6), (True, 0.0)])
def test_a_ring_with_a_gap_encloses_nothing(gap: bool, walled: float) -> None:
    edge = np.zeros((7, 7), np.float32)
    edge[1:6, 1:6] = 0.6
    edge[2:5, 2:5] = 0.0
    if gap:
        edge[1, 3] = 0.0
    assert enclosure(edge, np.array([0.3, 0.6]))[3, 3] == np.float32(walled)
