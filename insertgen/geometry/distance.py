"""How far apart: gaps between regions, and between an item and the wall of its opening."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from insertgen.geometry.region import Region, minus
from insertgen.model.figures import Point

__all__ = ["Gap", "can_shift", "farthest", "gap_between", "gap_inside", "nearest", "outside_by"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gap:
    """A distance and where it is least: ``at`` on the first region, ``to`` on the second."""

    distance: float
    at: Point
    to: Point


def gap_between(a: Region, b: Region) -> Gap:
    """Least distance of two regions; 0 where they overlap.

    >>> from insertgen.geometry.region import box
    >>> gap_between(box(0, 0, 1, 1), box(3, 0, 4, 1)).distance
    2.0
    """
    (x0, y0), (x1, y1) = shapely.shortest_line(a, b).coords
    return Gap(float(shapely.distance(a, b)), (float(x0), float(y0)), (float(x1), float(y1)))


def gap_inside(item: Region, opening: Region) -> Gap:
    """Least gap between an item and the wall of the opening it lies in.

    Negative, by how far it sticks out, where the item leaves the opening.
    ``at`` is on the item, ``to`` on the wall.

    >>> from insertgen.geometry.region import box
    >>> gap_inside(box(1, 1, 9, 9), box(0, 0, 10, 10.5)).distance
    1.0
    >>> gap_inside(box(1, 1, 12, 9), box(0, 0, 10, 10)).distance
    -2.0
    """
    wall = opening.boundary
    outside = minus(item, opening)
    if outside.is_empty or outside.area < 1e-9:
        (x0, y0), (x1, y1) = shapely.shortest_line(item, wall).coords
        return Gap(float(shapely.distance(item, wall)), (float(x0), float(y0)), (float(x1), float(y1)))
    away = farthest(outside, opening)
    x1, y1 = shapely.shortest_line(shapely.Point(away.at), wall).coords[1]
    return Gap(-away.distance, away.at, (float(x1), float(y1)))


def nearest(region: Region, point: Point) -> tuple[Point, bool]:
    """The point of a region's boundary nearest to ``point``, and whether ``point`` lies inside.

    >>> from insertgen.geometry.region import box
    >>> nearest(box(0, 0, 10, 10), (5.0, 12.0)), nearest(box(0, 0, 10, 10), (9.0, 5.0))
    (((5.0, 10.0), False), ((10.0, 5.0), True))
    """
    at = shapely.Point(point)
    x, y = shapely.shortest_line(region.boundary, at).coords[0]
    return (float(x), float(y)), bool(region.contains(at))


def outside_by(region: Region, points: Floats) -> Floats:
    """How far each of ``points`` (n x 2) lies outside a region; 0 inside it.

    >>> from insertgen.geometry.region import box
    >>> outside_by(box(0, 0, 10, 10), np.array([(12.0, 5.0), (5.0, 5.0)])).tolist()
    [2.0, 0.0]
    """
    shapely.prepare(region)
    return np.asarray(shapely.distance(shapely.points(points), region))


def can_shift(item: Region, opening: Region, away: float) -> bool:
    """Whether an item can move by ``away`` in any of 64 directions and still lie in its opening.

    >>> from insertgen.geometry.region import box
    >>> can_shift(box(1, 1, 9, 9), box(0, 0, 10, 12), 2.9), can_shift(box(1, 1, 9, 9), box(0, 0, 10, 12), 3.3)
    (True, False)
    """
    shapely.prepare(opening)
    turns = np.arange(64) * (np.pi / 32)
    return any(
        bool(opening.covers(affinity.translate(item, away * float(np.cos(turn)), away * float(np.sin(turn)))))
        for turn in turns
    )


def farthest(a: Region, b: Region) -> Gap:
    """The point of the boundary of ``a`` (to 1 mm along it) that is farthest from ``b``, how far, and the nearest point of ``b`` to it.

    >>> from insertgen.geometry.region import box
    >>> farthest(box(0, 0, 5, 1), box(0, 0, 2, 1)).distance
    3.0
    """
    # points along straight sides too: the ends of a long neck may be near where its middle is not
    corners = shapely.get_coordinates(shapely.segmentize(a.boundary, 1.0))
    distances = shapely.distance(shapely.points(corners), b)
    x, y = corners[int(distances.argmax())]
    x1, y1 = shapely.shortest_line(shapely.Point(x, y), b).coords[1]
    return Gap(float(distances.max()), (float(x), float(y)), (float(x1), float(y1)))
