"""Pages of paper: sizes, margins, check bars, text. Everything in mm, origin front left of the page."""

from __future__ import annotations

import io
from collections.abc import Iterable

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from insertgen.model.figures import Point
from insertgen.output.typeface import BOLD, PLAIN, legible, text_width

__all__ = [
    "BARS", "BOTTOM", "HAIRLINE", "MARGIN", "check_bars", "finish", "new_canvas", "polygon", "start_page", "text",
]  # fmt: skip

#: Home printers leave more white at the bottom than elsewhere. Common practice, no source.
BOTTOM, MARGIN = 18.0, 12.0

HAIRLINE = 0.2

#: Room that the check bars take along the bottom and the left of the printable area.
BARS = 4.4

_BAR = 1.1  # thick enough to see both ends of against a rule
_BAR_STEP = 2.0
_BAR_TEXT = 2.4
_HEAD = 12.0  # what a page says at its top stays free


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


def start_page(canvas: Canvas, size: tuple[float, float], scale: Point = (1.0, 1.0)) -> None:
    """From here to ``showPage`` everything, font sizes too, is in mm as printed.

    Parameters
    ----------
    size : (float, float)
        Of the page in mm as printed.
    scale : (float, float)
        How much larger than that it is drawn along the bottom and the left edge, for a printer that shrinks.
    """
    across, up = mm * scale[0], mm * scale[1]
    canvas.setPageSize((size[0] * across, size[1] * up))
    canvas.scale(across, up)
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


def check_bars(canvas: Canvas, page: tuple[float, float], axes: tuple[str, str] = ("", "")) -> None:
    """Bars of 100 mm and 4 in along the bottom and the left edge, to be measured after printing.

    Parameters
    ----------
    page : (float, float)
        Its size.
    axes : (str, str)
        What the bars along the bottom and along the left are called.
    """
    canvas.saveState()
    canvas.setFillGray(0)
    longest = 101.6
    for step, length in enumerate((longest, 100.0)):
        off = 0.2 + step * _BAR_STEP
        canvas.rect(MARGIN, BOTTOM + off, length, _BAR, stroke=0, fill=1)
        canvas.rect(MARGIN + off, BOTTOM + BARS, _BAR, length, stroke=0, fill=1)
    right = MARGIN + longest + 2
    text(canvas, right, BOTTOM + 0.9, _bar_words(axes[0], "upper", "lower", page[0] - MARGIN - right), _BAR_TEXT)
    top = BOTTOM + BARS + longest + 2
    words = _bar_words(axes[1], "right", "left", page[1] - MARGIN - _HEAD - top)
    text(canvas, MARGIN + 2.5, top, words, _BAR_TEXT, turned=True)
    canvas.restoreState()


def _bar_words(axis: str, of_mm: str, of_inch: str, room: float) -> str:
    """The longest that has room."""
    name = f" {axis}" if axis else ""
    texts = (f"measure{name}: {of_mm} bar 100 mm, {of_inch} bar 4 in", f"{axis or 'bars'}: 100 mm, 4 in", axis)
    return next((words for words in texts if text_width(words, _BAR_TEXT) <= room), "")
