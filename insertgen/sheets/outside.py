"""The outer contour of a blank, seats in its corners and edges taken out."""

from __future__ import annotations

from collections.abc import Iterable

from insertgen.geometry.arcs import fit_path, quartered, rectangle
from insertgen.geometry.offset import grown
from insertgen.geometry.open_edge import opened_to_edges, wood_left
from insertgen.geometry.pose import move_path
from insertgen.geometry.region import Region, from_path, pieces, to_outlines, union
from insertgen.model.drawing import Operation
from insertgen.model.figures import Circle, Contour
from insertgen.model.job import Tray
from insertgen.model.layout import Placement
from insertgen.model.seat import Seat
from insertgen.model.shape import Store

__all__ = ["outside"]

#: The contour is already made of lines and arcs: they are only found again.
TOLERANCE = 0.004


def outside(tray: Tray, placed: Iterable[tuple[Placement, Seat]]) -> tuple[Operation, tuple[Contour | Circle, ...]]:
    """What is done along the outer contour, and its pieces, the largest first.

    A blank that is sawn to size already has its edge drawn for reference only;
    one with corner seats is cut all round, whatever was sawn before.
    """
    blank = tray.blank
    open_cuts = [
        opened_to_edges(_region(move_path(cut.path, placement.pose)), blank, tray.margin)
        for placement, seat in placed
        if seat.item.store is Store.CORNER
        for cut in seat.cuts
    ]
    if not open_cuts:
        operation = Operation.EDGE if tray.edge_sawn else Operation.OUTSIDE
        return operation, (rectangle(blank.width, blank.depth),)
    # grown by what the fit may take back: an opening never shrinks
    wood = wood_left(blank, grown(union(open_cuts), TOLERANCE), tray.web)
    rings = [to_outlines(piece)[0].outer for piece in pieces(wood)]
    return Operation.OUTSIDE, tuple(fit_path(ring, TOLERANCE) for ring in rings)


def _region(path: Contour | Circle) -> Region:
    """Finer than a circle's polygon is elsewhere: what is fitted to it must not lie within the circle."""
    return from_path(quartered(path) if isinstance(path, Circle) else path)
