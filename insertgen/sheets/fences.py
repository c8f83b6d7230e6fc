"""How slots are routed against a fence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from insertgen.geometry.pose import move_path
from insertgen.geometry.region import bounds, from_path
from insertgen.model.drawing import Fence
from insertgen.model.job import Tray
from insertgen.model.layout import Placement
from insertgen.model.seat import Seat
from insertgen.model.shape import Store

__all__ = ["fences"]


def fences(tray: Tray, placed: Iterable[tuple[Placement, Seat]]) -> tuple[Fence, ...]:
    """One setting of the fence for every slot that runs along an edge of the blank; none for slots at a slant.

    The fence stands along the nearest edge that is parallel to the slot. Its
    distance from the cutter is that of the edge to the slot's middle, less half
    the cutter; of a slot wider than the cutter, that of the nearer wall.
    """
    return tuple(_fences(tray, placed))


def _fences(tray: Tray, placed: Iterable[tuple[Placement, Seat]]) -> Iterator[Fence]:
    cutter = tray.cutting.cutter.diameter
    for placement, seat in placed:
        if seat.item.store is not Store.SLOT or cutter <= 0 or placement.pose.angle_deg % 90 != 0:
            continue
        x0, y0, x1, y1 = bounds(from_path(move_path(seat.cuts[0].path, placement.pose)))
        if x1 - x0 >= y1 - y0:
            gaps = {"front": y0, "back": tray.blank.depth - y1}
        else:
            gaps = {"left": x0, "right": tray.blank.width - x1}
        edge = min(gaps, key=lambda side: gaps[side])
        width = min(x1 - x0, y1 - y0)
        shift = max(0.0, round(width - cutter, 6))
        yield Fence(placement.id, seat.item.tag, seat.item.label, edge, gaps[edge], shift, cutter)
