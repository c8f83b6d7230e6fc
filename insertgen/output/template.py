"""Full-size template pages."""

from __future__ import annotations

import math

from reportlab.pdfgen.canvas import Canvas

from insertgen.model.drawing import Drawing, SheetDrawing
from insertgen.model.figures import Point
from insertgen.model.job import KeepOut
from insertgen.output.labels import Block, Line, Placed, label_sheet
from insertgen.output.page import BARS, BOTTOM, MARGIN, check_bars, polygon, start_page, text
from insertgen.output.sheet_lines import draw_bores, draw_lines, take_lines
from insertgen.output.spots import Ground, Mask
from insertgen.output.stored import is_base
from insertgen.output.tiling import Tile, Tiling, registration_marks, row_name
from insertgen.output.typeface import legible, shortened, text_width
from insertgen.output.words import sheet_words
from insertgen.units import format_mm

__all__ = ["template_page"]

_CORNER = "REFERENCE CORNER"
_BELOW = 3.9  # mm of paper before the front edge that its name needs
_FRONT_STRIP = 8.0  # the least wood before the first cut, as a rule


def template_page(canvas: Canvas, drawing: Drawing, sheet: SheetDrawing, tiling: Tiling, tile: Tile) -> None:
    """Draw one page and end it."""
    start_page(canvas, tiling.page, tiling.scale)
    _header(canvas, drawing, sheet, tiling, tile)
    check_bars(canvas, tiling.page, tiling.axes)
    x0, y0, x1, y1 = tile.window
    canvas.saveState()
    path = canvas.beginPath()
    # half a hairline more, or the edge of the blank would be cut to half its width
    path.rect(tiling.origin[0] - 0.15, tiling.origin[1] - 0.15, x1 - x0 + 0.3, y1 - y0 + 0.3)
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.translate(tiling.origin[0] - x0, tiling.origin[1] - y0)
    draw_lines(canvas, drawing, sheet, window=tile.window)
    ground = Ground(tile.window)
    take_lines(drawing, sheet, ground)
    _seams(canvas, tiling, tile, ground)
    below = tiling.origin[1] >= BOTTOM + BARS + _BELOW
    _reference_corner(canvas, tile, ground, named=not below)
    draw_bores(canvas, drawing, sheet)
    for placed in label_sheet(drawing, sheet, ground):
        _write(canvas, placed)
    for keep in drawing.keep_out:
        _name_keep_out(canvas, keep, ground)
    if not below:
        _front_edge_inside(canvas, _front_words(drawing, sheet), tile, ground)
    canvas.restoreState()
    if below:
        _front_edge_below(canvas, _front_words(drawing, sheet), tiling, tile)
    canvas.showPage()


def _header(canvas: Canvas, drawing: Drawing, sheet: SheetDrawing, tiling: Tiling, tile: Tile) -> None:
    width, height = tiling.page
    top, right = height - MARGIN, width - MARGIN
    name = f"row {row_name(tile.row)}, column {tile.column + 1}"
    text(canvas, right, top - 4.2, name, 4.2, bold=True, align="right")
    free = right - MARGIN - text_width(name, 4.2, bold=True) - 6
    title = f"{drawing.tray.name}: {sheet_words(drawing, sheet)}"
    text(canvas, MARGIN, top - 3.6, shortened(legible(title), free, 3.2, bold=True), 3.2, bold=True)
    x0, y0, x1, y1 = (format_mm(value, 1) for value in tile.window)
    front = "at the bottom of this page" if tile.row == 0 else "this way, below row A"
    second = f"THIS SIDE UP, seen from above.  FRONT EDGE {front}"
    text(canvas, MARGIN, top - 7.6, second, 2.6, bold=True)
    tip = MARGIN + text_width(second, 2.6, bold=True) + 3
    canvas.setFillGray(0)
    polygon(canvas, ((tip, top - 5.6), (tip + 2.6, top - 5.6), (tip + 1.3, top - 7.9)), fill=True)
    third = f"x {x0} to {x1}, y {y0} to {y1} mm from the reference corner, front left."
    corrected = "" if tiling.scale == (1.0, 1.0) else "  Corrected for your printer."
    for words in (f"{third}  Print at 100 %, no fitting.{corrected}", f"{third}{corrected}", third):
        if text_width(words, 2.4) <= right - MARGIN:
            text(canvas, MARGIN, top - 10.8, words, 2.4)
            return


def _seams(canvas: Canvas, tiling: Tiling, tile: Tile, ground: Ground) -> None:
    x0, y0, x1, y1 = tile.window
    side, front = tiling.overlap[0] / 2, tiling.overlap[1] / 2
    canvas.saveState()
    canvas.setLineWidth(0.15)
    canvas.setStrokeGray(0.45)
    canvas.setDash([4, 2, 0.6, 2])
    seams = [
        (tile.column > 0, ((x0 + side, y0), (x0 + side, y1))),
        (tile.column + 1 < tiling.columns, ((x1 - side, y0), (x1 - side, y1))),
        (tile.row > 0, ((x0, y0 + front), (x1, y0 + front))),
        (tile.row + 1 < tiling.rows, ((x0, y1 - front), (x1, y1 - front))),
    ]
    for shared, (start, end) in seams:
        if shared:
            canvas.line(*start, *end)
            ground.take_line((start, end), closed=False)
    canvas.restoreState()
    for x, y in registration_marks(tiling, tile):
        canvas.circle(x, y, 2.0)
        canvas.line(x - 4, y, x + 4, y)
        canvas.line(x, y - 4, x, y + 4)
        ground.take_box(x - 4, y - 4, x + 4, y + 4)


def _reference_corner(canvas: Canvas, tile: Tile, ground: Ground, *, named: bool) -> None:
    if tile.row == 0 and tile.column == 0:
        canvas.setFillGray(0)
        polygon(canvas, ((0, 0), (6, 0), (0, 6)), fill=True)
        ground.take_box(0, 0, 6.5, 6.5)
        if named:
            block = Block((Line(_CORNER, 2.2, True),))
            _write(canvas, Placed(block, (7.5 + block.width / 2, 2.0)))
            ground.take_box(6.5, 0, 8.5 + block.width, 4)


def _front_edge_below(canvas: Canvas, texts: tuple[str, ...], tiling: Tiling, tile: Tile) -> None:
    """Before the front edge, where there is paper between it and the check bars."""
    if tile.row:
        return
    x0, _, x1, _ = tile.window
    left, base = tiling.origin[0], tiling.origin[1] - 3.2
    if tile.column == 0:
        text(canvas, left, base, _CORNER, 2.2, bold=True)
        x0 = min(x0 + text_width(_CORNER, 2.2, bold=True) + 2, x1)
    # the longest that stands clear of the corner's name
    for words in texts:
        wide = text_width(words, 2.6, bold=True)
        if wide <= x1 - x0 or words == texts[-1]:
            middle = max((tile.window[0] + x1) / 2, x0 + wide / 2)
            text(canvas, left + middle - tile.window[0], base, words, 2.6, bold=True, align="middle")
            return


def _front_words(drawing: Drawing, sheet: SheetDrawing) -> tuple[str, ...]:
    """From the fullest to the shortest."""
    if is_base(drawing, sheet):
        return "FRONT EDGE of the insert above this base", "FRONT EDGE of the insert"
    return (*(("FRONT EDGE, blank sawn to this line",) if drawing.tray.edge_sawn else ()), "FRONT EDGE")


def _front_edge_inside(canvas: Canvas, texts: tuple[str, ...], tile: Tile, ground: Ground) -> None:
    """Along the front edge, where the cuts and their texts have left room; the header says it in any case."""
    if tile.row:
        return
    x0, y0, x1, _ = tile.window
    strip = ground.inside(((x0, y0), (x1, y0), (x1, y0 + _FRONT_STRIP), (x0, y0 + _FRONT_STRIP)))
    _in_strip(canvas, texts, 2.6, ((x0 + x1) / 2, y0), strip, ground)


def _in_strip(
    canvas: Canvas, texts: tuple[str, ...], size: float, near: Point, strip: Mask, ground: Ground
) -> None:
    for words in texts:
        block = Block((Line(words, size, True),))
        width, height = block.width + 1.5, block.height + 1.0
        if found := ground.spot(width, height, near, within=strip, over_faint=True):
            ground.take_box(found[0] - width / 2, found[1] - height / 2, found[0] + width / 2, found[1] + height / 2)
            _write(canvas, Placed(block, found))
            return


def _name_keep_out(canvas: Canvas, keep: KeepOut, ground: Ground) -> None:
    (x, y), (width, depth) = keep.at, keep.size
    x0, y0, x1, y1 = ground.window
    left, right, low, high = max(x, x0), min(x + width, x1), max(y, y0), min(y + depth, y1)
    if left >= right or low >= high:
        return
    block = Block((Line("KEEP OUT", 2.4, True), Line(shortened(legible(keep.why), 60.0, 2.4), 2.4)))
    middle = (left + right) / 2, (low + high) / 2
    if block.width + 2 <= right - left and block.height + 2 <= high - low:
        canvas.saveState()
        canvas.setFillGray(1)
        canvas.rect(middle[0] - block.width / 2 - 0.6, middle[1] - block.height / 2 - 0.6, block.width + 1.2,
                    block.height + 1.2, stroke=0, fill=1)  # fmt: skip
        canvas.restoreState()
        _write(canvas, Placed(block, middle))
    elif found := ground.spot(block.width + 1.4, block.height + 1.4, middle):
        ground.take_box(found[0] - block.width / 2, found[1] - block.height / 2, found[0] + block.width / 2,
                        found[1] + block.height / 2)  # fmt: skip
        beside = abs(found[0] - middle[0]) < (right - left) / 2 + block.width / 2 + 4 and (
            abs(found[1] - middle[1]) < (high - low) / 2 + block.height / 2 + 4
        )
        _write(canvas, Placed(block, found, leader=None if beside else middle))


def _write(canvas: Canvas, placed: Placed) -> None:
    canvas.saveState()
    if placed.leader:
        _leader(canvas, placed)
    canvas.translate(*placed.middle)
    if placed.outside:  # over the faint outline of a head
        canvas.setFillGray(1)
        width, height = placed.block.width + 0.6, placed.block.height + 0.6
        canvas.rect(-width / 2, -height / 2, width, height, stroke=0, fill=1)
    if placed.turned:
        canvas.rotate(90)
    base = placed.block.height / 2
    for k, line in enumerate(placed.block.lines):
        base -= line.size * (0.8 if k == 0 else 1.3)
        text(canvas, 0, base, line.words, line.size, bold=line.bold, align="middle")
    canvas.restoreState()


def _leader(canvas: Canvas, placed: Placed) -> None:
    """From the edge of the text to what it names."""
    assert placed.leader is not None
    (x, y), (tx, ty) = placed.middle, placed.leader
    half_width, half_height = placed.block.width / 2 + 0.5, placed.block.height / 2 + 0.5
    dx, dy = tx - x, ty - y
    share = min(half_width / abs(dx) if dx else math.inf, half_height / abs(dy) if dy else math.inf)
    if share < 1:
        canvas.setLineWidth(0.15)
        canvas.setStrokeGray(0.3)
        canvas.line(x + dx * share, y + dy * share, tx, ty)
        canvas.setFillGray(0.3)
        canvas.circle(tx, ty, 0.4, stroke=0, fill=1)
