"""The bench's smooth surface against closed forms: a cubic is its own surface, and what stands on it does not bend it."""

from __future__ import annotations

import numpy as np
import pytest

from insertgen.photo.surface import smooth_surface


def cubic(height: int, width: int, seed: int) -> np.ndarray:
    """Log light of three channels, every term of x and y up to the third degree."""
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.linspace(-1, 1, width), np.linspace(-1, 1, height))
    terms = np.stack([x**i * y**j for i in range(4) for j in range(4 - i)], axis=-1)
    return np.asarray(terms @ rng.normal(0, 0.3, (terms.shape[2], 3)), np.float32)


@pytest.mark.parametrize(("height", "width"), [(300, 400), (400, 300), (233, 517)])
def test_a_cubic_is_its_own_surface(height: int, width: int) -> None:
    light = cubic(height, width, 1)
    assert np.abs(smooth_surface(light, np.zeros((height, width), bool)) - light).max() < 1e-4


def test_neither_an_item_nor_paper_bends_it() -> None:
    light = cubic(300, 400, 2)
    seen, paper = light.copy(), np.zeros((300, 400), bool)
    seen[100:160, 120:260] -= 1.5  # an item: a fourteenth of the photo
    paper[20:80, 300:380] = True
    seen[paper] += 2.0
    assert np.abs(smooth_surface(seen, paper) - light).max() < 1e-3
