"""How wide a region is along a line through a point."""

from __future__ import annotations

import math

import numpy as np

from insertgen.model import Point, Ring

__all__ = ["chord"]


def chord(ring: Ring, through: Point, angle_deg: float) -> tuple[Point, Point] | None:
    """The two ends of the stretch inside a ring that a line has in common with it, nearest ``through``.

    Parameters
    ----------
    ring : Ring
        Outer ring of a figure.
    through : Point
        On the line; where it lies outside the figure, the nearest stretch counts.

    Returns
    -------
    pair of Point or None
        The end against the direction of ``angle_deg`` first; None: the line misses the figure.

    Examples
    --------
    >>> chord(((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)), (3.0, 1.0), 90.0)
    ((3.0, 0.0), (3.0, 4.0))
    """
    points = np.asarray(ring, dtype=float)
    way = np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    if angle_deg % 90 == 0:
        way = np.round(way)
    rel = points - np.asarray(through)
    off, along = rel[:, 1] * way[0] - rel[:, 0] * way[1], rel @ way
    next_off, next_along = np.roll(off, -1), np.roll(along, -1)
    crosses = (off > 0) != (next_off > 0)
    if not crosses.any():
        return None
    share = off[crosses] / (off[crosses] - next_off[crosses])
    ends = np.sort(along[crosses] + share * (next_along[crosses] - along[crosses])).reshape(-1, 2)
    # 0 is at `through`: inside the stretch, or so far from it
    away = np.maximum(np.maximum(ends[:, 0], -ends[:, 1]), 0.0)
    low, high = ends[int(np.argmin(away))]
    return (
        (float(through[0] + low * way[0]), float(through[1] + low * way[1])),
        (float(through[0] + high * way[0]), float(through[1] + high * way[1])),
    )
