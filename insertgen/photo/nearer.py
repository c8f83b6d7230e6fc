"""A second look from nearer: the part of the photo round what was found, brought to the size that the network of one thing knows."""

from __future__ import annotations

import math

import cv2
import numpy as np

from insertgen.photo.body import body_odds
from insertgen.photo.light import Float
from insertgen.photo.load import Bool, Photo
from insertgen.photo.odds import BENCH
from insertgen.photo.scene import Scene

__all__ = ["nearer_odds"]

_FILLS, _LEAST = 340, 150  # px of the item's longer side: the network learnt on items of 150 to 380
_MOST = 150_000  # px of the window: more would take more than 1 GB
_AROUND = (0.2, 0.5, 1.0)  # of the item's longer side, of bench to either side: at first, and while the window cuts the item off
_LEAST_AROUND = 24  # px of the scene

Window = tuple[slice, slice]  # rows, columns


def nearer_odds(photo: Photo, scene: Scene, odds: Float, found: Bool) -> Float:
    """Log odds of the scene's pixels by a look at what was found; those of the scene's look beyond its window.

    It is looked at again from farther away, while the item goes on to the border of the window: a blade half of which
    the look at the whole scene took for bench.

    Parameters
    ----------
    photo : Photo
    scene : Scene
    odds : float32 array, h x w
        By the look at the whole scene.
    found : bool array, h x w
        The item by those.
    """
    result = odds
    for around in _AROUND:
        side, window = _window(found, around)
        result = _looked(photo, scene, odds, side, window)
        more = _cut_off(result, found, window)
        if not more.any():
            break
        found = found | more
    return result


def _window(found: Bool, around: float) -> tuple[float, Window]:
    """Longer side of what was found, and the pixels of the scene to look at."""
    rows, columns = (np.nonzero(found.any(axis=axis))[0] for axis in (1, 0))
    side = float(max(rows[-1] - rows[0], columns[-1] - columns[0]) + 1)
    gap = int(max(_LEAST_AROUND, around * side))
    height, width = found.shape
    top, bottom, left, right = (
        int(end) for end in (max(0, rows[0] - gap), min(height, rows[-1] + gap), max(0, columns[0] - gap), min(width, columns[-1] + gap))
    )
    return side, (slice(top, bottom), slice(left, right))


def _cut_off(result: Float, found: Bool, window: Window) -> Bool:
    """Parts of the item, by this look, that reach the window's border where the photo goes on."""
    item = np.zeros(found.shape, np.uint8)
    item[window] = result[window] > 0
    _, label = cv2.connectedComponents(item)
    height, width = found.shape
    rows, columns = window
    border = np.zeros(found.shape, bool)
    border[rows.start, columns], border[rows.stop - 1, columns] = rows.start > 0, rows.stop < height
    border[rows, columns.start] |= columns.start > 0
    border[rows, columns.stop - 1] |= columns.stop < width
    there = np.intersect1d(label[border & (item > 0)], label[found])
    return np.isin(label, there[there > 0])


def _looked(photo: Photo, scene: Scene, odds: Float, side: float, window: Window) -> Float:
    (top, bottom), (left, right) = ((part.start, part.stop) for part in window)
    finest = max(1.0 / scene.scale, _LEAST / side)  # no finer than the photo, but for what is small in it
    times = min(_FILLS / side, math.sqrt(_MOST / ((bottom - top) * (right - left))), finest)
    size = (round((right - left) * times), round((bottom - top) * times))
    low, high = (scene.to_photo(np.array(corner, np.float32) - 0.5) + 0.5 for corner in ((left, top), (right, bottom)))
    first, last = np.maximum(np.round(low), 0).astype(int), np.round(high).astype(int)
    how = cv2.INTER_AREA if times * scene.scale < 1 else cv2.INTER_CUBIC
    seen = np.asarray(cv2.resize(photo.rgb[first[1] : last[1], first[0] : last[0]], size, interpolation=how), np.uint8)
    level = np.asarray(cv2.resize(scene.level[window], size, interpolation=cv2.INTER_LINEAR), np.float32)
    paper = cv2.resize(scene.paper[window].astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    result = odds.copy()
    nearer = body_odds(seen, level, np.asarray(~paper))
    result[window] = cv2.resize(nearer, (right - left, bottom - top), interpolation=cv2.INTER_LINEAR)
    result[scene.paper] = BENCH
    return result
