"""What is done to the wood, in words."""

from __future__ import annotations

from insertgen.model import Bore, Circle, Drawing, Entity, Hole, Layer, Mark, Operation, SheetDrawing
from insertgen.units import format_inch, format_length, format_mm

__all__ = [
    "bore_words", "cut_words", "depth_words", "drill_words", "held_words", "hole_of", "sheet_words", "size_words",
    "stack_words",
]  # fmt: skip

_SAME_PLACE = 0.01


def drill_words(bore: Bore) -> str:
    """The drill to take, or that the bore is milled: "17/64 in", "30 mm milled"."""
    return bore.drill.name if bore.drill else f"{format_mm(bore.diameter)} mm milled"


def depth_words(depth: float, through: bool) -> str:
    """
    >>> depth_words(12.7, False), depth_words(18, True)
    ('12.7 mm (1/2 in) deep', 'THROUGH')
    """
    return "THROUGH" if through else f"{format_length(depth)} deep"


def bore_words(hole: Hole) -> str:
    return f"bore {drill_words(hole.bore)}, {depth_words(hole.depth, hole.through)}"


def cut_words(layer: Layer, entity: Entity) -> str:
    """How one contour is cut: "pocket 12.5 mm (31/64 in) deep", "cut THROUGH"."""
    if layer.operation is Operation.EDGE:
        return "edge of the blank"
    if layer.operation is Operation.OUTSIDE:
        return "outside, cut THROUGH last"
    if layer.operation is Operation.BORE and isinstance(entity.path, Circle):
        return f"bore {format_mm(entity.path.diameter)} mm, {depth_words(layer.depth, layer.through)}"
    if layer.through:
        return "slot, cut THROUGH" if layer.operation is Operation.SLOT else "cut THROUGH"
    return f"{layer.operation.value} {depth_words(layer.depth, False)}"


def hole_of(drawing: Drawing, sheet: SheetDrawing, entity: Entity) -> Hole | None:
    """The row of the schedule a circle is drilled by, None if it is none."""
    path = entity.path
    if not isinstance(path, Circle):
        return None
    for hole in drawing.holes:
        near = abs(hole.at[0] - path.centre[0]) + abs(hole.at[1] - path.centre[1]) < _SAME_PLACE
        if near and hole.sheet == sheet.number and abs(hole.bore.diameter - path.diameter) < _SAME_PLACE:
            return hole
    return None


def held_words(drawing: Drawing, mark: Mark) -> str:
    """How an item is held and how deep, from the cuts that were drawn for it; several sheets are named."""
    said: list[str] = []
    for sheet in drawing.sheets:
        front = f"sheet {sheet.number}: " if len(drawing.sheets) > 1 else ""
        for layer in sheet.layers:
            for entity in layer.entities:
                if entity.placement != mark.placement:
                    continue
                hole = hole_of(drawing, sheet, entity)
                words = front + (bore_words(hole) if hole else cut_words(layer, entity))
                if words not in said:
                    said.append(words)
    return "; ".join(said) or "stands on the face, no cut"


def size_words(width: float, depth: float) -> str:
    """
    >>> size_words(355.6, 304.8)
    '355.6 x 304.8 mm (14 x 12 in)'
    """
    return f"{format_mm(width)} x {format_mm(depth)} mm ({format_inch(width)} x {format_inch(depth)} in)"


def stack_words(drawing: Drawing) -> str:
    """The sheets of the stack, top first."""
    stack = drawing.tray.stack
    sheets = ", ".join(f"{format_length(sheet.thickness)} {sheet.name}" for sheet in stack)
    if len(stack) == 1:
        return f"one sheet: {sheets}"
    how = "glued first, then cut as one block" if drawing.tray.glued_first else "cut first, then glued"
    return f"{len(stack)} sheets, top first: {sheets}; {how}, {format_length(drawing.tray.thickness)} in all"


def sheet_words(drawing: Drawing, sheet: SheetDrawing) -> str:
    """What one template is for: "sheet 1 of 2, 18 mm mdf" or "glued block of 2 sheets, 36 mm"."""
    stack = drawing.tray.stack
    if drawing.tray.glued_first and len(stack) > 1 and len(drawing.sheets) == 1:
        return f"glued block of {len(stack)} sheets, {format_length(drawing.tray.thickness)} thick"
    return f"sheet {sheet.number} of {len(drawing.sheets)}, {format_length(sheet.thickness)} {sheet.stock}"
