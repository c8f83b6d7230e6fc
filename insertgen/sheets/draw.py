"""Placed seats to the drawing that every writer reads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from insertgen.exchange.layers import layer_name
from insertgen.geometry.arcs import rectangle
from insertgen.geometry.pose import move_outline, move_path, move_point
from insertgen.model import (
    Cut,
    Drawing,
    Entity,
    Hole,
    Layer,
    Layout,
    Mark,
    Operation,
    Placement,
    Seat,
    SheetDrawing,
    Store,
    Tray,
)

__all__ = ["draw"]

#: Inside before outside, shallow before deep, what frees a piece last.
_ORDER = (Operation.BORE, Operation.POCKET, Operation.SLOT, Operation.THROUGH, Operation.OUTSIDE, Operation.EDGE)


def draw(tray: Tray, seats: Sequence[Seat], layout: Layout) -> Drawing:
    """One drawing of a tray's insert, blank frame.

    The stack is glued first (or is a single sheet): one sheet drawing for the
    block, all depths from its top face.
    """
    by_id = {seat.item.id: seat for seat in seats}
    placed = [(placement, by_id[placement.id]) for placement in layout.placements]
    block = SheetDrawing(1, " + ".join(sheet.name for sheet in tray.stack), tray.thickness, _layers(tray, placed))
    return Drawing(
        tray=tray,
        blank=tray.blank,
        sheets=(block,),
        holes=tuple(_holes(tray, placed)),
        marks=tuple(_mark(placement, seat) for placement, seat in placed),
        keep_out=tray.keep_out,
    )


def _layers(tray: Tray, placed: Iterable[tuple[Placement, Seat]]) -> tuple[Layer, ...]:
    found: dict[tuple[Operation, float, bool], list[Entity]] = defaultdict(list)
    for placement, seat in placed:
        for cut in seat.cuts:
            # 0.01 mm in the name, 0.01 mm in the data: two seats a hair apart share a layer
            key = _operation(seat, cut), round(cut.depth, 2), cut.through
            found[key].append(Entity(move_path(cut.path, placement.pose), placement.id))
    edge = Operation.EDGE if tray.edge_sawn else Operation.OUTSIDE
    outside = Entity(rectangle(tray.blank.width, tray.blank.depth), None)
    found[edge, round(tray.thickness, 2), True].append(outside)
    ordered = sorted(found, key=lambda key: (_ORDER.index(key[0]), key[2], key[1]))
    return tuple(
        Layer(layer_name(operation, depth, through=through), operation, depth, through, tuple(found[operation, depth, through]))
        for operation, depth, through in ordered
    )


def _operation(seat: Seat, cut: Cut) -> Operation:
    if cut.bore is not None:
        return Operation.BORE
    return Operation.THROUGH if cut.through else Operation.POCKET


def _holes(tray: Tray, placed: Iterable[tuple[Placement, Seat]]) -> Iterable[Hole]:
    when = "after-glue" if len(tray.stack) > 1 else "any"
    for placement, seat in placed:
        for cut in seat.cuts:
            if cut.bore is not None:
                at = move_point((0.0, 0.0), placement.pose)
                item = seat.item
                yield Hole(item.tag, 1, item.label, at, cut.bore, cut.depth, cut.through, when)


def _mark(placement: Placement, seat: Seat) -> Mark:
    item, pose = seat.item, placement.pose
    stands = item.store is Store.STAND
    return Mark(
        placement=placement.id,
        tag=item.tag,
        label=item.label,
        size=item.size,
        at=move_point((0.0, 0.0), pose),
        outline=move_outline(item.outline, pose),
        room=move_outline(item.room, pose),
        depth=0.0 if stands else seat.cuts[0].depth,
        through=not stands and seat.cuts[0].through,
    )

