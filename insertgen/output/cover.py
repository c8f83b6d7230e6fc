"""Page 1 of the paper template: what it is, cautions, legend, how the pages tile."""

from __future__ import annotations

from collections import Counter

from reportlab.pdfgen.canvas import Canvas

from insertgen.model import Drawing
from insertgen.output.cautions import caution_text
from insertgen.output.held import held_words
from insertgen.output.page import BOTTOM, MARGIN, paper_size, polygon, start_page, text
from insertgen.output.routing import template_words
from insertgen.output.sheet_lines import draw_lines
from insertgen.output.stored import lies_on_face
from insertgen.output.tiling import Tiling, row_name
from insertgen.output.typeface import legible, text_width, wrapped
from insertgen.output.wood import corners_gone
from insertgen.output.words import counted, drill_words, fence_words, sheet_words, size_words, stack_words

__all__ = ["cover_pages"]

_SIZE = 2.9  # of the running text, mm
_LEAD = 3.9
_COLUMNS = (("tag", 12.0), ("what", 52.0), ("size", 48.0), ("how it is held", 72.0))
_FIGURE = 86.0  # most width and height of a figure


class _Flow:
    """The place on the page where the next line goes; turns the page when it is full."""

    def __init__(self, canvas: Canvas, paper: str) -> None:
        self.canvas = canvas
        self.page = paper_size(paper)
        self.width = self.page[0] - 2 * MARGIN
        self.turn()

    def turn(self) -> None:
        start_page(self.canvas, self.page)
        self.y = self.page[1] - MARGIN

    def need(self, height: float) -> bool:
        """Whether a new page had to be begun to have this much left."""
        if self.y - height >= BOTTOM:
            return False
        self.canvas.showPage()
        self.turn()
        return True

    def line(self, words: str, size: float = _SIZE, *, bold: bool = False, lead: float = 1.35) -> None:
        for part in wrapped(legible(words), self.width, size, bold=bold):
            self.need(size * lead)
            self.y -= size * lead
            text(self.canvas, MARGIN, self.y, part, size, bold=bold)

    def gap(self, height: float) -> None:
        self.y -= height


def cover_pages(canvas: Canvas, drawing: Drawing, tiling: Tiling, *, paper: str) -> None:
    """Draw the cover and as many further pages as the legend needs; each is ended."""
    flow = _Flow(canvas, paper)
    _title(flow, drawing, tiling)
    _figures(flow, drawing, tiling)
    _cautions(flow, drawing)
    _legend(flow, drawing)
    _said(flow, "Slots, routed against a fence", tuple(fence_words(fence) for fence in drawing.fences))
    _said(flow, "Router templates, cut from their own files and not on these pages", template_words(drawing))
    canvas.showPage()


def _title(flow: _Flow, drawing: Drawing, tiling: Tiling) -> None:
    flow.line(drawing.tray.name, 6.5, bold=True)
    flow.gap(1.5)
    flow.line(f"blank {size_words(drawing.blank.width, drawing.blank.depth)}, width x front to back", bold=True)
    flow.line(stack_words(drawing))
    machine = drawing.tray.cutting.machine
    pages = counted(len(tiling.tiles), "page")
    for sheet in drawing.sheets:
        flow.line(f"full-size template for {sheet_words(drawing, sheet)}: {pages}")
    if drawing.base:
        flow.line(f"and for the {sheet_words(drawing, drawing.base)}: {pages}. "
                  "Lay them on the base where the insert will lie, front edge to the front.")  # fmt: skip
    flow.line("Front edge: the bottom of every template page, as the tray is seen from above. Reference corner: front left.")
    flow.line("Grey: wood that is cut away. Dashed: the item itself, or the room its head takes above the face.")
    if any(lies_on_face(drawing, mark) for mark in drawing.marks):
        flow.line("Whole grey line: an item that lies or stands on the face; no other seat is cut under it.")
    if any(corners_gone(sheet, drawing.blank) for sheet in drawing.sheets):
        how = "" if machine == "laser" else ": stick the pages on the whole blank, bore and rout first, saw last"
        flow.line(f"Corners or edges are cut away{how}. The reference corner is the whole blank's.", bold=True)
    if len(tiling.tiles) > 1:
        flow.line("To join pages, cut one along its dash-dot line, and lay it on the next so that the ringed crosses meet.")
    flow.line("Print at 100 %, no fitting. Then measure the check bars on every page, both ways: 100 mm and 4 in. "
              "If they are off, print again; do not use the page.", bold=True)  # fmt: skip
    holes = [hole for hole in drawing.holes if hole.bore.drill or machine != "laser"]
    if holes:
        holes.sort(key=lambda hole: hole.bore.diameter)
        counts = Counter(drill_words(hole.bore, machine) for hole in holes)
        flow.line("Drills: " + ", ".join(f"{name} ({many})" for name, many in counts.items()))
    flow.gap(3)


def _figures(flow: _Flow, drawing: Drawing, tiling: Tiling) -> None:
    """Overview at the left, page plan at the right."""
    blank = drawing.blank
    scale = min(_FIGURE / blank.width, _FIGURE / blank.depth)
    width, height = blank.width * scale, blank.depth * scale
    flow.need(height + 12)
    low = flow.y - 5 - height
    right = MARGIN + flow.width / 2 + 4
    text(flow.canvas, MARGIN, flow.y - 2.9, "overview, tags as in the legend", _SIZE, bold=True)
    text(flow.canvas, right, flow.y - 2.9, "how the pages lie", _SIZE, bold=True)
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


def _cautions(flow: _Flow, drawing: Drawing) -> None:
    if not drawing.cautions:
        return
    flow.line("Cautions", 3.6, bold=True)
    flow.gap(0.6)
    for code in drawing.cautions:
        flow.line(caution_text(code), 2.6)
        flow.gap(0.5)
    flow.gap(2.5)


def _legend(flow: _Flow, drawing: Drawing) -> None:
    scale = flow.width / sum(width for _, width in _COLUMNS)
    widths = [width * scale for _, width in _COLUMNS]
    flow.need(18)
    held = {mark.placement: held_words(drawing, mark) for mark in drawing.marks}
    flow.line("Legend", 3.6, bold=True)
    if any(" passes" in words for words in held.values()):
        text(flow.canvas, MARGIN + 20, flow.y, "Passes: each no deeper than the cutter is wide (common practice).", 2.6)
    flow.gap(1)
    _row(flow, [[title] for title, _ in _COLUMNS], widths, bold=True)
    for mark in sorted(drawing.marks, key=lambda mark: (len(mark.tag), mark.tag)):
        said = (mark.tag, mark.label, mark.size, held[mark.placement])
        cells = [wrapped(legible(cell), width - 2, _SIZE) for cell, width in zip(said, widths, strict=True)]
        if flow.need(max(map(len, cells)) * _LEAD + 1):
            _row(flow, [[title] for title, _ in _COLUMNS], widths, bold=True)
        _row(flow, cells, widths)


def _said(flow: _Flow, title: str, lines: tuple[str, ...]) -> None:
    if lines:
        flow.gap(3)
        flow.need(12)
        flow.line(title, 3.6, bold=True)
        for line in lines:
            flow.gap(0.8)
            flow.line(line)


def _row(flow: _Flow, cells: list[list[str]], widths: list[float], *, bold: bool = False) -> None:
    top = flow.y
    height = max(map(len, cells)) * _LEAD
    x = MARGIN
    for cell, width in zip(cells, widths, strict=True):
        for k, words in enumerate(cell):
            text(flow.canvas, x, top - (k + 1) * _LEAD + 0.9, words, _SIZE, bold=bold)
        x += width
    flow.y = top - height - 0.6
    flow.canvas.setLineWidth(0.1)
    flow.canvas.line(MARGIN, flow.y, MARGIN + flow.width, flow.y)
