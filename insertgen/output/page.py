"""Pages of paper: sizes, margins, check bars, text. Everything in mm, origin front left of the page."""

from __future__ import annotations

import io
from collections.abc import Iterable

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from insertgen.errors import UnitError
from insertgen.model import Point
from insertgen.output.typeface import BOLD, PLAIN, legible, text_width

__all__ = [
    "BARS", "BOTTOM", "HAIRLINE", "MARGIN", "PAPERS", "check_bars", "finish", "new_canvas", "paper_size", "polygon",
    "start_page", "text",
]  # fmt: skip

#: Width and height, upright. Sources: ISO 216 (A4); letter is 8-1/2 x 11 in.
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}

#: Home printers leave more white at the bottom than elsewhere. Common practice, no source.
BOTTOM, MARGIN = 18.0, 12.0

HAIRLINE = 0.2

#: Room that the check bars take along the bottom and the left of the printable area.
BARS = 4.4

_BAR = 1.1  # thick enough to see both ends of against a rule
_BAR_STEP = 2.0


def paper_size(paper: str) -> tuple[float, float]:
    """
    Raises
    ------
    UnitError
        A paper that is not in the table.
    """
    if paper not in PAPERS:
        raise UnitError(f'paper "{paper}" is not known here; take one of {", ".join(PAPERS)}')
    return PAPERS[paper]


def new_canvas(title: str) -> tuple[Canvas, io.BytesIO]:
    """A PDF without dates, that asks the viewer not to scale it."""
    buffer = io.BytesIO()
    text_width("", 1.0), text_width("", 1.0, bold=True)  # both fonts known
    canvas = Canvas(buffer, invariant=1, pageCompression=1, pdfVersion=(1, 6))  # 1.6 knows PrintScaling
    canvas.setTitle(legible(title))
    canvas.setAuthor("insertgen")
    canvas.setCreator("insertgen")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas, buffer


def start_page(canvas: Canvas, size: tuple[float, float]) -> None:
    """From here to ``showPage`` everything, font sizes too, is in mm."""
    canvas.setPageSize((size[0] * mm, size[1] * mm))
    canvas.scale(mm, mm)
    canvas.setLineWidth(HAIRLINE)
    canvas.setLineJoin(1)


def finish(canvas: Canvas, buffer: io.BytesIO) -> bytes:
    canvas.save()
    return buffer.getvalue()


def text(canvas: Canvas, x: float, y: float, words: str, size: float, *, bold: bool = False, align: str = "left",
         turned: bool = False, grey: float = 0.0) -> None:  # fmt: skip
    """One line from (x, y) on its base line; ``turned``: reading upwards."""
    words = legible(words)
    width = text_width(words, size, bold=bold)
    back = {"left": 0.0, "middle": width / 2, "right": width}[align]
    canvas.saveState()
    canvas.setFillGray(grey)
    canvas.setFont(BOLD if bold else PLAIN, size)
    canvas.translate(x, y)
    if turned:
        canvas.rotate(90)
    canvas.drawString(-back, 0, words)
    canvas.restoreState()


def polygon(canvas: Canvas, points: Iterable[Point], *, stroke: bool = True, fill: bool = False) -> None:
    path = canvas.beginPath()
    ring = list(points)
    path.moveTo(*ring[0])
    for point in ring[1:]:
        path.lineTo(*point)
    path.close()
    canvas.drawPath(path, stroke=int(stroke), fill=int(fill))


def check_bars(canvas: Canvas) -> None:
    """Bars of 100 mm and 4 in along the bottom and the left edge, to be measured after printing."""
    canvas.saveState()
    canvas.setFillGray(0)
    longest = 101.6
    for step, length in enumerate((longest, 100.0)):
        off = 0.2 + step * _BAR_STEP
        canvas.rect(MARGIN, BOTTOM + off, length, _BAR, stroke=0, fill=1)
        canvas.rect(MARGIN + off, BOTTOM + BARS, _BAR, length, stroke=0, fill=1)
    text(canvas, MARGIN + longest + 2, BOTTOM + 0.9, "measure: upper bar 100 mm, lower bar 4 in", 2.4)
    text(canvas, MARGIN + 2.5, BOTTOM + BARS + longest + 2, "measure: right bar 100 mm, left bar 4 in", 2.4, turned=True)
    canvas.restoreState()
