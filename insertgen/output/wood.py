"""The wood of a sheet: what its outer contour leaves of the blank, and the cuts in it, the outer of nested ones first."""

from __future__ import annotations

from functools import lru_cache

from insertgen.model.drawing import Entity, Layer, Operation, SheetDrawing
from insertgen.model.figures import Ring
from insertgen.model.job import Blank
from insertgen.output.spots import ring_of

__all__ = ["blank_ring", "corners_gone", "cuts_of", "ring_area", "wood_rings"]

_CHORD = 0.01


def blank_ring(blank: Blank) -> Ring:
    return (0.0, 0.0), (blank.width, 0.0), (blank.width, blank.depth), (0.0, blank.depth)


def wood_rings(sheet: SheetDrawing, blank: Blank) -> tuple[Ring, ...]:
    """The pieces of wood: the contours that are cut last, or else the edge given for reference, or else the blank."""
    for operation in (Operation.OUTSIDE, Operation.EDGE):
        rings = [
            ring_of(entity.path, _CHORD) for layer in sheet.layers for entity in layer.entities if layer.operation is operation
        ]
        if rings:
            return tuple(rings)
    return (blank_ring(blank),)


def corners_gone(sheet: SheetDrawing, blank: Blank) -> bool:
    """Whether wood is missing at the blank's corners or edges: more than 1 mm2."""
    return sum(map(ring_area, wood_rings(sheet, blank))) < blank.width * blank.depth - 1.0


@lru_cache(maxsize=64)  # every page of a sheet asks for them
def cuts_of(sheet: SheetDrawing) -> tuple[tuple[Layer, Entity, Ring], ...]:
    """Cuts with their rings, the largest first: of nested ones each lies on the one before."""
    cuts = [
        (layer, entity, ring_of(entity.path, _CHORD))
        for layer in sheet.layers
        for entity in layer.entities
        if layer.operation not in (Operation.EDGE, Operation.OUTSIDE)
    ]
    return tuple(sorted(cuts, key=lambda cut: -ring_area(cut[2])))


def ring_area(ring: Ring) -> float:
    """Area inside a ring (shoelace formula), mm2.

    >>> ring_area(((0, 0), (0, 2), (3, 2), (3, 0)))
    6.0
    """
    pairs = zip(ring, ring[1:] + ring[:1], strict=True)
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairs)) / 2
