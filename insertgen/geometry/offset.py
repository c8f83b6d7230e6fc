"""Regions grown, shrunk and opened.

Sources: area of a grown convex region A + P r + pi r^2 (Steiner's formula); a
square opened by a disc loses (4 - pi) r^2.
"""

from __future__ import annotations

import shapely

from insertgen.geometry.region import Region
from insertgen.model.figures import Point

__all__ = ["grown", "opened", "shrunk", "swept"]

#: Segments to a quarter turn: a 3 mm arc is drawn within 0.001 mm.
QUARTER = 32


def grown(region: Region, distance: float) -> Region:
    """All points within ``distance`` of the region; outside corners come out round.

    >>> from insertgen.geometry.region import area, box
    >>> round(area(grown(box(0, 0, 10, 10), 1)), 2)  # 100 + 40 + pi, less the chords of the arcs
    143.14
    """
    return region.buffer(distance, quad_segs=QUARTER)


def shrunk(region: Region, distance: float) -> Region:
    """The region less all points within ``distance`` of its boundary."""
    return region.buffer(-distance, quad_segs=QUARTER)


def opened(region: Region, radius: float) -> Region:
    """What a round cutter of ``radius`` reaches without leaving the region.

    >>> from insertgen.geometry.region import area, box
    >>> round(100 - area(opened(box(0, 0, 10, 10), 2)), 1)  # (4 - pi) 2^2
    3.4
    """
    return grown(shrunk(region, radius), radius)


def swept(start: Point, end: Point, radius: float) -> Region:
    """What a round cutter of ``radius`` cuts on its way from ``start`` to ``end``."""
    return shapely.LineString([start, end]).buffer(radius, quad_segs=QUARTER)
