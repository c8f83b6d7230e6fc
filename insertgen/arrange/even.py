"""What room is left is shared: the same things laid out again for larger gaps, as large as still fit."""

from __future__ import annotations

from dataclasses import replace

from insertgen.arrange.budget import Budget
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.grid import respaced
from insertgen.arrange.plan import Plan, rack_at
from insertgen.arrange.polish import polish
from insertgen.arrange.settle import Placed, faults, settle
from insertgen.arrange.untangle import untangled
from insertgen.arrange.wishes import broken
from insertgen.model.job import Tray

__all__ = ["evened"]

FIRST = 4.0  # mm asked on top of every gap at first, doubled as long as that fits
HALVINGS = 4
FINER = 4  # halvings more in which things are only pushed apart
AMPLE = 25.0  # mm on top of every gap; for more, things are only pushed apart: it helps nobody's fingers
MOVES = 1000  # of single things, for one width of gaps
FULL = 0.82  # of the room covered: more is not tried
ALL_MOVES = 4000  # over all widths tried
SPREADS = (5.0, 2.5, 1.5)  # how much more than was found the last spreading asks for


def evened(tray: Tray, spacing: Spacing, pinned: Placed, plan: Plan, seed: int, budget: Budget) -> Placed:
    """A layout of the same things with the smallest gap as large as found; proved, and never smaller than before.

    Gaps between pinned things, and theirs to the walls, are nobody's to change and do not count.
    """
    best, extra = plan, 0.0
    if plan.side == "whole" or not (plan.racks or plan.others):
        return plan.all(pinned)
    budget.moves = ALL_MOVES
    most = max(tray.blank.width, tray.blank.depth)

    def wider(wanted: float, now: Plan, push_only: bool) -> Plan | None:
        asked = Spacing(spacing.web, spacing.margin, wanted)
        found = _wider(tray, asked, pinned, now, seed, budget, push_only=push_only)
        return found if found is not None and broken(found.all(pinned)) <= plan.broken else None

    step, ceiling, finer = FIRST, 0.0, 0
    for _ in range(12 + FINER):
        if budget.spent() or extra >= most or finer >= FINER:
            break
        near = ceiling > 0 and ceiling - extra < max(0.5, (extra + spacing.web) / 2**HALVINGS)
        finer += near
        wanted = (extra + ceiling) / 2 if ceiling else min(extra + step, most)
        found = wider(wanted, best, near)
        if found is None:
            ceiling = wanted
        else:
            best, extra, step = found, wanted, step * 2
    budget.say(f"gaps {extra:.1f} mm larger than asked" if extra < most else "one thing, in the middle")
    return _spread(tray, spacing, extra, pinned, replace(best, broken=plan.broken), budget)


def _wider(
    tray: Tray, spacing: Spacing, pinned: Placed, plan: Plan, seed: int, budget: Budget, *, push_only: bool = False
) -> Plan | None:
    """The plan with larger gaps: rack set anew, the rest pushed apart, or if that fails untangled."""
    frozen = frozenset(body.id for body, _ in pinned)
    racks = plan.racks
    if racks and plan.side:
        stood = rack_at(plan.side, [body for body, _ in racks], tray, pinned, spacing)
        if stood is None or faults([*pinned, *stood], frozen, tray, spacing):
            return None
        racks = stood
    fixed = [*pinned, *racks]
    frozen |= frozenset(body.id for body, _ in racks)
    others = _respaced(plan.others, tray, spacing)
    if others is None:
        return None
    settled = settle([*fixed, *others], frozen, tray, spacing)
    moves = 0 if push_only or spacing.extra > AMPLE else min(MOVES, budget.moves)
    if settled is None and moves:
        budget.moves -= moves
        settled = untangled(tray, spacing, fixed, others, seed, budget, moves, full=FULL, turning=False)
    return None if settled is None else Plan(plan.side, racks, settled[len(fixed) :], ())


def _respaced(others: Placed, tray: Tray, spacing: Spacing) -> Placed | None:
    """Grids with larger gaps within as well; None: one has no room for that at the turn it has."""
    result: Placed = []
    for body, pose in others:
        if body.columns:
            wider = respaced(body, tray, spacing)
            if wider is None or int(pose.angle_deg) not in wider.windows:
                return None
            body = wider
        result.append((body, pose))
    return result


def _spread(tray: Tray, spacing: Spacing, extra: float, pinned: Placed, plan: Plan, budget: Budget) -> Placed:
    """Those that could have more room than the tightest gap get it, none below what was found."""
    fixed = [*pinned, *plan.racks]
    frozen = frozenset(body.id for body, _ in fixed)
    held = Spacing(spacing.web, spacing.margin, extra)
    for more in SPREADS:
        if budget.spent() or not plan.others:
            break
        asked = (extra + spacing.web) * (more - 1)
        moved = polish(plan.all(pinned), frozen, tray.keep_out, held, asked, walls=asked)
        settled = settle(moved, frozen, tray, held)
        if settled is not None and broken(settled) <= plan.broken:
            return settled
    return plan.all(pinned)
