"""Where everything goes in one tray: pins first, racks in rows, the rest from a corner, then evened out."""

from __future__ import annotations

import time
from collections.abc import Callable

from insertgen.arrange.body import Body, bodies
from insertgen.arrange.corners import corner_places, opened_body
from insertgen.arrange.even import evened
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.fill import Budget
from insertgen.arrange.plan import best_plan
from insertgen.arrange.settle import Placed
from insertgen.model import Layout, LeftOut, LeftOutReason, Placement, Pose, Seat, Tray

__all__ = ["arrange"]


def arrange(
    tray: Tray,
    seats: tuple[Seat, ...],
    *,
    seed: int = 0,
    seconds: float = 5.0,
    progress: Callable[[str], None] | None = None,
) -> Layout:
    """Lay the seats of a tray out on its blank.

    Pinned things keep their poses, even where they collide or stand too tall:
    `insertgen.arrange.feasible.conflicts` and the check say so. All else is placed only
    where exact geometry says that it may lie. Rounds are bounded: the same
    seed gives the same layout, bit for bit, as long as ``seconds``, a ceiling,
    did not stop the search (``Layout.stopped_by_time``).
    """
    budget = Budget(time.monotonic() + seconds, progress)
    left: list[LeftOut] = []
    pinned: Placed = []
    loose: list[Body] = []
    for body in bodies(seats, tray.blank, tray.margin, tray.play):
        item = body.seat.item
        if item.pinned is not None:
            pinned.append((body, Pose(item.pinned.x, item.pinned.y, item.pinned.angle_deg, body.mirror)))
        elif _too_tall(tray, item.top):
            left.append(LeftOut(item.id, LeftOutReason.TOO_TALL))
        elif not body.turns:
            left.append(LeftOut(item.id, LeftOutReason.TOO_BIG))
        else:
            loose.append(body)
    spacing = Spacing(tray.web, tray.margin)
    corners = [body for body in loose if body.corner]
    loose = [body for body in loose if not body.corner]
    stood, without = corner_places(tray, spacing, pinned, corners, budget)
    left += [LeftOut(body.id, LeftOutReason.NO_ROOM) for body in without]
    pinned = [(opened_body(body, pose, tray) if body.corner else body, pose) for body, pose in [*pinned, *stood]]
    plan = best_plan(tray, spacing, pinned, loose, seed, budget)
    placed = evened(tray, spacing, pinned, plan, seed, budget) if not plan.left else plan.all(pinned)
    left += [LeftOut(body.id, LeftOutReason.NO_ROOM) for body in plan.left]
    return _layout(tray, seats, seed, budget, placed, left)


def _too_tall(tray: Tray, top: float | None) -> bool:
    return tray.headroom is not None and top is not None and tray.thickness + top > tray.headroom + 1e-6


def _layout(
    tray: Tray, seats: tuple[Seat, ...], seed: int, budget: Budget, placed: Placed, left: list[LeftOut]
) -> Layout:
    """Placements and what was left out, both in job order."""
    order = {seat.item.id: number for number, seat in enumerate(seats)}
    placements = []
    for body, pose in sorted(placed, key=lambda one: order[one[0].id]):
        item = body.seat.item
        source = item.shape.source or item.name
        placements.append(Placement(item.id, item.name, source, pose, item.pinned is not None))
    return Layout(
        tray.slug,
        seed,
        budget.rounds,
        budget.stopped,
        tray.blank,
        tuple(placements),
        tuple(sorted(left, key=lambda one: order[one.id])),
    )
