"""Log odds of pixels: how likely each is of an item."""

from __future__ import annotations

import numpy as np

from insertgen.photo.light import Float

__all__ = ["BENCH", "chance"]

#: Log odds of what is bench beyond doubt.
BENCH = -8.0


def chance(odds: Float) -> Float:
    """0..1 of log odds."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(odds, -20.0, 20.0))), np.float32)
