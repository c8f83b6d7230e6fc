"""The lines of a sheet on paper, in the blank's frame: wood, cuts, items, bores; and the cells that they take."""

from __future__ import annotations

import math
from collections.abc import Iterator

from reportlab.pdfgen.canvas import Canvas

from insertgen.model.drawing import Drawing, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle, Outline, Point
from insertgen.model.job import KeepOut
from insertgen.output.page import HAIRLINE, polygon
from insertgen.output.spots import Ground, in_window, ring_of
from insertgen.output.stored import holes_apart, lies_on_face, marks_on, shows_room
from insertgen.output.wood import blank_ring, corners_gone, cuts_of, wood_rings
from insertgen.output.words import hole_of

__all__ = ["bore_crosses", "draw_bores", "draw_lines", "take_lines"]

Window = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y

_THROUGH, _BORED = 0.83, 0.97  # grey of what is cut right through, and of bores
_SHALLOW, _DEEP = 0.97, 0.88  # of pockets
_CROSS = 2.5  # arms of a bore's cross beyond its circle


def draw_lines(
    canvas: Canvas, drawing: Drawing, sheet: SheetDrawing, *, line: float = HAIRLINE, window: Window | None = None
) -> None:
    """Cuts, items and keep-outs of a sheet, at whatever scale the canvas has; of what is beyond a ``window`` nothing."""
    canvas.saveState()
    canvas.setLineWidth(line)
    _wood(canvas, drawing, sheet, line)
    for layer, _, ring in cuts_of(sheet):
        if window is None or in_window(ring, window):
            canvas.setFillGray(_tint(layer, sheet))
            polygon(canvas, ring, fill=True)
    canvas.setStrokeGray(0.55)
    for mark in marks_on(drawing, sheet):
        if window is not None and not in_window((*mark.outline.outer, *mark.room.outer), window):
            continue
        on_face = lies_on_face(drawing, mark)
        canvas.setDash([] if on_face else [2.0 * line / HAIRLINE, 1.2 * line / HAIRLINE])
        _outline(canvas, mark.outline)
        if shows_room(drawing, mark):
            _outline(canvas, mark.room)
    canvas.restoreState()
    for keep in drawing.keep_out:
        _hatch(canvas, keep, line)


def _wood(canvas: Canvas, drawing: Drawing, sheet: SheetDrawing, line: float) -> None:
    """Grey where corners are sawn away, with the blank's rectangle dashed round it."""
    if corners_gone(sheet, drawing.blank):
        canvas.saveState()
        canvas.setFillGray(_THROUGH)
        canvas.setDash([4.0 * line / HAIRLINE, 2.0 * line / HAIRLINE])
        polygon(canvas, blank_ring(drawing.blank), fill=True)
        canvas.restoreState()
    canvas.setFillGray(1)
    for ring in wood_rings(sheet, drawing.blank):
        polygon(canvas, ring, fill=True)


def _tint(layer: Layer, sheet: SheetDrawing) -> float:
    if layer.operation is Operation.BORE:
        return _BORED
    if layer.through:
        return _THROUGH
    return _SHALLOW + (_DEEP - _SHALLOW) * min(1.0, layer.depth / sheet.thickness)


def _outline(canvas: Canvas, outline: Outline) -> None:
    for ring in (outline.outer, *outline.holes):
        polygon(canvas, ring)


def _hatch(canvas: Canvas, keep: KeepOut, line: float) -> None:
    (x, y), (width, depth) = keep.at, keep.size
    canvas.saveState()
    canvas.setLineWidth(line)
    canvas.setStrokeGray(0.4)
    path = canvas.beginPath()
    path.rect(x, y, width, depth)
    canvas.clipPath(path, stroke=1, fill=0)
    apart = 3.0
    for k in range(1, math.ceil((width + depth) / apart)):
        canvas.line(x + k * apart, y, x + k * apart - depth, y + depth)
    canvas.restoreState()


def draw_bores(canvas: Canvas, drawing: Drawing, sheet: SheetDrawing) -> None:
    """A cross in every bore; the circles of start holes too, which are in no file."""
    for hole in holes_apart(drawing, sheet):
        if hole.bore.use == "start":
            canvas.circle(*hole.at, hole.bore.diameter / 2)
    for start, end in bore_crosses(drawing, sheet):
        canvas.line(*start, *end)


def bore_crosses(drawing: Drawing, sheet: SheetDrawing) -> Iterator[tuple[Point, Point]]:
    """Both lines of a cross in every bore of a sheet, the ends of slots and start holes too."""
    bored = [
        (entity.path.centre, entity.path.diameter)
        for layer in sheet.layers
        for entity in layer.entities
        if isinstance(entity.path, Circle) and (layer.operation is Operation.BORE or hole_of(drawing, sheet, entity))
    ]
    for (x, y), diameter in (*bored, *((hole.at, hole.bore.diameter) for hole in holes_apart(drawing, sheet))):
        arm = diameter / 2 + _CROSS
        yield (x - arm, y), (x + arm, y)
        yield (x, y - arm), (x, y + arm)


def take_lines(drawing: Drawing, sheet: SheetDrawing, ground: Ground) -> None:
    """Take the cells of all that is drawn: no text may stand there."""
    for layer in sheet.layers:
        for entity in layer.entities:
            ring = ring_of(entity.path, 0.1)
            if ground.meets(ring):
                ground.take_line(ring)
    for crossing in bore_crosses(drawing, sheet):
        ground.take_line(crossing, closed=False)
    for hole in holes_apart(drawing, sheet):
        if hole.bore.use == "start":
            ground.take_line(ring_of(Circle(hole.at, hole.bore.diameter), 0.1))
    for mark in marks_on(drawing, sheet):
        if not ground.meets((*mark.outline.outer, *mark.room.outer)):
            continue
        for ring in (mark.outline.outer, *mark.outline.holes):
            ground.take_line(ring)
        if shows_room(drawing, mark):
            ground.take_line(mark.room.outer, faint=True)
    for keep in drawing.keep_out:
        ground.take_box(*keep.at, keep.at[0] + keep.size[0], keep.at[1] + keep.size[1])
