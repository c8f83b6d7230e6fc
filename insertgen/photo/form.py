"""How an item lies, as far as its silhouette tells: station by station from its thin end to its broad one.

A round handle is as broad as it is high; a blade that juts out of it is thin and comes down to the bench at its tip.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from insertgen.photo.camera import Array
from insertgen.photo.light import Float
from insertgen.photo.load import Bool

__all__ = ["FEATURES", "ROWS", "WHOLE", "Form", "form_of"]

_RADII = (1.0, 1.6, 2.5, 4.0, 6.3, 10.0, 16.0, 25.0, 40.0, 64.0)  # px: of discs that are laid into the item
_RIM = 4  # px: round the item, too, its breadth is told, so that the edge is in it
_OCTAVES = 3.0  # of breadth to either side of the height that are told apart
_STATIONS = 24
#: What is told of every slice, and of the whole: numbers, and all of them.
ROWS, WHOLE = 5, 4
FEATURES = ROWS * _STATIONS + WHOLE


@dataclass(frozen=True, slots=True, eq=False)
class Form:
    """What a network sees of it.

    Attributes
    ----------
    along : float32 array, h x w
        From -1 at the thin end to 1 at the broad end, fainter the rounder the item is.
    breadth : float32 array, h x w
        Of the item and its rim: the widest disc in it that covers the place (local thickness, Hildebrand and
        Rueegsegger 1997) against the height, in octaves.
    stations : float32 array, FEATURES
        Of slices from the thin end to the broad one: how wide against the height, how far off the axis, how light, how
        uneven in light (what is round is), how coloured; then the whole item's length and slimness, and the parallax
        along and across it.
    """

    along: Float
    breadth: Float
    stations: Float


@dataclass(frozen=True, slots=True, eq=False)
class _Axis:
    """Through the middle of the item's area, along its longest extent: unit ``way`` to the broad end, pixels."""

    middle: Array
    way: Array
    low: float
    high: float
    slimness: float

    @property
    def across(self) -> Array:
        return np.array([-self.way[1], self.way[0]])


def form_of(planes: Float, height: float) -> Form:
    """Of an item ``height`` pixels high.

    Parameters
    ----------
    planes : float32 array, 6 or more x h x w
        Log light (3), the item, parallax (x, y), see `insertgen.photo.edge_heights.planes_of`.
    """
    inside = np.asarray(planes[3] > 0.5)
    rows, columns = np.nonzero(inside)
    if len(rows) < 3:
        nothing = np.zeros(inside.shape, np.float32)
        return Form(nothing, nothing, np.zeros(FEATURES, np.float32))
    places, height = np.stack([columns, rows], axis=1).astype(np.float64), max(height, 1.0)
    radius = _radii(inside)
    axis = _axis(places, radius[rows, columns])
    breadth = np.where(_with_rim(inside), _octaves(2 * radius / height), 0.0)
    tones = planes[:3, rows, columns]
    rise = planes[4:6, rows, columns].mean(axis=1)
    return Form(_along(axis, inside.shape), breadth.astype(np.float32), _stations(axis, places, tones, rise, height))


def _octaves(ratio: Array | Float) -> Array:
    return np.asarray(np.clip(np.log2(np.maximum(ratio, 1e-3)) / _OCTAVES, -1, 1))


def _with_rim(inside: Bool) -> Bool:
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * _RIM + 1, 2 * _RIM + 1))
    return np.asarray(cv2.dilate(inside.astype(np.uint8), disc) > 0)


def _radii(inside: Bool) -> Float:
    """Of the widest disc of ``_RADII`` that covers a pixel of the item, carried a little beyond it."""
    walled = cv2.copyMakeBorder(inside.astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT)
    depth = cv2.distanceTransform(walled, cv2.DIST_L2, 5)[1:-1, 1:-1]
    found = np.full(inside.shape, 0.5, np.float32)
    for radius in _RADII:
        middles = np.asarray(depth < radius, np.uint8)
        if middles.all():
            break
        found[cv2.distanceTransform(middles, cv2.DIST_L2, 5) <= radius + _RIM] = radius
    return found


def _axis(places: Array, radius: Float) -> _Axis:
    middle = places.mean(axis=0)
    sizes, ways = np.linalg.eigh(np.cov((places - middle).T) + 1e-9 * np.eye(2))
    way = ways[:, 1]
    along = (places - middle) @ way
    if float(np.mean(along * radius)) < 0:
        way, along = -way, -along
    return _Axis(middle, way, float(along.min()), float(along.max()), 1 - float(np.sqrt(max(sizes[0], 0.0) / sizes[1])))


def _along(axis: _Axis, shape: tuple[int, ...]) -> Float:
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]]
    told = (x - axis.middle[0]) * axis.way[0] + (y - axis.middle[1]) * axis.way[1]
    return np.asarray(np.clip(told / max(axis.high, -axis.low, 1.0), -1.2, 1.2) * axis.slimness, np.float32)


def _stations(axis: _Axis, places: Array, tones: Float, rise: Float, height: float) -> Float:
    along, beside = (places - axis.middle) @ axis.way, (places - axis.middle) @ axis.across
    length = max(axis.high - axis.low, 1.0)
    at = np.minimum(((along - axis.low) * (_STATIONS / length)).astype(np.intp), _STATIONS - 1)
    count = np.bincount(at, minlength=_STATIONS)
    wide = _octaves(count * (_STATIONS / length) / height)
    tone, hue = tones.mean(axis=0), np.ptp(tones, axis=0)
    off, light, square, coloured = (np.bincount(at, told, _STATIONS) / np.maximum(count, 1) for told in (beside, tone, tone**2, hue))
    uneven = np.sqrt(np.maximum(square - light**2, 0.0))
    whole = [np.log2(length / height) / 4, axis.slimness, float(rise @ axis.way), float(rise @ axis.across)]
    slices = [wide, np.clip(off / height, -2, 2), np.clip(light, -3, 3) / 2, np.minimum(uneven, 2), np.minimum(coloured, 2)]
    told = np.concatenate([*slices, np.clip(whole, -2, 2)])
    return np.asarray(told, np.float32)
