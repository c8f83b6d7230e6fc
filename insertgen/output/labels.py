"""Texts beside and inside the cuts of a template page: tag, label, how it is cut; set down where nothing is covered."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from insertgen.model import Circle, Drawing, Hole, Mark, Operation, Point, Ring, SheetDrawing
from insertgen.output.spots import Ground, Mask, ring_of
from insertgen.output.typeface import legible, shortened, text_width
from insertgen.output.words import cut_words, depth_words, drill_words, hole_of

__all__ = ["Block", "Line", "Placed", "label_sheet"]

_LARGE, _SMALL = 3.2, 2.4  # mm; 9 and 7 point
_LEADING = 1.3
_AROUND = 0.4  # free all round a text
_LEAST_SEEN = 60.0  # mm2 of a contour that must show on a page before it is named there
_REACH = 60.0  # longest way from a cut to its text
_WIDE_LABEL = 30.0  # a label wider than this is left to the legend where bores stand close
_BY_BORE = 6.0  # a text this near its place by a bore needs no leader


@dataclass(frozen=True, slots=True)
class Line:
    words: str
    size: float
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Block:
    lines: tuple[Line, ...]

    @property
    def width(self) -> float:
        return max(text_width(line.words, line.size, bold=line.bold) for line in self.lines)

    @property
    def height(self) -> float:
        return sum(line.size for line in self.lines[1:]) * _LEADING + self.lines[0].size


@dataclass(frozen=True, slots=True)
class Placed:
    """A block on the drawing: its middle, whether it reads upwards, and where a leader goes to."""

    block: Block
    middle: Point
    turned: bool = False
    leader: Point | None = None
    outside: bool = False  # on the wood, not in a seat


@dataclass(frozen=True, slots=True)
class _Wish:
    """A text wanted: for which ring, in which words from the fullest to the shortest."""

    ring: Ring
    lines: tuple[str, ...]
    bore: Circle | None
    first: bool


def label_sheet(drawing: Drawing, sheet: SheetDrawing, ground: Ground) -> list[Placed]:
    """Texts of one sheet that belong on the window of ``ground``, in which its lines are already taken."""
    placed: list[Placed] = []
    wishes = list(_wishes(drawing, sheet, ground.window))
    masks = [ground.inside(wish.ring) for wish in wishes]
    # bores first: their texts stand in the little wood between them; from the back, as each prefers the wood before it
    order = sorted(range(len(wishes)), key=lambda k: _turn(wishes[k], k))
    bores = [wish.bore for wish in wishes if wish.bore]
    for k in order:
        seen = masks[k]
        if not seen.any() or (wishes[k].bore is None and seen.sum() * ground.cell**2 < _LEAST_SEEN):
            continue
        inner = [masks[j] for j in range(len(wishes)) if j != k and _nested(masks[j], seen)]
        own = seen & ~np.logical_or.reduce(inner) if inner else seen
        others = [masks[j] for j in range(len(wishes)) if j != k and not _nested(seen, masks[j])]
        hidden = np.logical_or.reduce(others) & ~seen if others else np.zeros_like(seen)
        placed.append(_place(wishes[k], own, hidden, bores, ground))
    return placed


def _nested(inner: Mask, outer: Mask) -> bool:
    return bool(inner.any()) and inner.sum() < outer.sum() and not (inner & ~outer).any()


def _wishes(drawing: Drawing, sheet: SheetDrawing, window: tuple[float, float, float, float]) -> Iterator[_Wish]:
    marks = {mark.placement: mark for mark in drawing.marks}
    named: set[str] = set()
    entities = [(layer, entity) for layer in sheet.layers for entity in layer.entities
                if layer.operation not in (Operation.EDGE, Operation.OUTSIDE)]  # fmt: skip
    entities.sort(key=lambda pair: -_extent(ring_of(pair[1].path, 0.1)))
    for layer, entity in entities:
        ring = ring_of(entity.path, 0.1)
        mark = marks.get(entity.placement or "")
        hole = hole_of(drawing, sheet, entity)
        if isinstance(entity.path, Circle) and (hole or layer.operation is Operation.BORE):
            if not _within(entity.path.centre, window):
                continue
            first, last = _bore_lines(hole, mark, cut_words(layer, entity))
            yield _Wish(ring, (first, *last), entity.path, True)
        else:
            again = mark is None or mark.placement in named
            head = () if again or mark is None else (_head(mark),)
            if mark:
                named.add(mark.placement)
            yield _Wish(ring, (*head, *_split(cut_words(layer, entity))), None, bool(head))
    done = {entity.placement for _, entity in entities}
    for mark in drawing.marks:
        if mark.placement not in done:
            yield _Wish(mark.room.outer, (_head(mark), "stands here, no cut"), None, True)


def _bore_lines(hole: Hole | None, mark: Mark | None, words: str) -> tuple[str, tuple[str, ...]]:
    tag = hole.tag if hole else mark.tag if mark else ""
    label = hole.label if hole else mark.label if mark else ""
    if hole is None:
        return f"{tag}: {words}" if tag else words, ((label,) if label else ())
    first = f"{tag}: {drill_words(hole.bore)}" if tag else drill_words(hole.bore)
    return first, (*_split(depth_words(hole.depth, hole.through)), *((label,) if label else ()))


def _head(mark: Mark) -> str:
    return f"{mark.tag} {mark.label}"


def _split(words: str) -> tuple[str, ...]:
    """Method and inch fraction on two lines: both stay readable in a narrow seat."""
    head, bracket, tail = words.partition(" (")
    return (head + " deep", f"({tail.removesuffix(' deep')}") if bracket and tail.endswith(" deep") else (words,)


def _place(wish: _Wish, own: Mask, hidden: Mask, bores: list[Circle], ground: Ground) -> Placed:
    return (
        (_inside(wish, own, ground) if wish.bore is None else _by_the_bore(wish, wish.bore, bores, ground))
        or _with_leader(wish, own, hidden, ground)
        # nowhere: the tag alone over the middle is better than an unnamed cut
        or Placed(_block((_tag(wish),), _SMALL, True), _middle(own, ground))
    )


def _inside(wish: _Wish, own: Mask, ground: Ground) -> Placed | None:
    """In the seat, upright or reading upwards; what another page shows too may be named by its tag alone."""
    middle = _middle(own, ground)
    blocks = [_block(wish.lines, size, wish.first) for size in (_LARGE, _SMALL)]
    if wish.first:
        blocks.append(_block((f"{wish.lines[0]}, {' '.join(wish.lines[1:])}",), _SMALL, True))
    if _cut_off(wish.ring, ground):
        blocks.append(_block(wish.lines[:1], _SMALL, wish.first))
        if wish.first:
            blocks.append(_block((_tag(wish),), _SMALL, True))
    for block in blocks:
        for turned in (False, True):
            if found := _spot(ground, block, turned, middle, own):
                return _set(ground, Placed(block, found, turned))
    return None


def _by_the_bore(wish: _Wish, bore: Circle, bores: list[Circle], ground: Ground) -> Placed | None:
    """Before a bore, behind it or beside it, so near that no leader is needed and no other bore is nearer."""
    (x, y), out = bore.centre, bore.diameter / 2 + 1.5
    for lines in _ever_shorter(wish.lines):
        block = _block(lines, _SMALL, wish.first)
        up, right = out + block.height / 2 + _AROUND, out + block.width / 2 + _AROUND
        for over_faint in (False, True):
            for near in ((x, y - up), (x, y + up), (x + right, y), (x - right, y)):
                found = _spot(ground, block, False, near, None, reach=_BY_BORE, over_faint=over_faint)
                if found and all(_off(bore, found, block) <= _off(other, found, block) for other in bores):
                    return _set(ground, Placed(block, found, outside=True))
    return None


def _ever_shorter(lines: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """All lines unless the label is wide, then fewer, and at last the tag alone: the legend has the rest."""
    if text_width(lines[-1], _SMALL) <= _WIDE_LABEL:
        yield lines
    for count in range(len(lines) - 1, 0, -1):
        yield lines[:count]
    yield (lines[0].split(":")[0],)


def _off(bore: Circle, middle: Point, block: Block) -> float:
    """From the rim of a bore to the edge of a block."""
    dx = max(abs(bore.centre[0] - middle[0]) - block.width / 2, 0.0)
    dy = max(abs(bore.centre[1] - middle[1]) - block.height / 2, 0.0)
    return math.hypot(dx, dy) - bore.diameter / 2


def _turn(wish: _Wish, number: int) -> tuple[bool, float, float, int]:
    x, y = wish.bore.centre if wish.bore else (0.0, 0.0)
    return wish.bore is None, -y, x, number


def _with_leader(wish: _Wish, own: Mask, hidden: Mask, ground: Ground) -> Placed | None:
    middle = _middle(own, ground)
    block = _block(wish.lines, _SMALL, wish.first)
    for over_faint in (False, True):
        found = _spot(ground, block, False, middle, ~own & ~hidden, reach=_REACH, over_faint=over_faint,
                      sight=(middle, hidden))  # fmt: skip
        if found:
            return _set(ground, Placed(block, found, leader=middle, outside=True))
    return None


def _tag(wish: _Wish) -> str:
    return wish.lines[0].split(" ")[0].rstrip(":")


def _cut_off(ring: Ring, ground: Ground) -> bool:
    """Whether part of a ring is beyond the window, and so on another page."""
    xs, ys = zip(*ring, strict=True)
    x0, y0, x1, y1 = ground.window
    return bool(min(xs) < x0 or max(xs) > x1 or min(ys) < y0 or max(ys) > y1)


def _block(lines: tuple[str, ...], size: float, first: bool) -> Block:
    small = max(_SMALL, size - 0.6)
    return Block(tuple(
        Line(shortened(legible(words), 70.0, size if k == 0 and first else small, bold=k == 0 and first),
             size if k == 0 and first else small, k == 0 and first)
        for k, words in enumerate(lines)
    ))  # fmt: skip


def _spot(ground: Ground, block: Block, turned: bool, near: Point, own: Mask | None, *, reach: float = math.inf,
          over_faint: bool = False, sight: tuple[Point, Mask] | None = None) -> Point | None:  # fmt: skip
    width, height = block.width + 2 * _AROUND, block.height + 2 * _AROUND
    if turned:
        width, height = height, width
    return ground.spot(width, height, near, within=own, reach=reach, over_faint=over_faint, sight=sight)


def _set(ground: Ground, placed: Placed) -> Placed:
    width, height = placed.block.width / 2 + 0.3, placed.block.height / 2 + 0.3
    if placed.turned:
        width, height = height, width
    x, y = placed.middle
    ground.take_box(x - width, y - height, x + width, y + height)
    if placed.leader:
        ground.take_line((placed.middle, placed.leader), closed=False)
    return placed


def _middle(own: Mask, ground: Ground) -> Point:
    rows, columns = np.nonzero(own)
    x0, y0 = ground.window[:2]
    return float(x0 + (columns.mean() + 0.5) * ground.cell), float(y0 + (rows.mean() + 0.5) * ground.cell)


def _extent(ring: Ring) -> float:
    xs, ys = zip(*ring, strict=True)
    return float((max(xs) - min(xs)) * (max(ys) - min(ys)))


def _within(point: Point, window: tuple[float, float, float, float]) -> bool:
    return window[0] <= point[0] <= window[2] and window[1] <= point[1] <= window[3]


