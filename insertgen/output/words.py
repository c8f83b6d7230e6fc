"""What is done to the wood, in words."""

from __future__ import annotations

import math

from insertgen.model.drawing import Drawing, Entity, Fence, Hole, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour
from insertgen.model.seat import Bore
from insertgen.output.spots import ring_of
from insertgen.output.stored import is_base, same_hole
from insertgen.units import format_inch, format_length, format_mm

__all__ = [
    "bore_words", "counted", "cut_words", "depth_words", "drill_words", "fence_words", "hole_of", "passes", "sheet_words",
    "size_words", "slot_width", "stack_words", "start_words",
]  # fmt: skip


def counted(count: int, noun: str) -> str:
    """
    >>> counted(1, "page"), counted(3, "pass")
    ('1 page', '3 passes')
    """
    return f"{count} {noun}{'' if count == 1 else 'es' if noun.endswith('s') else 's'}"


def passes(depth: float, cutter: float) -> int:
    """Passes that a milled cut takes at one cutter diameter each. Common practice, no source.

    Parameters
    ----------
    cutter : float
        Its diameter; 0, none owned, takes one pass.

    Examples
    --------
    >>> passes(12.7, 6.35), passes(12.8, 6.35), passes(3.0, 6.35)
    (2, 3, 1)
    """
    return max(1, math.ceil(depth / cutter - 1e-6)) if cutter > 0 else 1


def drill_words(bore: Bore, machine: str = "router") -> str:
    """The drill to take, or how else the bore is made: "17/64 in", "30 mm milled", "6.5 mm by laser"."""
    if bore.drill:
        return bore.drill.name
    how = {"laser": " by laser", "hand": ", no drill owned"}.get(machine, " milled")
    return f"{format_mm(bore.diameter)} mm{how}"


def depth_words(depth: float, through: bool) -> str:
    """
    >>> depth_words(12.7, False), depth_words(18, True)
    ('12.7 mm (1/2 in) deep', 'THROUGH')
    """
    return "THROUGH" if through else f"{format_length(depth)} deep"


def bore_words(hole: Hole, machine: str = "router") -> str:
    how = "hole" if machine == "laser" and hole.bore.drill is None else "bore"
    return f"{how} {drill_words(hole.bore, machine)}, {depth_words(hole.depth, hole.through)}"


def start_words(hole: Hole) -> str:
    """Of the hole that a saw blade is put through: "start hole 10 mm"."""
    return f"start hole {hole.bore.drill.name if hole.bore.drill else format_mm(hole.bore.diameter) + ' mm'}"


def slot_width(path: Contour | Circle) -> float:
    """Width of a straight opening: the least distance of two parallel lines with all of it between them.

    They touch it along one of its edges (Freeman and Shapira 1975, of the least enclosing rectangle).

    >>> slot_width(Circle((3.0, 4.0), 8.0)), slot_width(Contour(((0, 0, 0), (30, 40, 0), (22, 46, 0), (-8, 6, 0))))
    (8.0, 10.0)
    """
    if isinstance(path, Circle):
        return path.diameter
    ring = ring_of(path)
    least = math.inf
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        if length := math.hypot(x1 - x0, y1 - y0):
            off = [((y1 - y0) * (x - x0) - (x1 - x0) * (y - y0)) / length for x, y in ring]
            least = min(least, max(off) - min(off))
    return round(least, 6)


def cut_words(layer: Layer, entity: Entity) -> str:
    """How one contour is cut: "pocket 12.5 mm (31/64 in) deep", "cut THROUGH"."""
    if layer.operation is Operation.EDGE:
        return "edge of the blank"
    if layer.operation is Operation.OUTSIDE:
        return "outside, cut THROUGH last"
    if layer.operation is Operation.BORE and isinstance(entity.path, Circle):
        return f"bore {format_mm(entity.path.diameter)} mm, {depth_words(layer.depth, layer.through)}"
    if layer.operation is Operation.SLOT:
        return f"slot, cut THROUGH, {format_length(slot_width(entity.path))} wide"
    return "cut THROUGH" if layer.through else f"{layer.operation.value} {depth_words(layer.depth, False)}"


def fence_words(fence: Fence) -> str:
    """How a slot is routed against a fence, as one line."""
    second = f", second pass {format_mm(fence.shift)} mm further out" if fence.shift else ""
    return (
        f"slot {fence.tag} {fence.label}: fence at the {fence.edge} edge, {format_mm(fence.distance)} mm from fence to cutter "
        f"({format_inch(fence.distance)} in), cutter {format_length(fence.cutter)}{second}; stop blocks where the bores are"
    )


def hole_of(drawing: Drawing, sheet: SheetDrawing, entity: Entity) -> Hole | None:
    """The row of the schedule a circle is drilled by, None if it is none."""
    path = entity.path
    if not isinstance(path, Circle):
        return None
    return next((hole for hole in drawing.holes if hole.sheet == sheet.number and same_hole(drawing, hole, path)), None)


def size_words(width: float, depth: float) -> str:
    """
    >>> size_words(355.6, 304.8)
    '355.6 x 304.8 mm (14 x 12 in)'
    """
    return f"{format_mm(width)} x {format_mm(depth)} mm ({format_inch(width)} x {format_inch(depth)} in)"


def stack_words(drawing: Drawing) -> str:
    """The sheets of the stack, top first."""
    tray = drawing.tray
    sheets = ", ".join(f"{format_length(sheet.thickness)} {sheet.name}" for sheet in tray.stack)
    if len(tray.stack) == 1:
        return f"one sheet: {sheets}"
    how = "glued first, then cut as one block" if tray.one_block else "cut first, then glued"
    return f"{len(tray.stack)} sheets, top first: {sheets}; {how}, {format_length(tray.thickness)} in all"


def sheet_words(drawing: Drawing, sheet: SheetDrawing) -> str:
    """What one page is for: "sheet 1 of 2, 18 mm mdf", "glued block of 2 sheets, 36 mm" or "tray base, 6 mm hdf: slots"."""
    tray = drawing.tray
    if is_base(drawing, sheet):
        return f"tray base, {format_length(sheet.thickness)} {sheet.stock}: slots"
    if tray.one_block and len(tray.stack) > 1 and len(drawing.sheets) == 1:
        return f"glued block of {len(tray.stack)} sheets, {format_length(tray.thickness)} thick"
    return f"sheet {sheet.number} of {len(drawing.sheets)}, {format_length(sheet.thickness)} {sheet.stock}"
