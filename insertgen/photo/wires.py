"""Bows of wire between two parts of an item, as they are seen close: joined to its rings, with the holes that they close."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from insertgen.geometry.region import Region, from_outline, to_outlines, union
from insertgen.model.figures import Outline, Ring
from insertgen.photo.boundary import Boundary, as_ring, fill, resample, signed_area
from insertgen.photo.brink import Brink
from insertgen.photo.camera import Array
from insertgen.photo.light import Float
from insertgen.photo.load import Bool

__all__ = ["with_wires"]

# px of a 2400 px photo
_RIM = 4.0  # nearer to the item it is its edge that is seen otherwise
_END = 7.0  # nearer than that a wire ends at the item
_REACH = 20.0  # from the item, at least
_HALF = 8.0  # half of the greatest width
_BENT = 10.0  # from the straight way between its ends, at least: a line on the bench may pass under two parts of the item
_LAP = 3  # into the item, so that both are one
_MAY = -2.5  # log odds: what the rough ones deny, and this network sees for all that
_RIDGE = 1.0  # log odds below those of its middle: its rim
_FINE = 4  # parts of a pixel
_LEAST, _MOST = np.float32(0.5), np.float32(1.0)  # log odds beyond that: a strip's at least and at most, and others' below it


def with_wires(boundary: Boundary, brink: Brink, least_hole: float) -> Boundary:
    """The rings with the bows that begin and end at them, by the network that sees the photo's own pixels.

    A spring of wire between the handles of scissors is two pixels wide where the photo is seen as a whole, and no voice there knows it
    from grain; nor do rings drawn onto edges follow it, since both its sides lie within their reach. The bounds were set by
    109 photos (78 of ``tests/bench/render_photos.py``, 31 that may be learnt from): what ends at nothing was a scratch or grain more often than a point,
    and what closes no hole was the rim of a shadow.

    Parameters
    ----------
    boundary : Boundary
        Photo px.
    brink : Brink
    least_hole : float
        Photo px2: a strip that closes no hole of that size is no bow; smaller ones that a bow closes are filled.
    """
    strips = _strips(_filled(boundary, brink), brink.odds)
    if not strips.any():
        return boundary
    whole = from_outline(Outline(as_ring(boundary.outer), tuple(as_ring(hole) for hole in boundary.holes)))
    before = whole
    for strip in _regions(strips, brink):
        joined = union([whole, strip])
        if len(_holes(joined, least_hole)) > len(_holes(whole, least_hole)):
            whole = joined
    if whole is before:
        return boundary
    outer = resample(np.array(to_outlines(whole)[0].outer), 1.0)
    return Boundary(outer, tuple(resample(np.array(hole), 1.0) for hole in _holes(whole, least_hole)))


def _holes(item: Region, least: float) -> list[Ring]:
    return [hole for hole in to_outlines(item)[0].holes if abs(signed_area(np.array(hole))) >= least]


def _filled(boundary: Boundary, brink: Brink) -> Bool:
    """Pixels of the window inside the rings."""
    inside = np.zeros(brink.odds.shape, np.uint8)
    for ring, value in [(boundary.outer, 1), *((hole, 0) for hole in boundary.holes)]:
        fill(inside, (ring - brink.low + 0.5) / brink.unit - 0.5, value)
    return np.asarray(inside > 0)


def _strips(inside: Bool, odds: Float) -> Bool:
    """Thin bows outside that begin and end at the item, a little of it with them."""
    away = cv2.distanceTransform((~inside).astype(np.uint8), cv2.DIST_L2, 5)
    said = (odds > _MAY) & ~inside
    count, label = cv2.connectedComponents((said & (away > _RIM)).astype(np.uint8))
    part, depth = np.asarray(label, np.intp).ravel(), cv2.distanceTransform((label > 0).astype(np.uint8), cv2.DIST_L2, 5)
    reach, half = np.zeros(count), np.zeros(count)
    np.maximum.at(reach, part, away.ravel())
    np.maximum.at(half, part, depth.ravel())
    bows = np.zeros(inside.shape, np.uint8)
    for at in np.nonzero((reach >= _REACH) & (half <= _HALF))[0]:
        bow = np.asarray(label == at)
        ends = _ends(bow & (away < _END))
        if at > 0 and len(ends) > 1 and _bend(bow, ends) >= _BENT:
            bows[_core(bow, odds)] = 1
            _joined(bows, ends, inside)
    side = 2 * (int(_RIM) + _LAP) + 1
    near = cv2.dilate(bows, np.ones((side, side), np.uint8)) > 0
    rim = inside & (cv2.distanceTransform(inside.astype(np.uint8), cv2.DIST_L2, 5) <= _LAP)
    return np.asarray(near & ((bows > 0) | (said & (away <= _RIM)) | rim))


def _core(bow: Bool, odds: Float) -> Bool:
    """Its pixels without the soft rim, where it is sure; what is unsure for a stretch, whole."""
    around = np.ones((5, 5), np.uint8)
    core = bow & (odds > np.minimum(cv2.dilate(odds, around) - _RIDGE, 0))
    return np.asarray(bow & (cv2.morphologyEx(core.astype(np.uint8), cv2.MORPH_CLOSE, around) > 0))


def _ends(places: Bool) -> Array:
    """Middles of the places where a strip comes near the item (n x 2, x and y)."""
    joined = cv2.dilate(places.astype(np.uint8), np.ones((3, 3), np.uint8))
    return np.asarray(cv2.connectedComponentsWithStats(joined)[3][1:])


def _bend(bow: Bool, ends: Array) -> float:
    """How far a strip runs from the straight way between the two of its ends that lie farthest apart."""
    apart = np.linalg.norm(ends[:, None] - ends[None], axis=2)
    first, last = np.unravel_index(int(apart.argmax()), apart.shape)
    way = (ends[last] - ends[first]) / apart[first, last]
    beyond = np.argwhere(bow)[:, ::-1] - ends[first]
    return float(np.abs(beyond @ np.array([-way[1], way[0]])).max())


def _joined(bows: NDArray[np.uint8], ends: Array, inside: Bool) -> None:
    """Each end led on to the item by the shortest way."""
    rows, columns = np.nonzero(inside)
    nearest = cKDTree(np.column_stack([columns, rows]))
    for end in ends:
        column, row = nearest.data[nearest.query(end)[1]]
        cv2.line(bows, (round(end[0]), round(end[1])), (int(column), int(row)), 1, _LAP)


def _regions(strips: Bool, brink: Brink) -> list[Region]:
    """Strips to a part of a pixel: where the log odds change sign; photo px."""
    found = []
    _, _, boxes, _ = cv2.connectedComponentsWithStats(strips.astype(np.uint8))
    for left, top, width, height, _ in boxes[1:]:
        first = np.maximum(np.array([left, top]) - 2, 0)
        window = (slice(first[1], top + height + 2), slice(first[0], left + width + 2))
        odds = brink.odds[window]
        known = np.where(strips[window], np.clip(odds, _LEAST, _MOST), np.clip(odds, -_MOST, -_LEAST))
        fine = cv2.resize(known, None, fx=_FINE, fy=_FINE, interpolation=cv2.INTER_LINEAR) > 0
        rings, _ = cv2.findContours(fine.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        for ring in rings:
            if len(ring) > 3:
                found.append(from_outline(Outline(as_ring(((ring[:, 0] + 0.5) / _FINE + first) * brink.unit - 0.5 + brink.low))))
    return found
