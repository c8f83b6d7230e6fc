"""Which is likelier for a colour: item or bench. Histograms of departures from the bench.

The bench's colours are smeared towards dark: a shadow on the bench is the bench,
only darker, its hue nearly the same (shadows move colours along one line in log
light: Finlayson, Hordley, Lu, Drew 2006).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter

from insertgen.photo.camera import Array
from insertgen.photo.light import Float
from insertgen.photo.load import Bool

__all__ = ["Palette", "palette"]

_BINS = (64, 40, 40)  # brightness, two hues
_HUE_NOISE = 0.04  # log light, at least: light thrown back from the item tints the bench beside it
_SHADE_BLUR = (1.0, 3.0, 3.0)  # bins
_FLOOR = 1e-5  # share of a colour never seen
_DEEPEST_SHADOW = 1.6  # log light
_SHADOW_SHARE = 0.4  # of the bench, in shadow


@dataclass(frozen=True, slots=True, eq=False)
class Palette:
    """Every pixel's colour as a bin of a histogram, and the bin width in brightness."""

    bins: np.typing.NDArray[np.int32]
    bright_step: float

    def shares(self, where: Bool, smooth: float = 1.0) -> Array:
        """How often each colour occurs among the pixels ``where``: a smoothed histogram, sum 1."""
        size = int(np.prod(_BINS))
        counts = np.bincount(self.bins[where], minlength=size).reshape(_BINS).astype(np.float64)
        smoothed = gaussian_filter(counts, smooth, mode="nearest")
        return smoothed / max(float(smoothed.sum()), 1e-9)

    def in_shadow(self, shares: Array) -> Array:
        """The same colours where shadows of any depth may fall on them."""
        steps = max(1, round(_DEEPEST_SHADOW / self.bright_step))
        smear = np.zeros_like(shares)
        weight = 0.0
        for step in range(1, steps + 1):
            part = float(np.exp(-3.0 * step / steps))  # deep shadows are rarer than light ones
            smear[: _BINS[0] - step] += part * shares[step:]
            weight += part
        hue_blur = gaussian_filter(smear / weight, _SHADE_BLUR, mode="nearest")
        return (1 - _SHADOW_SHARE) * shares + _SHADOW_SHARE * hue_blur

    def at(self, shares: Array) -> Float:
        """Each pixel's share."""
        return shares.ravel()[self.bins].astype(np.float32)

    def log_ratio(self, item: Array, bench: Array) -> Float:
        """log(item / bench) per pixel."""
        ratio = np.log((item + _FLOOR) / (bench + _FLOOR)).ravel()
        return ratio[self.bins].astype(np.float32)


def palette(departure: Float, noise_from: Bool) -> Palette:
    """Bins fitted to the photo: hue bins as wide as the bench's hue noise."""
    bright = departure.mean(axis=2)
    hues = (departure[:, :, 0] - bright, departure[:, :, 2] - bright)
    bins = _bin(bright, -3.0, 1.6, _BINS[0])
    for hue, count in zip(hues, _BINS[1:], strict=True):
        bench = hue[noise_from]
        middle = float(np.median(bench))
        noise = 1.4826 * float(np.median(np.abs(bench - middle)))
        # hue far from the bench's is compressed, so that grey, blue and orange all keep bins
        stretched = np.arcsinh((hue - middle) / max(noise, _HUE_NOISE))
        bins = bins * count + _bin(stretched, -5.5, 5.5, count)
    return Palette(bins, 4.6 / _BINS[0])


def _bin(values: Float, low: float, high: float, count: int) -> np.typing.NDArray[np.int32]:
    return np.asarray(np.clip((values - low) / (high - low) * count, 0, count - 1), np.int32)
