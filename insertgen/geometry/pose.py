"""Things moved from the shape frame to the blank's: ``p' = R(angle) M p + (x, y)``."""

from __future__ import annotations

import math

from shapely import affinity

from insertgen.geometry.region import Region
from insertgen.model.figures import Circle, Contour, Outline, Point, Pose, Ring

__all__ = ["move_outline", "move_path", "move_point", "move_region", "move_ring"]


def _matrix(pose: Pose) -> tuple[float, float, float, float]:
    # quarter turns exactly: cos(90 deg) in floating point is not zero, and files show it
    quarter, rest = divmod(pose.angle_deg, 90.0)
    if rest == 0:
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        cos, sin = math.cos(math.radians(pose.angle_deg)), math.sin(math.radians(pose.angle_deg))
    flip = -1.0 if pose.mirror else 1.0
    return cos * flip, -sin, sin * flip, cos


def move_point(point: Point, pose: Pose) -> Point:
    """
    >>> move_point((2.0, 1.0), Pose(10, 20, 90))
    (9.0, 22.0)
    >>> move_point((2.0, 1.0), Pose(10, 20, 90, mirror=True))
    (9.0, 18.0)
    """
    a, b, c, d = _matrix(pose)
    x, y = point
    return a * x + b * y + pose.x, c * x + d * y + pose.y


def move_ring(ring: Ring, pose: Pose) -> Ring:
    return tuple(move_point(point, pose) for point in ring)


def move_outline(outline: Outline, pose: Pose) -> Outline:
    return Outline(move_ring(outline.outer, pose), tuple(move_ring(hole, pose) for hole in outline.holes))


def move_path(path: Contour | Circle, pose: Pose) -> Contour | Circle:
    """A mirrored contour has its bulges negated: the arc stays on the same side of the wood."""
    if isinstance(path, Circle):
        return Circle(move_point(path.centre, pose), path.diameter)
    sign = -1.0 if pose.mirror else 1.0
    return Contour(tuple((*move_point((x, y), pose), sign * bulge) for x, y, bulge in path.vertices))


def move_region(region: Region, pose: Pose) -> Region:
    a, b, c, d = _matrix(pose)
    return affinity.affine_transform(region, [a, b, c, d, pose.x, pose.y])
