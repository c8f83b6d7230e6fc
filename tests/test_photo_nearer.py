"""The second look: round what was found and nowhere else, and at the photo's own places whatever the item's size."""

from __future__ import annotations

import numpy as np
import pytest

from insertgen.photo.load import Photo
from insertgen.photo.nearer import nearer_odds
from insertgen.photo.odds import BENCH
from insertgen.photo.scene import look_at_scene
from insertgen.photo.surface import look_at_bench
from tests.test_photo_brink import drawn


def disc_mask(disc: np.ndarray, scale: float, shape: tuple[int, ...]) -> np.ndarray:
    """Pixels of the scene whose middle is in the drawn disc."""
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    return np.hypot((x + 0.5) / scale - 0.5 - disc[0], (y + 0.5) / scale - 0.5 - disc[1]) < disc[2]


@pytest.mark.parametrize("share", [0.1, 0.3, 0.8])
@pytest.mark.parametrize("side_px", [700, 1600])
def test_a_disc_of_any_size_is_told_where_it_is(share: float, side_px: int) -> None:
    photo, disc = drawn(side_px, share)
    scene = look_at_scene(photo, look_at_bench(photo, []))
    odds = np.full(scene.paper.shape, BENCH, np.float32)
    true = disc_mask(disc, scene.scale, odds.shape)
    again = nearer_odds(photo, scene, odds, true)
    seen = again > 0
    assert (seen & true).sum() / (seen | true).sum() > 0.95
    first = np.nonzero(true.any(axis=1))[0][0]
    assert np.array_equal(again[: max(0, first - 200)], odds[: max(0, first - 200)]), "far from it nothing changes"


def test_paper_in_the_window_is_bench() -> None:
    photo, disc = drawn(1600, 0.3)
    at = disc[:2] + np.array([disc[2] + 40.0, 0.0])
    square = at + np.array([[0.0, 0], [60, 0], [60, 60], [0, 60]])
    photo.rgb[int(square[0, 1]) : int(square[2, 1]), int(square[0, 0]) : int(square[2, 0])] = 20
    scene = look_at_scene(photo, look_at_bench(photo, [square]))
    odds = np.full(scene.paper.shape, BENCH, np.float32)
    again = nearer_odds(photo, scene, odds, disc_mask(disc, scene.scale, odds.shape))
    assert scene.paper.any()
    assert np.all(again[scene.paper] == BENCH)


def test_a_bar_half_of_which_was_found_is_seen_to_its_end() -> None:
    """A second look, since the first one's window ends on the bar."""
    rgb = np.random.default_rng(3).normal(170, 3, (1200, 1600, 3)).clip(0, 255).astype(np.uint8)
    rgb[560:640, 300:1300] = (60, 70, 90)
    photo = Photo("drawn.png", "", rgb, None)
    scene = look_at_scene(photo, look_at_bench(photo, []))
    odds = np.full(scene.paper.shape, BENCH, np.float32)
    scale = scene.scale
    true, found = np.zeros(odds.shape, bool), np.zeros(odds.shape, bool)
    true[int(560 * scale) : int(640 * scale), int(300 * scale) : int(1300 * scale)] = True
    found[true] = np.nonzero(true)[1] < 700 * scale
    seen = nearer_odds(photo, scene, odds, found) > 0
    assert (seen & true).sum() / (seen | true).sum() > 0.95
