"""Rings of many points to contours of few lines and arcs, and back.

A bulge is tan(a quarter of the arc's angle); see `insertgen.model.figures.Contour`.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from insertgen.model.figures import Circle, Contour, Point, Ring

__all__ = ["arc_centre", "fit_path", "flatten", "least_inside_radius", "quartered", "rectangle", "straight_slot"]

Points = NDArray[np.float64]

#: Largest angle one fitted arc may turn. Readers take a bulge over 1 (180 degrees) for the small arc;
#: a quarter turn and a little makes two like arcs of a round end, not a large and a small one.
LARGEST_SWEEP = math.radians(91)

#: How far a piece may set out or arrive off the ring's own way.
LARGEST_KINK = math.radians(2.5)

#: Points of a ring nearer than this are one: what a toolpath stumbles over begins at 0.01 mm.
LEAST_SEGMENT = 0.012

#: Lines are fitted closer than arcs, or they would eat into the arcs beside them and leave a kink.
LINE_TOLERANCE = 0.002


def rectangle(width: float, depth: float) -> Contour:
    """A rectangle with its front left corner at the origin, counter-clockwise."""
    return Contour(((0.0, 0.0, 0.0), (width, 0.0, 0.0), (width, depth, 0.0), (0.0, depth, 0.0)))


def straight_slot(start: Point, end: Point, width: float) -> Contour | Circle:
    """A straight opening with round ends about ``start`` and ``end``; a circle where they are one. Counter-clockwise.

    >>> len(straight_slot((0.0, 0.0), (20.0, 0.0), 8.0).vertices)  # two quarter arcs an end
    6
    """
    length = math.dist(start, end)
    if length < 1e-6:
        return Circle(start, width)
    ux, uy = (end[0] - start[0]) / length * width / 2, (end[1] - start[1]) / length * width / 2
    quarter = math.tan(math.pi / 8)
    (ax, ay), (bx, by) = start, end
    return Contour(
        (
            (ax + uy, ay - ux, 0.0), (bx + uy, by - ux, quarter), (bx + ux, by + uy, quarter),
            (bx - uy, by + ux, 0.0), (ax - uy, ay + ux, quarter), (ax - ux, ay - uy, quarter),
        )
    )  # fmt: skip


def quartered(circle: Circle) -> Contour:
    """A circle as a contour of four arcs, counter-clockwise.

    >>> len(quartered(Circle((5.0, 5.0), 10.0)).vertices)
    4
    """
    (x, y), r, bulge = circle.centre, circle.diameter / 2, math.tan(math.pi / 8)
    return Contour(((x + r, y, bulge), (x, y + r, bulge), (x - r, y, bulge), (x, y - r, bulge)))


def arc_centre(start: Point, end: Point, bulge: float) -> tuple[Point, float]:
    """Centre and radius of the arc from ``start`` to ``end``.

    >>> arc_centre((1.0, 0.0), (-1.0, 0.0), 1.0)  # a half circle, counter-clockwise
    ((0.0, 0.0), 1.0)
    """
    (x0, y0), (x1, y1) = start, end
    # the centre lies on the chord's normal, at chord (1 - b^2) / (4 b) from its middle
    off = (1 - bulge * bulge) / (4 * bulge)
    centre = (x0 + x1) / 2 - off * (y1 - y0), (y0 + y1) / 2 + off * (x1 - x0)
    return centre, math.hypot(x1 - x0, y1 - y0) * (1 + bulge * bulge) / (4 * abs(bulge))


def flatten(contour: Contour, tolerance: float = 0.001) -> Ring:
    """Points along a contour, arcs drawn by chords no further than ``tolerance`` from them.

    >>> len(flatten(Contour(((1, 0, 1.0), (-1, 0, 1.0))), 0.01)) > 20
    True
    """
    points: list[Point] = []
    vertices = contour.vertices
    for (x0, y0, bulge), (x1, y1, _) in zip(vertices, vertices[1:] + vertices[:1], strict=True):
        points.append((x0, y0))
        if bulge == 0 or (x0, y0) == (x1, y1):
            continue
        (cx, cy), radius = arc_centre((x0, y0), (x1, y1), bulge)
        sweep = 4 * math.atan(bulge)
        step = 2 * math.acos(max(1 - tolerance / radius, 0.0))
        count = max(1, math.ceil(abs(sweep) / step))
        first = math.atan2(y0 - cy, x0 - cx)
        points += [
            (cx + radius * math.cos(first + sweep * k / count), cy + radius * math.sin(first + sweep * k / count))
            for k in range(1, count)
        ]
    return tuple(points)


def fit_path(ring: Ring, tolerance: float) -> Contour | Circle:
    """Lines and arcs through points of a ring, no point or chord of it further off than ``tolerance``.

    Greedy: from a corner on, each piece is the longest line or arc that starts
    and ends on points of the ring and stays within the tolerance of all between.
    A ring that is round within the tolerance becomes a `Circle`.
    """
    points = _clean(np.asarray(ring, dtype=float))
    if circle := _as_circle(points, tolerance):
        return circle
    points = np.roll(points, -_start(points), axis=0)
    loop = np.vstack([points, points[:1]])
    vertices: list[tuple[float, float, float]] = []
    at, last, guess = 0, len(loop) - 1, 4
    while at < last:
        end, bulge = _longest(loop, at, last, tolerance, guess)
        vertices.append((float(loop[at, 0]), float(loop[at, 1]), bulge))
        guess, at = (end - at) // 2, end
    return Contour(tuple(vertices))


def _clean(points: Points) -> Points:
    """Drop points so near the one before that a segment between them would be a crumb."""
    if (np.hypot(*(points - np.roll(points, 1, axis=0)).T) > LEAST_SEGMENT).all():
        return points
    first, *others = points.tolist()
    kept = [first]
    for point in others:
        if math.dist(point, kept[-1]) > LEAST_SEGMENT:
            kept.append(point)
    while len(kept) > 3 and math.dist(kept[-1], kept[0]) <= LEAST_SEGMENT:
        kept.pop()
    return np.array(kept)


def _as_circle(points: Points, tolerance: float) -> Circle | None:
    if len(points) < 24:  # a polygon that was meant as one
        return None
    x0, y0 = points.min(axis=0)
    x1, y1 = points.max(axis=0)
    centre = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    radii = np.hypot(*(points - centre).T)
    middles = np.hypot(*((points + np.roll(points, 1, axis=0)) / 2 - centre).T)
    if radii.max() - min(radii.min(), middles.min()) > tolerance:
        return None
    return Circle((float(centre[0]), float(centre[1])), float(2 * radii.max()))


def _start(points: Points) -> int:
    """A real corner, or else the start of the longest straight: never the middle of an arc if that can be."""
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    turn = np.abs(np.arctan2(_cross(before, after), (before * after).sum(axis=1)))
    if turn.max() > math.radians(12):
        return int(np.argmax(np.round(turn, 6)))
    return int(np.argmax(np.round(np.hypot(*after.T), 6)))


def _longest(loop: Points, at: int, last: int, tolerance: float, guess: int) -> tuple[int, float]:
    """End index and bulge of the longest line or arc from ``at``; ``guess`` points is how long the last one was."""
    best, bulge, stride = at + 1, 0.0, max(1, guess)
    while True:  # gallop, then halve: both fits hold for every shorter run too, near enough
        end = min(best + stride, last)
        found = _fit(loop[at : end + 1], tolerance) if end > best else None
        if found is not None:
            best, bulge, stride = end, found, stride * 2
        elif stride == 1 or end == best:
            return best, bulge
        else:
            stride = max(1, stride // 4)


def _fit(run: Points, tolerance: float) -> float | None:
    """Bulge of a line (0) or arc that follows a run of points; None if neither does."""
    (x0, y0), (x1, y1) = run[0], run[-1]
    length = math.hypot(x1 - x0, y1 - y0)
    if length < 1e-9:
        return None
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    # along the chord from its start, and to the left of it
    rx, ry = run[:, 0] - x0, run[:, 1] - y0
    u, v = rx * ux + ry * uy, ry * ux - rx * uy
    if np.abs(v).max() <= min(tolerance, LINE_TOLERANCE):
        return 0.0 if u.min() >= -1e-9 and u.max() <= length + 1e-9 else None
    return _arc_bulge(u, v, float(length), tolerance)


def _arc_bulge(u: Points, v: Points, length: float, tolerance: float) -> float | None:
    """Bulge of an arc over a chord that follows points of the chord's frame; None if it does not."""
    if len(u) < 3:
        return None
    across = u - length / 2
    middle = int(np.argmin(np.abs(across)))
    bulge = _bulge_through(float(u[middle]), float(v[middle]), length)
    if bulge is None or abs(4 * math.atan(bulge)) > LARGEST_SWEEP:
        return None
    # in this frame the centre lies on the chord's normal through its middle, see arc_centre
    radius = length * (1 + bulge * bulge) / (4 * abs(bulge))
    up = v - length * (1 - bulge * bulge) / (4 * bulge)
    if radius > 5_000 or np.abs(np.hypot(across, up) - radius).max() > tolerance:
        return None
    sagged = np.hypot(across[1:] + across[:-1], up[1:] + up[:-1]) / 2 - radius
    if np.abs(sagged).max() > tolerance:
        return None
    # it sets out and arrives as the points do, or there would be a kink where it meets the next piece
    half = 2 * math.atan(bulge)
    sets_out, arrives = math.atan2(v[1] - v[0], u[1] - u[0]), math.atan2(v[-1] - v[-2], u[-1] - u[-2])
    if max(abs(sets_out + half), abs(arrives - half)) > LARGEST_KINK:
        return None
    # bulge > 0 goes round to the left: every step must turn that way about the centre
    turned = (across[:-1] * up[1:] - across[1:] * up[:-1]) * (1 if bulge > 0 else -1)
    return bulge if turned.min() > -1e-9 else None


def _bulge_through(u: float, v: float, length: float) -> float | None:
    """Bulge of the arc over a chord of ``length`` through the point (u, v) of the chord's frame."""
    to_start, to_end = math.atan2(-v, -u), math.atan2(-v, length - u)
    # inscribed angle: the arc's angle is 2 (pi - angle at the point)
    seen = (to_end - to_start) % (2 * math.pi)
    sweep = 2 * (math.pi - seen) if v < 0 else 2 * (seen - math.pi)
    if abs(v) < 1e-12:
        return None
    bulge = math.tan(abs(sweep) / 4)
    # v above the chord: the arc bulges left of the chord's direction, and runs clockwise
    return -bulge if v > 0 else bulge


def _cross(a: Any, b: Any) -> Any:
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def least_inside_radius(contour: Contour) -> float | None:
    """Least radius of the bends that a cutter inside the contour must go round; 0 for a sharp corner.

    A bend of less than 10 degrees is the joint of two fitted pieces, no corner: a 1/2 in cutter leaves
    0.01 mm2 there at most (r^2 (tan(a/2) - a/2)).

    >>> least_inside_radius(rectangle(10, 10))
    0.0
    >>> round(least_inside_radius(Contour(((1, 0, 1.0), (-1, 0, 1.0)))), 6)
    1.0
    """
    vertices = contour.vertices
    ring = np.array(flatten(contour, 0.001))
    turning = 1.0 if float(_cross(ring, np.roll(ring, -1, axis=0)).sum()) > 0 else -1.0
    radii: list[float] = []
    directions: list[tuple[float, float]] = []  # of travel, on entering and leaving each piece
    for (x0, y0, bulge), (x1, y1, _) in zip(vertices, vertices[1:] + vertices[:1], strict=True):
        chord, half = math.atan2(y1 - y0, x1 - x0), 2 * math.atan(bulge)
        directions.append((chord - half, chord + half))
        if bulge * turning > 0:
            radii.append(arc_centre((x0, y0), (x1, y1), bulge)[1])
    for (_, leaving), (entering, _) in zip(directions, directions[1:] + directions[:1], strict=True):
        turn = (entering - leaving + math.pi) % (2 * math.pi) - math.pi
        if turn * turning > math.radians(10):
            radii.append(0.0)
    return min(radii, default=None)
