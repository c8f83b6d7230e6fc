"""Texts beside and inside the cuts of a template page: tag, label, how it is cut; set down where nothing is covered."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from insertgen.model.drawing import Drawing, SheetDrawing
from insertgen.model.figures import Circle, Point, Ring
from insertgen.output.spots import Ground, Mask
from insertgen.output.typeface import legible, shortened, text_width
from insertgen.output.wishes import Wish, wishes
from insertgen.output.wood import wood_rings

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
class _Sought:
    """A text and where it may stand: in its ``own`` cells, or on wood, or at worst in ``inner``, the cuts nested in it.

    ``hidden`` are other seats: no text of this one may stand there or point across them.
    """

    lines: tuple[str, ...]
    first: bool  # the first line is the tag and label
    wish: Wish
    own: Mask
    seen: Mask  # all of it, finger recesses and nested cuts too
    inner: Mask
    hidden: Mask


def label_sheet(drawing: Drawing, sheet: SheetDrawing, ground: Ground) -> list[Placed]:
    """Texts of one sheet that belong on the window of ``ground``, in which its lines are already taken."""
    wanted = [
        wish
        for wish in wishes(drawing, sheet)
        if (_within(wish.bore.centre, ground.window) if wish.bore else ground.meets(wish.ring))
    ]
    found = _sought(wanted, ground, _floor(drawing, sheet, ground))
    # bores first: their texts stand in the little wood between them; from the back, as each prefers the wood before it
    order = sorted(range(len(found)), key=lambda k: _turn(found[k].wish, k))
    bores = [wish.bore for wish in wanted if wish.bore]
    seats = np.logical_or.reduce([np.zeros(ground.shape, dtype=bool), *(one.seen for one in found if one.wish.bore is None)])
    return [_place(found[k], bores, seats, ground) for k in order]


def _sought(wanted: list[Wish], ground: Ground, floor: Mask) -> list[_Sought]:
    masks = [ground.inside(wish.ring) for wish in wanted]
    owns: dict[int, Mask] = {}
    inners: dict[int, Mask] = {}
    boxes = [_rows_and_columns(mask) for mask in masks]
    sizes = [int(mask.sum()) for mask in masks]
    many = np.zeros(ground.shape, dtype=np.int16)  # how many of them a cell is in
    for mask in masks:
        many += mask

    def nested(inner: int, outer: int) -> bool:
        return inner != outer and 0 < sizes[inner] < sizes[outer] and _in_box(boxes[inner], boxes[outer]) and not (
            masks[inner] & ~masks[outer]).any()  # fmt: skip

    for k, (wish, seen) in enumerate(zip(wanted, masks, strict=True)):
        inners[k] = _any([masks[j] for j in range(len(wanted)) if nested(j, k)], ground)
        own = seen & ~inners[k]
        if wish.item:  # where no more of a seat is seen than a finger recess, another page names it
            own = own & ground.inside(wish.item)
        if own.any() and (wish.bore or sizes[k] * ground.cell**2 >= _LEAST_SEEN):
            owns[k] = own
    heads: dict[str | None, int] = {}  # the roomiest of the contours of each seat
    for k in sorted(owns, key=lambda k: (-int(owns[k].sum()), k)):
        heads.setdefault(wanted[k].placement, k)
    sought = []
    for k, own in owns.items():
        wish, seen = wanted[k], masks[k]
        around = [masks[j] for j in range(len(wanted)) if nested(k, j)]
        hidden = (many - seen - sum(around, np.zeros(ground.shape, dtype=np.int16))) > 0
        hidden = (hidden if wish.floor else hidden | floor) & ~seen
        headed = bool(wish.head) and heads[wish.placement] == k
        lines = (wish.head, *wish.lines) if headed else wish.lines
        sought.append(_Sought(lines, headed or wish.bore is not None, wish, own, seen, inners[k], hidden))
    return sought


def _floor(drawing: Drawing, sheet: SheetDrawing, ground: Ground) -> Mask:
    """Cells of the blank where its corners are sawn away."""
    wood: Mask = np.logical_or.reduce([ground.inside(ring) for ring in wood_rings(sheet, drawing.blank)])
    return ~wood


def _any(masks: list[Mask], ground: Ground) -> Mask:
    return np.logical_or.reduce(masks) if masks else np.zeros(ground.shape, dtype=bool)


_Cells = tuple[int, int, int, int]  # first row and column, last row and column


def _rows_and_columns(mask: Mask) -> _Cells | None:
    rows, columns = np.nonzero(mask.any(axis=1))[0], np.nonzero(mask.any(axis=0))[0]
    return (int(rows[0]), int(columns[0]), int(rows[-1]), int(columns[-1])) if len(rows) else None


def _in_box(inner: _Cells | None, outer: _Cells | None) -> bool:
    if inner is None or outer is None:
        return False
    return inner[0] >= outer[0] and inner[1] >= outer[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def _place(sought: _Sought, bores: list[Circle], seats: Mask, ground: Ground) -> Placed:
    bore = sought.wish.bore
    return (
        (_inside(sought, ground) if bore is None else _by_the_bore(sought, bores, seats, ground))
        or _with_leader(sought, ground)
        # nowhere: the tag alone over the middle is better than an unnamed cut
        or Placed(_block((_tag(sought),), _SMALL, True), _middle(sought.own, ground))
    )


def _inside(sought: _Sought, ground: Ground) -> Placed | None:
    """In the seat, upright or reading upwards; what another page shows too may be named by its tag alone."""
    own, lines, first = sought.own, sought.lines, sought.first
    middle = _middle(own, ground)
    blocks = [_block(lines, size, first) for size in (_LARGE, _SMALL)]
    if first:
        blocks.append(_block((f"{lines[0]}, {' '.join(lines[1:])}",), _SMALL, True))
    if _cut_off(sought.wish.ring, ground):
        blocks.append(_block(lines[:1], _SMALL, first))
        if first:
            blocks.append(_block((_tag(sought),), _SMALL, True))
    for block in blocks:
        for turned in (False, True):
            if found := _spot(ground, block, turned, middle, own):
                return _set(ground, Placed(block, found, turned))
    return None


def _by_the_bore(sought: _Sought, bores: list[Circle], seats: Mask, ground: Ground) -> Placed | None:
    """Before a bore, behind it or beside it, so near that no leader is needed and no other bore is nearer.

    Rather in no seat, and on no item that lies on the face; but a post may stand in a ring.
    """
    bore = sought.wish.bore
    assert bore is not None
    (x, y), out = bore.centre, bore.diameter / 2 + 1.5
    for lines in _ever_shorter(sought.lines):
        block = _block(lines, _SMALL, sought.first)
        up, right = out + block.height / 2 + _AROUND, out + block.width / 2 + _AROUND
        for within, over_faint in ((~seats, False), (~seats, True), (None, False), (None, True)):
            for near in ((x, y - up), (x, y + up), (x + right, y), (x - right, y)):
                found = _spot(ground, block, False, near, within, reach=_BY_BORE, over_faint=over_faint)
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


def _turn(wish: Wish, number: int) -> tuple[bool, bool, float, float, int]:
    x, y = wish.bore.centre if wish.bore else (0.0, 0.0)
    return wish.last, wish.bore is None, -y, x, number


def _with_leader(sought: _Sought, ground: Ground) -> Placed | None:
    middle = _heart(sought.own, ground)
    block = _block(sought.lines, _SMALL, sought.first)
    for place in (~sought.seen, sought.inner):
        for over_faint in (False, True):
            found = _spot(ground, block, False, middle, place & ~sought.hidden, reach=_REACH, over_faint=over_faint,
                          sight=(middle, sought.hidden))  # fmt: skip
            if found:
                return _set(ground, Placed(block, found, leader=middle, outside=True))
    return None


def _tag(sought: _Sought) -> str:
    return sought.lines[0].split(" ")[0].rstrip(":")


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


def _heart(own: Mask, ground: Ground) -> Point:
    """Where a leader points to: the middle, or if that is not of the place itself (a ledge), the inmost cells nearest to it."""
    x, y = middle = _middle(own, ground)
    x0, y0 = ground.window[:2]
    row, column = int((y - y0) / ground.cell), int((x - x0) / ground.cell)
    if own[row, column]:
        return middle
    inmost = own
    while True:
        less = np.pad(inmost, 1)
        less = inmost & less[2:, 1:-1] & less[:-2, 1:-1] & less[1:-1, 2:] & less[1:-1, :-2]
        if not less.any():
            break
        inmost = less
    rows, columns = np.nonzero(inmost)
    best = int(np.argmin(np.hypot(rows - row, columns - column)))
    return float(x0 + (columns[best] + 0.5) * ground.cell), float(y0 + (rows[best] + 0.5) * ground.cell)


def _within(point: Point, window: tuple[float, float, float, float]) -> bool:
    return window[0] <= point[0] <= window[2] and window[1] <= point[1] <= window[3]
