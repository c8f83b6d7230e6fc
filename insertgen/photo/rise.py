"""Where the edge truly is in a step of light as a camera writes it: blurred, encoded, sharpened, clipped.

Blur is symmetric in linear light and moves no edge. Encoding by a tone curve and sharpening what is encoded
are not: the pale side runs over, and a dark square comes out smaller all round. All of it is put on a step of
known place, and the place sought that gives the profile seen (edge spread function; ISO 12233 for the term).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.optimize import least_squares
from scipy.special import ndtr

__all__ = ["Rise", "encoded", "find_rise"]

Array = NDArray[np.float64]

_SIGMA_ENCODED = 1 / 300  # how well the model tells an encoded value
_FAR_OFF = 4 / 255  # root mean square misfit beyond which the profile is no sharpened step
_USUAL_BLUR, _USUAL_RADIUS = 0.8, 1.3  # px; starts, and the radius a weak guess: where little is sharpened it says nothing
_LIMITS = ((-2.0, math.log(0.3), 0.0, 0.0, -0.2, math.log(0.5)), (2.0, math.log(3.0), 1.0, 2.0, 4.0, math.log(4.0)))
_MARGIN = 8.0  # px beyond the profile's ends, so that the sharpening sees no end


@dataclass(frozen=True, slots=True)
class Rise:
    """A step as it was before the camera's processing.

    Attributes
    ----------
    at : float
        px, on the axis of the profile.
    pale : float
        Linear light on the pale side; near 1 the picture is overexposed, and the place a guess.
    """

    at: float
    pale: float


def encoded(light: Array) -> Array:
    """sRGB values 0..1 of linear light, beyond 1 continued (IEC 61966-2-1)."""
    light = np.maximum(light, 0.0)
    return np.asarray(np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055))


def find_rise(offsets: Array, light: Array) -> Rise | None:
    """The step in a mean profile across an edge, None if it is not one.

    Parameters
    ----------
    offsets : array, n
        px, evenly spaced, from the dark side to the pale.
    light : array, n
        Linear light as decoded.
    """
    ends = max(2, len(offsets) // 8)
    dark, pale = float(light[:ends].mean()), float(light[-ends:].mean())
    if not 0 <= dark < 0.8 * pale:
        return None
    seen = encoded(light)
    start = [0.0, math.log(_USUAL_BLUR), dark, 1.02 * pale, 0.2, math.log(_USUAL_RADIUS)]

    def misfit(unknown: Array) -> Array:
        guess = [(unknown[5] - start[5]) / 0.5, unknown[4], (unknown[3] / pale - 1) / 0.3]
        return np.concatenate([(_as_written(unknown, offsets) - seen) / _SIGMA_ENCODED, guess])

    low, high = np.array(_LIMITS)
    high[2] = pale
    fit = least_squares(misfit, np.clip(start, low + 1e-6, high - 1e-6), bounds=(low, high))
    off = float(np.sqrt(np.mean((_as_written(fit.x, offsets) - seen) ** 2)))
    return Rise(float(fit.x[0]), float(fit.x[3])) if off < _FAR_OFF else None


def _as_written(unknown: Array, offsets: Array) -> Array:
    """Encoded profile of a step at unknown[0]: blur, dark, pale, amount and radius of unsharp masking."""
    at, log_blur, dark, pale, amount, log_radius = unknown
    step = float(offsets[1] - offsets[0])
    beyond = math.ceil(_MARGIN / step)
    axis = offsets[0] + step * np.arange(-beyond, len(offsets) + beyond)
    value = encoded(dark + (pale - dark) * ndtr((axis - at) / math.exp(log_blur)))
    value = value + amount * (value - gaussian_filter1d(value, math.exp(log_radius) / step, mode="nearest"))
    return np.asarray(np.clip(value[beyond:-beyond], 0.0, 1.0))
