"""Thin strips beside an item as they are seen close: how far they reach, how they are led on to it, their shape to a part of a pixel."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from insertgen.geometry.region import Region, from_outline, to_outlines
from insertgen.model.figures import Outline, Ring
from insertgen.photo.boundary import Boundary, as_ring, pixels_of, resample, signed_area
from insertgen.photo.brink import Brink
from insertgen.photo.camera import Array
from insertgen.photo.light import Float
from insertgen.photo.load import Bool

__all__ = ["LAP", "Beyond", "as_region", "beyond", "boundary_of", "core_of", "holes_of", "lead_on", "pixels_inside", "regions_of", "rim_of"]

LAP = 3  # px of a 2400 px photo, into the item, so that both are one
_RIDGE = 1.0  # log odds below those of its middle: its rim
_FINE = 4  # parts of a pixel
_LEAST, _MOST = np.float32(0.5), np.float32(1.0)  # log odds beyond that: a strip's at least and at most, and others' below it


@dataclass(frozen=True, slots=True, eq=False)
class Beyond:
    """What may be item outside the rings, in pieces; pixels of the close look's window.

    Attributes
    ----------
    away : float32 array, h x w
        Distance from the item.
    label : int array, h x w
        Number of the piece, 0: none.
    start, reach, half : arrays, n
        Of each piece the least and the greatest distance from the item, and half its greatest width; 0 is no piece.
    """

    away: Float
    label: NDArray[np.int32]
    start: Array
    reach: Array
    half: Array


def beyond(inside: Bool, said: Bool, rim: float) -> Beyond:
    """The pieces of ``said`` farther than ``rim`` from the item: nearer it is its edge that is seen otherwise."""
    away = np.asarray(cv2.distanceTransform((~inside).astype(np.uint8), cv2.DIST_L2, 5), np.float32)
    count, found = cv2.connectedComponents((said & (away > rim)).astype(np.uint8))
    label, some = np.asarray(found, np.int32), found > 0
    part, depth = label[some], cv2.distanceTransform(some.astype(np.uint8), cv2.DIST_L2, 5)
    start, reach, half = np.full(count, np.inf), np.zeros(count), np.zeros(count)
    np.minimum.at(start, part, away[some])
    np.maximum.at(reach, part, away[some])
    np.maximum.at(half, part, depth[some])
    return Beyond(away, label, start, reach, half)


def pixels_inside(boundary: Boundary, brink: Brink) -> Bool:
    """Pixels of the window inside the rings."""
    return np.asarray(pixels_of(boundary, brink.odds.shape, brink.low, brink.unit) > 0)


def core_of(strip: Bool, odds: Float) -> Bool:
    """Its pixels without the soft rim, where it is sure; what is unsure for a stretch, whole."""
    around = np.ones((5, 5), np.uint8)
    core = strip & (odds > np.minimum(cv2.dilate(odds, around) - _RIDGE, 0))
    return np.asarray(strip & (cv2.morphologyEx(core.astype(np.uint8), cv2.MORPH_CLOSE, around) > 0))


def lead_on(strips: NDArray[np.uint8], ends: Array, inside: Bool) -> None:
    """Each end (n x 2, x and y) led on to the item by the shortest way, drawn into ``strips``."""
    rows, columns = np.nonzero(inside)
    nearest = cKDTree(np.column_stack([columns, rows]))
    for end in ends:
        column, row = nearest.data[nearest.query(end)[1]]
        cv2.line(strips, (round(end[0]), round(end[1])), (int(column), int(row)), 1, LAP)


def rim_of(inside: Bool) -> Bool:
    """The item's own pixels along its edge, as far as a strip laps over it."""
    return np.asarray(inside & (cv2.distanceTransform(inside.astype(np.uint8), cv2.DIST_L2, 5) <= LAP))


def regions_of(strips: Bool, brink: Brink) -> list[Region]:
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


def as_region(boundary: Boundary) -> Region:
    return from_outline(Outline(as_ring(boundary.outer), tuple(as_ring(hole) for hole in boundary.holes)))


def holes_of(item: Region, least: float) -> list[Ring]:
    """Holes of at least that area, photo px2."""
    return [hole for hole in to_outlines(item)[0].holes if abs(signed_area(np.array(hole))) >= least]


def boundary_of(item: Region, least_hole: float) -> Boundary:
    """Rings with points a pixel apart; smaller holes are filled."""
    outer = resample(np.array(to_outlines(item)[0].outer), 1.0)
    return Boundary(outer, tuple(resample(np.array(hole), 1.0) for hole in holes_of(item, least_hole)))
