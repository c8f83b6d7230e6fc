"""How much the photo changes along lines across a ring."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.camera import Array
from insertgen.photo.light import Float

__all__ = ["FULL_EDGE", "change_across"]

FULL_EDGE = 0.02  # change of the root of light (0..1) per pixel of a 2400 px photo: a clear edge


def change_across(picture: Float, base: Array, out: Array, offsets: Array) -> Array:
    """Change per pixel of three channels together, along normals ``out`` from points ``base``: points x offsets."""
    x, y = ((base[:, None, at] + offsets[None, :] * out[:, None, at]).astype(np.float32) for at in (0, 1))
    values = np.empty((*x.shape, 3))
    for row in range(0, len(x), 8192):  # remap takes at most 32767 rows
        part = slice(row, row + 8192)
        values[part] = cv2.remap(picture, x[part], y[part], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    slope = np.gradient(values, float(offsets[1] - offsets[0]), axis=1)
    return np.asarray(np.sqrt((slope**2).sum(axis=2)))
