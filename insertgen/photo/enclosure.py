"""Where the item is: what edges enclose.

The enclosure of a pixel is the weakest edge that a way from it to the frame must
cross: the grey-scale reconstruction of Vincent (1993) from the border, here by
floods from every side under a rising threshold. A shadow's soft rim, a pencil line or
a stripe of grain encloses little; an item's outline encloses all of it.
"""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.camera import Array
from insertgen.photo.light import Float
from insertgen.photo.load import Bool

__all__ = ["enclosed_at", "enclosure", "levels"]

_LEVELS = 24
_FLOODED = 2
# log light per pixel: weaker edges are none
_LEAST_EDGE = 0.004


def levels(edge: Float, paper: Bool) -> Array:
    """Thresholds from a little above the bench's usual edge to the strongest of all."""
    lowest = max(1.5 * float(np.percentile(edge[~paper], 50)), _LEAST_EDGE)
    return np.asarray(np.geomspace(lowest, max(float(edge.max()) * 0.8, lowest * 1.5), _LEVELS))


def enclosed_at(edge: Float, level: float) -> Bool:
    """Pixels that no way leads out of without crossing an edge of that strength."""
    ways = np.ones((edge.shape[0] + 2, edge.shape[1] + 2), np.uint8)  # a way all round, so that one flood reaches every side
    ways[1:-1, 1:-1] = edge < level
    cv2.floodFill(ways, None, (0, 0), _FLOODED)
    return np.asarray(ways[1:-1, 1:-1] != _FLOODED)


def enclosure(edge: Float, thresholds: Array) -> Float:
    """Greatest threshold at which a pixel is still enclosed; 0 if at none."""
    result = np.zeros(edge.shape, np.float32)
    for level in thresholds:
        result[enclosed_at(edge, float(level))] = level
    return result
