"""Outlines at random, as a trace would give them and worse: heads and handles, hooks, necks, holes, near-touching ends."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry import LineString, Point

from insertgen.model.figures import Outline
from insertgen.model.shape import Part

__all__ = ["KINDS", "random_outline", "random_parts", "traced_like"]

KINDS = ("tool", "hook", "neck", "comb", "ring", "gap", "star", "blob")


def random_outline(rng: np.random.Generator, kind: str, points: int = 160) -> Outline:
    """One outline of a kind, 40 to 260 mm long, its bounding box centred on the origin."""
    shape = _SHAPES[kind](rng)
    shape = max(getattr(shape, "geoms", [shape]), key=lambda piece: piece.area)
    shape = shapely.affinity.rotate(shape, float(rng.uniform(0, 360)))
    x0, y0, x1, y1 = shape.bounds
    shape = shapely.affinity.translate(shape, -(x0 + x1) / 2, -(y0 + y1) / 2)
    holes = tuple(_ring(hole, max(12, points // 6)) for hole in shape.interiors if Polygon(hole).area > 1)
    outline = Outline(_ring(shape.exterior, points), holes)
    polygon = Polygon(outline.outer, outline.holes)
    if not polygon.is_valid or polygon.area < 20:  # resampling may pinch a thin place: take another
        return random_outline(rng, kind, points)
    return outline


def random_parts(rng: np.random.Generator, kind: str, count: int) -> tuple[Part, ...]:
    """Height bands of 4 to 9 mm, lowest first, all hanging together: each beside, within or wider than the one below it."""
    whole = Polygon(random_outline(rng, kind).outer)
    parts, bottom = [], 0.0
    for number in range(count):
        top = bottom + float(rng.uniform(4, 9))
        outline = _band(rng, whole) if number < count - 1 or rng.random() < 0.3 else _rounded(whole)
        parts.append(Part(outline, bottom, top))
        bottom = top
    return tuple(parts)


def _band(rng: np.random.Generator, whole: Polygon) -> Outline:
    """Part of a figure, or a figure that stands over its edge; always with the figure's inner point in it."""
    core = whole.representative_point()
    way = rng.integers(3)
    if way == 0:  # the same, taken in all round
        inner = whole.buffer(-float(rng.uniform(0.5, 6)))
        band = max(getattr(inner, "geoms", [inner]), key=lambda piece: piece.area)
    elif way == 1:  # a pad or boss
        band = core.buffer(float(rng.uniform(3, 30)), quad_segs=int(rng.integers(1, 12)))
    else:  # half of it
        x0, y0, _, y1 = whole.bounds
        half = whole.intersection(shapely.box(x0, y0, core.x + float(rng.uniform(1, 20)), y1))
        band = max(getattr(half, "geoms", [half]), key=lambda piece: piece.area)
    return _rounded(band if band.area > 20 else core.buffer(5.0))


def _rounded(polygon: Polygon) -> Outline:
    return Outline(tuple((round(x, 3), round(y, 3)) for x, y in polygon.exterior.coords[:-1]))


def traced_like(rng: np.random.Generator, points: int = 400) -> Outline:
    """A tool of 400 points with the 0.1 mm of unrest that a trace leaves."""
    while True:
        outline = random_outline(rng, str(rng.choice(["tool", "hook", "blob"])), points)
        ring = np.asarray(outline.outer)
        noise = rng.normal(0, 0.1, len(ring))
        noise = (noise + np.roll(noise, 1) + np.roll(noise, -1)) / 3
        along = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
        length = np.hypot(*along.T)
        length[length == 0] = 1
        normal = np.column_stack([along[:, 1], -along[:, 0]]) / length[:, None]
        moved = np.round(ring + normal * noise[:, None], 2)
        polygon = Polygon(moved)
        if polygon.is_valid and polygon.area > 100:
            return Outline(tuple((float(x), float(y)) for x, y in moved))


def _ring(line: shapely.LinearRing, points: int) -> tuple[tuple[float, float], ...]:
    """Its own corners where there are few, else even steps along it."""
    coords = list(line.coords)[:-1]
    if len(coords) <= points:
        return tuple((round(x, 3), round(y, 3)) for x, y in coords)
    steps = [line.interpolate(k / points, normalized=True) for k in range(points)]
    return tuple((round(p.x, 3), round(p.y, 3)) for p in steps)


def _bar(rng: np.random.Generator, length: float, width: float) -> Polygon:
    cap = rng.choice(["round", "flat"])
    return LineString([(0, 0), (length, 0)]).buffer(width / 2, cap_style=cap, quad_segs=8)


def _tool(rng: np.random.Generator) -> Polygon:
    length, width = rng.uniform(80, 220), rng.uniform(8, 30)
    head = shapely.affinity.rotate(_bar(rng, rng.uniform(20, 70), rng.uniform(8, 40)), float(rng.uniform(50, 130)), origin=(0, 0))
    return _bar(rng, length, width).union(head).union(Point(length * rng.uniform(0.6, 1), 0).buffer(rng.uniform(5, 25), quad_segs=8))


def _hook(rng: np.random.Generator) -> Polygon:
    radius, wide = rng.uniform(20, 60), rng.uniform(4, 18)
    angles = np.linspace(0, math.radians(rng.uniform(150, 330)), 40)
    arc = LineString([(radius * math.cos(a), radius * math.sin(a)) for a in angles])
    return arc.buffer(wide / 2, quad_segs=6).union(shapely.affinity.translate(_bar(rng, rng.uniform(30, 120), wide), radius, 0))


def _neck(rng: np.random.Generator) -> Polygon:
    thin = rng.uniform(0.5, 6)
    a, b = rng.uniform(10, 40, 2)
    gap = rng.uniform(2, 60)
    bar = LineString([(0, 0), (a + gap + b, 0)]).buffer(thin / 2, cap_style="flat")
    return bar.union(Point(0, 0).buffer(a / 2, quad_segs=8)).union(shapely.box(a / 2 + gap, -b / 2, a / 2 + gap + b, b / 2))


def _comb(rng: np.random.Generator) -> Polygon:
    teeth = int(rng.integers(2, 6))
    back = shapely.box(0, 0, teeth * 20, rng.uniform(6, 20))
    for k in range(teeth):
        x, wide, long = 20 * k + rng.uniform(1, 6), rng.uniform(1, 12), rng.uniform(5, 40)
        back = back.union(shapely.box(x, -long, x + wide, 1))
    return back


def _ring_shape(rng: np.random.Generator) -> Polygon:
    outer = rng.uniform(15, 60)
    ring = Point(0, 0).buffer(outer, quad_segs=12).difference(Point(rng.uniform(-2, 2), 0).buffer(outer * rng.uniform(0.2, 0.8), quad_segs=12))
    return ring.union(shapely.affinity.translate(_bar(rng, rng.uniform(30, 100), rng.uniform(5, 14)), outer * 0.9, 0))


def _gap(rng: np.random.Generator) -> Polygon:
    """A C whose ends all but touch."""
    outer, wide, open_by = rng.uniform(20, 50), rng.uniform(6, 15), rng.uniform(0.3, 5)
    ring = Point(0, 0).buffer(outer, quad_segs=16).difference(Point(0, 0).buffer(outer - wide, quad_segs=16))
    return ring.difference(shapely.box(0, -open_by / 2, outer + 1, open_by / 2))


def _star(rng: np.random.Generator) -> Polygon:
    count = int(rng.integers(5, 16))
    angles = np.sort(rng.uniform(0, 2 * math.pi, count * 2))
    radii = rng.uniform(8, 60, count * 2)
    star = Polygon([(r * math.cos(a), r * math.sin(a)) for a, r in zip(angles, radii, strict=True)])
    return star.buffer(0) if star.is_valid else star.convex_hull


def _blob(rng: np.random.Generator) -> Polygon:
    angles = np.linspace(0, 2 * math.pi, 120, endpoint=False)
    radius = np.full(120, rng.uniform(25, 70))
    for k in range(2, 8):
        radius += rng.normal(0, 12 / k) * np.cos(k * angles + rng.uniform(0, 6.3))
    radius = np.maximum(radius, 6)
    return shapely.affinity.scale(Polygon(np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])).buffer(0), 1.6, 1.0)


_SHAPES = {
    "tool": _tool, "hook": _hook, "neck": _neck, "comb": _comb, "ring": _ring_shape, "gap": _gap, "star": _star, "blob": _blob,
}  # fmt: skip
