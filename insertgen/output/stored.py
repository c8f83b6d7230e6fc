"""What a mark stands for, and on which sheet it and the holes of the schedule are shown."""

from __future__ import annotations

from insertgen.model.drawing import Drawing, Hole, Mark, SheetDrawing
from insertgen.model.figures import Circle
from insertgen.model.item import Item
from insertgen.model.shape import Store

__all__ = ["holes_apart", "in_corner", "is_base", "is_sawn", "item_of", "lies_on_face", "marks_on", "same_hole", "shows_room"]

_SAME_PLACE = 0.01


def item_of(drawing: Drawing, mark: Mark) -> Item | None:
    """The item of a mark; None for one that is not of the tray's items."""
    return next((item for item in drawing.tray.items if item.id == mark.placement), None)


def in_corner(drawing: Drawing, mark: Mark) -> bool:
    """Whether a mark's seat is part of the blank's outer contour."""
    item = item_of(drawing, mark)
    return item is not None and item.store is Store.CORNER


def lies_on_face(drawing: Drawing, mark: Mark) -> bool:
    """Whether a mark's item stands or lies on the face, with nothing of it in the wood."""
    item = item_of(drawing, mark)
    return item.on_face if item else not (mark.through or mark.depth)


def is_sawn(drawing: Drawing, placement: str | None) -> bool:
    """Whether a seat is sawn out by hand: from a start hole."""
    tags = {mark.tag for mark in drawing.marks if mark.placement == placement}
    return any(hole.bore.use == "start" and hole.tag in tags for hole in drawing.holes)


def shows_room(drawing: Drawing, mark: Mark) -> bool:
    """Whether more of an item is to be drawn than its outline; the room of posts is the posts', drawn already."""
    posts = lies_on_face(drawing, mark) and (mark.depth or mark.through)
    return mark.room != mark.outline and not posts and not in_corner(drawing, mark)


def is_base(drawing: Drawing, sheet: SheetDrawing) -> bool:
    """Whether a sheet is the tray's base."""
    return drawing.base is not None and sheet.name == drawing.base.name


def marks_on(drawing: Drawing, sheet: SheetDrawing) -> tuple[Mark, ...]:
    """Marks to show on a sheet: all on the top sheet, below it only what is cut there too."""
    if sheet == drawing.sheets[0]:
        return drawing.marks
    cut = {entity.placement for layer in sheet.layers for entity in layer.entities}
    corners = not is_base(drawing, sheet)
    return tuple(mark for mark in drawing.marks if mark.placement in cut or (corners and in_corner(drawing, mark)))


def holes_apart(drawing: Drawing, sheet: SheetDrawing) -> tuple[Hole, ...]:
    """Holes of the schedule that no circle of the sheet stands for: start holes, and the ends of slots.

    The tray's base has the slots of the stack above it, so their ends are shown there too.
    """
    if is_base(drawing, sheet):
        return tuple(hole for hole in drawing.holes if hole.bore.use == "slot-end")
    return tuple(hole for hole in drawing.holes if hole.bore.use in ("slot-end", "start") and hole.sheet == sheet.number)


def same_hole(drawing: Drawing, hole: Hole, path: Circle) -> bool:
    """Whether a drawn circle is a hole of the schedule: a laser's is drawn smaller by what the beam takes."""
    kerf = max((stock.kerf for stock in drawing.tray.stack), default=0.0)
    near = abs(hole.at[0] - path.centre[0]) + abs(hole.at[1] - path.centre[1]) < _SAME_PLACE
    return near and -_SAME_PLACE < hole.bore.diameter - path.diameter < _SAME_PLACE + kerf
