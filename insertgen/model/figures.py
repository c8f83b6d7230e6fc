"""Plane figures: points, rings, outlines, circles, cut paths, and where a thing lies."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Circle", "Contour", "Outline", "Point", "Pose", "Ring"]

Point = tuple[float, float]

Ring = tuple[Point, ...]  # a closed ring of points; the first is not repeated at the end


@dataclass(frozen=True, slots=True)
class Outline:
    """Polygon with holes, seen from straight above; as measured, never altered."""

    outer: Ring
    holes: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class Circle:
    """A round cut; stays a circle down to the file."""

    centre: Point
    diameter: float


@dataclass(frozen=True, slots=True)
class Contour:
    """Closed path of lines and arcs.

    ``vertices`` holds (x, y, bulge); the bulge belongs to the segment that starts
    there and is tan(a quarter of the arc's angle), positive counter-clockwise (the
    arc lies to the right of its chord), 0 for a line, at most 1 in size.
    """

    vertices: tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Pose:
    """Where a shape's frame stands in the blank's: never moved points."""

    x: float
    y: float
    angle_deg: float = 0.0
    mirror: bool = False
