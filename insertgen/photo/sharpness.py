"""How sharp the edge along a ring is: what tells an item's edge from the rim of its shade."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from insertgen.photo.boundary import normals, resample
from insertgen.photo.camera import Array
from insertgen.photo.light import Float, to_linear
from insertgen.photo.paths import best_path

__all__ = ["FULL_EDGE", "EdgeView", "change_across", "look_at_edges", "sharpness"]

FULL_EDGE = 0.02  # change of the root of light (0..1) per pixel of a 2400 px photo: a clear edge
_VIEW_SIDE = 2400
_FINE, _COARSE = 1.0, 4.0  # px, blur
_STEP = 2.0  # px between points of the ring
_PASSES = ((6.0, 1.0), (2.0, 0.5))  # reach across the ring and step, px


@dataclass(frozen=True, slots=True, eq=False)
class EdgeView:
    """The photo at no more than 2400 px, root of light, blurred a little and much; ``scale`` view px a photo px."""

    fine: Float
    coarse: Float
    scale: float


def look_at_edges(rgb: NDArray[np.uint8]) -> EdgeView:
    """The views that `sharpness` compares, made once a photo."""
    scale = min(1.0, _VIEW_SIDE / max(rgb.shape))
    small = cv2.resize(rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else rgb
    # root of light: near to how noise and eye see it, without the shift a logarithm gives a dark edge
    light = np.sqrt(to_linear(np.asarray(small, np.uint8)))
    fine, coarse = (
        np.asarray(cv2.GaussianBlur(light, (0, 0), sigma), np.float32) for sigma in (_FINE, _COARSE)
    )
    return EdgeView(fine, coarse, scale)


def sharpness(view: EdgeView, ring: Array) -> tuple[float, float]:
    """Mean sharpness of the edge near a ring (photo px), 0..1, and the geometric mean of the change across it.

    Sharp is what changes within the lens's blur and not over four times it: an
    item's edge does, the rim of a soft shadow does not (Elder, Zucker 1998).
    """
    points = (ring + 0.5) * view.scale - 0.5
    strength = np.zeros(1)
    for reach, stride in _PASSES:
        points = resample(points, _STEP)
        smooth = gaussian_filter1d(points, 2.0, axis=0, mode="wrap")
        out, offsets = normals(smooth), np.arange(-reach, reach + stride / 2, stride)
        change = change_across(view.fine, smooth, out, offsets) - change_across(
            view.coarse, smooth, out, offsets
        )
        change = np.maximum(change, 0.0)
        gain = np.minimum(change / FULL_EDGE, 1.0) + 0.3 * np.minimum(change / (5 * FULL_EDGE), 1.0)
        path = best_path(gain, 0.1)
        points = smooth + offsets[path][:, None] * out
        strength = change[np.arange(len(points)), path]
    mean = float(np.minimum(strength / FULL_EDGE, 1.0).mean())
    return mean, float(np.exp(np.log(np.maximum(strength, 1e-3)).mean()))


def change_across(picture: Float, base: Array, out: Array, offsets: Array) -> Array:
    """Change per pixel of three channels together, along normals ``out`` from points ``base``: points x offsets."""
    x, y = ((base[:, None, at] + offsets[None, :] * out[:, None, at]).astype(np.float32) for at in (0, 1))
    values = np.empty((*x.shape, 3))
    for row in range(0, len(x), 8192):  # remap takes at most 32767 rows
        part = slice(row, row + 8192)
        values[part] = cv2.remap(picture, x[part], y[part], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    slope = np.gradient(values, float(offsets[1] - offsets[0]), axis=1)
    return np.asarray(np.sqrt((slope**2).sum(axis=2)))
