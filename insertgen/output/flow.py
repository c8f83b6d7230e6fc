"""Pages of running text and tables, filled from the top."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.pdfgen.canvas import Canvas

from insertgen.output.page import BOTTOM, MARGIN, start_page, text
from insertgen.output.papers import ONE, paper_size
from insertgen.output.typeface import legible, wrapped

__all__ = ["SIZE", "Flow", "column_widths"]

SIZE = 2.9  # of the running text, mm
_LEAD = 3.9


class Flow:
    """The place on the page where the next line goes; turns the page when it is full.

    What belongs to one large page is read on A4.
    """

    def __init__(self, canvas: Canvas, paper: str) -> None:
        self.canvas = canvas
        self.page = paper_size("a4" if paper == ONE else paper)
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

    def line(self, words: str, size: float = SIZE, *, bold: bool = False, lead: float = 1.35) -> None:
        for part in wrapped(legible(words), self.width, size, bold=bold):
            self.need(size * lead)
            self.y -= size * lead
            text(self.canvas, MARGIN, self.y, part, size, bold=bold)

    def gap(self, height: float) -> None:
        self.y -= height

    def row(self, cells: Sequence[str], widths: Sequence[float], head: Sequence[str] = (), *, bold: bool = False) -> None:
        """One row of a table, its cells wrapped; ``head`` is said again where a page is turned."""
        lines = [wrapped(legible(cell), width - 2, SIZE, bold=bold) for cell, width in zip(cells, widths, strict=True)]
        height = max(map(len, lines)) * _LEAD
        if self.need(height + 1) and head:
            self.row(head, widths, bold=True)
        x = MARGIN
        for cell, width in zip(lines, widths, strict=True):
            for k, words in enumerate(cell):
                text(self.canvas, x, self.y - (k + 1) * _LEAD + 0.9, words, SIZE, bold=bold)
            x += width
        self.y -= height + 0.6
        self.canvas.setLineWidth(0.1)
        self.canvas.line(MARGIN, self.y, MARGIN + self.width, self.y)


def column_widths(flow: Flow, columns: Sequence[tuple[str, float]]) -> list[float]:
    """Widths of a table's columns, in proportion, over the whole page.

    >>> from insertgen.output.page import new_canvas
    >>> column_widths(Flow(new_canvas("")[0], "a4"), (("tag", 1.0), ("what", 2.0)))
    [62.0, 124.0]
    """
    scale = flow.width / sum(width for _, width in columns)
    return [width * scale for _, width in columns]
