"""Reference squares to print, cut out and lay beside an item before it is photographed."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.pdfgen.canvas import Canvas

from insertgen.errors import UnitError
from insertgen.model.figures import Point
from insertgen.output.codes import CELLS, PATTERNS, code_cells
from insertgen.output.page import (
    BARS,
    BOTTOM,
    MARGIN,
    check_bars,
    finish,
    new_canvas,
    start_page,
    text,
)
from insertgen.output.papers import paper_size
from insertgen.units import format_mm

__all__ = ["SIDES", "squares_pdf"]

#: Sides on offer, mm.
SIDES = (30.0, 40.0, 50.0, 80.0, 100.0)

#: White all round a square; 10 mm is asked, the rest is for a printer that shrinks and a knife that wanders.
BORDER = 10.2

#: Below the white of a coded square, for its number.
_NAME = 2.4

_HEADER = 11.0


@dataclass(frozen=True, slots=True)
class _Card:
    """One square; ``corner`` is its front left corner on the page."""

    number: int
    corner: Point


def squares_pdf(*, paper: str, side: float, coded: bool) -> bytes:
    """One page with as many squares of ``side`` as fit, solid or with a printed code.

    Raises
    ------
    UnitError
        A side or paper that is not on offer.
    """
    width, height = paper_size(paper)
    if side not in SIDES:
        offered = ", ".join(format_mm(one) for one in SIDES)
        raise UnitError(f"side {format_mm(side)} mm: squares are printed with a side of {offered} mm; take one of these")
    canvas, buffer = new_canvas(f"reference squares, {format_mm(side)} mm")
    start_page(canvas, (width, height))
    check_bars(canvas, (width, height))
    _header(canvas, width, height, side)
    for card in _cards((width, height), side, coded):
        _draw(canvas, card, side, coded)
    canvas.showPage()
    return finish(canvas, buffer)


def _header(canvas: Canvas, width: float, height: float, side: float) -> None:
    top = height - MARGIN
    text(canvas, MARGIN, top - 3.2, f"reference squares, {format_mm(side)} mm", 3.8, bold=True)
    text(canvas, width - MARGIN, top - 3.2, "print at 100 %, no fitting", 3.2, bold=True, align="right")
    text(canvas, MARGIN, top - 6.8, "Print at 100 %; measure a square after printing and type the side you measured: "
         f"--square {format_mm(side - 0.5)}mm", 2.6)  # fmt: skip
    text(canvas, MARGIN, top - 10.0, "Cut along the thin lines, keep the white border, and glue to flat card.", 2.6)


def _cards(page: tuple[float, float], side: float, coded: bool) -> list[_Card]:
    left, low = MARGIN + BARS, BOTTOM + BARS
    room = page[0] - MARGIN - left, page[1] - MARGIN - _HEADER - low
    name = _NAME if coded else 0.0
    across, up = side + 2 * BORDER, side + 2 * BORDER + name
    columns, rows = int((room[0] + 1e-9) // across), int((room[1] + 1e-9) // up)
    # from the top left, as a page is read
    return [
        _Card(row * columns + column,
              (left + column * across + BORDER, low + (rows - 1 - row) * up + BORDER + name))
        for row in range(rows)
        for column in range(columns)
    ]  # fmt: skip


def _draw(canvas: Canvas, card: _Card, side: float, coded: bool) -> None:
    x, y = card.corner
    under = _NAME if coded else 0.0
    canvas.setStrokeGray(0.6)
    canvas.setLineWidth(0.1)
    canvas.rect(x - BORDER, y - BORDER - under, side + 2 * BORDER, side + 2 * BORDER + under)
    canvas.setFillGray(0)
    canvas.rect(x, y, side, side, stroke=0, fill=1)
    if coded:
        _code(canvas, card, side)
        name = f"code {card.number % len(PATTERNS)}"
        text(canvas, x + side / 2, y - BORDER - under + 0.6, name, 2.2, align="middle", grey=0.35)


def _code(canvas: Canvas, card: _Card, side: float) -> None:
    cell = side / CELLS
    x, y = card.corner
    rows = code_cells(card.number % len(PATTERNS))
    canvas.setFillGray(1)
    # runs along rows and again along columns: cells drawn one by one would show seams between them
    for row, cells in enumerate(rows):
        for first, last in _runs(cells):
            canvas.rect(x + first * cell, y + side - (row + 1) * cell, (last - first) * cell, cell, stroke=0, fill=1)
    for column, cells in enumerate(zip(*rows, strict=True)):
        for first, last in _runs(cells):
            canvas.rect(x + column * cell, y + side - last * cell, cell, (last - first) * cell, stroke=0, fill=1)


def _runs(cells: tuple[bool, ...]) -> list[tuple[int, int]]:
    """Where white runs begin and end.

    >>> _runs((False, True, True, False, True))
    [(1, 3), (4, 5)]
    """
    starts = [k for k, white in enumerate(cells) if white and (k == 0 or not cells[k - 1])]
    ends = [k + 1 for k, white in enumerate(cells) if white and (k + 1 == len(cells) or not cells[k + 1])]
    return list(zip(starts, ends, strict=True))
