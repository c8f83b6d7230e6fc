"""Written paths as rings of points, and how far points lie from a ring."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from insertgen.geometry.arcs import flatten
from insertgen.model.figures import Circle, Contour, Point, Ring

__all__ = ["distance_to_ring", "first_point", "nearest_on_ring", "off_ring", "ring_of", "same_ring"]


def ring_of(path: Contour | Circle) -> Ring:
    """Points along a contour or circle, chords within 0.001 mm of it."""
    if isinstance(path, Contour):
        return flatten(path)
    (x, y), radius = path.centre, path.diameter / 2
    return flatten(Contour(((x + radius, y, 1.0), (x - radius, y, 1.0))))


def first_point(path: Contour | Circle) -> Point:
    """First vertex of a contour, centre of a circle."""
    return path.centre if isinstance(path, Circle) else path.vertices[0][:2]


def off_ring(points: Ring, ring: Ring) -> NDArray[np.float64]:
    """Distance of each point from a closed ring's line, shape (points,)."""
    at = np.asarray(points, dtype=float)
    start = np.asarray(ring, dtype=float)
    along = np.roll(start, -1, axis=0) - start
    squared = np.maximum((along**2).sum(axis=1), 1e-18)
    nearest = np.empty(len(at))
    for first in range(0, len(at), 256):  # blocks, or a long outline would fill the memory
        rel = at[first : first + 256, None, :] - start[None, :, :]
        share = np.clip((rel * along).sum(axis=2) / squared, 0.0, 1.0)
        nearest[first : first + 256] = np.hypot(*np.moveaxis(rel - share[..., None] * along, 2, 0)).min(axis=1)
    return nearest


def distance_to_ring(point: Point, ring: Ring) -> float:
    """
    >>> distance_to_ring((5.0, 3.0), ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)))
    3.0
    """
    return float(off_ring((point,), ring)[0])


def nearest_on_ring(point: Point, ring: Ring) -> Point:
    """
    >>> nearest_on_ring((5.0, 3.0), ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)))
    (5.0, 0.0)
    """
    start, at = np.asarray(ring, dtype=float), np.asarray(point, dtype=float)
    along = np.roll(start, -1, axis=0) - start
    squared = np.maximum((along**2).sum(axis=1), 1e-18)
    feet = start + np.clip(((at - start) * along).sum(axis=1) / squared, 0.0, 1.0)[:, None] * along
    x, y = feet[int(np.hypot(*(feet - at).T).argmin())]
    return float(x), float(y)


def same_ring(a: Ring, b: Ring, tolerance: float) -> bool:
    """Whether two rings are one line, whatever their start, direction or number of points."""
    spans = [np.asarray(ring).min(axis=0).tolist() + np.asarray(ring).max(axis=0).tolist() for ring in (a, b)]
    if any(math.fabs(p - q) > tolerance for p, q in zip(*spans, strict=True)):
        return False
    return bool(off_ring(a, b).max() <= tolerance and off_ring(b, a).max() <= tolerance)
