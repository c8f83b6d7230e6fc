"""Where the item is: what edges enclose.

The enclosure of a pixel is the weakest edge that a way from it to the frame must
cross: the grey-scale reconstruction of Vincent (1993) from the border, here by
connected pieces under a rising threshold. A shadow's soft rim, a pencil line or
a stripe of grain encloses little; an item's outline encloses all of it.
"""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.surface import Surface

__all__ = ["enclosure", "locate"]

_LEVELS = 24


def enclosure(edge: Float, lowest: float) -> Float:
    """Weakest edge on the best way to the frame, per pixel; 0 below ``lowest``."""
    highest = max(float(edge.max()) * 0.8, lowest * 1.5)
    result = np.zeros(edge.shape, np.float32)
    for level in np.geomspace(lowest, highest, _LEVELS):
        count, label = cv2.connectedComponents((edge < level).astype(np.uint8), connectivity=4)
        outside = np.zeros(count, bool)
        for side in (label[0], label[-1], label[:, 0], label[:, -1]):
            outside[side] = True
        outside[0] = False  # label 0 is the edges themselves
        result[~outside[label]] = level
    return result


def locate(surface: Surface) -> tuple[Float, Bool]:
    """How strongly each pixel is enclosed (1: as by the bench's strongest edges), and the item's rough place."""
    bench = surface.edge[~surface.paper]
    usual = float(np.percentile(bench, 50))
    strong = max(float(np.percentile(bench, 97)), 2.5 * usual)
    enclosed = enclosure(surface.edge, max(1.5 * usual, 0.01))
    core = np.maximum(np.log(np.maximum(enclosed, 1e-6) / strong), 0.0)
    # edges are counted as enclosed by themselves; what a disc does not fit in is an edge, not a thing
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5))
    thick = cv2.morphologyEx(core, cv2.MORPH_OPEN, disc)
    best, place = -1.0, np.zeros(core.shape, bool)
    count, label, stats, _ = cv2.connectedComponentsWithStats((thick > 0).astype(np.uint8))
    del stats
    mass = np.bincount(label.ravel(), weights=thick.ravel(), minlength=count)
    mass[0] = 0.0
    if count > 1:
        top = int(np.argmax(mass))
        best = float(mass[top])
        place = label == top
    del best
    return (enclosed / np.float32(strong)).astype(np.float32), place
