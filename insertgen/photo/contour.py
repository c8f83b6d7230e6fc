"""A rough ring drawn onto the edge it lies near, to a part of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from insertgen.photo.boundary import normals, resample
from insertgen.photo.camera import Array
from insertgen.photo.light import Float, to_linear

__all__ = ["Snapped", "sharpness", "snap"]

_PASSES = ((5.0, 0.5, 0.06), (2.0, 0.25, 0.12))  # reach, step (photo px at 2400), stiffness
_BLUR = 0.8
_FULL_EDGE = 0.02  # change of the root of light (0..1) per pixel of a 2400 px photo: a clear edge


@dataclass(frozen=True, slots=True, eq=False)
class Snapped:
    """A ring on its edge.

    Attributes
    ----------
    ring : array, n x 2
        Pixels.
    strength : array, n
        Edge there, 1: clear, 0: none.
    """

    ring: Array
    strength: Array


def snap(rgb: NDArray[np.uint8], ring: Array, unit: float) -> Snapped:
    """Closed contour of greatest edge strength near a ring (Amini, Weymouth, Jain 1990, dynamic programming).

    Parameters
    ----------
    rgb : uint8 array, H x W x 3
    ring : array, n x 2
        Within the reach (5 px of a 2400 px photo) of the edge.
    unit : float
        Photo pixels per pixel of a 2400 px photo; reach and step grow with it.
    """
    margin = int(12 * unit) + 4
    low = np.maximum(np.floor(ring.min(axis=0)).astype(int) - margin, 0)
    high = np.ceil(ring.max(axis=0)).astype(int) + margin
    # root of light: near to how noise and eye see it, without the shift a logarithm gives a dark edge
    crop = np.sqrt(to_linear(rgb[low[1] : high[1], low[0] : high[0]]))
    crop = cv2.GaussianBlur(crop, (0, 0), _BLUR * unit)
    points = resample(ring - low, unit)
    strength = np.zeros(len(points))
    for reach, step, stiffness in _PASSES:
        points = resample(points, unit)
        smooth = gaussian_filter1d(points, 1.5, axis=0, mode="wrap")
        out = normals(smooth)
        offsets = np.arange(-reach, reach + step / 2, step) * unit
        change = _change_across(crop, smooth, out, offsets) * unit
        gain = np.minimum(change / _FULL_EDGE, 1.0) + 0.15 * change / max(float(change.max()), 1e-9)
        path = _best_path(gain, stiffness / step)
        rows = np.arange(len(points))
        shift = offsets[path] + _vertex(change, path, rows) * step * unit
        shift = gaussian_filter1d(shift, 0.8, mode="wrap")
        points = smooth + shift[:, None] * out
        strength = np.minimum(change[rows, path] / _FULL_EDGE, 1.0)
    return Snapped(points + low, strength)


def sharpness(rgb: NDArray[np.uint8], ring: Array, unit: float) -> tuple[float, float]:
    """How sharp the edge near a ring is on average, 0..1, and the geometric mean of the change across it.

    Sharp is what changes within the lens's blur and not over four times it: an
    item's edge does, the rim of a soft shadow does not (Elder, Zucker 1998).
    """
    step = 2.0 * unit
    margin = int(20 * step)
    low = np.maximum(np.floor(ring.min(axis=0)).astype(int) - margin, 0)
    high = np.ceil(ring.max(axis=0)).astype(int) + margin
    crop = np.sqrt(to_linear(rgb[low[1] : high[1], low[0] : high[0]]))
    fine, coarse = (cv2.GaussianBlur(crop, (0, 0), sigma * unit) for sigma in (1.0, 4.0))
    points = resample(ring - low, step)
    sharp = strength = np.zeros(1)
    for reach, stride in ((6.0, 1.0), (2.0, 0.5)):
        points = resample(points, step)
        smooth = gaussian_filter1d(points, 2.0, axis=0, mode="wrap")
        out, offsets = normals(smooth), np.arange(-reach, reach + stride / 2, stride) * unit
        change = _change_across(fine, smooth, out, offsets) - _change_across(coarse, smooth, out, offsets)
        change = np.maximum(change * unit, 0.0)
        gain = np.minimum(change / _FULL_EDGE, 1.0) + 0.3 * np.minimum(change / (5 * _FULL_EDGE), 1.0)
        path, rows = _best_path(gain, 0.1), np.arange(len(points))
        points = smooth + offsets[path][:, None] * out
        strength = change[rows, path]
        sharp = np.minimum(strength / _FULL_EDGE, 1.0)
    return float(sharp.mean()), float(np.exp(np.log(np.maximum(strength, 1e-3)).mean()))


def _change_across(crop: Float, base: Array, out: Array, offsets: Array) -> Array:
    grid = (base[:, None, :] + offsets[None, :, None] * out[:, None, :]).astype(np.float32)
    values = np.empty((*grid.shape[:2], 3), np.float32)
    for row in range(0, len(grid), 8192):  # remap takes at most 32767 rows
        part = slice(row, row + 8192)
        values[part] = cv2.remap(crop, grid[part], None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    slope = np.gradient(values, float(offsets[1] - offsets[0]), axis=1)
    strength: Array = np.sqrt((slope.astype(np.float64) ** 2).sum(axis=2))
    return strength


def _best_path(gain: Array, stiffness: float) -> NDArray[np.intp]:
    """Offsets of greatest total gain less stiffness times change; twice round, so that the ends meet."""
    count, width = gain.shape
    turns = np.concatenate([gain, gain])
    back = np.zeros((2 * count, width), np.int8)
    total = turns[0].copy()
    moves = np.array([-2, -1, 0, 1, 2])
    cost = stiffness * np.abs(moves)[:, None] * np.where(np.abs(moves) > 1, 1.5, 1.0)[:, None]
    for row in range(1, 2 * count):
        padded = np.pad(total, 2, constant_values=-1e9)
        options = np.stack([padded[2 + move : 2 + move + width] for move in moves]) - cost
        choice = options.argmax(axis=0)
        back[row] = moves[choice]
        total = options[choice, np.arange(width)] + turns[row]
    path = np.zeros(2 * count, np.intp)
    path[-1] = int(total.argmax())
    for row in range(2 * count - 1, 0, -1):
        path[row - 1] = path[row] + back[row, path[row]]
    half = count // 2
    return np.concatenate([path[count : count + half], path[half:count]])


def _vertex(change: Array, path: NDArray[np.intp], rows: NDArray[np.intp]) -> Array:
    """Where the parabola through three samples peaks, in steps from the middle one."""
    middle = np.clip(path, 1, change.shape[1] - 2)
    before, here, after = change[rows, middle - 1], change[rows, middle], change[rows, middle + 1]
    bend = before - 2 * here + after
    peak = np.where(bend < -1e-9, 0.5 * (before - after) / np.where(bend < -1e-9, bend, -1.0), 0.0)
    return np.where(middle == path, np.clip(peak, -0.5, 0.5), 0.0)
