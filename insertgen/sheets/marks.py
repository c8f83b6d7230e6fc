"""The marks of every sheet of a drawing: labels, tabs, hold-down places."""

from __future__ import annotations

from insertgen.exchange.layers import layer_name
from insertgen.exchange.marks import MarkLayer, Marks
from insertgen.geometry.arcs import rectangle
from insertgen.model.drawing import Drawing, Operation, SheetDrawing
from insertgen.sheets.mark_cuts import sheet_cuts
from insertgen.sheets.mark_holds import holds
from insertgen.sheets.mark_labels import labels
from insertgen.sheets.mark_tabs import tabs

__all__ = ["marks_of"]


def marks_of(drawing: Drawing) -> tuple[Marks, ...]:
    """What is marked on each sheet of the stack; labels on the top one only."""
    return tuple(_sheet(drawing, sheet) for sheet in drawing.sheets)


def _sheet(drawing: Drawing, sheet: SheetDrawing) -> Marks:
    cuts = sheet_cuts(drawing, sheet)
    texts: tuple[MarkLayer, ...] = ()
    said: tuple[str, ...] = ()
    if sheet.number == 1:
        texts, said = labels(cuts)
    tab, tab_said = tabs(cuts)
    hold, hold_said = holds(cuts, texts)
    layers = tuple(layer for layer in (*texts, tab, hold) if layer.lines or layer.circles)
    edge = layer_name(Operation.EDGE, sheet.thickness, through=True, names=drawing.tray.layer_names)
    blank = rectangle(drawing.blank.width, drawing.blank.depth)
    return Marks(sheet.number, (edge, blank), layers, said + tab_said + hold_said)
