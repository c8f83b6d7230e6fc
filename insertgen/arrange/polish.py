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
from insertgen.model import KeepOut, Pose

__all__ = ["polish"]

Floats = NDArray[np.float64]

ITERATIONS = 80


@dataclass(frozen=True, slots=True, eq=False)
class _Meeting:
    """Samples of figure ``a`` against the distances of figure ``b``: at least ``need`` apart."""

    i: int
    j: int
    samples: Floats  # of a, turned, about its origin
    reach: float  # how far they go from it
    b: Field
    turn: tuple[float, float]  # cos, sin of b
    b_reach: float
    need: float


def polish(
    placed: list[tuple[Body, Pose]],
    frozen: frozenset[str],
    keep_out: tuple[KeepOut, ...],
    spacing: Spacing,
    more: float,
) -> list[tuple[Body, Pose]]:
    """Poses with shortfalls pushed out as far as that goes; those ``frozen`` stay.

    ``more`` is asked on top of every gap, to cover what tables and samples miss.
    """
    loose = [k for k, (body, _) in enumerate(placed) if body.id not in frozen]
    if not loose:
        return placed
    meetings = _meetings(placed, set(loose), spacing, more)
    start = np.array([[pose.x, pose.y] for _, pose in placed])
    limits = []
    for k in loose:
        body, pose = placed[k]
        for axis, (low, high) in enumerate(body.windows[int(pose.angle_deg)]):
            low, high = low + spacing.extra, high - spacing.extra
            limits.append((low, high) if low <= high else ((low + high) / 2,) * 2)
            start[k, axis] = min(max(start[k, axis], limits[-1][0]), limits[-1][1])
    rects = _rects(placed, loose, keep_out, spacing, more)

    def cost(flat: Floats) -> tuple[float, Floats]:
        at = start.copy()
        at[loose] = flat.reshape(-1, 2)
        total, slope = 0.0, np.zeros_like(at)
        for meeting in meetings:
            total += _push(meeting, at, slope)
        for k, samples, rect, need in rects:
            total += _push_rect(k, samples, rect, need, at, slope)
        return total, slope[loose].ravel()

    # rounded starts and a fixed count of steps: the same run gives the same bits
    found = minimize(
        cost, start[loose].ravel(), jac=True, method="L-BFGS-B", bounds=limits,
        options={"maxiter": ITERATIONS, "ftol": 1e-12, "gtol": 1e-6},
    )  # fmt: skip
    moved = list(placed)
    for k, (x, y) in zip(loose, found.x.reshape(-1, 2), strict=True):
        body, pose = placed[k]
        moved[k] = body, Pose(float(x), float(y), pose.angle_deg, pose.mirror)
    return moved


def _meetings(placed: list[tuple[Body, Pose]], loose: set[int], spacing: Spacing, more: float) -> list[_Meeting]:
    result: list[_Meeting] = []
    web, extra = spacing.web, spacing.extra + more
    for i, (a, pose_a) in enumerate(placed):
        for j, (b, pose_b) in enumerate(placed):
            if i == j or (i not in loose and j not in loose):
                continue
            figures: list[tuple[Field, Field, float]] = []
            gap = max(a.gap, b.gap)
            if a.opening is not None and b.opening is not None:
                figures.append((a.opening, b.opening, web + extra))
            elif a.opening is not None:
                figures.append((a.opening, b.room, extra))
            elif b.opening is not None:
                figures.append((a.room, b.opening, extra))
            if not (a.room_inside and b.room_inside and gap <= web):
                figures.append((a.room, b.room, gap + extra))
            result += [_meeting(i, j, one, pose_a, other, pose_b, need) for one, other, need in figures]
    return result


def _meeting(i: int, j: int, a: Field, pose_a: Pose, b: Field, pose_b: Pose, need: float) -> _Meeting:
    samples = _turned(a.samples, pose_a.angle_deg)
    angle = math.radians(pose_b.angle_deg)
    return _Meeting(
        i, j, samples, float(np.hypot(*samples.T).max()), b, (math.cos(angle), math.sin(angle)),
        float(np.hypot(*b.samples.T).max()), need,
    )  # fmt: skip


def _push(meeting: _Meeting, at: Floats, slope: Floats) -> float:
    i, j = meeting.i, meeting.j
    dx, dy = at[i] - at[j]
    if math.hypot(dx, dy) > meeting.reach + meeting.b_reach + meeting.need:
        return 0.0
    cos, sin = meeting.turn
    x, y = meeting.samples[:, 0] + dx, meeting.samples[:, 1] + dy
    value, grad = meeting.b.at(np.column_stack([cos * x + sin * y, cos * y - sin * x]))
    short = meeting.need - value
    hit = short > 0
    if not hit.any():
        return 0.0
    short = short[hit]
    gx, gy = grad[hit].T
    push = np.array([(short * (cos * gx - sin * gy)).sum(), (short * (sin * gx + cos * gy)).sum()]) * -2
    slope[i] += push
    slope[j] -= push
    return float((short * short).sum())


def _rects(
    placed: list[tuple[Body, Pose]], loose: list[int], keep_out: tuple[KeepOut, ...], spacing: Spacing, more: float
) -> list[tuple[int, Floats, KeepOut, float]]:
    result = []
    for k in loose:
        body, pose = placed[k]
        for rect in keep_out:
            if body.opening is not None:
                need = spacing.web + spacing.extra + more
                result.append((k, _turned(body.opening.samples, pose.angle_deg), rect, need))
            if not body.room_inside:
                result.append((k, _turned(body.room.samples, pose.angle_deg), rect, spacing.extra + more))
    return result


def _push_rect(k: int, samples: Floats, rect: KeepOut, need: float, at: Floats, slope: Floats) -> float:
    """Samples against a keep-out, by the signed distance of a box."""
    half = np.array(rect.size) / 2
    off = samples + at[k] - (np.array(rect.at) + half)
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
    slope[k] -= 2 * (short[:, None] * away).sum(axis=0)
    return float((short * short).sum())


def _turned(points: Floats, angle_deg: float) -> Floats:
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return np.column_stack([points[:, 0] * cos - points[:, 1] * sin, points[:, 0] * sin + points[:, 1] * cos])
