"""Which side of the item's edge each point across a ring is on, judged by the profile of colours around it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from insertgen.photo.camera import Array
from insertgen.photo.corners import sample
from insertgen.photo.light import Float, log_light
from insertgen.photo.surface import DARK, Surface

__all__ = ["HALF", "Departures", "profile_rows"]

HALF = 6  # px of a 2400 px photo that a profile reaches to either side of the point it judges
_UNITS = (0.5, 0.15, 0.15, 2.0)  # log light of brightness and hues, log odds
_MARGIN = 24


class Departures:
    """Departures from the bench at the photo's own resolution, near a ring (photo px)."""

    def __init__(self, rgb: NDArray[np.uint8], surface: Surface, odds: Float, ring: Array, unit: float) -> None:
        margin = int(_MARGIN * unit) + 4
        low = np.maximum(np.floor(ring.min(axis=0)).astype(int) - margin, 0)
        high = np.ceil(ring.max(axis=0)).astype(int) + margin
        light = log_light(rgb[low[1] : high[1], low[0] : high[0]], DARK)
        if unit > 1.0:
            light = np.asarray(cv2.GaussianBlur(light, (0, 0), 0.45 * unit), np.float32)
        self._low, self._light, self._surface, self._odds = low, light, surface, odds
        bench = surface.departure.mean(axis=2)[~surface.paper]
        self._noise = float(np.log(1.4826 * np.median(np.abs(bench - np.median(bench))) / 0.05 + 0.05))

    def at(self, points: Array) -> Array:
        """Brightness, two hues and log odds (n x m x 4) at points n x m x 2, each of the order of 1."""
        work = self._surface.to_work(points)
        off = np.stack(
            [
                sample(self._light[:, :, channel], points - self._low) - sample(self._surface.level[:, :, channel], work)
                for channel in range(3)
            ],
            axis=-1,
        )
        bright = off.mean(axis=-1)
        values = (bright, off[:, :, 0] - bright, off[:, :, 2] - bright, sample(self._odds, work))
        return np.stack([np.arcsinh(value / unit) for value, unit in zip(values, _UNITS, strict=True)], axis=-1)

    @property
    def noise(self) -> float:
        return self._noise


def profile_rows(seen: Departures, base: Array, out: Array, reach: int, unit: float) -> Float:
    """What the network sees: n x (2 reach + 1) x inputs, for offsets -reach..reach (px at 2400) along ``out``."""
    offsets = np.arange(-reach - HALF, reach + HALF + 1) * unit
    values = seen.at(base[:, None, :] + offsets[None, :, None] * out[:, None, :])
    rows = sliding_window_view(values, 2 * HALF + 1, axis=1)  # n x places x 4 x window
    flat = rows.reshape(*rows.shape[:2], -1)
    return np.concatenate([flat, np.full((*flat.shape[:2], 1), seen.noise)], axis=2).astype(np.float32)
