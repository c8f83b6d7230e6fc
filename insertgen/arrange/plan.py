"""Where the racks of a tray stand, and whether the rest fits beside them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from insertgen.arrange.body import Body
from insertgen.arrange.budget import Budget
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.fill import fill
from insertgen.arrange.rows import Strip, rack
from insertgen.arrange.settle import Placed, faults
from insertgen.arrange.wishes import broken
from insertgen.model.job import Tray

__all__ = ["SIDES", "Plan", "best_plan", "rack_at"]

#: Where a rack may stand when it shares the tray, in the order tried; "whole": it has the tray to itself.
SIDES = ("behind", "front", "left", "right")
SIDES_FRONT = ("front", "behind", "left", "right")  # where something of the rack is to be at the front
HALVINGS = 9
QUICK_ROUNDS = 6  # of filling the rest, for each side but the best, and beside a rack that is too full


@dataclass(frozen=True, slots=True)
class Plan:
    """A rack at a side ("" if there is none), what is placed beside it, what found no room, and how many wishes it breaks."""

    side: str
    racks: Placed
    others: Placed
    left: tuple[Body, ...]
    broken: int = 0

    def all(self, pinned: Placed) -> Placed:
        """All that lies in the tray."""
        return [*pinned, *self.racks, *self.others]

    @property
    def worth(self) -> tuple[float, int, int]:
        """More area placed is better, then fewer wishes broken, then more things in rows."""
        placed = [*self.racks, *self.others]
        return round(sum(body.area for body, _ in placed), 3), -self.broken, len(self.racks)


def best_plan(
    tray: Tray, spacing: Spacing, pinned: Placed, loose: list[Body], seed: int, budget: Budget
) -> Plan:
    """The plan that places most, by area; proved."""
    racks = [body for body in loose if body.rack]
    others = [body for body in loose if not body.rack]
    if not racks:
        return _filled(tray, spacing, pinned, "", [], others, seed, budget)
    if not others:
        return _rack_alone(tray, spacing, pinned, racks, seed, budget)
    plans: list[Plan] = []
    for side in SIDES_FRONT if any(body.front for body in racks) else SIDES:
        if plans and budget.spent():
            break
        stood = rack_at(side, racks, tray, pinned, spacing)
        if stood is None or _collides(tray, spacing, pinned, stood):
            continue
        plan = _filled(tray, spacing, pinned, side, stood, others, seed, budget, QUICK_ROUNDS)
        if not plan.left and not plan.broken:
            return plan
        plans.append(plan)
    best = max(plans, key=lambda plan: plan.worth, default=None)
    if best is not None and not best.left:
        return best
    if best is not None:
        plans.append(_filled(tray, spacing, pinned, best.side, best.racks, others, seed, budget))
    # rows come second to room: where not all fit with them, let all find places as they can
    return _or_anyhow(plans, tray, spacing, pinned, loose, seed, budget)


def rack_at(side: str, racks: list[Body], tray: Tray, fixed: Placed, spacing: Spacing) -> Placed | None:
    """The rack in the smallest strip along one side of the blank that holds it; None: none does."""
    width, depth = tray.blank.width, tray.blank.depth
    if side == "whole":
        return rack(racks, Strip(0.0, 0.0, width, depth), tray, fixed, spacing, share=True)
    strips: dict[str, Callable[[float], Strip]] = {
        "behind": lambda size: Strip(0.0, depth - size, width, depth),
        "front": lambda size: Strip(0.0, 0.0, width, size),
        "left": lambda size: Strip(0.0, 0.0, size, depth),
        "right": lambda size: Strip(width - size, 0.0, width, depth),
    }
    high = depth if side in ("behind", "front") else width
    low, best = 0.0, rack(racks, strips[side](high), tray, fixed, spacing, share=False)
    if best is None:
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        found = rack(racks, strips[side](middle), tray, fixed, spacing, share=False)
        if found is None:
            low = middle
        else:
            best, high = found, middle
    return best


def _filled(
    tray: Tray, spacing: Spacing, pinned: Placed, side: str, stood: Placed, others: list[Body], seed: int,
    budget: Budget, rounds: int | None = None,
) -> Plan:  # fmt: skip
    fixed = [*pinned, *stood]
    if rounds is None:
        placed, left = fill(tray, spacing, fixed, others, seed, budget)
    else:
        placed, left = fill(tray, spacing, fixed, others, seed, budget, rounds=rounds)
    return Plan(side, stood, placed[len(fixed) :], tuple(left), broken(placed))


def _rack_alone(
    tray: Tray, spacing: Spacing, pinned: Placed, racks: list[Body], seed: int, budget: Budget
) -> Plan:
    """All in rows if they fit so; else as many as do, the rest between them where there is room."""
    budget.rounds += 1
    stood = rack_at("whole", racks, tray, pinned, spacing)
    if stood is not None and not _collides(tray, spacing, pinned, stood):
        return Plan("whole", stood, [], ())
    plans: list[Plan] = []
    for kept in _fewer(racks, tray, spacing, pinned):
        names = {body.id for body, _ in kept}
        rest = [body for body in racks if body.id not in names]
        plans.append(_filled(tray, spacing, pinned, "front", kept, rest, seed, budget, QUICK_ROUNDS))
    return _or_anyhow(plans, tray, spacing, pinned, racks, seed, budget)


def _or_anyhow(
    plans: list[Plan],
    tray: Tray,
    spacing: Spacing,
    pinned: Placed,
    loose: list[Body],
    seed: int,
    budget: Budget,
) -> Plan:
    """The best of the plans with rows; one without only if it is all there is, or places everything.

    Where something is left out whatever is done, rows at least stay straight.
    """
    if any(not plan.left for plan in plans):
        return max((plan for plan in plans if not plan.left), key=lambda plan: plan.worth)
    anyhow = _filled(tray, spacing, pinned, "", [], loose, seed, budget, QUICK_ROUNDS if plans else None)
    if not plans:
        return anyhow
    best = max(plans, key=lambda plan: plan.worth)
    return best if anyhow.left else anyhow


def _fewer(racks: list[Body], tray: Tray, spacing: Spacing, pinned: Placed) -> Iterator[Placed]:
    """As many of a rack as fit in rows: once with small ones left off, once with large ones."""
    by_area = sorted(racks, key=lambda body: (body.area, body.id))
    everywhere = Strip(0.0, 0.0, tray.blank.width, tray.blank.depth)
    for large_off in (False, True):
        for count in range(1, len(racks)):
            stood = rack(
                by_area[:-count] if large_off else by_area[count:],
                everywhere,
                tray,
                pinned,
                spacing,
                share=False,
            )
            if stood is not None and not _collides(tray, spacing, pinned, stood):
                yield stood
                break


def _collides(tray: Tray, spacing: Spacing, pinned: Placed, stood: Placed) -> bool:
    frozen = frozenset(body.id for body, _ in pinned)
    return bool(faults([*pinned, *stood], frozen, tray, spacing))
