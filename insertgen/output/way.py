"""A short way past points: how to move the work under the drill."""

from __future__ import annotations

import math
from collections.abc import Sequence

from insertgen.model.figures import Point

__all__ = ["short_way"]


def short_way(points: Sequence[Point]) -> tuple[int, ...]:
    """Indices of points in an order that makes a short open way, from the one nearest to the origin.

    Nearest neighbour first, then sections are turned round while that shortens the way (2-opt, Croes 1958).

    >>> short_way([(30.0, 0.0), (0.0, 0.0), (20.0, 0.0), (10.0, 0.0)])
    (1, 3, 2, 0)
    """
    if not points:
        return ()
    left = list(range(len(points)))
    way = [min(left, key=lambda k: (round(math.hypot(*points[k]), 6), k))]
    left.remove(way[0])
    while left:
        here = points[way[-1]]
        way.append(min(left, key=lambda k: (round(math.dist(here, points[k]), 6), k)))
        left.remove(way[-1])
    return tuple(_untangled(way, points))


def _untangled(way: list[int], points: Sequence[Point]) -> list[int]:
    better = True
    while better:
        better = False
        for first in range(1, len(way) - 1):
            for last in range(first + 1, len(way)):
                if _turned(way, first, last, points) < -1e-6:
                    way[first : last + 1] = way[first : last + 1][::-1]
                    better = True
    return way


def _turned(way: list[int], first: int, last: int, points: Sequence[Point]) -> float:
    """How much longer the way becomes if the section from ``first`` to ``last`` is gone the other way round."""
    before, start, end = points[way[first - 1]], points[way[first]], points[way[last]]
    change = math.dist(before, end) - math.dist(before, start)
    if last + 1 < len(way):
        after = points[way[last + 1]]
        change += math.dist(start, after) - math.dist(end, after)
    return change
