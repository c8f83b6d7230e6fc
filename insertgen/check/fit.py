"""How far a thing keeps from the wall of its seat, and where it keeps least."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from insertgen.check.lines import off_ring
from insertgen.geometry.distance import gap_inside
from insertgen.geometry.region import Region, to_outlines
from insertgen.model.figures import Point, Ring

__all__ = ["inside_ring", "least_gap", "stepped"]

STEP = 0.25  # along the wall; its corners are among the points in any case


def least_gap(thing: Region, opening: Region, wall: Ring) -> tuple[float, Point]:
    """Least gap between a thing and the wall around it, and the wall's point where that is.

    Negative where one bites into the other, by the deeper of two bites: a
    corner of the thing into the wood, or a tooth of wood into the thing.
    """
    gap = gap_inside(thing, opening)
    points = stepped(wall)
    rings = [ring for outline in to_outlines(thing) for ring in (outline.outer, *outline.holes)]
    bitten = np.zeros(len(points), dtype=bool)
    for ring in rings:
        bitten ^= inside_ring(points, ring)
    teeth = tuple(point for point, bites in zip(points, bitten, strict=True) if bites)
    if teeth:
        off = np.min([off_ring(teeth, ring) for ring in rings], axis=0)
        deepest = int(off.argmax())
        if -off[deepest] < gap.distance:
            return -float(off[deepest]), teeth[deepest]
    return gap.distance, gap.to


def stepped(ring: Ring, step: float = STEP) -> Ring:
    """The corners of a ring, and points between them no further apart than ``step``.

    >>> len(stepped(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0))))
    14
    """
    points: list[Point] = []
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        count = max(1, math.ceil(math.hypot(x1 - x0, y1 - y0) / step))
        points += [(x0 + (x1 - x0) * k / count, y0 + (y1 - y0) * k / count) for k in range(count)]
    return tuple(points)


def inside_ring(points: Ring, ring: Ring) -> NDArray[np.bool_]:
    """Which points lie inside a ring: a ray to the right meets it an odd number of times.

    >>> inside_ring(((1.0, 1.0), (3.0, 1.0)), ((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0))).tolist()
    [True, False]
    """
    at, start = np.asarray(points, dtype=float), np.asarray(ring, dtype=float)
    end = np.roll(start, -1, axis=0)
    inside = np.zeros(len(at), dtype=bool)
    for first in range(0, len(at), 256):
        x, y = at[first : first + 256, 0, None], at[first : first + 256, 1, None]
        spans = (start[:, 1] > y) != (end[:, 1] > y)
        with np.errstate(divide="ignore", invalid="ignore"):  # level sides span nothing
            meets = start[:, 0] + (y - start[:, 1]) * (end[:, 0] - start[:, 0]) / (end[:, 1] - start[:, 1])
        inside[first : first + 256] = (spans & (x < meets)).sum(axis=1) % 2 == 1
    return inside
