"""Log odds of the pixels to the region of one item, or of several."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.regions import LeastBoundary
from insertgen.photo.surface import Surface

__all__ = ["item_pieces", "pieces_as_one", "smooth_region"]

_CAP = 5.0
_SMOOTH = 1.2
_ITERATIONS = 120
_LIKELY = 0.0
_NEAR = 9  # working px: pieces nearer than that are one item
_LEAST = 250  # working px
_MARGIN = 24


def smooth_region(surface: Surface, odds: Float) -> Bool:
    """Pixels likelier item than bench, their boundary short and on edges (Chambolle, Pock 2011)."""
    rows, columns = (np.nonzero((odds > _LIKELY).any(axis=axis))[0] for axis in (1, 0))
    region = np.zeros(odds.shape, bool)
    if not len(rows):
        return region
    window = (
        slice(max(0, int(rows[0]) - _MARGIN), int(rows[-1]) + _MARGIN),
        slice(max(0, int(columns[0]) - _MARGIN), int(columns[-1]) + _MARGIN),
    )
    strong = max(float(np.percentile(surface.crisp[~surface.paper], 97)), 0.01)
    weight = np.float32(_SMOOTH) / (1.0 + (surface.crisp / np.float32(strong)) ** 2)
    cost = np.clip(-odds, -_CAP, _CAP)
    solver = LeastBoundary(np.ascontiguousarray(weight[window], np.float32))
    region[window] = solver.solve(np.ascontiguousarray(cost[window], np.float32), _ITERATIONS) > 0.5
    return region


def item_pieces(region: Bool, odds: Float) -> list[Bool]:
    """Pieces of the region that may be items, the most certain first; pieces close together are one."""
    joined = cv2.morphologyEx(region.astype(np.uint8), cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_NEAR, _NEAR)))
    count, label = cv2.connectedComponents(joined)
    sure = np.bincount(label.ravel(), weights=np.where(region, np.clip(odds, 0.0, _CAP), 0.0).ravel(), minlength=count)
    size = np.bincount(label.ravel(), weights=region.ravel().astype(float), minlength=count)
    order = [at for at in np.argsort(-sure) if at > 0 and size[at] >= _LEAST]
    return [np.asarray(label == at) & _bridged(region, label == at) for at in order]


def pieces_as_one(pieces: list[Bool]) -> Bool:
    """Pieces of one item with the least bridges (up to a sixteenth of the photo wide) that make it hang together."""
    every = np.logical_or.reduce(pieces)
    for width in range(_NEAR, max(every.shape) // 16, 8):
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width))
        joined = cv2.morphologyEx(every.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
        if cv2.connectedComponents(joined)[0] == 2:
            return np.asarray(joined > 0)
    return np.asarray(every)


def _bridged(region: Bool, joined: Bool) -> Bool:
    """The region within one joined piece; with the bridges where it would fall apart."""
    inside = region & joined
    count, _ = cv2.connectedComponents(inside.astype(np.uint8))
    return joined if count > 2 else inside
