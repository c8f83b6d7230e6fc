"""A rough ring drawn onto the item's edge it lies near, to a part of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from insertgen.photo import pixelwise
from insertgen.photo.boundary import Inside, normals, resample
from insertgen.photo.brink import Brink
from insertgen.photo.camera import Array
from insertgen.photo.change import FULL_EDGE, change_across
from insertgen.photo.light import Float, to_linear
from insertgen.photo.paths import best_path
from insertgen.photo.profiles import Departures, profile_rows

__all__ = ["Snapped", "snap"]

_PASSES = ((10, 0.0), (5, 1.0))  # reach (photo px at 2400), weight of a clear edge
_LEAN = 0.15  # of a log odd: neighbouring places across the ring say much the same
_CAP = 6.0
_BY_BRINK = 0.67  # of what is said across the ring; the rest is the small network's
_STIFFNESS = 0.12
_BLUR = 0.8
_STEADY, _NOISE = 5.0, 0.5  # points; px of a 2400 px photo
_BESIDE = 2  # px from the edge: there the sides should be told apart


@dataclass(frozen=True, slots=True, eq=False)
class Snapped:
    """A ring on its edge.

    Attributes
    ----------
    ring : array, n x 2
        Pixels.
    strength : array, n
        Edge there, 1: clear, 0: none.
    odds : array, n
        Log odds by which the item's side is told from the bench's there: mean of both sides.
    """

    ring: Array
    strength: Array
    odds: Array


def snap(
    rgb: NDArray[np.uint8], ring: Array, seen: Departures, unit: float, brink: Brink | None = None, item: Inside | None = None,
    *, hole: bool = False,
) -> Snapped:  # fmt: skip
    """Closed contour that best parts item from bench near a ring (Amini, Weymouth, Jain 1990, dynamic programming).

    A small network judges places across the ring, each by the colours along the normal; ``brink`` has twice as much to
    say, also while the ring is far: by the colours alone a plate of the bench's own hue passes for shade. The contour is
    where the sum of the log odds inside is greatest, and on a clear edge if there is one.

    Parameters
    ----------
    rgb : uint8 array, H x W x 3
    ring : array, n x 2
        Within the reach (10 px of a 2400 px photo) of the edge.
    seen : Departures
        Of the photo near the ring.
    unit : float
        Photo pixels per pixel of a 2400 px photo; reach and step grow with it.
    brink : Brink, optional
        What a network with a wider view says of the pixels near the ring.
    item : Inside, optional
        The item as roughly known: no place is drawn inwards beyond the middle of it, else both sides of a part that is thinner than
        the reach go to the same edge, or off it.
    hole : bool
        The item is outside the ring.
    """
    margin = int(20 * unit) + 4
    low = np.maximum(np.floor(ring.min(axis=0)).astype(int) - margin, 0)
    high = np.ceil(ring.max(axis=0)).astype(int) + margin
    root = np.sqrt(to_linear(rgb[low[1] : high[1], low[0] : high[0]]))
    root = np.asarray(cv2.GaussianBlur(root, (0, 0), _BLUR * unit), np.float32)
    points, judge = ring, pixelwise.network("across")
    for reach, weight in _PASSES:
        points = resample(points, unit)
        smooth = gaussian_filter1d(points, 1.5, axis=0, mode="wrap")
        out = normals(smooth) * (-1.0 if hole else 1.0)
        rows = profile_rows(seen, smooth, out, reach, unit)
        judged: Array = np.clip(judge(rows.reshape(-1, rows.shape[2])).reshape(rows.shape[:2]), -_CAP, _CAP)
        if brink is not None:
            places = smooth[:, None] + (np.arange(-reach, reach + 1) * unit)[None, :, None] * out[:, None]
            judged = (1 - _BY_BRINK) * judged + _BY_BRINK * np.clip(brink.at(places), -_CAP, _CAP)
        if item is not None:
            judged[_beyond_middle(smooth, out, reach, unit, item)] = _CAP
        odds: Array = np.asarray(gaussian_filter1d(judged, 1.0, axis=0, mode="wrap", output=np.float64))
        edge = _edges(root, smooth - low, out, reach, unit)
        path = best_path(_LEAN * np.cumsum(odds, axis=1) + weight * edge, _STIFFNESS)
        shift = gaussian_filter1d((path - reach + _between(odds, path)) * unit, 0.8, mode="wrap")
        points = smooth + shift[:, None] * out
    at = np.arange(len(path))
    beside = odds[at, np.maximum(path - _BESIDE, 0)] - odds[at, np.minimum(path + 1 + _BESIDE, 2 * reach)]
    return Snapped(_steadied(points, unit), edge[at, path], beside / 2)


def _beyond_middle(points: Array, out: Array, reach: int, unit: float, item: Inside) -> NDArray[np.bool_]:
    """Places across the ring (points x offsets) that are nearer to the item's other side."""
    steps = np.arange(1, 2 * reach + 1)
    within = item.at(points[:, None] - (steps * unit)[None, :, None] * out[:, None])
    left = np.maximum.accumulate(within, axis=1) & ~within
    thick = np.where(left.any(axis=1), steps[left.argmax(axis=1)], np.inf)
    return np.asarray(-np.arange(-reach, reach + 1)[None, :] > thick[:, None] / 2)


def _steadied(points: Array, unit: float) -> Array:
    """Less noise along the ring: smoothed where that moves it by a fraction of a pixel, left alone at corners."""
    smooth = gaussian_filter1d(points, _STEADY, axis=0, mode="wrap")
    moved = np.linalg.norm(smooth - points, axis=1) / unit
    share = gaussian_filter1d(np.clip(1.5 - moved / _NOISE, 0.0, 1.0), 1.5, mode="wrap")[:, None]
    return np.asarray(share * smooth + (1 - share) * points)


def _edges(root: Float, base: Array, out: Array, reach: int, unit: float) -> Array:
    """How clear an edge lies between each place across the ring and the next one out, 0..1."""
    offsets = np.arange(-reach + 0.5, reach + 1.0) * unit
    return np.minimum(change_across(root, base, out, offsets) * unit / FULL_EDGE, 1.0)


def _between(odds: Array, path: NDArray[np.intp]) -> Array:
    """Where, from the last place inside to the first one outside, the odds change sign; else half way."""
    at = np.arange(len(path))
    here, there = odds[at, path], odds[at, np.minimum(path + 1, odds.shape[1] - 1)]
    return np.where((here > 0) & (there < 0), here / np.maximum(here - there, 1e-6), 0.5)
