"""Page 1 of the paper template: what it is, cautions, legend, how the pages tile."""

from __future__ import annotations

from collections import Counter

from reportlab.pdfgen.canvas import Canvas

from insertgen.model.drawing import Drawing, SheetDrawing
from insertgen.model.figures import Point
from insertgen.output.cautions import caution_text
from insertgen.output.dowels import dowel_words
from insertgen.output.flow import SIZE, Flow, column_widths
from insertgen.output.held import held_words
from insertgen.output.page import MARGIN, polygon, text
from insertgen.output.papers import TRUE
from insertgen.output.routing import template_words
from insertgen.output.sheet_lines import draw_lines
from insertgen.output.stored import lies_on_face
from insertgen.output.tiling import Tile, Tiling, row_name, tiles_with
from insertgen.output.typeface import text_width
from insertgen.output.wood import corners_gone, cuts_of
from insertgen.output.words import counted, drill_words, fence_words, sheet_words, size_words, stack_words
from insertgen.units import format_mm

__all__ = ["base_tiles", "cover_pages"]

_COLUMNS = (("tag", 12.0), ("what", 52.0), ("size", 48.0), ("how it is held", 72.0))
_FIGURE = 86.0  # most width and height of a figure


def cover_pages(canvas: Canvas, drawing: Drawing, tiling: Tiling, *, paper: str, printed: Point = TRUE) -> None:
    """Draw the cover and as many further pages as the legend needs; each is ended."""
    flow = Flow(canvas, paper)
    _title(flow, drawing, tiling)
    _printing(flow, tiling, printed)
    _figures(flow, drawing, tiling)
    _cautions(flow, drawing)
    _legend(flow, drawing)
    _said(flow, "Registration dowels", dowel_words(drawing))
    _said(flow, "Slots, routed against a fence", tuple(fence_words(fence) for fence in drawing.fences))
    _said(flow, "Router templates, cut from their own files and not on these pages", template_words(drawing))
    canvas.showPage()


def base_tiles(tiling: Tiling, base: SheetDrawing) -> tuple[Tile, ...]:
    """Pages for the tray's base: of its edges nothing is sawn, so what is beyond its last slot is left out."""
    return tiles_with(tiling, [ring for _, _, ring in cuts_of(base)])


def _title(flow: Flow, drawing: Drawing, tiling: Tiling) -> None:
    flow.line(drawing.tray.name, 6.5, bold=True)
    flow.gap(1.5)
    flow.line(f"blank {size_words(drawing.blank.width, drawing.blank.depth)}, width x front to back", bold=True)
    flow.line(stack_words(drawing))
    machine = drawing.tray.cutting.machine
    pages = counted(len(tiling.tiles), "page")
    for sheet in drawing.sheets:
        flow.line(f"full-size template for {sheet_words(drawing, sheet)}: {pages}")
    if drawing.base:
        count = counted(len(base_tiles(tiling, drawing.base)), "page")
        flow.line(f"and for the {sheet_words(drawing, drawing.base)}: {count}. "
                  "Lay them on the base where the insert will lie, front edge to the front.")  # fmt: skip
    flow.line("Front edge: the bottom of every template page, as the tray is seen from above. Reference corner: front left.")
    flow.line("Grey: wood that is cut away. Dashed: the item itself, or the room its head takes above the face.")
    if any(lies_on_face(drawing, mark) for mark in drawing.marks):
        flow.line("Whole grey line: an item that lies or stands on the face; no other seat is cut under it.")
    if any(corners_gone(sheet, drawing.blank) for sheet in drawing.sheets):
        how = "" if machine == "laser" else ": stick the pages on the whole blank, bore and rout first, saw last"
        flow.line(f"Corners or edges are cut away{how}. The reference corner is the whole blank's.", bold=True)
    holes = [hole for hole in drawing.holes if hole.bore.drill or machine != "laser"]
    if holes:
        holes.sort(key=lambda hole: hole.bore.diameter)
        counts = Counter(drill_words(hole.bore, machine) for hole in holes)
        flow.line("Drills: " + ", ".join(f"{name} ({many})" for name, many in counts.items())
                  + ". Where each hole goes: the drill-hole schedule at the end.")  # fmt: skip


def _printing(flow: Flow, tiling: Tiling, printed: Point) -> None:
    if len(tiling.tiles) > 1:
        flow.line("To join pages, cut one along its dash-dot line, and lay it on the next so that the ringed crosses meet.")
    flow.line("Print at 100 %, no fitting. Then measure the check bars on every page, both ways: 100 mm and 4 in. "
              "If they are off, print again; do not use the page.", bold=True)  # fmt: skip
    x, y = (format_mm(measured) for measured in printed)
    if printed == TRUE:
        flow.line("Off by the same on every page? Build again with what the bars of 100 mm measure, x first: --printed 98.6x99.1")
    else:
        flow.line(f"Corrected for a printer that printed the bars of 100 mm {x} mm (x) and {y} mm (y) long: "
                  "on this print they must measure 100 mm.", bold=True)  # fmt: skip
    flow.gap(3)


def _figures(flow: Flow, drawing: Drawing, tiling: Tiling) -> None:
    """Overview at the left, page plan at the right."""
    blank = drawing.blank
    room = min(_FIGURE, flow.width / 2 - 8)
    scale = min(room / blank.width, _FIGURE / blank.depth)
    width, height = blank.width * scale, blank.depth * scale
    flow.need(height + 12)
    low = flow.y - 5 - height
    right = MARGIN + flow.width / 2 + 4
    text(flow.canvas, MARGIN, flow.y - 2.9, "overview, tags as in the legend", SIZE, bold=True)
    text(flow.canvas, right, flow.y - 2.9, "how the pages lie", SIZE, bold=True)
    _overview(flow.canvas, drawing, (MARGIN, low), scale)
    _page_plan(flow.canvas, tiling, (right, low), scale)
    for x in (MARGIN, right):
        text(flow.canvas, x + width / 2, low - 3.6, "FRONT EDGE", 2.6, bold=True, align="middle")
    flow.y = low - 9


def _overview(canvas: Canvas, drawing: Drawing, at: tuple[float, float], scale: float) -> None:
    canvas.saveState()
    canvas.translate(*at)
    canvas.scale(scale, scale)
    draw_lines(canvas, drawing, drawing.sheets[0], line=0.15 / scale)
    size = 2.2 / scale
    for mark in drawing.marks:
        x, y = mark.at
        half = (max(v for _, v in mark.outline.outer) - min(v for _, v in mark.outline.outer)) / 2
        if half * scale < 3:  # a bore: its tag below it
            y -= half + size * 0.8
        wide = text_width(mark.tag, size, bold=True)
        canvas.setFillGray(1)
        canvas.rect(x - wide / 2 - size * 0.15, y - size * 0.55, wide + size * 0.3, size * 1.1, stroke=0, fill=1)
        text(canvas, x, y - size * 0.36, mark.tag, size, bold=True, align="middle")
    canvas.restoreState()


def _page_plan(canvas: Canvas, tiling: Tiling, at: tuple[float, float], scale: float) -> None:
    canvas.saveState()
    canvas.translate(*at)
    canvas.setLineWidth(0.2)
    for tile in tiling.tiles:
        x0, y0, x1, y1 = (value * scale for value in tile.window)
        polygon(canvas, ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))
        size = min(4.0, (x1 - x0) / 9)
        text(canvas, (x0 + x1) / 2, (y0 + y1) / 2, f"row {row_name(tile.row)}", size, align="middle")
        text(canvas, (x0 + x1) / 2, (y0 + y1) / 2 - 1.4 * size, f"column {tile.column + 1}", size, align="middle")
    canvas.restoreState()


def _cautions(flow: Flow, drawing: Drawing) -> None:
    if not drawing.cautions:
        return
    flow.line("Cautions", 3.6, bold=True)
    flow.gap(0.6)
    for code in drawing.cautions:
        flow.line(caution_text(code), 2.6)
        flow.gap(0.5)
    flow.gap(2.5)


def _legend(flow: Flow, drawing: Drawing) -> None:
    widths, head = column_widths(flow, _COLUMNS), [title for title, _ in _COLUMNS]
    flow.need(18)
    held = {mark.placement: held_words(drawing, mark) for mark in drawing.marks}
    flow.line("Legend", 3.6, bold=True)
    if any(" passes" in words for words in held.values()):
        text(flow.canvas, MARGIN + 20, flow.y, "Passes: each no deeper than the cutter is wide (common practice).", 2.6)
    flow.gap(1)
    flow.row(head, widths, bold=True)
    for mark in sorted(drawing.marks, key=lambda mark: (len(mark.tag), mark.tag)):
        flow.row((mark.tag, mark.label, mark.size, held[mark.placement]), widths, head)


def _said(flow: Flow, title: str, lines: tuple[str, ...]) -> None:
    if lines:
        flow.gap(3)
        flow.need(12)
        flow.line(title, 3.6, bold=True)
        for line in lines:
            flow.gap(0.8)
            flow.line(line)
