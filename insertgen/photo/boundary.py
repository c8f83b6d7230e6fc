"""The rings of a region, to a part of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from insertgen.geometry.region import fault
from insertgen.model.figures import Outline, Ring
from insertgen.photo.camera import Array
from insertgen.photo.corners import sample
from insertgen.photo.light import Float
from insertgen.photo.load import Bool

__all__ = ["Boundary", "Inside", "as_ring", "inside_of", "normals", "pixels_of", "resample", "rings_of_mask", "signed_area", "smooth_normals", "untangled"]

_ALONG = 4.0  # points of a ring: over how many normals are averaged

_BLUR = 1.0  # px: turns the staircase of a mask into a slope
_REACH = 2.0
_STEP = 0.25
_FINEST_GRID = 4500  # px: what fills and labels a grid twice as large takes 400 MB more
_CRUMB = 0.02  # of the largest part: what is smaller is left out
_SLACK = 4.0  # px: ways so much longer than the shortest bridge two parts


@dataclass(frozen=True, slots=True, eq=False)
class Boundary:
    """Outer ring and holes in pixels (pixel centres at integers), points about a pixel apart."""

    outer: Array
    holes: tuple[Array, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Inside:
    """Which pixels of a window of the photo lie inside rings (h x w); ``low``: its corner."""

    pixels: Bool
    low: Array

    def at(self, places: Array) -> Bool:
        """Whether places (photo px, ... x 2) lie inside, to the pixel."""
        column, row = np.moveaxis(np.round(places - self.low).astype(int), -1, 0)
        height, width = self.pixels.shape
        return np.asarray(self.pixels[np.clip(row, 0, height - 1), np.clip(column, 0, width - 1)])


def inside_of(boundary: Boundary) -> Inside:
    """In a window that holds the rings, a pixel of the photo each."""
    low = np.floor(boundary.outer.min(axis=0)) - 2
    columns, rows = (np.ceil(boundary.outer.max(axis=0)) + 3 - low).astype(int)
    return Inside(np.asarray(pixels_of(boundary, (rows, columns), low) > 0), low)


def pixels_of(boundary: Boundary, shape: tuple[int, ...], low: Array, unit: float = 1.0) -> NDArray[np.uint8]:
    """1 inside the rings, else 0, in a window of that shape: ``low`` its corner, ``unit`` photo px a pixel."""
    grid = np.zeros(shape, np.uint8)
    for ring, value in [(boundary.outer, 1), *((hole, 0) for hole in boundary.holes)]:
        _fill(grid, (ring - low + 0.5) / unit - 0.5, value)
    return grid


def rings_of_mask(mask: Bool, *, least_hole: float = 0.0) -> Boundary:
    """Rings of the largest piece of a mask; they run between the pixels, not through the outermost ones.

    Parameters
    ----------
    mask : bool array, H x W
    least_hole : float
        Holes smaller than this (px2) are left out.
    """
    field = np.asarray(cv2.GaussianBlur(mask.astype(np.float32), (0, 0), _BLUR), np.float32)
    found, tree = cv2.findContours(mask.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    sizes = [cv2.contourArea(ring) if tree[0][at][3] < 0 else -1.0 for at, ring in enumerate(found)]
    outer = int(np.argmax(sizes))
    holes = [
        _between_pixels(np.asarray(found[at], np.float64), field)
        for at in range(len(found))
        if tree[0][at][3] == outer and len(found[at]) >= 8 and cv2.contourArea(found[at]) >= least_hole
    ]
    return Boundary(_between_pixels(np.asarray(found[outer], np.float64), field), tuple(holes))


def untangled(boundary: Boundary, rough: Array | None = None) -> Boundary:
    """The same rings where none crosses itself or another; unchanged if none does.

    A crossed ring is filled on a grid several times finer than the photo and traced again. Where it falls apart there,
    since both sides of a neck were drawn to the same edge, ``rough`` (an outer ring near it) bridges the parts.
    """
    if fault(Outline(as_ring(boundary.outer), tuple(as_ring(hole) for hole in boundary.holes))) is None:
        return boundary
    low = np.floor(boundary.outer.min(axis=0)) - 4
    size = np.ceil(boundary.outer.max(axis=0)) + 5 - low
    fine = int(np.clip(_FINEST_GRID // max(size), 1, 4))
    grid = pixels_of(boundary, (int(size[1]) * fine, int(size[0]) * fine), low, 1 / fine)
    whole = cv2.morphologyEx(grid, cv2.MORPH_OPEN, np.ones((2 * fine + 1, 2 * fine + 1), np.uint8))
    if not whole.any():
        return boundary
    if rough is not None:
        bridges = np.zeros_like(grid)
        _fill(bridges, (rough - low + 0.5) * fine - 0.5, 1)
        whole = _bridged(np.asarray(whole, np.uint8), bridges, _SLACK * fine)
    count, label, stats, _ = cv2.connectedComponentsWithStats(whole)
    largest = label == 1 + int(np.argmax(stats[1:count, cv2.CC_STAT_AREA]))
    least = 0.5 * min((abs(signed_area(hole)) for hole in boundary.holes), default=np.inf) * fine**2
    traced = rings_of_mask(largest, least_hole=least)
    rings = [(ring + 0.5) / fine - 0.5 + low for ring in (traced.outer, *traced.holes)]
    return Boundary(resample(rings[0], 1.0), tuple(resample(hole, 1.0) for hole in rings[1:]))


def _fill(grid: NDArray[np.uint8], ring: Array, value: int) -> None:
    """The inside of a ring, in pixels of the grid, set to a value there."""
    cv2.fillPoly(grid, [np.round(ring * 16).astype(np.int32)], value, shift=4)


def _bridged(whole: NDArray[np.uint8], bridges: NDArray[np.uint8], slack: float) -> NDArray[np.uint8]:
    """The parts of a region, and of ``bridges`` what lies on the shortest ways from the largest to each."""
    count, label, stats, _ = cv2.connectedComponentsWithStats(whole)
    areas = stats[:, cv2.CC_STAT_AREA]
    item = 1 + int(np.argmax(areas[1:]))
    joined = whole.copy()
    for part in range(1, count):
        if part != item and areas[part] > _CRUMB * areas[item]:
            away, back = (cv2.distanceTransform((label != one).astype(np.uint8), cv2.DIST_L2, 5) for one in (item, part))
            joined |= (away + back <= float(away[label == part].min()) + slack) & bridges
    return joined


def signed_area(ring: Array) -> float:
    """Shoelace formula; positive counter-clockwise with y up."""
    x, y = ring.T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)) / 2


def as_ring(points: Array) -> Ring:
    """As the figures of the model have it."""
    return tuple((float(x), float(y)) for x, y in points)


def _between_pixels(ring: Array, field: Float) -> Array:
    points = resample(ring.reshape(-1, 2), 1.0)
    smooth = gaussian_filter1d(points, 1.5, axis=0, mode="wrap")
    out = normals(smooth)
    offsets = np.arange(-_REACH, _REACH + _STEP / 2, _STEP)
    profile = sample(field, smooth[:, None, :] + offsets[None, :, None] * out[:, None, :]) - 0.5
    crossing = profile[:, :-1] * profile[:, 1:] <= 0
    distance = np.where(crossing, np.abs(offsets[:-1] + _STEP / 2), np.inf)
    at = distance.argmin(axis=1)
    rows = np.arange(len(points))
    first, second = profile[rows, at], profile[rows, at + 1]
    share = np.where(first != second, first / np.where(first != second, first - second, 1.0), 0.5)
    found = np.isfinite(distance[rows, at])
    shift = np.where(found, offsets[at] + share * _STEP, 0.0)
    moved: Array = smooth + shift[:, None] * out
    return moved


def resample(ring: Array, step: float) -> Array:
    """Points ``step`` px apart (as near as divides the ring evenly) along a closed ring."""
    closed = np.vstack([ring, ring[:1]])
    length = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    count = max(8, round(length[-1] / step))
    at = np.arange(count) * (length[-1] / count)
    return np.stack([np.interp(at, length, closed[:, axis]) for axis in (0, 1)], axis=1)


def normals(ring: Array) -> Array:
    """Unit normals of a closed ring, to its outside (away from the enclosed area)."""
    tangent = np.roll(ring, -2, axis=0) - np.roll(ring, 2, axis=0)
    length = np.maximum(np.linalg.norm(tangent, axis=1, keepdims=True), 1e-9)
    right = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1) / length
    return np.asarray(right if signed_area(ring) > 0 else -right)


def smooth_normals(ring: Array) -> Array:
    """`normals` averaged along the ring; shorter than 1 where it bends."""
    return np.asarray(gaussian_filter1d(normals(ring), _ALONG, axis=0, mode="wrap"))
