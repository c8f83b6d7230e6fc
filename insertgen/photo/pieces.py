"""Log odds of the pixels to the region of one item, or of several."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.photo.camera import Array
from insertgen.photo.least_boundary import least_boundary
from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.surface import Surface

__all__ = ["at_frame", "filled", "item_pieces", "midst", "pieces_as_one", "smooth_region", "with_near_parts"]

_CAP = 5.0
_SMOOTH = 1.2
_ITERATIONS = 120
_LIKELY = 0.0
_NEAR = 9  # working px: pieces nearer than that are one item
_LEAST = 250  # working px
_MARGIN = 24
_SLACK, _FAINT = 4.0, -2.5  # working px, and log odds: of what bridges two parts
_BRIDGE = 7  # working px: its least width


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
    cost = np.asarray(np.clip(-odds, -_CAP, _CAP), np.float32)
    region[window] = least_boundary(np.ascontiguousarray(weight[window]), np.ascontiguousarray(cost[window]), _ITERATIONS) > 0.5
    return region


def item_pieces(region: Bool, odds: Float) -> list[Bool]:
    """Pieces of the region that may be items, the most certain first; pieces close together are one."""
    joined = cv2.morphologyEx(region.astype(np.uint8), cv2.MORPH_CLOSE, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_NEAR, _NEAR)))
    count, label = cv2.connectedComponents(joined)
    sure = np.bincount(label.ravel(), weights=np.where(region, np.clip(odds, 0.0, _CAP), 0.0).ravel(), minlength=count)
    size = np.bincount(label.ravel(), weights=region.ravel().astype(float), minlength=count)
    order = [at for at in np.argsort(-sure, kind="stable") if at > 0 and size[at] >= _LEAST]
    return [np.asarray(label == at) & _whole(region, label == at) for at in order]


def with_near_parts(pieces: list[Bool], odds: Float, gap: float) -> list[Bool]:
    """The most certain piece with those of the same item bridged to it, then the others.

    Of the same item is what lies less than ``gap`` (working px) from it, or is joined to it by what may be item,
    though it is likelier bench: pale steel on a pale bench.
    """
    if len(pieces) < 2:
        return pieces
    item, others = pieces[0], pieces[1:]
    _, label = cv2.connectedComponents((odds > _FAINT).astype(np.uint8))
    while True:
        away = cv2.distanceTransform((~item).astype(np.uint8), cv2.DIST_L2, 5)
        joined = np.unique(label[item])
        near = [part for part in others if float(away[part].min()) < gap or bool(np.isin(label[part], joined[joined > 0]).any())]
        if not near:
            return [item, *others]
        others = [part for part in others if not any(part is one for one in near)]
        for part in near:
            item = _bridged(item, part, odds)


def _bridged(item: Bool, part: Bool, odds: Float) -> Bool:
    """Both, what of the shortest ways between them may be item, and one way that is no thread.

    The edges on both sides of a thread would be taken for one.
    """
    away, back = (cv2.distanceTransform((~one).astype(np.uint8), cv2.DIST_L2, 5) for one in (item, part))
    gap = float(away[part].min())
    between = (away + back <= gap + _SLACK) & (odds > _FAINT)
    facing = np.argwhere(part & (away <= gap + 0.5))
    end = _nearest(facing, facing.mean(axis=0))
    start = _nearest(np.argwhere(item), end)
    way = np.zeros(item.shape, np.uint8)
    cv2.line(way, (int(start[1]), int(start[0])), (int(end[1]), int(end[0])), 1, _BRIDGE)
    return np.asarray(item | part | between | (way > 0))


def _nearest(places: NDArray[np.intp], to: Array | NDArray[np.intp]) -> NDArray[np.intp]:
    return np.asarray(places[int(((places - to) ** 2).sum(axis=1).argmin())])


def pieces_as_one(pieces: list[Bool]) -> Bool:
    """Pieces of one item with the least bridges (up to a sixteenth of the photo wide) that make it hang together."""
    every = np.logical_or.reduce(pieces)
    for width in range(_NEAR, max(every.shape) // 16, 8):
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (width, width))
        joined = cv2.morphologyEx(every.astype(np.uint8), cv2.MORPH_CLOSE, kernel)
        if cv2.connectedComponents(joined)[0] == 2:
            return np.asarray(joined > 0)
    return np.asarray(every)


def filled(region: Bool) -> Bool:
    """A region without its holes."""
    rings, _ = cv2.findContours(region.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    whole = np.zeros(region.shape, np.uint8)
    cv2.drawContours(whole, rings, -1, 1, -1)
    return np.asarray(whole > 0)


def midst(region: Bool) -> Array:
    """The place farthest inside a region (x and y)."""
    depth = cv2.distanceTransform(np.pad(region.astype(np.uint8), 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
    row, column = np.unravel_index(int(depth.argmax()), region.shape)
    return np.array([column, row], np.float64)


def at_frame(mask: Bool, gap: int) -> bool:
    """Whether a region comes within ``gap`` px of the picture's edge."""
    return bool(mask[:gap].any() or mask[-gap:].any() or mask[:, :gap].any() or mask[:, -gap:].any())


def _whole(region: Bool, joined: Bool) -> Bool:
    """The region within one joined piece; with the bridges where it would fall apart."""
    inside = region & joined
    count, _ = cv2.connectedComponents(inside.astype(np.uint8))
    return joined if count > 2 else inside
