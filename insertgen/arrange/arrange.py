"""Where everything goes in one tray: pins, corner seats, racks in rows, the rest from a corner; then evened out.

What is kept beside something else is laid out with it as one body, or placed
next to it where that is pinned or in a corner.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from insertgen.arrange.beside import compound, expanded, leaders, near, parted
from insertgen.arrange.body import Body, bodies
from insertgen.arrange.corners import corner_places
from insertgen.arrange.even import evened
from insertgen.arrange.feasible import Spacing, stand
from insertgen.arrange.fill import Budget
from insertgen.arrange.plan import Plan, best_plan
from insertgen.arrange.settle import Placed
from insertgen.arrange.slide import may_stand
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
    corners, loose = [body for body in loose if body.corner], [body for body in loose if not body.corner]
    held, without = corner_places(tray, spacing, pinned, corners, budget)
    left += [LeftOut(body.id, LeftOutReason.NO_ROOM) for body in without]
    led = leaders([*(body for body, _ in held), *loose], frozenset(body.id for body, _ in held))
    fixed, others = _by_what_is_held(tray, spacing, held, loose, led)
    plan = _planned(tray, spacing, fixed, _joined(tray, spacing, others, led), seed, budget)
    if plan.left and len(fixed) > len(held):  # what lies next to a pin may be in the way of others
        freed = _planned(tray, spacing, held, _joined(tray, spacing, loose, led), seed, budget)
        if _worth(freed) > _worth(replace(plan, others=[*fixed[len(held) :], *plan.others])):
            fixed, plan = held, freed
    placed = evened(tray, spacing, fixed, plan, seed, budget) if not plan.left else plan.all(fixed)
    left += [LeftOut(body.id, LeftOutReason.NO_ROOM) for body in parted(list(plan.left))]
    return _layout(tray, seats, seed, budget, expanded(placed), left)


def _by_what_is_held(
    tray: Tray, spacing: Spacing, held: Placed, loose: list[Body], led: dict[str, str]
) -> tuple[Placed, list[Body]]:
    """What is kept beside a pinned thing or a corner seat goes next to it, and stays there."""
    names = {body.id for body, _ in held}
    held, rest = list(held), []
    for body in loose:
        if led.get(body.id) not in names:
            rest.append(body)
            continue
        stood = [stand(other.footprint, pose) for other, pose in held]
        leader = next(one for one in stood if one.id == led[body.id])
        pose = near(body, leader, partial(may_stand, stood=stood, tray=tray, spacing=spacing), spacing)
        if pose is None:
            rest.append(body)
        else:
            held.append((body, pose))
    return held, rest


def _joined(tray: Tray, spacing: Spacing, loose: list[Body], led: dict[str, str]) -> list[Body]:
    """Everything that is kept beside another joined to it as one body."""
    by_id = {body.id: body for body in loose}
    result: list[Body] = []
    key = max((body.key for body in loose), default=0)
    for body in loose:
        if led.get(body.id) in by_id:
            continue
        riders = [other for other in loose if led.get(other.id) == body.id]
        if riders:
            key += 1
            body, riders = compound(body, riders, tray, spacing, key)
        result += [body, *riders]
    return result


def _planned(tray: Tray, spacing: Spacing, held: Placed, loose: list[Body], seed: int, budget: Budget) -> Plan:
    """The plan that places most; things kept beside each other are parted only where some would be left out."""
    best = best_plan(tray, spacing, held, loose, seed, budget)
    joined = {body.id for body in loose if body.members}
    done: set[str] = set()
    # first only those that found no room, then all: one that lies well may be in the way of others
    for chosen in (joined & {body.id for body in best.left}, joined):
        if not best.left or chosen == done:
            continue
        tried = [one for body in loose for one in (parted([body]) if body.id in chosen else [body])]
        best = max(best, best_plan(tray, spacing, held, tried, seed, budget), key=_worth)
        done = chosen
    return best


def _worth(plan: Plan) -> tuple[float, int]:
    """More area placed is better, then more things."""
    placed = parted([body for body, _ in (*plan.racks, *plan.others)])
    return round(sum(body.area for body in placed), 3), len(placed)


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
