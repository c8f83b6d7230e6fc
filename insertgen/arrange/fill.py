"""Rounds of filling a tray from a corner, in many orders; the best is kept.

Bottom-left placing (Baker, Coffman, Rivest 1980) by a raster; what did not fit
goes earlier in the next round's order. What is to be at the front is laid down
first, then the groups, each thing of one by those of it that lie already.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from insertgen.arrange.body import Body
from insertgen.arrange.budget import Budget
from insertgen.arrange.feasible import Bounds, Spacing, Stood, stand
from insertgen.arrange.order import by_area, next_order, wished_first
from insertgen.arrange.raster import Raster
from insertgen.arrange.settle import Placed, settle, without_offenders
from insertgen.arrange.slide import may_stand, slid
from insertgen.arrange.untangle import untangled
from insertgen.arrange.wishes import broken
from insertgen.model.figures import Pose
from insertgen.model.job import Tray

__all__ = ["fill", "fill_round"]

ROUNDS = 24  # at most, for one filling
MOVES = 12_000  # things times turns tried, over all rounds of one filling; at least LEAST rounds
LEAST = 4
UNTANGLED = (4, 16)  # rounds before which what is left is pushed in among the rest, or all is heaped, and untangled
STRAIGHT = 3  # rounds in which nothing lies askew, though it might
WISHED = 12  # rounds in which groups and fronts may still come right where everything has found room
UNWISHED = 4  # every so many rounds, nobody's wishes are heard, if not all has found room yet
FRONT = (0.01, 1.0)  # weights by which things go to the front

#: How far right and how far back count for cost; the sign says from which wall.
WEIGHTS = ((0.01, 1.0), (1.0, 0.01), (0.6, 1.0), (1.0, 0.6), (1.0, -0.01), (0.01, -1.0), (0.3, 1.0), (1.0, 0.3))

#: How much the raster grows things (share of a step's diagonal): first never too near, then trusting the push.
CAREFUL = (1.0, 0.3, 0.0)


@dataclass(slots=True)
class _Best:
    placed: Placed
    left: list[Body]

    @property
    def broken(self) -> int:
        return broken(self.placed)

    @property
    def worth(self) -> tuple[float, int, int]:
        return round(sum(body.area for body, _ in self.placed), 3), len(self.placed), -self.broken


def fill(
    tray: Tray,
    spacing: Spacing,
    fixed: Placed,
    loose: list[Body],
    seed: int,
    budget: Budget,
    *,
    rounds: int = ROUNDS,
    careful: tuple[float, ...] = CAREFUL,
) -> tuple[Placed, list[Body]]:
    """What is fixed and as much of the loose as found room, proved; and what did not.

    Stops at the first round that places everything, groups and fronts as wished
    if that can be had in a few rounds more.
    """
    best = _Best(list(fixed), list(loose))
    if not loose:
        return best.placed, []
    rng = np.random.default_rng(seed)
    moves = sum(len(body.turns) for body in loose)
    rounds = min(rounds, max(LEAST, MOVES // max(1, moves)))
    rasters = [Raster(tray.blank, tray.keep_out, spacing, share) for share in careful]
    wishes = any(body.group is not None or body.front for body in loose)
    order = by_area(loose)
    for number in range(rounds):
        if number in UNTANGLED and best.left and (found := _untangled(tray, spacing, fixed, best, number, seed, budget)):
            best = found
            if not (wishes and best.broken):
                break
        if number and (budget.spent() or (not best.left and number >= WISHED)):
            break
        budget.rounds += 1
        heard = wishes and (number % UNWISHED != UNWISHED - 1 or not best.left)
        way = _Way(WEIGHTS[number % len(WEIGHTS)], number < STRAIGHT, heard)
        raster = rasters[number % len(rasters)]
        laid = wished_first(order) if heard else order
        found = _Best(*fill_round(tray, spacing, raster, fixed, laid, way, budget))
        if found.worth > best.worth:
            best = found
            budget.say(f"round {budget.rounds}: {len(best.placed)} placed, {len(best.left)} left")
        if not best.left and not (wishes and best.broken):
            return best.placed, []
        order = next_order(number, loose, order, found.left, rng)
    return best.placed, best.left


def _untangled(
    tray: Tray, spacing: Spacing, fixed: Placed, best: _Best, number: int, seed: int, budget: Budget
) -> _Best | None:
    """All of it placed, from the best layout first, from anywhere later; None: not found, or hopeless."""
    rng = np.random.default_rng([seed, number])
    start = best.placed[len(fixed) :]
    if number == UNTANGLED[0]:
        start = start + [(body, _anywhere(body, spacing, rng)) for body in best.left]
    else:
        start = [(body, _anywhere(body, spacing, rng)) for body in by_area([*(body for body, _ in start), *best.left])]
    moves = budget.half_the_moves()
    found = untangled(tray, spacing, fixed, start, seed, budget, moves) if moves else None
    if found is None:
        return None
    budget.say(f"round {budget.rounds}: {len(found)} placed, 0 left")
    return _Best(found, [])


def _anywhere(body: Body, spacing: Spacing, rng: np.random.Generator) -> Pose:
    turn = int(rng.choice(body.turns))
    (x0, x1), (y0, y1) = body.window(turn, spacing.inset)
    return Pose(float(rng.uniform(x0, x1)), float(rng.uniform(y0, y1)), float(turn), body.mirror)


@dataclass(frozen=True, slots=True)
class _Way:
    """How a round fills: from which corner, whether nothing lies askew, whether groups and fronts are heard."""

    weights: tuple[float, float]
    straight: bool
    heard: bool

    def weights_of(self, body: Body) -> tuple[float, float]:
        return FRONT if self.heard and body.front else self.weights

    def turns_of(self, body: Body) -> tuple[int, ...]:
        return body.straight if self.straight else body.turns

    def near(self, body: Body, placed: Placed, stood: list[Stood]) -> Bounds | None:
        """Round what lies already of a body's group."""
        if not self.heard or body.group is None:
            return None
        boxes = [one.room_bounds for (other, _), one in zip(placed, stood, strict=True) if other.group == body.group]
        if not boxes:
            return None
        x0, y0, x1, y1 = zip(*boxes, strict=True)
        return min(x0), min(y0), max(x1), max(y1)


def fill_round(
    tray: Tray,
    spacing: Spacing,
    raster: Raster,
    fixed: Placed,
    order: list[Body],
    way: _Way,
    budget: Budget,
) -> tuple[Placed, list[Body]]:
    """One filling in the order given: proposed on the raster, pushed apart, proved."""
    frozen = frozenset(body.id for body, _ in fixed)
    proposed, failed = _propose(tray, spacing, raster, fixed, order, way, budget)
    settled = settle(proposed, frozen, tray, spacing)
    if settled is None:
        settled, dropped = without_offenders(proposed, frozen, tray, spacing)
        failed = sorted([*failed, *dropped], key=lambda body: (-body.area, body.id))
    if not failed or budget.spent():
        return settled, failed
    return _add_one_by_one(tray, spacing, raster, settled, failed, way)


def _propose(
    tray: Tray,
    spacing: Spacing,
    raster: Raster,
    fixed: Placed,
    order: list[Body],
    way: _Way,
    budget: Budget,
) -> tuple[Placed, list[Body]]:
    raster.clear()
    placed: Placed = list(fixed)
    failed: list[Body] = []
    for body, pose in fixed:
        raster.block(body, pose)
    stood = [stand(body.footprint, pose) for body, pose in fixed]
    hopeless: set[int] = set()
    for number, body in enumerate(order):
        if number % 8 == 7 and budget.spent():
            return placed, failed + order[number:]
        weights, near = way.weights_of(body), way.near(body, placed, stood)
        spot = None if body.key in hopeless else raster.spot(body, weights, way.turns_of(body), near)
        if spot is None:
            hopeless.add(body.key)
            failed.append(body)
            continue
        pose = Pose(spot.x, spot.y, float(spot.angle), body.mirror)
        pose = slid(body, pose, stood, tray, spacing, weights, raster.step)
        raster.block(body, pose)
        placed.append((body, pose))
        stood.append(stand(body.footprint, pose))
    return placed, failed


def _add_one_by_one(
    tray: Tray,
    spacing: Spacing,
    raster: Raster,
    placed: Placed,
    failed: list[Body],
    way: _Way,
) -> tuple[Placed, list[Body]]:
    """Things pushed apart leave other room than the raster saw: try those left once more where they truly lie."""
    raster.clear()
    for body, pose in placed:
        raster.block(body, pose)
    placed, left = list(placed), []
    stood = [stand(body.footprint, pose) for body, pose in placed]
    for body in failed:
        spot = raster.spot(body, way.weights_of(body), body.turns, way.near(body, placed, stood))
        if spot is not None:
            pose = Pose(spot.x, spot.y, float(spot.angle), body.mirror)
            frozen = frozenset(other.id for other, _ in placed)
            settled = settle([*placed, (body, pose)], frozen, tray, spacing)
            if settled is not None and may_stand(stand(body.footprint, settled[-1][1]), stood, tray, spacing):
                placed = settled
                raster.block(*settled[-1])
                stood.append(stand(body.footprint, settled[-1][1]))
                continue
        left.append(body)
    return placed, left
