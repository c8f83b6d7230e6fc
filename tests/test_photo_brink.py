"""Looking again, closely: that a window's pixels are the photo's, and that a drawn edge is found where it is."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from insertgen.photo.boundary import rings_of_mask
from insertgen.photo.brink import Brink, look_closely
from insertgen.photo.contour import snap
from insertgen.photo.load import Photo
from insertgen.photo.profiles import Departures
from insertgen.photo.surface import Surface, look_at_bench


@cache
def drawn(side_px: int, share: float) -> tuple[Photo, np.ndarray]:
    """A dark disc, ``share`` of the photo's height across, on a pale bench with a little noise; its middle and radius."""
    height, width = side_px * 3 // 4, side_px
    middle, radius = np.array([0.45 * width, 0.52 * height]), share * height / 2
    y, x = np.mgrid[0:height, 0:width]
    cover = np.clip(radius - np.hypot(x - middle[0], y - middle[1]) + 0.5, 0, 1)[..., None]
    light = 0.55 * (1 - cover) + np.array([0.05, 0.06, 0.12]) * cover
    light = light * (1 + 0.02 * np.random.default_rng(1).standard_normal(light.shape))
    root = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)  # sRGB, IEC 61966-2-1
    return Photo("drawn.png", "", np.round(255 * np.clip(root, 0, 1)).astype(np.uint8), None), np.array([*middle, radius])


def rough_odds(surface: Surface, disc: np.ndarray, off: float = 1.5) -> np.ndarray:
    """Log odds at working size of the disc, ``off`` working px too large."""
    y, x = np.mgrid[0 : surface.paper.shape[0], 0 : surface.paper.shape[1]]
    away = np.hypot(*(surface.to_photo(axis.astype(float)) - at for axis, at in zip((x, y), disc[:2], strict=True)))
    return np.asarray(np.clip(disc[2] * surface.scale + off - away * surface.scale, -6, 6), np.float32)


@pytest.mark.parametrize("close", [False, True], ids=["by the line across alone", "by both"])
@pytest.mark.parametrize("side_px", [1000, 2400, 4000])
def test_a_drawn_disc_is_found_where_it_is(side_px: int, close: bool) -> None:
    """Closed form: the circle, to half a pixel of a 2400 px photo in the mean, from an edge 1.5 working px off."""
    photo, disc = drawn(side_px, 0.5)
    surface, unit = look_at_bench(photo, []), side_px / 2400
    odds = rough_odds(surface, disc)
    rough = surface.to_photo(rings_of_mask(odds > 0).outer)
    seen = Departures(photo.rgb, surface, odds, rough, unit)
    brink = look_closely(photo, surface, odds, odds > 0) if close else None
    away = np.linalg.norm(snap(photo.rgb, rough, seen, unit, brink).ring - disc[:2], axis=1) - disc[2]
    assert float(np.abs(away).mean()) < 0.5 * max(unit, 1.0)
    assert float(np.percentile(np.abs(away), 95)) < 1.5 * max(unit, 1.0)


@pytest.mark.parametrize("off", [1.5, 4.0, 7.0])
@pytest.mark.parametrize("side_px", [1000, 2400])
def test_how_far_off_the_rough_edge_was_is_forgotten(side_px: int, off: float) -> None:
    """Closed form: the circle's area, to 0.15 px of its length. One look, told nothing but the rough odds, leaves up to 0.25."""
    photo, disc = drawn(side_px, 0.5)
    surface = look_at_bench(photo, [])
    odds = rough_odds(surface, disc, off)
    brink = look_closely(photo, surface, odds, odds > 0)
    y, x = np.mgrid[0 : brink.odds.shape[0], 0 : brink.odds.shape[1]]
    away = np.hypot(*(axis + low - at for axis, low, at in zip((x, y), brink.low, disc[:2], strict=True))) - disc[2]
    wrong = ((brink.odds > 0) != (away < 0)) & (np.abs(away) < 40)
    assert brink.unit == 1.0
    assert wrong.sum() < 0.15 * 2 * np.pi * disc[2]


@pytest.mark.parametrize("side_px", [1000, 2400, 3000])
def test_both_sides_of_a_drawn_edge_are_told_apart_where_they_are(side_px: int) -> None:
    """Two pixels of a 2400 px photo inside the circle and outside it: item and bench, whatever the rough odds say."""
    photo, disc = drawn(side_px, 0.4)
    surface, unit = look_at_bench(photo, []), max(1.0, side_px / 2400)
    odds = rough_odds(surface, disc)
    brink = look_closely(photo, surface, odds, odds > 0)
    turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    way = np.stack([np.cos(turn), np.sin(turn)], axis=1)[:, None]
    beside = brink.at(disc[:2] + (disc[2] + np.array([-2.0, 2.0])[:, None] * unit) * way)
    assert (beside[:, 0] > 0).mean() > 0.98
    assert (beside[:, 1] < 0).mean() > 0.98


def test_places_are_looked_up_at_the_pixels_of_the_photo() -> None:
    """A window from pixel 100, 40 on, two photo pixels a pixel: its pixel 3, 1 covers photo pixels 106 and 107, 42 and 43."""
    odds = np.zeros((4, 6), np.float32)
    odds[1, 3] = 2.0
    brink = Brink(odds, np.array([100.0, 40.0]), 2.0)
    assert brink.at(np.array([[[106.5, 42.5], [108.5, 42.5]]])).tolist() == [[2.0, 0.0]]
