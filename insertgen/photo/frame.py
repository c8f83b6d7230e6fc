"""From rings on the bench to an outline in the shape frame."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from insertgen.geometry.region import from_outline, to_outlines
from insertgen.model.figures import Outline, Ring
from insertgen.photo.camera import Array

__all__ = ["Framed", "least_rectangle", "to_shape_frame"]


@dataclass(frozen=True, slots=True)
class Framed:
    """An outline in the shape frame with its plain measures, mm and mm2."""

    outline: Outline
    length: float
    width: float
    area: float


def to_shape_frame(outer: Array, holes: tuple[Array, ...], tolerance: float) -> Framed:
    """Turn, centre and thin out rings on the bench (mm, y up).

    The long side of the least rectangle comes to lie along x; of the two turns that
    do it, the one of at most 90 degrees is taken, so that the drawing looks like the photo.

    Parameters
    ----------
    outer, holes : arrays, n x 2
    tolerance : float
        Greatest distance of a dropped point from the outline kept (Douglas, Peucker 1973).
    """
    angle, length, width = least_rectangle(outer)
    turn = -math.remainder(angle, math.pi)
    cos, sin = math.cos(turn), math.sin(turn)
    matrix = np.array([[cos, -sin], [sin, cos]])
    turned = [ring @ matrix.T for ring in (outer, *holes)]
    low, high = turned[0].min(axis=0), turned[0].max(axis=0)
    thinned = [_thin(ring - (low + high) / 2, tolerance) for ring in turned]
    raw = Outline(_ring(thinned[0]), tuple(_ring(hole) for hole in thinned[1:] if len(hole) >= 3))
    region = from_outline(raw)
    outline = to_outlines(region)[0]
    return Framed(_centred(outline), length, width, _area(outline))


def least_rectangle(points: Array) -> tuple[float, float, float]:
    """Angle (radians) of the long side, length and width of the least-area rectangle.

    It has a side along an edge of the convex hull (Freeman, Shapira 1975).
    """
    hull = cv2.convexHull(points.astype(np.float32)).reshape(-1, 2).astype(np.float64)
    edges = np.roll(hull, -1, axis=0) - hull
    angles = np.arctan2(edges[:, 1], edges[:, 0])
    cos, sin = np.cos(angles), np.sin(angles)
    along = np.ptp(np.outer(cos, hull[:, 0]) + np.outer(sin, hull[:, 1]), axis=1)
    across = np.ptp(np.outer(-sin, hull[:, 0]) + np.outer(cos, hull[:, 1]), axis=1)
    best = int(np.argmin(along * across))
    if along[best] >= across[best]:
        return float(angles[best]), float(along[best]), float(across[best])
    return float(angles[best]) + math.pi / 2, float(across[best]), float(along[best])


def _thin(ring: Array, tolerance: float) -> Array:
    # approxPolyDP works in single precision: at 500 mm that is 0.00003 mm
    return cv2.approxPolyDP(ring.astype(np.float32), tolerance, True).reshape(-1, 2).astype(np.float64)


def _ring(points: Array) -> Ring:
    return tuple((float(x), float(y)) for x, y in points)


def _centred(outline: Outline) -> Outline:
    points = np.array(outline.outer)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2

    def moved(ring: Ring) -> Ring:
        return tuple((round(x - float(middle[0]), 4), round(y - float(middle[1]), 4)) for x, y in ring)

    return Outline(moved(outline.outer), tuple(moved(hole) for hole in outline.holes))


def _area(outline: Outline) -> float:
    return abs(_signed(outline.outer)) - sum(abs(_signed(hole)) for hole in outline.holes)


def _signed(ring: Ring) -> float:
    points = np.array(ring)
    x, y = points.T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)) / 2
