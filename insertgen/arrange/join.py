"""What is laid out as one body: things kept beside each other, equal ones in grids; parted where that finds more room."""

from __future__ import annotations

from insertgen.arrange.beside import compound, parted
from insertgen.arrange.body import Body
from insertgen.arrange.budget import Budget
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.grid import MANNERS, gridded
from insertgen.arrange.plan import Plan, best_plan
from insertgen.arrange.settle import Placed
from insertgen.model.job import Tray

__all__ = ["planned", "worth"]


def planned(
    tray: Tray, spacing: Spacing, held: Placed, loose: list[Body], led: dict[str, str], seed: int, budget: Budget
) -> Plan:
    """The plan that places most; what is joined is parted only where something would be left out."""
    best: Plan | None = None
    tried = _joined(tray, spacing, loose, led)
    apart = {*led, *led.values()}
    for manner in range(MANNERS):
        grids = gridded(tried, apart, tray, spacing, manner)
        if best is not None and not any(body.columns for body in grids):
            break
        plan = best_plan(tray, spacing, held, grids, seed, budget)
        best = plan if best is None else max(best, plan, key=worth)
        if not best.left or budget.spent():
            break
    assert best is not None
    return _parted(tray, spacing, held, grids, best, seed, budget)


def _parted(
    tray: Tray, spacing: Spacing, held: Placed, loose: list[Body], best: Plan, seed: int, budget: Budget
) -> Plan:
    """The best plan, or a better one: first without what found no room as one, then without all that is joined."""
    all_joined = {body.id for body in loose if body.members}
    done: set[str] = set()
    # one that lies well may be in the way of others
    for chosen in (all_joined & {body.id for body in best.left}, all_joined):
        if not best.left or chosen == done:
            continue
        tried = [one for body in loose for one in (parted([body]) if body.id in chosen else [body])]
        best = max(best, best_plan(tray, spacing, held, tried, seed, budget), key=worth)
        done = chosen
    return best


def worth(plan: Plan) -> tuple[float, int]:
    """More area placed is better, then more things."""
    placed = parted([body for body, _ in (*plan.racks, *plan.others)])
    return round(sum(body.area for body in placed), 3), len(placed)


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
