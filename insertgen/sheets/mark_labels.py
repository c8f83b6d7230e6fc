"""Where the engraved label of each seat goes: on the wood beside it, else on its floor, clear of every cut."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from insertgen.exchange.marks import TEXT, MarkLayer
from insertgen.exchange.strokes import StrokeText, engravable, stroke_text
from insertgen.geometry.grid import box_fits, cells_inside
from insertgen.geometry.offset import shrunk
from insertgen.geometry.region import Region, bounds, box, from_outline, is_empty, minus, union
from insertgen.model.drawing import Mark
from insertgen.model.figures import Point
from insertgen.sheets.mark_cuts import SheetCuts
from insertgen.units import format_mm

__all__ = ["labels"]

#: Heights of capitals that are tried, mm; below the last a 60 degree engraving cutter fills the letters. Common practice, no source.
HEIGHTS = (5.0, 3.5)

CLEAR = 1.5  # between a stroke and a cut
REACH = 15.0  # the farthest that a label stands from its seat
CELL = 1.0

APART = 5.0  # between two texts

#: What counts against a place, as so many mm more of gap: a mm off the seat's middle; nearer to another seat.
OFF_MIDDLE, BY_ANOTHER = 0.3, 20.0

Free = NDArray[np.bool_]
Places = NDArray[np.floating[Any]]
Bounds = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class _Place:
    centre: Point
    upright: bool  # turned by a quarter, read from the right


@dataclass(frozen=True, slots=True)
class _Ground:
    """Where texts may stand on one level: the face, or the floor of a pocket."""

    layer: str
    corner: Point
    free: Free


def labels(sheet: SheetCuts) -> tuple[tuple[MarkLayer, ...], tuple[str, ...]]:
    """Engraved labels by layer, and what is to be said of them.

    Texts on the face stand on MARK_TEXT, those on the floor of a pocket on a layer that says how deep the
    floor is. Tried in turn: tag and label, then the tag alone, in two heights each; on wood that nothing stands
    over, on the seat's floor, on wood that a thing stands over.
    """
    face, shaded = _face(sheet, overhung=False), _face(sheet, overhung=True)
    near = {mark.placement: _around(sheet, mark) for mark in sheet.drawing.marks}
    lines: dict[str, list[tuple[Point, ...]]] = {}
    said: list[str] = []
    for mark in sheet.drawing.marks:
        label, lacked = engravable(f"{mark.tag} {mark.label}")
        if lacked:
            said.append(f'label "{mark.label}": the engraving font lacks {", ".join(lacked)}; it is engraved "{label}"')
        others = [box for placement, box in near.items() if placement != mark.placement]
        found = _best(mark, label, (face, *_floors(sheet, mark), shaded), near[mark.placement], others)
        if found is None:
            said.append(f"{mark.tag} {mark.label}: no place for a label near its seat, it has none")
            continue
        text, place, ground, words = found
        if words != label:
            said.append(f"{mark.tag} {mark.label}: room for its tag only")
        strokes = _set_down(text, place)
        lines.setdefault(ground.layer, []).extend(strokes)
        for other in (face, shaded):
            _take(other, text, place)
    return tuple(MarkLayer(layer, tuple(strokes)) for layer, strokes in sorted(lines.items())), tuple(said)


def _best(
    mark: Mark, label: str, grounds: tuple[_Ground, ...], near: Bounds, others: Sequence[Bounds]
) -> tuple[StrokeText, _Place, _Ground, str] | None:
    for words in (label, mark.tag):
        for ground in grounds:
            for height in HEIGHTS:
                text = stroke_text(words, height)
                place = _nearest(ground, text, near, others)
                if place is not None:
                    return text, place, ground, words
    return None


def _nearest(ground: _Ground, text: StrokeText, near: Bounds, others: Sequence[Bounds]) -> _Place | None:
    """The best free place by a seat: close to its middle, not by another seat, level before upright."""
    for upright in (False, True):
        wide, high = _size(text, upright)
        rows, columns = math.ceil(high / CELL) + 1, math.ceil(wide / CELL) + 1
        # no more of the ground than a text within reach may cover
        first_column, last_column = _cells(near[0], near[2], REACH + wide, ground.corner[0])
        first_row, last_row = _cells(near[1], near[3], REACH + high, ground.corner[1])
        part = ground.free[first_row:last_row, first_column:last_column]
        up, across = np.nonzero(box_fits(part, rows, columns))
        x = ground.corner[0] + (first_column + across + columns / 2) * CELL
        y = ground.corner[1] + (first_row + up + rows / 2) * CELL
        gap = _gap(x, y, (wide, high), near)
        close = gap <= REACH
        if not close.any():
            continue
        x, y, gap = x[close], y[close], gap[close]
        x0, y0, x1, y1 = near
        rank = gap + OFF_MIDDLE * np.hypot(x - (x0 + x1) / 2, y - (y0 + y1) / 2)
        for other in others:
            rank += np.where(_gap(x, y, (wide, high), other) <= gap + 1, BY_ANOTHER, 0.0)
        best = int(np.argmin(np.round(rank, 6)))
        return _Place((float(x[best]), float(y[best])), upright)
    return None


def _cells(low: float, high: float, more: float, corner: float) -> tuple[int, int]:
    """The first cell and the one after the last between two lengths and some more on either side."""
    first, last = math.floor((low - more - corner) / CELL) - 1, math.ceil((high + more - corner) / CELL) + 2
    return max(0, first), max(0, last)


def _gap(x: Places, y: Places, size: Point, box: Bounds) -> Places:
    """Between texts about (x, y) and a box."""
    x0, y0, x1, y1 = box
    wide, high = size
    across = np.maximum(0, np.maximum(x0 - x, x - x1) - wide / 2)
    up = np.maximum(0, np.maximum(y0 - y, y - y1) - high / 2)
    gap: Places = np.hypot(across, up)
    return gap


def _size(text: StrokeText, upright: bool) -> Point:
    x0, y0, x1, y1 = text.box
    return (y1 - y0, x1 - x0) if upright else (x1 - x0, y1 - y0)


def _set_down(text: StrokeText, place: _Place) -> Iterator[tuple[Point, ...]]:
    x0, y0, x1, y1 = text.box
    mx, my, (cx, cy) = (x0 + x1) / 2, (y0 + y1) / 2, place.centre
    for stroke in text.strokes:
        if place.upright:
            yield tuple((cx - (y - my), cy + (x - mx)) for x, y in stroke)
        else:
            yield tuple((cx + (x - mx), cy + (y - my)) for x, y in stroke)


def _take(ground: _Ground, text: StrokeText, place: _Place) -> None:
    """No other text here, nor right beside it."""
    wide, high = _size(text, place.upright)
    left = (place.centre[0] - wide / 2 - APART - ground.corner[0]) / CELL
    front = (place.centre[1] - high / 2 - APART - ground.corner[1]) / CELL
    columns = slice(max(0, math.floor(left)), max(0, math.ceil(left + (wide + 2 * APART) / CELL)))
    rows = slice(max(0, math.floor(front)), max(0, math.ceil(front + (high + 2 * APART) / CELL)))
    ground.free[rows, columns] = False


def _face(sheet: SheetCuts, *, overhung: bool) -> _Ground:
    """The wood of the face; without what stands over it unless ``overhung``."""
    drawing = sheet.drawing
    kept = union(box(*one.at, one.at[0] + one.size[0], one.at[1] + one.size[1]) for one in drawing.keep_out)
    wood = minus(sheet.wood, kept)
    if not overhung:
        wood = minus(wood, union(from_outline(mark.room) for mark in drawing.marks))
    return _ground(TEXT, wood)


def _floors(sheet: SheetCuts, mark: Mark) -> Iterator[_Ground]:
    """The floors of a seat, deepest first."""
    deeper: list[Region] = []
    pairs = sheet.by_placement.get(mark.placement, ())
    for layer, region in sorted(pairs, key=lambda pair: (pair[0].through, pair[0].depth), reverse=True):
        floor = minus(region, union(deeper))
        deeper.append(region)
        if not layer.through and not is_empty(floor):
            ground = _ground(f"{TEXT}_{format_mm(layer.depth).replace('.', '-')}MM", floor)
            if ground.free.any():
                yield ground


def _ground(layer: str, region: Region) -> _Ground:
    # a point of a cell is at most half a diagonal from its middle
    clear = shrunk(region, CLEAR + CELL * math.sqrt(0.5))
    if is_empty(clear):
        return _Ground(layer, (0.0, 0.0), np.zeros((0, 0), dtype=bool))
    x0, y0, x1, y1 = bounds(clear)
    shape = math.ceil((y1 - y0) / CELL) + 1, math.ceil((x1 - x0) / CELL) + 1
    return _Ground(layer, (x0, y0), cells_inside(clear, (x0, y0), CELL, shape))


def _around(sheet: SheetCuts, mark: Mark) -> Bounds:
    """The box round a seat and what stands over it."""
    cuts = [region for _, region in sheet.by_placement.get(mark.placement, ())]
    return bounds(union([*cuts, from_outline(mark.room)]))
