"""The look at one thing: what its network is shown, and that it tells a drawn body from its shade."""

from __future__ import annotations

import numpy as np
import pytest

from insertgen.photo.body import body_odds, body_planes
from insertgen.photo.light import log_light
from insertgen.photo.scene import DARK, planes_of
from insertgen.photo.surface import smooth_surface

BENCH, SHADE, ITEM = (0.45, 0.36, 0.26), 0.35, (0.05, 0.25, 0.3)


def encoded(light: np.ndarray) -> np.ndarray:
    """SRGB of linear light, IEC 61966-2-1."""
    root = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(255 * np.clip(root, 0, 1)).astype(np.uint8)


def block(side: int = 288) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A bench with a block and the hard shadow it throws: picture, block, shadow."""
    y, x = np.mgrid[0:side, 0:side]
    item = (abs(x - 0.45 * side) < 0.22 * side) & (abs(y - 0.45 * side) < 0.15 * side)
    shadow = (abs(x - 0.52 * side) < 0.22 * side) & (abs(y - 0.52 * side) < 0.15 * side) & ~item
    light = np.where(shadow[..., None], SHADE * np.array(BENCH), np.array(BENCH))
    light = np.where(item[..., None], np.array(ITEM), light)
    light = light * (1 + 0.02 * np.random.default_rng(1).standard_normal(light.shape))
    return encoded(light), item, shadow


def test_the_picture_is_shown_as_the_published_network_knows_it() -> None:
    """Middle and scatter of ImageNet, as torchvision's models state them: (0.485, 0.456, 0.406), (0.229, 0.224, 0.225)."""
    rgb = np.zeros((32, 64, 3), np.uint8)
    rgb[:, 32:] = 255
    planes = body_planes(rgb, np.zeros((32, 64, 3), np.float32), np.ones((32, 64), bool))
    assert planes[:3, 0, 0] == pytest.approx([-0.485 / 0.229, -0.456 / 0.224, -0.406 / 0.225])
    assert planes[:3, 0, 63] == pytest.approx([0.515 / 0.229, 0.544 / 0.224, 0.594 / 0.225])


def test_the_departures_are_those_that_the_look_at_the_scene_sees() -> None:
    rgb, _, _ = block()
    tone, every = log_light(rgb, DARK), np.ones(rgb.shape[:2], bool)
    level = smooth_surface(tone, ~every)
    assert np.array_equal(body_planes(rgb, level, every)[3:], planes_of(tone, tone - level, every)[3:])


def test_a_block_is_told_from_its_hard_shadow() -> None:
    rgb, item, shadow = block()
    every = np.ones(item.shape, bool)
    odds = body_odds(rgb, smooth_surface(log_light(rgb, DARK), ~every), every)
    assert (odds[item] > 0).mean() > 0.97
    assert (odds[shadow] < 0).mean() > 0.8
    assert (odds[~item & ~shadow] < 0).mean() > 0.99
