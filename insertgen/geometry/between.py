"""What lies between two things: whether a straight way from one to the other is barred."""

from __future__ import annotations

import shapely

from insertgen.geometry.region import Region
from insertgen.model.figures import Point

__all__ = ["bars"]


def bars(region: Region, start: Point, end: Point, *, least: float = 0.01) -> bool:
    """Whether more than ``least`` mm of the straight way from ``start`` to ``end`` lie in a region.

    >>> from insertgen.geometry.region import box
    >>> bars(box(4, -1, 6, 1), (0.0, 0.0), (10.0, 0.0)), bars(box(4, 0, 6, 1), (0.0, -0.5), (10.0, -0.5))
    (True, False)
    """
    way = shapely.LineString([start, end])
    return bool(region.intersects(way)) and float(region.intersection(way).length) > least
