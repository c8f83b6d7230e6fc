"""Where tabs go: short lines across the contours of through-cuts, so that what comes loose stays until it is cut free."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from insertgen.exchange.marks import TAB, MarkLayer
from insertgen.geometry.arcs import arc_centre, flatten, quartered
from insertgen.geometry.grid import points_inside
from insertgen.geometry.offset import grown, shrunk
from insertgen.geometry.region import Region, area, from_path, is_empty, minus
from insertgen.model.drawing import Layer, Operation
from insertgen.model.figures import Circle, Contour, Point
from insertgen.model.job import Cutting
from insertgen.sheets.mark_cuts import SheetCuts

__all__ = ["tabs"]

#: Of a contour, and from how long a way round on there is one more. Common practice, no source.
FEW, MORE, LONG = 3, 4, 300.0

BEYOND = 1.0  # how far a line reaches over the cut on either side
STRAIGHT = 12.0  # a straight shorter than this has no room for a tab and its way in and out
FROM_CORNER = 4.0
LEAST_PIECE = 150.0  # mm2; a smaller piece is no more than a chip
STEP = 1.0

_LOOSE = (Operation.THROUGH, Operation.SLOT, Operation.OUTSIDE)


@dataclass(frozen=True, slots=True)
class _Spot:
    """A point along a contour; ``normal`` points to the left of the way."""

    along: float
    at: Point
    normal: Point
    rank: int  # 0: on a straight, 1: on a bend, 2: near a corner


def tabs(sheet: SheetCuts) -> tuple[MarkLayer, tuple[str, ...]]:
    """Tabs on every contour that lets a piece go: 3, or 4 on a long one, spread evenly, on straights where there are any.

    A hand-held saw leaves none.
    """
    cutting = sheet.drawing.tray.cutting
    if cutting.machine == "hand":
        return MarkLayer(TAB), ()
    lines, said = [], []
    for layer in sheet.sheet.layers:
        if layer.operation not in _LOOSE or not layer.through:
            continue
        for entity in layer.entities:
            found = list(_of(entity.path, layer, _width(cutting, sheet)))
            lines += found
            if found and len(found) < FEW:
                x, y = found[0][0]
                said.append(f"only {len(found)} tabs found room on the contour at {x:.0f}, {y:.0f}: hold its piece with tape")
    return MarkLayer(TAB, tuple(lines)), tuple(said)


def _width(cutting: Cutting, sheet: SheetCuts) -> float:
    """Of the cut that a tab bridges."""
    if cutting.machine != "laser":
        return cutting.cutter.diameter
    return sheet.drawing.tray.stack[min(sheet.sheet.number, len(sheet.drawing.tray.stack)) - 1].kerf


def _of(path: Contour | Circle, layer: Layer, width: float) -> Iterator[tuple[Point, Point]]:
    """From the wood across the cut to the piece; outside a blank it is the other way round."""
    contour = quartered(path) if isinstance(path, Circle) else path
    region = from_path(contour, tolerance=0.02)
    outside = layer.operation is Operation.OUTSIDE
    if outside:
        far = minus(grown(region, 2 * width + 4 * BEYOND), grown(region, width))
    else:
        far = shrunk(region, width)
        if is_empty(far) or area(far) < LEAST_PIECE:
            return
    inward = (1 if _counter_clockwise(contour) else -1) * (-1 if outside else 1)
    for spot in _spread(_reaching(list(_spots(contour)), far, inward * (width + BEYOND / 2)), contour):
        yield _along(spot, -inward * BEYOND), _along(spot, inward * (width + BEYOND))


def _along(spot: _Spot, by: float) -> Point:
    return spot.at[0] + spot.normal[0] * by, spot.at[1] + spot.normal[1] * by


def _reaching(spots: list[_Spot], far: Region, reach: float) -> list[_Spot]:
    """Those from where a line gets to the piece on the other side."""
    inside = points_inside(far, [_along(spot, reach) for spot in spots])
    return [spot for spot, good in zip(spots, inside, strict=True) if good]


def _spread(spots: list[_Spot], contour: Contour) -> Iterator[_Spot]:
    """One in each equal share of the way round: on a straight if there is one, as near the middle of its share as can be."""
    whole = sum(_lengths(contour))
    count = MORE if whole >= LONG else FEW
    share = whole / count
    for number in range(count):
        middle = (number + 0.5) * share
        mine = [spot for spot in spots if abs(spot.along - middle) <= share * 0.4]
        if mine:
            yield min(mine, key=lambda spot: (spot.rank, abs(spot.along - middle), spot.along))


def _lengths(contour: Contour) -> list[float]:
    return [_length(start, end) for start, end in _pieces(contour)]


Vertex = tuple[float, float, float]


def _pieces(contour: Contour) -> Iterator[tuple[Vertex, Vertex]]:
    return zip(contour.vertices, contour.vertices[1:] + contour.vertices[:1], strict=True)


def _length(start: Vertex, end: Vertex) -> float:
    chord, bulge = math.dist(start[:2], end[:2]), start[2]
    if bulge == 0:
        return chord
    return chord * (1 + bulge * bulge) / (4 * abs(bulge)) * 4 * math.atan(abs(bulge))


def _spots(contour: Contour) -> Iterator[_Spot]:
    along = 0.0
    for start, end in _pieces(contour):
        length = _length(start, end)
        count = max(1, math.floor(length / STEP))
        for number in range(count):
            part = (number + 0.5) / count
            at, normal = _point(start, end, part)
            from_end = min(part, 1 - part) * length
            straight = start[2] == 0 and length >= STRAIGHT
            rank = 2 if from_end < min(FROM_CORNER, length / 4) else 0 if straight else 1
            yield _Spot(along + part * length, at, normal, rank)
        along += length


def _point(start: Vertex, end: Vertex, part: float) -> tuple[Point, Point]:
    """Point and left normal at a part of a line or arc."""
    (x0, y0, bulge), (x1, y1, _) = start, end
    if bulge == 0:
        length = math.dist((x0, y0), (x1, y1))
        return (x0 + (x1 - x0) * part, y0 + (y1 - y0) * part), (-(y1 - y0) / length, (x1 - x0) / length)
    (cx, cy), radius = arc_centre((x0, y0), (x1, y1), bulge)
    angle = math.atan2(y0 - cy, x0 - cx) + 4 * math.atan(bulge) * part
    ux, uy = math.cos(angle), math.sin(angle)
    side = -1 if bulge > 0 else 1  # counter-clockwise, the centre is on the left
    return (cx + radius * ux, cy + radius * uy), (side * ux, side * uy)


def _counter_clockwise(contour: Contour) -> bool:
    ring = flatten(contour, 0.1)
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True)) > 0
