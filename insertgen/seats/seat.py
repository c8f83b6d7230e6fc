"""An item to its seat: the cuts that hold it, proved on the contours as they will be written."""

from __future__ import annotations

from insertgen.geometry.arcs import fit_path
from insertgen.geometry.distance import gap_inside
from insertgen.geometry.offset import grown, opened
from insertgen.geometry.region import (
    Region,
    area,
    disc,
    from_outline,
    from_path,
    minus,
    pieces,
    to_outlines,
    without_holes,
)
from insertgen.model import Circle, Contour, Cut, Disc, Item, Outline, Seat, Store, Tray
from insertgen.seats.bores import bore_for
from insertgen.seats.opening import opening_for

__all__ = ["FIT_TOLERANCE", "seat_for"]

#: Lines and arcs follow the opening within this; the opening is grown by it first, so that it never shrinks.
FIT_TOLERANCE = 0.02


def seat_for(item: Item, tray: Tray) -> Seat:
    """The seat of one item in one tray.

    A seat deeper than the stack less the floor is cut only that deep, never
    silently through; `check` reports it.
    """
    if item.store is Store.STAND:
        return Seat(item, (), (), 0.0, None, None)
    depth = tray.thickness if item.through else min(item.depth, tray.thickness - tray.floor)
    if item.bore is not None:
        return _bored(item, tray, depth)
    return _cut_out(item, tray, depth)


def _bored(item: Item, tray: Tray, depth: float) -> Seat:
    bore = bore_for(item, tray.cutting)
    circle = Circle((0.0, 0.0), bore.diameter)
    cut = Cut(circle, depth, item.through, bore)
    return Seat(item, (cut,), (_plan(circle),), 0.0, None, None)


def _cut_out(item: Item, tray: Tray, depth: float) -> Seat:
    clearance = item.clearance + item.expected_error
    sawn = tray.cutting.machine == "hand" and item.through
    radius = 0.0 if sawn else tray.cutting.cutter.diameter / 2
    solid = from_outline(item.outline)
    path = _path(item, solid, clearance, radius)
    final = from_path(path)
    unreached = area(minus(final, opened(final, radius - FIT_TOLERANCE))) if radius else 0.0
    return Seat(
        item,
        (Cut(path, depth, item.through),),
        (_plan(path),),
        clearance,
        gap_inside(without_holes(solid), final).distance,
        unreached,
    )


def _path(item: Item, solid: Region, clearance: float, radius: float) -> Contour | Circle:
    body = item.shape.solid
    if isinstance(body, Disc) and body.diameter / 2 + clearance >= radius:
        return Circle((0.0, 0.0), body.diameter + 2 * clearance)
    # opened with a little more than the cutter: the fit may not leave a bend tighter than it
    wide = radius + 2 * FIT_TOLERANCE if radius else 0.0
    region = opening_for(solid, clearance=clearance, radius=wide, least_gap=item.least_gap)
    ring = to_outlines(grown(pieces(region)[0], FIT_TOLERANCE))[0].outer
    return fit_path(ring, FIT_TOLERANCE)


def _plan(path: Contour | Circle) -> Outline:
    region = disc(path.centre, path.diameter) if isinstance(path, Circle) else from_path(path, tolerance=0.01)
    return to_outlines(region)[0]
