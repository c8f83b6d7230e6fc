"""The least web of many cuts against measuring every pair."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from insertgen.geometry.distance import gap_between
from insertgen.geometry.region import box, disc
from insertgen.pipeline.tally import _least_web


@pytest.mark.parametrize("seed", range(40))
def test_the_least_of_all_pairs(seed: int) -> None:
    rng = np.random.default_rng(seed)
    cuts = []
    for _ in range(seed % 13):
        x, y, size = (float(value) for value in rng.uniform((0, 0, 2), (400, 400, 40)))
        cuts.append(disc((x, y), size) if rng.random() < 0.5 else box(x, y, x + size, y + 20))
    found = _least_web(cuts)
    least = min((gap_between(a, b).distance for a, b in combinations(cuts, 2)), default=None)
    assert (None if found is None else found.distance) == least
