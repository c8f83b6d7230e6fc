"""The picture to look at before an outline is trusted: a PNG (W3C, read back by Pillow) with the outline drawn on it."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image

from insertgen.photo.load import Photo, load_photo, load_silhouette
from insertgen.photo.overlay import draw_overlay
from insertgen.photo.trace import Trace, trace_photo

FOLDER = Path(__file__).parent / "data" / "photos" / "A2_bevel"
LONGEST = 1600


@pytest.fixture(scope="module")
def shot() -> Photo:
    return load_photo((FOLDER / "photo.jpg").read_bytes(), "photo.jpg")


@pytest.fixture(scope="module")
def traced(shot: Photo) -> Trace:
    mask = load_silhouette((FOLDER / "photo_toolmask.png").read_bytes(), "mask.png", shot)
    return trace_photo(shot, square=40.0, height=20.0, silhouette=mask)


@pytest.fixture(scope="module")
def picture(shot: Photo, traced: Trace) -> bytes:
    return draw_overlay(shot, traced)


def pixels(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)).convert("RGB")).astype(int)


def change(shot: Photo, drawn: np.ndarray) -> np.ndarray:
    """By how much each pixel differs from the photo at that size, summed over the colours."""
    plain = cv2.resize(shot.rgb, drawn.shape[1::-1], interpolation=cv2.INTER_AREA).astype(int)
    return np.asarray(np.abs(drawn - plain).sum(axis=2))


def along(ring: np.ndarray, shape: tuple[int, ...], scale: float) -> tuple[np.ndarray, np.ndarray]:
    spots = np.round((ring + 0.5) * scale - 0.5).astype(int)
    return np.clip(spots[:, 1], 0, shape[0] - 1), np.clip(spots[:, 0], 0, shape[1] - 1)


def test_it_is_a_png_of_the_photos_proportions(picture: bytes) -> None:
    read = Image.open(io.BytesIO(picture))
    assert (read.format, read.size) == ("PNG", (1600, 1200))


def test_a_smaller_photo_is_not_blown_up(shot: Photo, traced: Trace) -> None:
    small = replace(shot, rgb=cv2.resize(shot.rgb, (900, 675), interpolation=cv2.INTER_AREA))
    rings = tuple((ring + 0.5) * 0.375 - 0.5 for ring in traced.outline_px)
    assert Image.open(io.BytesIO(draw_overlay(small, replace(traced, outline_px=rings)))).size == (900, 675)


def test_same_input_same_bytes(shot: Photo, traced: Trace, picture: bytes) -> None:
    assert draw_overlay(shot, traced) == picture


def test_the_outline_is_drawn_where_it_was_traced(shot: Photo, traced: Trace, picture: bytes) -> None:
    drawn = pixels(picture)
    off, scale = change(shot, drawn), LONGEST / shot.width_px
    # palette and resampling alone change a pixel of this photo by far less than 60 of 765
    assert np.median(off) < 30
    for ring in traced.outline_px:
        assert (off[along(ring, off.shape, scale)] > 60).mean() > 0.95
        ink = np.median(drawn[along(ring, off.shape, scale)], axis=0)
        inked = np.abs(drawn - ink).sum(axis=2) < 60
        # one colour all along; the ticks' rims take at most 5 of the 22 px from tick to tick
        assert inked[along(ring, off.shape, scale)].mean() > 0.75
    inside = cv2.erode(_filled(traced.outline_px[0] * scale, off.shape), np.ones((15, 15), np.uint8)) > 0
    for hole in traced.outline_px[1:]:
        inside &= cv2.dilate(_filled(hole * scale, off.shape), np.ones((15, 15), np.uint8)) == 0
    assert not inked[inside].any()  # the item itself stays to be seen


def _filled(ring: np.ndarray, shape: tuple[int, ...]) -> np.ndarray:
    area = np.zeros(shape, np.uint8)
    cv2.fillPoly(area, [np.round(ring).astype(np.int32)], 1)
    return area


def test_every_square_is_drawn(shot: Photo, traced: Trace, picture: bytes) -> None:
    off = change(shot, pixels(picture))
    assert len(traced.squares) == 4
    for fit in traced.squares:
        corners = np.array(fit.corners_px)
        edges = np.vstack([a + (b - a) * np.linspace(0, 1, 40)[:, None] for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)])
        assert (off[along(edges, off.shape, LONGEST / shot.width_px)] > 60).mean() > 0.9


def test_another_outline_is_another_picture(shot: Photo, traced: Trace, picture: bytes) -> None:
    moved = replace(traced, outline_px=tuple(ring + 40.0 for ring in traced.outline_px))
    assert draw_overlay(shot, moved) != picture
