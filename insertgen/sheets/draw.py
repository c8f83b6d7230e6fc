"""Placed seats to the drawing that every writer reads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from insertgen.errors import JobError
from insertgen.exchange.layers import layer_name
from insertgen.geometry.arcs import rectangle
from insertgen.geometry.pose import move_outline, move_path, move_point
from insertgen.model.drawing import Drawing, Entity, Layer, Mark, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.seat import Cut, Seat
from insertgen.model.shape import Store
from insertgen.sheets.deep import as_cut, one_by_one
from insertgen.sheets.dowels import dowels_in
from insertgen.sheets.fences import fences
from insertgen.sheets.kerf import beam_path
from insertgen.sheets.outside import outside
from insertgen.sheets.stack import cuts_in_sheets, holes_of
from insertgen.sheets.template import rounded_corners, templates
from insertgen.units import format_mm

__all__ = ["draw"]

#: Inside before outside, shallow before deep, what frees a piece last.
_ORDER = (Operation.BORE, Operation.POCKET, Operation.SLOT, Operation.THROUGH, Operation.OUTSIDE, Operation.EDGE)

Placed = Sequence[tuple[Placement, Seat]]


def draw(tray: Tray, seats: Sequence[Seat], layout: Layout) -> Drawing:
    """One drawing of a tray's insert, blank frame.

    A stack that is glued first, or a single sheet, is one sheet drawing, all
    depths from its top face. Else each sheet has a drawing of its own, depths from
    its own face: what goes right through it, and what ends in it; if it is not a
    laser that cuts them, the holes for registration dowels too. The tray's base has
    a drawing of its own where slots go through it.

    Raises
    ------
    JobError
        Sheets cut one by one with no room for registration dowels, or a seat that ends where no sheet is left to be its floor.
    """
    by_id = {seat.item.id: seat for seat in seats}
    placed = [(placement, as_cut(tray, by_id[placement.id])) for placement in layout.placements]
    items = {seat.item.id: seat.item for _, seat in placed}
    tray = replace(tray, items=tuple(items.get(item.id, item) for item in tray.items))
    sheets = (_block(tray, placed),) if tray.one_block else tuple(_sheets(tray, placed))
    holes = tuple(holes_of(tray, placed))
    if one_by_one(tray):
        sheets, dowels = dowels_in(tray, sheets)
        holes += dowels
    return Drawing(
        tray=tray,
        blank=tray.blank,
        sheets=sheets,
        holes=holes,
        marks=tuple(_mark(placement, seat) for placement, seat in placed),
        keep_out=tray.keep_out,
        base=_base(tray, placed),
        templates=templates(tray, sheets[0]),
        rounded=rounded_corners(tray, sheets[0]),
        fences=fences(tray, placed),
    )


def _block(tray: Tray, placed: Placed) -> SheetDrawing:
    stock = " + ".join(sheet.name for sheet in tray.stack)
    kerf = tray.stack[0].kerf if tray.cutting.machine == "laser" else 0.0
    cuts = [(placement, seat, cut, cut.depth, cut.through) for placement, seat in placed for cut in seat.cuts]
    return SheetDrawing(1, stock, tray.thickness, _layers(tray, placed, cuts, tray.thickness, kerf))


def _sheets(tray: Tray, placed: Placed) -> Iterator[SheetDrawing]:
    """Each sheet of the stack by itself."""
    for number, (sheet, found) in enumerate(zip(tray.stack, cuts_in_sheets(tray, placed), strict=True), 1):
        cuts = [(one.placement, one.seat, one.cut, one.depth, one.through) for one in found]
        layers = _layers(tray, placed, cuts, sheet.thickness, sheet.kerf if tray.cutting.machine == "laser" else 0.0)
        yield SheetDrawing(number, sheet.name, sheet.thickness, layers, f"sheet-{number}")


def _base(tray: Tray, placed: Placed) -> SheetDrawing | None:
    """What is cut in the board that slides in the grooves: the slots, in the blank's frame."""
    slots = [
        Entity(move_path(cut.path, placement.pose), placement.id)
        for placement, seat in placed
        if seat.item.store is Store.SLOT
        for cut in seat.cuts
    ]
    if tray.base is None or not slots:
        return None
    thick = tray.base.thickness
    edge = Entity(rectangle(tray.blank.width, tray.blank.depth), None)
    layers = (
        _layer(tray, Operation.SLOT, thick, True, slots),
        _layer(tray, Operation.EDGE, thick, True, [edge]),
    )
    return SheetDrawing(len(tray.stack) + 1, tray.base.name, thick, layers, "base")


def _layers(
    tray: Tray,
    placed: Placed,
    cuts: Iterable[tuple[Placement, Seat, Cut, float, bool]],
    thickness: float,
    kerf: float,
) -> tuple[Layer, ...]:
    found: dict[tuple[Operation, float, bool], list[Entity]] = defaultdict(list)
    for placement, seat, cut, depth, through in cuts:
        if seat.item.store is Store.CORNER:
            continue  # part of the outside
        # 0.01 mm in the name, 0.01 mm in the data: two seats a hair apart share a layer
        key = _operation(seat, cut, through), round(depth, 2), through
        path = beam_path(move_path(cut.path, placement.pose), -kerf)
        if path is None:
            raise JobError(
                f"{seat.item.where}: {seat.item.tag} {seat.item.label}: the kerf of {format_mm(kerf)} mm is wider than its cut, or a "
                "neck of it, so the beam cannot make it; write the kerf as measured under [stock.*], or make the cut wider"
            )
        found[key].append(Entity(path, placement.id))
    operation, paths = outside(tray, placed)
    found[operation, round(thickness, 2), True] += [
        Entity(path if operation is Operation.EDGE else _outer(path, kerf), None) for path in paths
    ]
    ordered = sorted(found, key=lambda key: (_ORDER.index(key[0]), key[2], key[1]))
    return tuple(_layer(tray, *key, found[key]) for key in ordered)


def _outer(path: Contour | Circle, kerf: float) -> Contour | Circle:
    moved = beam_path(path, kerf)
    assert moved is not None, "what grows stays in one piece"
    return moved


def _layer(tray: Tray, operation: Operation, depth: float, through: bool, entities: Sequence[Entity]) -> Layer:
    name = layer_name(operation, depth, through=through, names=tray.layer_names)
    return Layer(name, operation, depth, through, tuple(entities))


def _operation(seat: Seat, cut: Cut, through: bool) -> Operation:
    if cut.bore is not None:
        return Operation.BORE
    if seat.item.store is Store.SLOT:
        return Operation.SLOT
    return Operation.THROUGH if through else Operation.POCKET


def _mark(placement: Placement, seat: Seat) -> Mark:
    item, pose = seat.item, placement.pose
    return Mark(
        placement=placement.id,
        tag=item.tag,
        label=item.label,
        size=item.size,
        at=move_point((0.0, 0.0), pose),
        outline=move_outline(item.outline, pose),
        room=move_outline(item.room, pose),
        depth=0.0 if item.on_face else max(cut.depth for cut in seat.cuts),
        through=not item.on_face and any(cut.through for cut in seat.cuts),
    )
