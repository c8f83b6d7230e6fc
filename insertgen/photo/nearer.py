"""A second look from nearer: the part of the photo round what was found, enlarged, so that small items fill the view."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.light import Float, log_light
from insertgen.photo.load import Bool, Photo
from insertgen.photo.odds import BENCH
from insertgen.photo.scene import DARK, Scene, mirrored_odds, planes_of

__all__ = ["with_nearer_look"]

_FILLS = 420  # px that the item's longer side is enlarged to: the network learnt on items of 150 to 500
_LEAST, _MOST = 1.25, 2.5  # times the scene's size; below it is not worth while
_AROUND = 0.5  # of the item's longer side, of bench to either side
_LEAST_AROUND = 40  # px of the scene


def with_nearer_look(photo: Photo, scene: Scene, odds: Float, found: Bool) -> Float:
    """Log odds of the scene's pixels, those of the nearer look added by halves round ``found`` (bool, h x w)."""
    rows, columns = (np.nonzero(found.any(axis=axis))[0] for axis in (1, 0))
    side = float(max(rows[-1] - rows[0], columns[-1] - columns[0]) + 1)
    times = min(_FILLS / side, _MOST, 1.0 / scene.scale)
    if times < _LEAST:
        return odds
    gap = int(max(_LEAST_AROUND, _AROUND * side))
    height, width = odds.shape
    top, bottom, left, right = max(0, rows[0] - gap), min(height, rows[-1] + gap), max(0, columns[0] - gap), min(width, columns[-1] + gap)
    window = (slice(top, bottom), slice(left, right))
    size = (round((right - left) * times), round((bottom - top) * times))
    low, high = (scene.to_photo(np.array(corner, np.float32) - 0.5) + 0.5 for corner in ((left, top), (right, bottom)))
    first, last = np.maximum(np.round(low), 0).astype(int), np.round(high).astype(int)
    seen = np.asarray(cv2.resize(photo.rgb[first[1] : last[1], first[0] : last[0]], size, interpolation=cv2.INTER_AREA), np.uint8)
    tone = log_light(seen, DARK)
    level = np.asarray(cv2.resize(scene.level[window], size, interpolation=cv2.INTER_LINEAR), np.float32)
    paper = cv2.resize(scene.paper[window].astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    nearer = mirrored_odds(planes_of(tone, tone - level, ~paper))
    result = odds.copy()
    small = np.asarray(cv2.resize(nearer, (right - left, bottom - top), interpolation=cv2.INTER_AREA), np.float32)
    result[window] = (odds[window] + small) / 2
    result[scene.paper] = BENCH
    return result
