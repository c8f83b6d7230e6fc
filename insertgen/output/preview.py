"""One picture of a tray: the blank from above, what is cut and who sits where."""

from __future__ import annotations

import io
import math

from PIL import Image, ImageDraw

from insertgen.model.drawing import Drawing
from insertgen.model.figures import Point
from insertgen.output.dowels import registration
from insertgen.output.picture import INK, OVER, PAPER, View, font
from insertgen.output.picture_cuts import draw_cuts, draw_keep_out, draw_things, draw_wood
from insertgen.output.picture_labels import labels_of, write_label
from insertgen.output.typeface import legible, wrapped
from insertgen.output.words import size_words

__all__ = ["preview_png"]

_WIDE, _HIGH = 1600, 1500  # px of the finished picture that the blank may take with what is beside it
_EDGE = 40  # px of white all round
_TOP, _FOOT = 64, 96
_LEGEND, _ROW = 470, 24


def preview_png(drawing: Drawing) -> bytes:
    """PNG without metadata, about 1600 px wide; as high as the blank or the legend asks."""
    labels, short = labels_of(drawing, _scale(drawing, 0))
    rows = _legend_rows(drawing) if short else []
    # a legend that is higher than the blank goes below it
    beside = _LEGEND if rows and len(rows) * _ROW <= drawing.blank.depth * _scale(drawing, _LEGEND) + _FOOT else 0
    if beside:
        labels, _ = labels_of(drawing, _scale(drawing, _LEGEND))
    scale = _scale(drawing, beside)
    wide, high = drawing.blank.width * scale, drawing.blank.depth * scale
    width = max(math.ceil(2 * _EDGE + wide + beside), 720)
    columns = 1 if beside else max(1, (width - 2 * _EDGE) // _LEGEND)
    below = 0 if beside else _ROW * math.ceil(len(rows) / columns)
    height = math.ceil(_TOP + _FOOT + high + below)
    large = Image.new("RGB", (width * OVER, height * OVER), PAPER)
    view = View(_EDGE * OVER, _TOP * OVER, scale * OVER, drawing.blank.depth)
    draw = ImageDraw.Draw(large)
    draw_wood(draw, drawing, view)
    draw_cuts(draw, drawing, view)
    draw_things(draw, drawing, view)
    for keep in drawing.keep_out:
        draw_keep_out(large, keep, view)
    for label in labels:
        write_label(large, label, view)
    _frame(draw, drawing, view, high)
    _legend(draw, rows, columns, (_EDGE + wide + 30, _TOP + 4) if beside else (_EDGE, _TOP + high + _FOOT))
    picture = large.resize((width, height), Image.Resampling.LANCZOS)
    buffer = io.BytesIO()
    picture.save(buffer, "PNG", optimize=False, compress_level=9)
    return buffer.getvalue()


def _scale(drawing: Drawing, beside: float) -> float:
    blank = drawing.blank
    return float(min((_WIDE - 2 * _EDGE - beside) / blank.width, _HIGH / blank.depth))


def _frame(draw: ImageDraw.ImageDraw, drawing: Drawing, view: View, high: float) -> None:
    """Title above; front edge and scale bars below."""
    blank = drawing.blank
    title = f"{legible(drawing.tray.name)}: blank {size_words(blank.width, blank.depth)}, seen from above"
    draw.text((view.left, 20 * OVER), title, font=font(True, 21 * OVER), fill=INK)
    low = view.top + high * OVER
    middle = view.left + blank.width * view.scale / 2
    draw.text((middle, low + 8 * OVER), "front", font=font(True, 20 * OVER), fill=INK, anchor="ma")
    for k, (length, words) in enumerate(((50.0, "50 mm"), (50.8, "2 in"))):
        y = low + (42 + 22 * k) * OVER
        draw.rectangle((view.left, y, view.left + length * view.scale, y + 5 * OVER), fill=INK)
        draw.text((view.left + 51 * view.scale + 8 * OVER, y + 2 * OVER), words, font=font(False, 15 * OVER),
                  fill=INK, anchor="lm")  # fmt: skip


def _legend_rows(drawing: Drawing) -> list[tuple[str, str]]:
    """Tag and one line of text a row; what is too long goes on in a further row."""
    rows: list[tuple[str, str]] = []
    for mark in sorted(drawing.marks, key=lambda mark: (len(mark.tag), mark.tag)):
        lines = wrapped(legible(f"{mark.label}, {mark.size}"), _LEGEND - 90, 15)
        rows += [(mark.tag if k == 0 else "", line) for k, line in enumerate(lines)]
    rows += [(one.tag, f"registration dowel, {one.name}") for one in registration(drawing)]
    return rows


def _legend(draw: ImageDraw.ImageDraw, rows: list[tuple[str, str]], columns: int, corner: Point) -> None:
    each = math.ceil(len(rows) / columns)
    for k, (tag, words) in enumerate(rows):
        column, row = divmod(k, each)
        left, y = (corner[0] + column * _LEGEND) * OVER, (corner[1] + row * _ROW) * OVER
        draw.text((left, y), tag, font=font(True, 15 * OVER), fill=INK)
        draw.text((left + 46 * OVER, y), words, font=font(False, 15 * OVER), fill=INK)
