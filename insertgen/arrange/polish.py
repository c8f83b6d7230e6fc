"""Things that lie a little too near each other, pushed apart: smooth, turns held, walls as bounds.

The sum of squared shortfalls of distance at the samples of every figure is
brought down by L-BFGS-B (Byrd, Lu, Nocedal, Zhu 1995, as in scipy).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from insertgen.arrange.body import Body, Field
from insertgen.arrange.feasible import Spacing
from insertgen.model.figures import Pose
from insertgen.model.job import KeepOut

__all__ = ["polish"]

Floats = NDArray[np.float64]
Placed = list[tuple[Body, Pose]]

ITERATIONS = 80
WANDER = 40.0  # things further from each other than this are taken never to meet
WALL_WEIGHT = 10.0  # a wall counts like this many samples of a neighbour


@dataclass(frozen=True, slots=True, eq=False)
class _Meeting:
    """Samples of a figure of ``i`` against the distances of a figure of ``j``: at least ``need`` apart."""

    i: int
    j: int
    samples: Floats  # of i, turned, about its origin
    b: Field
    angle_deg: float  # of j
    bounds: tuple[float, float, float, float]  # of where i's origin less j's lets them come that near
    need: float


def polish(
    placed: Placed,
    frozen: frozenset[str],
    keep_out: tuple[KeepOut, ...],
    spacing: Spacing,
    more: float,
    walls: float = 0.0,
    iterations: int = ITERATIONS,
) -> Placed:
    """Poses with shortfalls pushed out as far as that goes; those ``frozen`` stay.

    ``more`` is asked on top of every gap, to cover what tables and samples miss.
    Walls are never crossed, and with ``walls`` they push as well: that much is wished for on top.
    """
    loose = [k for k, (body, _) in enumerate(placed) if body.id not in frozen]
    if not loose:
        return placed
    meetings = _meetings(placed, set(loose), spacing, more)
    start = np.array([[pose.x, pose.y] for _, pose in placed])
    limits = []
    for k in loose:
        body, pose = placed[k]
        for axis, (low, high) in enumerate(body.window(int(pose.angle_deg), spacing.inset)):
            limits.append((low, high))
            start[k, axis] = min(max(start[k, axis], low), high)
    rects = _rects(placed, loose, keep_out, spacing, more)

    low_high = np.array(limits)
    crowd = _Crowd(meetings, len(placed))

    def cost(flat: Floats) -> tuple[float, Floats]:
        at = start.copy()
        at[loose] = flat.reshape(-1, 2)
        total, slope = crowd.push(at)
        for rect in rects:
            total += _push_rect(rect, at, slope)
        flat_slope = slope[loose].ravel()
        if walls:
            total += _push_walls(flat, low_high, walls, flat_slope)
        return total, flat_slope

    found = minimize(
        cost, start[loose].ravel(), jac=True, method="L-BFGS-B", bounds=limits,
        options={"maxiter": iterations, "ftol": 1e-12, "gtol": 1e-6},
    )  # fmt: skip
    moved = list(placed)
    for k, (x, y) in zip(loose, found.x.reshape(-1, 2), strict=True):
        body, pose = placed[k]
        moved[k] = body, Pose(float(x), float(y), pose.angle_deg, pose.mirror)
    return moved


def _meetings(placed: Placed, loose: set[int], spacing: Spacing, more: float) -> list[_Meeting]:
    turned: dict[tuple[int, bool], Floats] = {}
    for k, (body, pose) in enumerate(placed):
        turned[k, False] = _turned(body.room.samples, pose.angle_deg)
        turned[k, True] = turned[k, False]
        if body.opening is not None and body.opening is not body.room:
            turned[k, True] = _turned(body.opening.samples, pose.angle_deg)
    boxes = {key: (points.min(axis=0), points.max(axis=0)) for key, points in turned.items()}
    result: list[_Meeting] = []
    for i, j in _near_pairs(placed, boxes, spacing, more):
        a, (b, pose_b) = placed[i][0], placed[j]
        if i in loose or j in loose:
            for mine, theirs, need in _needs(a, b, spacing, more):
                (low_a, high_a), (low_b, high_b) = boxes[i, mine], boxes[j, theirs]
                low, high = low_b - high_a - need, high_b - low_a + need
                figure = b.opening if theirs and b.opening is not None else b.room
                around = float(low[0]), float(low[1]), float(high[0]), float(high[1])
                result.append(_Meeting(i, j, turned[i, mine], figure, pose_b.angle_deg, around, need))
    return result


def _near_pairs(
    placed: Placed, boxes: dict[tuple[int, bool], tuple[Floats, Floats]], spacing: Spacing, more: float
) -> list[tuple[int, int]]:
    """Pairs, both ways round, whose bounds are no further apart than they might move."""
    at = np.array([[pose.x, pose.y] for _, pose in placed])
    low = np.array([np.minimum(boxes[k, False][0], boxes[k, True][0]) for k in range(len(placed))]) + at
    high = np.array([np.maximum(boxes[k, False][1], boxes[k, True][1]) for k in range(len(placed))]) + at
    need = max([spacing.web, *(body.gap for body, _ in placed)]) + spacing.extra + more + WANDER
    apart = np.maximum(low[:, None] - high[None, :], low[None, :] - high[:, None]).max(axis=2)
    near = apart <= need
    np.fill_diagonal(near, False)
    return [(int(i), int(j)) for i, j in np.argwhere(near)]


def _needs(a: Body, b: Body, spacing: Spacing, more: float) -> list[tuple[bool, bool, float]]:
    """What must be how far apart: opening (True) or room (False) of a, the same of b, mm."""
    extra, gap = spacing.extra + more, max(a.gap, b.gap)
    needs = []
    if a.opening is not None and b.opening is not None:
        needs.append((True, True, spacing.web + extra))
    if a.on_face or b.on_face:
        if a.opening is not None:
            needs.append((True, False, extra))
        if b.opening is not None:
            needs.append((False, True, extra))
    if not (a.room_inside and b.room_inside and gap <= spacing.web):
        needs.append((False, False, gap + extra))
    return needs


class _Crowd:
    """All meetings at once: one table of all distances, one pass over all samples that are near another."""

    def __init__(self, meetings: list[_Meeting], count: int) -> None:
        self.meetings, self.count = meetings, count
        self.i = np.array([m.i for m in meetings], dtype=np.intp)
        self.j = np.array([m.j for m in meetings], dtype=np.intp)
        self.bounds = np.array([m.bounds for m in meetings]).reshape(-1, 4)
        starts: dict[int, int] = {}
        tables: list[Floats] = []
        for meeting in meetings:
            if id(meeting.b) not in starts:
                starts[id(meeting.b)] = sum(len(table) for table in tables)
                tables.append(meeting.b.table.ravel())
        self.table = np.concatenate(tables) if tables else np.zeros(1)
        self.starts = [starts[id(m.b)] for m in meetings]
        self._near: tuple[bytes, _Near | None] = (b"", None)

    def push(self, at: Floats) -> tuple[float, Floats]:
        """Sum of squared shortfalls, and its slope by every origin (n, 2)."""
        slope = np.zeros((self.count, 2))
        off = at[self.i] - at[self.j]
        active = np.all((off > self.bounds[:, :2]) & (off < self.bounds[:, 2:]), axis=1)
        if not active.any():
            return 0.0, slope
        key = active.tobytes()
        if self._near[0] != key or self._near[1] is None:
            self._near = key, self._gather(np.nonzero(active)[0])
        near = self._near[1]
        assert near is not None
        value, gx, gy = near.distances(self.table, off)
        short = np.maximum(near.need - value, 0.0)
        # the slope of short^2 by the origin of i; that by the origin of j is its opposite
        fx, fy = -2 * short * gx, -2 * short * gy
        for axis, force in ((0, fx), (1, fy)):
            per = np.add.reduceat(force, near.firsts)
            np.add.at(slope[:, axis], self.i[near.which], per)
            np.subtract.at(slope[:, axis], self.j[near.which], per)
        return float((short * short).sum()), slope

    def _gather(self, which: NDArray[np.intp]) -> _Near:
        chosen = [self.meetings[k] for k in which]
        lengths = np.array([len(m.samples) for m in chosen])
        owner = np.repeat(np.arange(len(chosen)), lengths)
        angle = np.radians([m.angle_deg for m in chosen])
        rows = [
            (
                m.b.origin[0],
                m.b.origin[1],
                m.b.step,
                m.b.table.shape[1],
                m.b.table.shape[0],
                self.starts[k],
                m.need,
            )
            for m, k in zip(chosen, which, strict=True)
        ]
        left, front, step, columns, count, start, need = np.array(rows).T
        return _Near(
            which, owner, np.concatenate([[0], np.cumsum(lengths)[:-1]]), np.vstack([m.samples for m in chosen]),
            np.cos(angle)[owner], np.sin(angle)[owner], left[owner], front[owner], step[owner],
            columns.astype(np.intp)[owner], count.astype(np.intp)[owner], start.astype(np.intp)[owner], need[owner],
        )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Near:
    """Samples of all meetings that are near now, and for each the table it is looked up in."""

    which: NDArray[np.intp]
    owner: NDArray[np.intp]
    firsts: NDArray[np.intp]
    samples: Floats
    cos: Floats
    sin: Floats
    left: Floats
    front: Floats
    step: Floats
    columns: NDArray[np.intp]
    rows: NDArray[np.intp]
    start: NDArray[np.intp]
    need: Floats

    def distances(self, table: Floats, off: Floats) -> tuple[Floats, Floats, Floats]:
        """Distances at the samples and their slopes along the blank's x and y; bilinear.

        Beyond a table's edge the way to it is added.
        """
        shift = off[self.which][self.owner]
        x, y = self.samples[:, 0] + shift[:, 0], self.samples[:, 1] + shift[:, 1]
        u = (self.cos * x + self.sin * y - self.left) / self.step
        v = (self.cos * y - self.sin * x - self.front) / self.step
        cu = np.minimum(np.maximum(u, 0.0), self.columns - 1.000001)
        cv = np.minimum(np.maximum(v, 0.0), self.rows - 1.000001)
        column, row = cu.astype(np.intp), cv.astype(np.intp)
        fu, fv = cu - column, cv - row
        first = self.start + row * self.columns + column
        t00, t01, t10, t11 = (
            table[first],
            table[first + 1],
            table[first + self.columns],
            table[first + self.columns + 1],
        )
        low, high = t00 + (t01 - t00) * fu, t10 + (t11 - t10) * fu
        value = low + (high - low) * fv
        gu, gv = ((t01 - t00) * (1 - fv) + (t11 - t10) * fv) / self.step, (high - low) / self.step
        over_u, over_v = (u - cu) * self.step, (v - cv) * self.step
        far = np.sqrt(over_u * over_u + over_v * over_v)
        if far.any():
            beyond = far > 1e-9
            safe = np.where(beyond, far, 1.0)
            gu, gv = np.where(beyond, over_u / safe, gu), np.where(beyond, over_v / safe, gv)
            value = value + far
        return value, self.cos * gu - self.sin * gv, self.sin * gu + self.cos * gv


Rect = tuple[int, Floats, KeepOut, float, tuple[float, float, float, float]]


def _rects(
    placed: Placed, loose: list[int], keep_out: tuple[KeepOut, ...], spacing: Spacing, more: float
) -> list[Rect]:
    """For every keep-out and opening, and every room that reaches past its opening: owner, samples, and where it comes near."""
    result: list[Rect] = []
    for rect in keep_out:
        (x, y), (width, depth) = rect.at, rect.size
        for k in loose:
            body, pose = placed[k]
            figures = [(spacing.web + spacing.extra + more, body.opening)] if body.opening is not None else []
            if not body.room_inside:
                figures.append((spacing.extra + more, body.room))
            for need, figure in figures:
                samples = _turned(figure.samples, pose.angle_deg)
                (left, front), (right, back) = samples.min(axis=0), samples.max(axis=0)
                around = x - need - right, y - need - back, x + width + need - left, y + depth + need - front
                result.append((k, samples, rect, need, (float(around[0]), float(around[1]), float(around[2]), float(around[3]))))
    return result


def _push_walls(flat: Floats, limits: Floats, wish: float, slope: Floats) -> float:
    """Origins against their limits, wished to be ``wish`` inside, or in the middle where that is too much."""
    room = np.minimum(wish, (limits[:, 1] - limits[:, 0]) / 2)
    low, high = np.maximum(limits[:, 0] + room - flat, 0.0), np.maximum(flat - limits[:, 1] + room, 0.0)
    slope += 2 * WALL_WEIGHT * (high - low)
    return float(WALL_WEIGHT * (low * low + high * high).sum())


def _push_rect(one: Rect, at: Floats, slope: Floats) -> float:
    """Samples against a keep-out, by the signed distance of a box."""
    owner, samples, rect, need, (left, front, right, back) = one
    if not (left < at[owner, 0] < right and front < at[owner, 1] < back):
        return 0.0
    half = np.array(rect.size) / 2
    off = samples + at[owner] - (np.array(rect.at) + half)
    q = np.abs(off) - half
    outside = np.maximum(q, 0.0)
    far = np.hypot(*outside.T)
    value = far + np.minimum(q.max(axis=1), 0.0)
    hit = value < need
    if not hit.any():
        return 0.0
    short, sign = need - value[hit], np.where(off[hit] >= 0, 1.0, -1.0)
    nearer = np.eye(2)[q[hit].argmax(axis=1)]
    away = np.where(far[hit, None] > 0, outside[hit] / np.maximum(far[hit, None], 1e-12), nearer) * sign
    slope[owner] -= (2 * short[:, None] * away).sum(axis=0)
    return float((short * short).sum())


def _turned(points: Floats, angle_deg: float) -> Floats:
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.column_stack([points[:, 0] * cos - points[:, 1] * sin, points[:, 0] * sin + points[:, 1] * cos])
