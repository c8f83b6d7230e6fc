"""Contours and rings as SVG path data, y turned downwards."""

from __future__ import annotations

import math
from collections.abc import Iterable

from insertgen.model.figures import Circle, Contour, Outline, Point, Ring

__all__ = ["number", "outline_data", "path_data", "ring_data"]


def number(value: float) -> str:
    """
    >>> number(12.5), number(-0.001), number(100.0)
    ('12.5', '0', '100')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def path_data(path: Contour | Circle, high: float) -> str:
    """A closed path with its arcs; ``high`` is the y that becomes 0. Seen on the screen it turns as it did.

    >>> path_data(Contour(((0, 0, 0), (10, 0, 1.0), (10, 4, 0), (0, 4, 0))), 4.0)
    'M0 4L10 4A2 2 0 0 0 10 0L0 0Z'
    """
    if isinstance(path, Circle):
        (x, y), radius = path.centre, path.diameter / 2
        path = Contour(((x + radius, y, 1.0), (x - radius, y, 1.0)))
    steps = [f"M{_at(path.vertices[0][:2], high)}"]
    ends = path.vertices[1:] + path.vertices[:1]
    for (x0, y0, bulge), (x1, y1, _) in zip(path.vertices, ends, strict=True):
        if bulge:
            # chord and bulge give the radius: r = c (1 + b^2) / (4 |b|)
            r = number(math.hypot(x1 - x0, y1 - y0) * (1 + bulge * bulge) / (4 * abs(bulge)))
            steps.append(f"A{r} {r} 0 0 {0 if bulge > 0 else 1} {_at((x1, y1), high)}")
        elif (x1, y1) != path.vertices[0][:2]:
            steps.append(f"L{_at((x1, y1), high)}")
    return "".join(steps) + "Z"


def ring_data(ring: Ring, high: float) -> str:
    """
    >>> ring_data(((0, 0), (10, 0), (10, 5)), 5)
    'M0 5L10 5 10 0Z'
    """
    first, *rest = (_at(point, high) for point in ring)
    return f"M{first}L{' '.join(rest)}Z"


def outline_data(outline: Outline, high: float) -> str:
    return "".join(ring_data(ring, high) for ring in (outline.outer, *outline.holes))


def _at(point: Iterable[float] | Point, high: float) -> str:
    x, y = point
    return f"{number(x)} {number(high - y)}"
