"""One picture of a tray: the blank from above, what is cut and who sits where."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from functools import cache

from PIL import Image, ImageDraw, ImageFont

from insertgen.model import Drawing, Entity, KeepOut, Layer, Mark, Operation, Point, Ring
from insertgen.output.spots import Ground, Mask, ring_of
from insertgen.output.typeface import BOLD, PLAIN, font_path, legible, shortened, wrapped
from insertgen.output.words import size_words

__all__ = ["DEEP", "PAPER", "SHALLOW", "THROUGH", "WOOD", "preview_png"]

Colour = tuple[int, int, int]

PAPER: Colour = (252, 251, 248)
WOOD: Colour = (224, 203, 167)
SHALLOW: Colour = (201, 174, 131)
DEEP: Colour = (150, 119, 79)
THROUGH: Colour = (74, 60, 47)
_INK: Colour = (38, 33, 28)
_GREY: Colour = (110, 100, 88)
_ITEM: Colour = (255, 252, 244)

_OVER = 2  # drawn this much larger, then brought down
_WIDE, _HIGH = 1600, 1500  # px of the finished picture that the blank may take with what is beside it
_EDGE = 40  # px of white all round
_TOP, _FOOT = 64, 96
_LEGEND, _ROW = 470, 24
_TEXT = 17  # px


@dataclass(frozen=True, slots=True)
class _View:
    """mm to pixels of the large picture."""

    left: float
    top: float
    scale: float
    depth: float

    def at(self, point: Point) -> Point:
        return self.left + point[0] * self.scale, self.top + (self.depth - point[1]) * self.scale

    def ring(self, ring: Ring) -> list[Point]:
        return [self.at(point) for point in ring]


@dataclass(frozen=True, slots=True)
class _Label:
    words: tuple[str, ...]
    middle: Point
    size: float  # mm
    turned: bool
    light: bool


def preview_png(drawing: Drawing) -> bytes:
    """PNG without metadata, about 1600 px wide; as high as the blank or the legend asks."""
    labels, short = _labels(drawing, _scale(drawing, 0))
    rows = _legend_rows(drawing) if short else []
    # a legend that is higher than the blank goes below it
    beside = _LEGEND if rows and len(rows) * _ROW <= drawing.blank.depth * _scale(drawing, _LEGEND) + _FOOT else 0
    if beside:
        labels, _ = _labels(drawing, _scale(drawing, _LEGEND))
    scale = _scale(drawing, beside)
    wide, high = drawing.blank.width * scale, drawing.blank.depth * scale
    width = max(math.ceil(2 * _EDGE + wide + beside), 720)
    columns = 1 if beside else max(1, (width - 2 * _EDGE) // _LEGEND)
    below = 0 if beside else _ROW * math.ceil(len(rows) / columns)
    height = math.ceil(_TOP + _FOOT + high + below)
    large = Image.new("RGB", (width * _OVER, height * _OVER), PAPER)
    view = _View(_EDGE * _OVER, _TOP * _OVER, scale * _OVER, drawing.blank.depth)
    draw = ImageDraw.Draw(large)
    _wood(draw, drawing, view)
    _cuts(draw, drawing, view)
    _things(draw, drawing, view)
    for keep in drawing.keep_out:
        _keep_out(large, keep, view)
    for label in labels:
        _write(large, label, view)
    _frame(draw, drawing, view, high)
    _legend(draw, rows, columns, (_EDGE + wide + 30, _TOP + 4) if beside else (_EDGE, _TOP + high + _FOOT))
    picture = large.resize((width, height), Image.Resampling.LANCZOS)
    buffer = io.BytesIO()
    picture.save(buffer, "PNG", optimize=False, compress_level=9)
    return buffer.getvalue()


def _scale(drawing: Drawing, beside: float) -> float:
    blank = drawing.blank
    return float(min((_WIDE - 2 * _EDGE - beside) / blank.width, _HIGH / blank.depth))


@cache
def _font(bold: bool, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(font_path(BOLD if bold else PLAIN), size, layout_engine=ImageFont.Layout.BASIC)


# ---- the wood and what is cut from it --------------------------------------------------------


def _wood(draw: ImageDraw.ImageDraw, drawing: Drawing, view: _View) -> None:
    blank = drawing.blank
    corners = ((0.0, 0.0), (blank.width, 0.0), (blank.width, blank.depth), (0.0, blank.depth))
    draw.polygon(view.ring(corners), fill=WOOD, outline=_GREY, width=2 * _OVER)


def _cuts(draw: ImageDraw.ImageDraw, drawing: Drawing, view: _View) -> None:
    """As the top sheet shows it, deep cuts over shallow ones."""
    cuts = [
        (*_reach(drawing, layer, entity), entity.path)
        for layer in drawing.sheets[0].layers
        for entity in layer.entities
        if layer.operation not in (Operation.EDGE, Operation.OUTSIDE)
    ]
    cuts.sort(key=lambda cut: cut[:2])
    for through, depth, path in cuts:
        ring = view.ring(ring_of(path, 0.02))
        draw.polygon(ring, fill=THROUGH if through else _shade(depth / drawing.tray.thickness))
        draw.line([*ring, ring[0]], fill=_INK, width=_OVER, joint="curve")


def _reach(drawing: Drawing, layer: Layer, entity: Entity) -> tuple[bool, float]:
    """Through the whole stack or not, and how deep: a cut through the top sheet may end on the next."""
    if layer.through and len(drawing.sheets) > 1:
        for mark in drawing.marks:
            if mark.placement == entity.placement:
                return mark.through, mark.depth
    return layer.through, layer.depth


def _shade(share: float) -> Colour:
    share = min(1.0, share)
    return (_mix(0, share), _mix(1, share), _mix(2, share))


def _mix(band: int, share: float) -> int:
    return round(SHALLOW[band] + (DEEP[band] - SHALLOW[band]) * share)


def _things(draw: ImageDraw.ImageDraw, drawing: Drawing, view: _View) -> None:
    bores = [layer for sheet in drawing.sheets for layer in sheet.layers if layer.operation is Operation.BORE]
    bored = {entity.placement for layer in bores for entity in layer.entities}
    for mark in drawing.marks:
        if mark.placement not in bored:  # a shank fills its bore but for the slack
            for ring in (mark.outline.outer, *mark.outline.holes):
                points = view.ring(ring)
                draw.line([*points, points[0]], fill=_ITEM, width=2 * _OVER, joint="curve")
        if mark.room != mark.outline:
            for ring in (mark.room.outer, *mark.room.holes):
                _dashes(draw, view.ring(ring), _GREY)


def _dashes(draw: ImageDraw.ImageDraw, ring: list[Point], colour: Colour, on: float = 8, off: float = 6) -> None:
    on, off = on * _OVER, off * _OVER
    way = 0.0
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        length = math.hypot(x1 - x0, y1 - y0)
        done = 0.0
        while done < length:
            place = (way + done) % (on + off)
            step = min((on if place < on else on + off) - place + 1e-6, length - done)
            if place < on:
                draw.line([(x0 + (x1 - x0) * done / length, y0 + (y1 - y0) * done / length),
                           (x0 + (x1 - x0) * (done + step) / length, y0 + (y1 - y0) * (done + step) / length)],
                          fill=colour, width=3)  # fmt: skip
            done += step
        way += length


def _keep_out(picture: Image.Image, keep: KeepOut, view: _View) -> None:
    (left, top), (right, low) = view.at((keep.at[0], keep.at[1] + keep.size[1])), view.at(
        (keep.at[0] + keep.size[0], keep.at[1])
    )
    size = max(1, round(right - left)), max(1, round(low - top))
    patch = Image.new("RGB", size, WOOD)
    draw = ImageDraw.Draw(patch)
    apart = 9 * _OVER
    for k in range(0, size[0] + size[1], apart):
        draw.line([(k, 0), (k - size[1], size[1])], fill=_GREY, width=_OVER)
    draw.rectangle((0, 0, size[0] - 1, size[1] - 1), outline=_INK, width=_OVER)
    picture.paste(patch, (round(left), round(top)))


# ---- texts -----------------------------------------------------------------------------------


def _labels(drawing: Drawing, scale: float) -> tuple[list[_Label], bool]:
    """Where tags and labels stand; whether some label is left to the legend."""
    blank, size = drawing.blank, _TEXT / scale
    ground = Ground((0.0, 0.0, blank.width, blank.depth), cell=max(0.25, 1.5 / scale))
    _take(drawing, ground)
    labels: list[_Label] = []
    short = False
    openings = _openings(drawing)
    for keep in drawing.keep_out:
        labels += _keep_out_label(keep, size, ground)
    for mark in sorted(drawing.marks, key=lambda mark: len(openings.get(mark.placement, ((), False))[0])):
        label, whole = _label(mark, openings.get(mark.placement), size, ground)
        short = short or not whole
        labels.append(label)
    return labels, short


def _take(drawing: Drawing, ground: Ground) -> None:
    for layer in drawing.sheets[0].layers:
        for entity in layer.entities:
            ring = ring_of(entity.path, 0.05)
            ground.take_line(ring)
    for mark in drawing.marks:
        for ring in (mark.outline.outer, *mark.outline.holes):
            ground.take_line(ring)
        for ring in (mark.room.outer, *mark.room.holes):
            ground.take_line(ring, faint=True)
    for keep in drawing.keep_out:
        ground.take_box(*keep.at, keep.at[0] + keep.size[0], keep.at[1] + keep.size[1])


def _openings(drawing: Drawing) -> dict[str, tuple[Ring, bool]]:
    """Largest ring cut for each placement in the top sheet, and whether it is dark there."""
    found: dict[str, tuple[Ring, bool]] = {}
    for layer in drawing.sheets[0].layers:
        for entity in layer.entities:
            if entity.placement is None:
                continue
            ring = ring_of(entity.path, 0.05)
            if entity.placement not in found or _span(ring) > _span(found[entity.placement][0]):
                found[entity.placement] = ring, _reach(drawing, layer, entity)[0]
    return found


def _span(ring: Ring) -> float:
    xs, ys = zip(*ring, strict=True)
    return float(max(xs) - min(xs) + max(ys) - min(ys))


def _label(mark: Mark, opening: tuple[Ring, bool] | None, size: float, ground: Ground) -> tuple[_Label, bool]:
    ring, dark = opening or (mark.room.outer, False)
    own = ground.inside(ring)
    xs, ys = zip(*ring, strict=True)
    near = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    tag, name = mark.tag, legible(mark.label)
    for words in ((tag, name), (tag, *_halved(name)), (f"{tag} {name}",)):
        for turned in (False, True):
            if found := _free(ground, words, size, turned, near, own):
                return _Label(words, found, size, turned, dark), True
    if found := _free(ground, (tag,), size, False, near, own):
        return _Label((tag,), found, size, False, dark), False
    # beside a small bore: the tag on the wood, close by
    side = max(xs) + _width((tag,), size) / 2 + 0.5, near[1]
    reach = 2 * size
    found = _free(ground, (tag,), size, False, side, None, reach) or _free(
        ground, (tag,), size, False, side, None, over_faint=True
    ) or near
    return _Label((tag,), found, size, False, False), False


def _halved(name: str) -> tuple[str, ...]:
    words = name.split()
    if len(words) < 2:
        return (name,)
    cuts = [(" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words))]
    return min(cuts, key=lambda pair: (max(map(len, pair)), pair))


def _free(ground: Ground, words: tuple[str, ...], size: float, turned: bool, near: Point, own: Mask | None,
          reach: float = math.inf, over_faint: bool = False) -> Point | None:  # fmt: skip
    width, height = _width(words, size) + size * 0.4, len(words) * size * 1.25 + size * 0.3
    if turned:
        width, height = height, width
    found = ground.spot(width, height, near, within=own, reach=reach, over_faint=over_faint)
    if found:
        x, y = found
        ground.take_box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    return found


def _width(words: tuple[str, ...], size: float) -> float:
    return max(_font(k == 0, 100).getlength(line) / 100 * size for k, line in enumerate(words))


def _keep_out_label(keep: KeepOut, size: float, ground: Ground) -> list[_Label]:
    middle = keep.at[0] + keep.size[0] / 2, keep.at[1] + keep.size[1] / 2
    reach = max(keep.size) + 4 * size
    for words in (("keep out", shortened(legible(keep.why), 14 * size, size)), ("keep out",)):
        for over_faint in (False, True):
            if found := _free(ground, words, size, False, middle, None, reach, over_faint):
                return [_Label(words, found, size, False, False)]
    return []  # no room on the wood: the hatching says it alone


def _write(picture: Image.Image, label: _Label, view: _View) -> None:
    size = max(1, round(label.size * view.scale))
    colour = (255, 252, 244) if label.light else _INK
    width = math.ceil(_width(label.words, size)) + 4
    height = math.ceil(len(label.words) * size * 1.25) + 4
    mask = Image.new("L", (width, height), 0)
    draw = ImageDraw.Draw(mask)
    for k, line in enumerate(label.words):
        draw.text((width / 2, 2 + (k + 0.5) * size * 1.25), line, font=_font(k == 0, size), fill=255, anchor="mm")
    if label.turned:
        mask = mask.rotate(90, expand=True)
    x, y = view.at(label.middle)
    picture.paste(colour, (round(x - mask.width / 2), round(y - mask.height / 2)), mask)


# ---- round the blank -------------------------------------------------------------------------


def _frame(draw: ImageDraw.ImageDraw, drawing: Drawing, view: _View, high: float) -> None:
    """Title above; front edge and scale bars below."""
    blank = drawing.blank
    title = f"{legible(drawing.tray.name)}: blank {size_words(blank.width, blank.depth)}, seen from above"
    draw.text((view.left, 20 * _OVER), title, font=_font(True, 21 * _OVER), fill=_INK)
    low = view.top + high * _OVER
    middle = view.left + blank.width * view.scale / 2
    draw.text((middle, low + 8 * _OVER), "front", font=_font(True, 20 * _OVER), fill=_INK, anchor="ma")
    for k, (length, words) in enumerate(((50.0, "50 mm"), (50.8, "2 in"))):
        y = low + (42 + 22 * k) * _OVER
        draw.rectangle((view.left, y, view.left + length * view.scale, y + 5 * _OVER), fill=_INK)
        draw.text((view.left + 51 * view.scale + 8 * _OVER, y + 2 * _OVER), words, font=_font(False, 15 * _OVER),
                  fill=_INK, anchor="lm")  # fmt: skip


def _legend_rows(drawing: Drawing) -> list[tuple[str, str]]:
    """Tag and one line of text a row; what is too long goes on in a further row."""
    rows: list[tuple[str, str]] = []
    for mark in sorted(drawing.marks, key=lambda mark: (len(mark.tag), mark.tag)):
        lines = wrapped(legible(f"{mark.label}, {mark.size}"), _LEGEND - 90, 15)
        rows += [(mark.tag if k == 0 else "", line) for k, line in enumerate(lines)]
    return rows


def _legend(draw: ImageDraw.ImageDraw, rows: list[tuple[str, str]], columns: int, corner: Point) -> None:
    each = math.ceil(len(rows) / columns)
    for k, (tag, words) in enumerate(rows):
        column, row = divmod(k, each)
        left, y = (corner[0] + column * _LEGEND) * _OVER, (corner[1] + row * _ROW) * _OVER
        draw.text((left, y), tag, font=_font(True, 15 * _OVER), fill=_INK)
        draw.text((left + 46 * _OVER, y), words, font=_font(False, 15 * _OVER), fill=_INK)


