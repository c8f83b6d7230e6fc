"""A drawn bench without noise, texture or shade: numbers that real photos never give, and no division by them."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from insertgen.photo.load import Photo
from insertgen.photo.regions import region_by_colour
from insertgen.photo.surface import look_at_bench


def drawn(item: int | None) -> tuple[Photo, np.ndarray]:
    area = np.zeros((900, 1200), bool)
    area[380:500, 400:760] = True
    rgb = np.full((900, 1200, 3), 150, np.uint8)
    if item is not None:
        rgb[area] = item
    return Photo("drawn.png", "", rgb, None), area


@pytest.mark.parametrize("item", [40, 90, 230])
def test_a_block_on_a_noise_free_bench(item: int) -> None:
    photo, area = drawn(item)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        region = region_by_colour(look_at_bench(photo, []))
    assert (region & area).sum() / (region | area).sum() > 0.95


def test_a_noise_free_bench_alone_holds_nothing() -> None:
    photo, _ = drawn(None)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert not region_by_colour(look_at_bench(photo, [])).any()
