"""Racks: things that stand in bores or on pegs, in straight rows parallel to the front.

Lower in front, higher behind; in a row by shank, reach, head, so that equal
things stand together. What is to be at the front stands in front whatever its
height; groups stand side by side in every row. Rows are as many as are needed, about equally full, and
every row is spread over its width.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from insertgen.arrange.body import Body
from insertgen.arrange.feasible import Bounds, Spacing, stand
from insertgen.arrange.settle import Placed
from insertgen.model.figures import Pose
from insertgen.model.job import Tray
from insertgen.model.shape import Shank

__all__ = ["Strip", "rack", "rack_order"]

HALVINGS = 20
STEP = 2.0  # how far a row moves back at a time to get past something in its way

#: What is tidier (equal things never parted, off what is in the way) is taken if it leaves at least this
#: share of the room between things.
TOGETHER = 0.6


@dataclass(frozen=True, slots=True)
class Strip:
    """The part of the blank that a rack may use."""

    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True, slots=True)
class _Thing:
    body: Body
    pose: Pose  # at the origin
    opening: Bounds | None
    room: Bounds
    order: tuple[float, ...]
    low: tuple[float, float]  # where its origin may go
    high: tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Block:
    """Something in the way, as its bounds."""

    opening: Bounds | None
    room: Bounds
    gap: float | None  # None: a keep-out, which asks for no finger room
    on_face: bool


Row = list[_Thing]
Spots = list[tuple[float, float]]


def rack_order(body: Body) -> tuple[float, ...]:
    """Height above the face, shank, reach, head; unknown heights go behind."""
    item = body.seat.item
    solid = item.shape.solid
    x0, _, x1, _ = _around(item.room.outer)
    reach = solid.reach if isinstance(solid, Shank) and solid.reach is not None else 0.0
    shank = solid.diameter if isinstance(solid, Shank) else item.bore or 0.0
    return (round(item.top, 3) if item.top is not None else math.inf, shank, reach, round(x1 - x0, 3))


def rack(
    bodies: Sequence[Body], strip: Strip, tray: Tray, fixed: Placed, spacing: Spacing, *, share: bool
) -> Placed | None:
    """Poses in straight rows inside a strip, clear of what is fixed; None: they do not fit so.

    ``spacing.extra`` is kept on top of every gap. With ``share``, the room left
    is shared out between and within the rows; without, rows stand close behind
    each other from the strip's front.
    """
    if not bodies:
        return []
    things = sorted(
        (_thing(body, strip, tray) for body in bodies),
        key=lambda t: (not t.body.front, *t.order, t.body.group or "", t.body.key, t.body.id),
    )
    hall = _Hall(spacing, _blocks(tray, fixed))
    if not share:
        rows = hall.together(things, spacing.extra)
        return None if rows is None else hall.poses(rows, spacing.extra)
    if hall.fill(things, spacing.extra, math.inf, whole=False) is None:
        return None
    most = max(strip.x1 - strip.x0, strip.y1 - strip.y0)
    loose = _largest(lambda e: hall.fill(things, e, math.inf, whole=False) is not None, spacing.extra, most)
    tidy = _largest(lambda e: hall.fill(things, e, math.inf, whole=True) is not None, spacing.extra, most)
    whole = tidy >= TOGETHER * loose and hall.fill(things, tidy, math.inf, whole=True) is not None
    rows = hall.balanced(things, tidy if whole else loose, whole)
    deep = _largest(lambda e: hall.poses(rows, e) is not None, spacing.extra, most)
    return hall.poses(rows, deep)


class _Hall:
    """Rows among what is in the way."""

    def __init__(self, spacing: Spacing, blocks: list[_Block]) -> None:
        self.spacing, self.blocks = spacing, blocks
        self._needs: dict[tuple[int, int, int], float] = {}

    def together(self, things: Row, extra: float) -> list[Row] | None:
        """Rows that part no equal things if that can be, balanced."""
        for whole in (True, False):
            if self.fill(things, extra, math.inf, whole=whole) is not None:
                return self.balanced(things, extra, whole)
        return None

    def balanced(self, things: Row, extra: float, whole: bool) -> list[Row]:
        """The rows of a filling, their widths evened out: as many rows, the longest as short as can be."""
        rows = self.fill(things, extra, math.inf, whole=whole)
        assert rows is not None
        low, high = 0.0, max(self._length(row, extra) for row in rows)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            tried = self.fill(things, extra, middle, whole=whole)
            if tried is not None and len(tried) <= len(rows):
                rows, high = tried, middle
            else:
                low = middle
        return rows

    def fill(self, things: Row, extra: float, longest: float, *, whole: bool) -> list[Row] | None:
        """Rows from the front, each as full as it gets; None: there is not depth enough."""
        rows: list[Row] = []
        done: list[tuple[_Thing, float]] = []
        groups = _groups(things) if whole else [[thing] for thing in things]
        while groups:
            taken, y = 0, 0.0
            for count in range(1, len(groups) + 1):
                row = [thing for group in groups[:count] for thing in group]
                spot = self._row_at(row, done, extra, longest, may_move=count == 1)
                if spot is None:
                    break
                taken, y = count, spot
            if not taken:
                return None
            row = _across([thing for group in groups[:taken] for thing in group])
            rows.append(row)
            done += [(thing, y) for thing in row]
            groups = groups[taken:]
        return rows

    def poses(self, rows: list[Row], extra: float) -> Placed | None:
        """Rows one behind the other with ``extra`` between, each spread over its width; None: no depth for that."""
        done: list[tuple[_Thing, float]] = []
        result: Placed = []
        for row in rows:
            y = self._row_at(row, done, extra, math.inf, may_move=True, across=self.spacing.extra)
            if y is None:
                return None
            done += [(thing, y) for thing in row]
            line = self._spread(row, y)
            for thing, x in zip(row, line, strict=True):
                result.append((thing.body, Pose(x, y, thing.pose.angle_deg, thing.pose.mirror)))
        return result

    def _spread(self, row: Row, y: float) -> list[float]:
        """x of a row spread over its width, off what is in the way too unless that costs much."""
        least = self.spacing.extra
        free = _largest(lambda e: self._line(row, y, e, least) is not None, least, 1e4)
        clear = _largest(lambda e: self._line(row, y, e, e) is not None, least, 1e4)
        line = self._line(row, y, clear, clear) if clear >= TOGETHER * free else None
        line = line or self._line(row, y, free, least) or self._line(row, y, least, least)
        assert line is not None
        return line

    def _row_at(
        self, row: Row, done: list[tuple[_Thing, float]], extra: float, longest: float, *,
        may_move: bool, across: float | None = None,
    ) -> float | None:  # fmt: skip
        """The y of a row behind those done, in hundredths; None: it does not fit there (or anywhere behind)."""
        row = _across(row)
        across = extra if across is None else across
        if self._length(row, across) > longest + 1e-9 and len(row) > 1:
            return None
        y = max(thing.low[1] for thing in row) + extra
        for thing in row:
            for other, at in done:
                y = max(y, at + self._need(other, thing, 1) + extra)
        behind = min(thing.high[1] for thing in row) - extra
        y = _hundredth(y, behind)
        while y <= behind + 1e-6:
            if self._line(row, y, across, across) is not None:
                return y
            if not (may_move and self.blocks):
                return None
            y = round(y + STEP, 2)
        return None

    def _line(self, row: Row, y: float, extra: float, blocked: float) -> list[float] | None:
        """x of everything in a row at y, from the left, ``extra`` apart and ``blocked`` from what is in the way."""
        line: list[float] = []
        for number, thing in enumerate(row):
            x = thing.low[0] + extra
            for other, at in zip(row[:number], line, strict=True):
                x = max(x, at + self._need(other, thing, 0) + extra)
            x = self._past(thing, x, y, blocked)
            if x > thing.high[0] - extra + 1e-6:
                return None
            line.append(_hundredth(x, thing.high[0]))
        return line

    def _past(self, thing: _Thing, x: float, y: float, extra: float) -> float:
        """The least x, no less than this, at which a thing is clear of what is in the way."""
        moved = True
        while moved:
            moved = False
            for block in self.blocks:
                for mine, theirs, need in self._pairs(thing, block):
                    need += extra
                    if y + mine[1] >= theirs[3] + need - 1e-9 or y + mine[3] <= theirs[1] - need + 1e-9:
                        continue
                    if x + mine[0] >= theirs[2] + need - 1e-9 or x + mine[2] <= theirs[0] - need + 1e-9:
                        continue
                    x, moved = math.ceil((theirs[2] + need - mine[0]) * 100 - 1e-6) / 100, True
        return x

    def _pairs(self, thing: _Thing, block: _Block) -> list[tuple[Bounds, Bounds, float]]:
        gap = 0.0 if block.gap is None else max(thing.body.gap, block.gap)
        pairs = [(thing.room, block.room, gap)]
        if thing.opening and block.opening:
            pairs.append((thing.opening, block.opening, self.spacing.web))
        if thing.opening and block.on_face:
            pairs.append((thing.opening, block.room, 0.0))
        if block.opening and block.on_face:
            pairs.append((thing.room, block.opening, 0.0))
        return pairs

    def _need(self, one: _Thing, other: _Thing, axis: int) -> float:
        """Least distance of origins along an axis, ``other`` being further on; by bounds, so never too little."""
        key = one.body.key, other.body.key, axis
        if key not in self._needs:
            need = one.room[axis + 2] + max(one.body.gap, other.body.gap) - other.room[axis]
            if one.opening and other.opening:
                need = max(need, one.opening[axis + 2] + self.spacing.web - other.opening[axis])
            self._needs[key] = need
        return self._needs[key]

    def _length(self, row: Row, extra: float) -> float:
        """From the left end of a row to its right one, close together."""
        inner = sum(self._need(a, b, 0) + extra for a, b in pairwise(row))
        return inner - row[0].room[0] + row[-1].room[2]


def _thing(body: Body, strip: Strip, tray: Tray) -> _Thing:
    pose = Pose(0.0, 0.0, float(body.turns[0]), body.mirror)
    stood = stand(body.footprint, pose)
    boxes = [stood.room_bounds] + ([stood.opening_bounds] if stood.opening_bounds else [])
    (lx, hx), (ly, hy) = body.windows[body.turns[0]]
    low = max([lx] + [strip.x0 - b[0] for b in boxes]), max([ly] + [strip.y0 - b[1] for b in boxes])
    high = min([hx] + [strip.x1 - b[2] for b in boxes]), min([hy] + [strip.y1 - b[3] for b in boxes])
    return _Thing(body, pose, stood.opening_bounds, stood.room_bounds, rack_order(body), low, high)


def _blocks(tray: Tray, fixed: Placed) -> list[_Block]:
    blocks = []
    for body, pose in fixed:
        stood = stand(body.footprint, pose)
        blocks.append(_Block(stood.opening_bounds, stood.room_bounds, body.gap, body.on_face))
    for rect in tray.keep_out:
        around = (rect.at[0], rect.at[1], rect.at[0] + rect.size[0], rect.at[1] + rect.size[1])
        blocks.append(_Block(around, around, None, False))
    return blocks


def _across(row: Row) -> Row:
    """From left to right: by group; by shank, reach, head; then height."""
    return sorted(row, key=lambda t: (t.body.group or "", *t.order[1:], t.order[0], t.body.key, t.body.id))


def _groups(things: Row) -> list[Row]:
    groups: list[Row] = []
    for thing in things:
        if groups and _alike(groups[-1][-1].body, thing.body):
            groups[-1].append(thing)
        else:
            groups.append([thing])
    return groups


def _alike(one: Body, other: Body) -> bool:
    return (one.key, one.group, one.front) == (other.key, other.group, other.front)


def _largest(holds: Callable[[float], bool], low: float, high: float) -> float:
    """The largest value at which something holds, by halving; ``low`` if at none."""
    best, reach = low, high
    for _ in range(HALVINGS):
        middle = (best + reach) / 2
        if holds(middle):
            best = middle
        else:
            reach = middle
    return best


def _hundredth(x: float, high: float) -> float:
    """Up to the next hundredth, unless the wall stands before it."""
    up = math.ceil(x * 100 - 1e-6) / 100
    return up if up <= high + 1e-6 else round(x, 6)


def _around(points: Sequence[tuple[float, float]]) -> Bounds:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return min(xs), min(ys), max(xs), max(ys)
