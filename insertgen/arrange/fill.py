"""Rounds of filling a tray from a corner, in many orders; the best is kept.

Bottom-left placing (Baker, Coffman, Rivest 1980) by a raster; what did not fit
goes earlier in the next round's order.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from insertgen.arrange.body import Body
from insertgen.arrange.feasible import Spacing, stand
from insertgen.arrange.raster import Raster
from insertgen.arrange.settle import Placed, settle, without_offenders
from insertgen.arrange.slide import may_stand, slid
from insertgen.model import Pose, Tray

__all__ = ["Budget", "fill", "fill_round"]

ROUNDS = 40  # at most, for one filling
MOVES = 12_000  # things times turns tried, over all rounds of one filling; at least LEAST rounds
LEAST = 4
STRAIGHT = 3  # rounds in which nothing lies askew, though it might

#: How far right and how far back count for cost; the sign says from which wall.
WEIGHTS = ((0.01, 1.0), (1.0, 0.01), (0.6, 1.0), (1.0, 0.6), (1.0, -0.01), (0.01, -1.0), (0.3, 1.0), (1.0, 0.3))

#: How much the raster grows things (share of a step's diagonal): first never too near, then trusting the push.
CAREFUL = (1.0, 0.3, 0.0)


@dataclass(slots=True)
class Budget:
    """The ceiling in seconds, the rounds done, and whom to tell."""

    deadline: float
    progress: Callable[[str], None] | None = None
    rounds: int = 0
    stopped: bool = False

    def spent(self) -> bool:
        """Whether the ceiling is reached; once it is, it stays so."""
        self.stopped = self.stopped or time.monotonic() >= self.deadline
        return self.stopped

    def say(self, text: str) -> None:
        if self.progress is not None:
            self.progress(text)


@dataclass(slots=True)
class _Best:
    placed: Placed
    left: list[Body]

    @property
    def worth(self) -> tuple[float, int]:
        return round(sum(body.area for body, _ in self.placed), 3), len(self.placed)


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

    Stops at the first round that places everything.
    """
    best = _Best(list(fixed), list(loose))
    if not loose:
        return best.placed, []
    rng = np.random.default_rng(seed)
    moves = sum(len(body.turns) for body in loose)
    rounds = min(rounds, max(LEAST, MOVES // max(1, moves)))
    rasters = [Raster(tray.blank, tray.keep_out, spacing, share) for share in careful]
    order = _by_area(loose)
    for number in range(rounds):
        if number and budget.spent():
            break
        budget.rounds += 1
        raster = rasters[number % len(rasters)]
        found = _Best(
            *fill_round(
                tray, spacing, raster, fixed, order, WEIGHTS[number % len(WEIGHTS)], budget, number < STRAIGHT
            )
        )
        if found.worth > best.worth:
            best = found
            budget.say(f"round {budget.rounds}: {len(best.placed)} placed, {len(best.left)} left")
        if not found.left:
            return found.placed, []
        order = _next_order(number, loose, order, found.left, rng)
    return best.placed, best.left


def fill_round(
    tray: Tray,
    spacing: Spacing,
    raster: Raster,
    fixed: Placed,
    order: list[Body],
    weights: tuple[float, float],
    budget: Budget,
    straight: bool,
) -> tuple[Placed, list[Body]]:
    """One filling in the order given: proposed on the raster, pushed apart, proved."""
    frozen = frozenset(body.id for body, _ in fixed)
    proposed, failed = _propose(tray, spacing, raster, fixed, order, weights, budget, straight)
    settled = settle(proposed, frozen, tray, spacing)
    if settled is None:
        settled, dropped = without_offenders(proposed, frozen, tray, spacing)
        failed = sorted([*failed, *dropped], key=lambda body: (-body.area, body.id))
    if not failed or budget.spent():
        return settled, failed
    return _add_one_by_one(tray, spacing, raster, settled, failed, weights)


def _propose(
    tray: Tray,
    spacing: Spacing,
    raster: Raster,
    fixed: Placed,
    order: list[Body],
    weights: tuple[float, float],
    budget: Budget,
    straight: bool,
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
        spot = (
            None
            if body.key in hopeless
            else raster.spot(body, weights, body.straight if straight else body.turns)
        )
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
    weights: tuple[float, float],
) -> tuple[Placed, list[Body]]:
    """Things pushed apart leave other room than the raster saw: try those left once more where they truly lie."""
    raster.clear()
    for body, pose in placed:
        raster.block(body, pose)
    placed, left = list(placed), []
    stood = [stand(body.footprint, pose) for body, pose in placed]
    for body in failed:
        spot = raster.spot(body, weights, body.turns)
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


def _by_area(loose: list[Body]) -> list[Body]:
    return sorted(loose, key=lambda body: (-round(body.area, 3), body.key, body.id))


def _next_order(
    number: int, loose: list[Body], order: list[Body], left: list[Body], rng: np.random.Generator
) -> list[Body]:
    """By length second; then by turns: those left first, or area shaken at random."""
    if number == 0:
        return sorted(loose, key=lambda body: (-round(body.span, 3), body.key, body.id))
    if number % 2:
        names = {body.id for body in left}
        return [body for body in order if body.id in names] + [body for body in order if body.id not in names]
    shake = {body.id: float(rng.normal(0.0, 0.5)) for body in loose}
    return sorted(loose, key=lambda body: (-np.log(body.area + 1.0) + shake[body.id], body.id))
