"""Pixel values as amounts of light."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["Float", "log_light", "luminance", "to_linear"]

Float = NDArray[np.float32]

# Rec. ITU-R BT.709 luminance of linear RGB.
_WEIGHTS = (0.2126, 0.7152, 0.0722)


def _decode_table() -> Float:
    value = np.arange(256) / 255.0  # IEC 61966-2-1 (sRGB), decoding
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4).astype(np.float32)


_DECODE = _decode_table()


def to_linear(rgb: NDArray[np.uint8]) -> Float:
    """Linear light 0..1 of 8-bit sRGB values, float32, same shape."""
    return _DECODE[rgb]


def luminance(rgb: NDArray[np.uint8]) -> Float:
    """Relative luminance 0..1 of an H x W x 3 picture, float32, H x W."""
    total = np.zeros(rgb.shape[:2], np.float32)
    for channel, weight in enumerate(_WEIGHTS):
        total += (_DECODE * np.float32(weight))[rgb[:, :, channel]]
    return total


def log_light(rgb: NDArray[np.uint8], dark: float) -> Float:
    """Logarithm of light, ``dark`` added first: sensor noise must not rule the shadows."""
    return np.asarray(np.log(to_linear(rgb) + np.float32(dark)), np.float32)
