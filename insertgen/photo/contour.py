"""A rough ring drawn onto the edge it lies near, to a part of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from insertgen.photo.boundary import normals, resample
from insertgen.photo.camera import Array
from insertgen.photo.light import to_linear
from insertgen.photo.paths import best_path
from insertgen.photo.sharpness import FULL_EDGE, change_across

__all__ = ["Snapped", "snap"]

_PASSES = ((5.0, 0.5, 0.06), (2.0, 0.25, 0.12))  # reach, step (photo px at 2400), stiffness
_BLUR = 0.8


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
    crop = np.sqrt(to_linear(rgb[low[1] : high[1], low[0] : high[0]]))
    crop = np.asarray(cv2.GaussianBlur(crop, (0, 0), _BLUR * unit), np.float32)
    points = resample(ring - low, unit)
    strength = np.zeros(len(points))
    for reach, step, stiffness in _PASSES:
        points = resample(points, unit)
        smooth = gaussian_filter1d(points, 1.5, axis=0, mode="wrap")
        out = normals(smooth)
        offsets = np.arange(-reach, reach + step / 2, step) * unit
        change = change_across(crop, smooth, out, offsets) * unit
        gain = np.minimum(change / FULL_EDGE, 1.0) + 0.15 * change / max(float(change.max()), 1e-9)
        path = best_path(gain, stiffness / step)
        rows = np.arange(len(points))
        shift = offsets[path] + _vertex(change, path, rows) * step * unit
        shift = gaussian_filter1d(shift, 0.8, mode="wrap")
        points = smooth + shift[:, None] * out
        strength = np.minimum(change[rows, path] / FULL_EDGE, 1.0)
    return Snapped(points + low, strength)


def _vertex(change: Array, path: NDArray[np.intp], rows: NDArray[np.intp]) -> Array:
    """Where the parabola through three samples peaks, in steps from the middle one."""
    middle = np.clip(path, 1, change.shape[1] - 2)
    before, here, after = change[rows, middle - 1], change[rows, middle], change[rows, middle + 1]
    bend = before - 2 * here + after
    peak = np.where(bend < -1e-9, 0.5 * (before - after) / np.where(bend < -1e-9, bend, -1.0), 0.0)
    return np.where(middle == path, np.clip(peak, -0.5, 0.5), 0.0)
