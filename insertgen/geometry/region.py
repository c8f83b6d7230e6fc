"""Which part of the plane: regions made from the nouns, joined, cut, measured.

A `Region` is a shapely polygon, multipolygon or empty; other rooms hold it but
never look inside. Lengths mm, areas mm2.
"""

from __future__ import annotations

from collections.abc import Iterable

import shapely
from shapely.geometry import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from insertgen.geometry.arcs import flatten
from insertgen.model.figures import Circle, Contour, Outline, Ring

__all__ = [
    "Region", "area", "bounds", "box", "centre_of_mass", "common", "covers", "disc", "empty", "fault", "from_outline", "from_path",
    "is_empty", "minus", "overlaps", "pieces", "stadium", "to_outlines", "union", "widest_disc", "without_holes",
]  # fmt: skip

Region = BaseGeometry

#: Unions are rounded to this grid: without one GEOS 3.14 now and then loses a part where edges all but coincide.
GRID = 1e-6

#: Segments to a quarter turn where a circle must become a polygon: 0.04 % of the radius at most, outside.
QUARTER = 32


def from_outline(outline: Outline) -> Region:
    """The region an outline encloses, less its holes; repaired where it crosses itself.

    >>> area(from_outline(Outline(((0, 0), (4, 0), (4, 3), (0, 3)), holes=(((1, 1), (2, 1), (2, 2)),))))
    11.5
    """
    polygon = Polygon(outline.outer, outline.holes)
    return polygon if polygon.is_valid else polygon.buffer(0)


def from_path(path: Contour | Circle, *, tolerance: float = 0.001) -> Region:
    """The region inside a contour or circle, arcs flattened within ``tolerance``."""
    if isinstance(path, Circle):
        return disc(path.centre, path.diameter)
    polygon = Polygon(flatten(path, tolerance))
    return polygon if polygon.is_valid else polygon.buffer(0)


def disc(centre: tuple[float, float], diameter: float) -> Region:
    """A disc as a polygon of 256 sides with its corners on the circle."""
    return Point(centre).buffer(diameter / 2, quad_segs=64)


def box(x0: float, y0: float, x1: float, y1: float) -> Region:
    return shapely.box(x0, y0, x1, y1)


def stadium(length: float, width: float) -> Region:
    """A slot of overall ``length`` along x, its middle at the origin; a disc if they are equal.

    >>> round(area(stadium(30, 10)), 1)  # 20 x 10 + pi 5^2
    278.5
    """
    half = max(length - width, 0.0) / 2
    core = shapely.LineString([(-half, 0), (half, 0)]) if half else Point(0, 0)
    return core.buffer(width / 2, quad_segs=64)


def empty() -> Region:
    return Polygon()


def union(regions: Iterable[Region]) -> Region:
    some = [region for region in regions if not region.is_empty]
    return some[0] if len(some) == 1 else shapely.union_all(some, grid_size=GRID)


def minus(a: Region, b: Region) -> Region:
    return _polygons_only(a.difference(b))


def common(a: Region, b: Region) -> Region:
    return _polygons_only(a.intersection(b))


def overlaps(a: Region, b: Region, *, least: float = 1e-6) -> bool:
    """Whether two regions share more than ``least`` mm2."""
    return bool(a.intersects(b)) and float(a.intersection(b).area) > least


def covers(a: Region, b: Region) -> bool:
    return bool(a.covers(b))


def area(region: Region) -> float:
    return float(region.area)


def is_empty(region: Region) -> bool:
    return bool(region.is_empty)


def bounds(region: Region) -> tuple[float, float, float, float]:
    """Least x, least y, greatest x, greatest y."""
    x0, y0, x1, y1 = region.bounds
    return float(x0), float(y0), float(x1), float(y1)


def centre_of_mass(region: Region) -> tuple[float, float]:
    """Of a sheet cut to the region.

    >>> centre_of_mass(box(0, 0, 4, 2))
    (2.0, 1.0)
    """
    return float(region.centroid.x), float(region.centroid.y)


def widest_disc(region: Region) -> tuple[tuple[float, float], float]:
    """Centre and radius of the largest disc in a region, the radius to 0.1 mm.

    >>> (x, y), radius = widest_disc(box(0, 0, 40, 10))
    >>> round(y), round(radius)
    (5, 5)
    """
    radius: BaseGeometry = shapely.maximum_inscribed_circle(pieces(region)[0], tolerance=0.1)
    (x0, y0), (x1, y1) = radius.coords
    return (float(x0), float(y0)), float(shapely.distance(shapely.Point(x0, y0), shapely.Point(x1, y1)))


def pieces(region: Region) -> list[Polygon]:
    """The connected pieces, largest first."""
    parts = [part for part in getattr(region, "geoms", [region]) if isinstance(part, Polygon) and not part.is_empty]
    return sorted(parts, key=lambda part: -part.area)


def without_holes(region: Region) -> Region:
    return union(Polygon(piece.exterior) for piece in pieces(region))


def to_outlines(region: Region) -> tuple[Outline, ...]:
    """One outline a piece, largest first; outer rings counter-clockwise, holes clockwise."""
    outlines = []
    for piece in pieces(region):
        turned = orient(piece)
        outlines.append(Outline(_ring(turned.exterior), tuple(_ring(hole) for hole in turned.interiors)))
    return tuple(outlines)


def fault(outline: Outline) -> str | None:
    """Why an outline is no polygon ("Self-intersection at 3 4"), None if it is one."""
    polygon = Polygon(outline.outer, outline.holes)
    if polygon.is_valid and polygon.area > 0:
        return None
    reason = shapely.is_valid_reason(polygon)
    return "no area" if polygon.is_valid else reason.replace("[", " at ").rstrip("]")


def _ring(line: BaseGeometry) -> Ring:
    return tuple((float(x), float(y)) for x, y in line.coords[:-1])


def _polygons_only(geometry: BaseGeometry) -> Region:
    """Drop the points and lines that touching polygons leave behind."""
    parts = [part for part in getattr(geometry, "geoms", [geometry]) if isinstance(part, Polygon) and part.area > 0]
    return parts[0] if len(parts) == 1 else MultiPolygon(parts)
