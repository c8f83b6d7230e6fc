"""The shipped photos with exact truth, and the same with their pixels edited: painted over, an item copied."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from insertgen.photo.load import Photo, load_photo, load_silhouette
from tests.photo_score import facts_of

PHOTOS = Path(__file__).parent / "data" / "photos"


@cache
def facts(name: str) -> dict[str, Any]:
    return facts_of(PHOTOS / name)


@cache
def photo(name: str) -> Photo:
    return load_photo((PHOTOS / name / "photo.jpg").read_bytes(), f"{name}.jpg")


@cache
def mask(name: str) -> np.ndarray:
    return load_silhouette((PHOTOS / name / "photo_toolmask.png").read_bytes(), "mask.png", photo(name))


def grown(area: np.ndarray, by: int) -> np.ndarray:
    return np.asarray(cv2.dilate(area.astype(np.uint8), np.ones((2 * by + 1, 2 * by + 1), np.uint8)) > 0)


def painted_over(name: str, area: np.ndarray) -> np.ndarray:
    """The bench carried on from round about (cv2.inpaint at a quarter of the size: it is smooth)."""
    rgb, size = photo(name).rgb, photo(name).rgb.shape[1::-1]
    small = cv2.resize(rgb, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    hole = cv2.resize(area.astype(np.uint8), small.shape[1::-1], interpolation=cv2.INTER_NEAREST)
    bench = cv2.resize(cv2.inpaint(small, grown(hole, 1).astype(np.uint8), 5, cv2.INPAINT_TELEA), size)
    return np.where(area[:, :, None], bench, rgb)


def square_areas(name: str, times: float) -> np.ndarray:
    """Pixels of the squares, each larger by ``times`` about its middle."""
    area = np.zeros(photo(name).rgb.shape[:2], np.uint8)
    for corners in np.array(facts(name)["photos"][0]["squares_px"]):
        middle = corners.mean(axis=0)
        cv2.fillPoly(area, [np.round((corners - middle) * times + middle).astype(np.int32)], 1)
    return area > 0


def with_second_item(name: str) -> np.ndarray:
    """The photo with its item a second time, see `second_place`."""
    x, y = second_place(name)
    copied = np.roll(grown(mask(name), 20), (y, x), axis=(0, 1))
    return np.where(copied[:, :, None], np.roll(photo(name).rgb, (y, x), axis=(0, 1)), photo(name).rgb)


def second_place(name: str) -> tuple[int, int]:
    """The nearest place (px right, px down) where a copied item meets neither itself, a square nor the frame."""
    busy = grown(mask(name), 30) | square_areas(name, 1.9)
    rows, columns = np.nonzero(grown(mask(name), 30))
    height, width = busy.shape
    shifts = [(x, y) for x in range(-1200, 1201, 60) for y in range(-900, 901, 60)]
    for x, y in sorted(shifts, key=lambda shift: (abs(shift[0]) + abs(shift[1]), shift)):
        there_y, there_x = rows[::7] + y, columns[::7] + x
        whole = there_x.min() >= 20 and there_x.max() < width - 20 and there_y.min() >= 20 and there_y.max() < height - 20
        if whole and not busy[there_y, there_x].any():
            return x, y
    raise AssertionError("no free place for a second item")
