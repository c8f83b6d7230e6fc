"""Where everything goes in one tray: pins, corner seats, racks in rows, grids, the rest from a corner; then evened out.

What is kept beside something else is laid out with it as one body, or placed
next to it where that is pinned or in a corner.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from insertgen.arrange.beside import expanded, leaders, near, parted
from insertgen.arrange.body import Body, bodies
from insertgen.arrange.budget import MOVES, Budget
from insertgen.arrange.corners import corner_places
from insertgen.arrange.even import evened
from insertgen.arrange.feasible import Spacing, stand
from insertgen.arrange.join import planned, worth
from insertgen.arrange.keep import Kept, held_over, same_as
from insertgen.arrange.settle import Placed
from insertgen.arrange.shortfall import with_shortfalls
from insertgen.arrange.slide import may_stand
from insertgen.arrange.wishes import unmet_wishes
from insertgen.model.figures import Pose
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, LeftOut, LeftOutReason, Placement, Unmet
from insertgen.model.seat import Seat

__all__ = ["arrange"]

QUICKER = 5  # how many times fewer moves where rounds are limited too


def arrange(
    tray: Tray,
    seats: tuple[Seat, ...],
    *,
    seed: int = 0,
    seconds: float = 5.0,
    progress: Callable[[str], None] | None = None,
    stop: Callable[[], bool] | None = None,
    before: Layout | None = None,
    even: bool = True,
    rounds: int | None = None,
) -> Layout:
    """Lay the seats of a tray out on its blank.

    Pinned things keep their poses, even where they collide or stand too tall:
    `insertgen.arrange.feasible.conflicts` and the check say so. All else is placed only
    where exact geometry says that it may lie. Rounds are bounded: the same
    seed gives the same layout, bit for bit, as long as ``seconds``, a ceiling,
    or ``stop`` did not end the search (``Layout.stopped_by_time``).

    Parameters
    ----------
    stop : callable, optional
        Asked now and then; once true, the best so far comes back.
    before : Layout, optional
        An earlier layout of this tray whose places are held; only what is new is laid
        out. With nothing new it comes back as it was, whatever the seed and ceiling.
    even : bool
        Share out what room is left; not needed to know what fits.
    rounds : int, optional
        A lower ceiling on the rounds of filling than there is anyway, and fewer moves of things untangled.
    """
    moves = MOVES if rounds is None else MOVES // QUICKER
    budget = Budget(time.monotonic() + seconds, progress, stop, rounds, moves=moves)
    spacing = Spacing(tray.web, tray.margin)
    made = bodies(seats, tray.blank, tray.margin, tray.play)
    kept = Kept({}) if before is None else held_over(tray, spacing, made, before)
    laid = _lay(tray, spacing, made, kept.poses, seed, budget, even)
    faced = {body.id for body in made if body.seat.item.face is not None}
    for chosen in (faced & {body.id for body, _ in laid.left}, faced):  # room comes before which way it faces
        if chosen and laid.left and not budget.spent():
            freed = bodies(seats, tray.blank, tray.margin, tray.play, unfaced=frozenset(chosen))
            laid = max(laid, _lay(tray, spacing, freed, kept.poses, seed, budget, even), key=lambda one: one.worth)
    layout = _layout(tray, spacing, seats, seed, budget, laid, kept)
    return (None if before is None else same_as(layout, before)) or layout


@dataclass(frozen=True, slots=True)
class _Laid:
    placed: Placed
    left: list[tuple[Body, LeftOut]]

    @property
    def worth(self) -> tuple[float, int]:
        return round(sum(body.area for body, _ in self.placed), 3), len(self.placed)


def _lay(
    tray: Tray, spacing: Spacing, made: list[Body], kept: dict[str, Pose], seed: int, budget: Budget, even: bool
) -> _Laid:
    """One layout; what is kept lies as if it were pinned."""
    fixed: Placed = []
    left: list[tuple[Body, LeftOut]] = []
    loose: list[Body] = []
    for body in made:
        item = body.seat.item
        if item.pinned is not None:
            fixed.append((body, Pose(item.pinned.x, item.pinned.y, item.pinned.angle_deg, body.mirror)))
        elif _too_tall(tray, item.top):
            left.append((body, LeftOut(item.id, LeftOutReason.TOO_TALL)))
        elif item.id in kept:
            fixed.append((body, kept[item.id]))
        elif not body.turns:
            left.append((body, LeftOut(item.id, LeftOutReason.TOO_BIG)))
        else:
            loose.append(body)
    corners, loose = [body for body in loose if body.corner], [body for body in loose if not body.corner]
    held, without = corner_places(tray, spacing, fixed, corners, budget)
    led = leaders([*(body for body, _ in held), *loose], frozenset(body.id for body, _ in held))
    by_them, others = _by_what_is_held(tray, spacing, held, loose, led)
    plan = planned(tray, spacing, by_them, others, led, seed, budget)
    if plan.left and len(by_them) > len(held):  # what lies next to a pin may be in the way of others
        freed = planned(tray, spacing, held, loose, led, seed, budget)
        if worth(freed) > worth(replace(plan, others=[*by_them[len(held) :], *plan.others])):
            by_them, plan = held, freed
    placed = evened(tray, spacing, by_them, plan, seed, budget) if even and not plan.left else plan.all(by_them)
    placed = expanded(placed)
    short = [(body, LeftOut(body.id, LeftOutReason.NO_ROOM)) for body in (*without, *parted(list(plan.left)))]
    return _Laid(placed, [*left, *short])


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


def _too_tall(tray: Tray, top: float | None) -> bool:
    return tray.headroom is not None and top is not None and tray.thickness + top > tray.headroom + 1e-6


def _layout(
    tray: Tray, spacing: Spacing, seats: tuple[Seat, ...], seed: int, budget: Budget, laid: _Laid, kept: Kept
) -> Layout:
    """Placements, what was left out and what was wished in vain, all in job order."""
    order = {seat.item.id: number for number, seat in enumerate(seats)}
    no_room = [pair for pair in laid.left if pair[1].why is LeftOutReason.NO_ROOM]
    no_room.sort(key=lambda pair: order[pair[0].id])
    placed, left = with_shortfalls(no_room, laid.placed, tray, spacing)
    placements = []
    for body, pose in sorted(placed, key=lambda one: order[one[0].id]):
        item = body.seat.item
        source = item.shape.source or item.name
        placements.append(Placement(item.id, item.name, source, pose, item.pinned is not None))
    left += [one for _, one in laid.left if one.why is not LeftOutReason.NO_ROOM]
    unmet: list[Unmet] = [*unmet_wishes(seats, placements), *kept.lost]
    return Layout(
        tray=tray.slug,
        seed=seed,
        rounds=budget.rounds,
        stopped_by_time=budget.stopped,
        blank=tray.blank,
        placements=tuple(placements),
        left_out=tuple(sorted(left, key=lambda one: order[one.id])),
        unmet=tuple(sorted(unmet, key=lambda one: order[one.id])),
    )
