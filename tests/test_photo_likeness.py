"""Drawn benches without noise, texture or shade: numbers that real photos never give, and no division by them."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from insertgen.photo import pixelwise
from insertgen.photo.likeness import log_odds
from insertgen.photo.load import Photo
from insertgen.photo.odds import BENCH, chance
from insertgen.photo.pieces import item_pieces, smooth_region
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
        surface = look_at_bench(photo, [])
        odds = log_odds(surface, photo)
        (region,) = item_pieces(smooth_region(surface, odds), odds)
    assert (region & area).sum() / (region | area).sum() > 0.95


def test_a_noise_free_bench_alone_holds_nothing() -> None:
    photo, _ = drawn(None)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        surface = look_at_bench(photo, [])
        odds = log_odds(surface, photo)
        assert item_pieces(smooth_region(surface, odds), odds) == []


def test_without_the_photo_the_first_voice_speaks_alone_and_paper_is_bench() -> None:
    photo, _ = drawn(60)
    square = np.array([[100.0, 100], [200, 100], [200, 200], [100, 200]])
    surface = look_at_bench(photo, [square])
    assert np.array_equal(log_odds(surface, None), pixelwise.log_odds(surface))
    assert np.all(log_odds(surface, photo)[surface.paper] == BENCH)


def test_chances_are_those_of_the_logistic_curve() -> None:
    """Closed form: 1 to 1 at 0, 3 to 1 at log 3; no overflow far away."""
    assert chance(np.array([0.0, np.log(3), -1000.0], np.float32)).tolist() == pytest.approx([0.5, 0.75, 0.0], abs=1e-6)
