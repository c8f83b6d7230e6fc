"""Things that overlap, moved one at a time to where they overlap least, until none does.

Guided local search: what stays in conflict weighs more and more, so that it
moves at last, wherever that may lead (Egeblad, Nielsen, Odgaard 2007; Umetani
et al. 2009; weights and sweeps much as Gardeyn et al. 2025). Now and then all
are pushed apart together, and what is found is proved.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from insertgen.arrange.body import Body
from insertgen.arrange.budget import Budget
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.overlap import Overlap
from insertgen.arrange.settle import Placed, settle_if_near
from insertgen.model.figures import Pose
from insertgen.model.job import Tray

__all__ = ["untangled"]

GROW = (1.2, 2.0)  # of weights in a sweep: what overlaps a little, what overlaps most
HEAVIEST = 1e5  # a weight
FADE = 0.9  # of weights of what does not overlap
FULL = 0.92  # more is hopeless
PUSH = 30  # moves that pushing all apart counts as
TURNS = 6  # looked at in a move
TOUCH = 1e-3  # less is no overlap
NEAR = 0.7  # of the overlap when things were pushed apart last, for the next try
STALL = 80  # sweeps without a better layout, after which two things change places


def untangled(
    tray: Tray, spacing: Spacing, fixed: Placed, start: Placed, seed: int, budget: Budget, moves: int, *, full: float = FULL,
    turning: bool = True,
) -> Placed | None:  # fmt: skip
    """All that is fixed and all that was in ``start``, somewhere, proved; None: not found in about so many moves.

    Not tried where things grown by half of what they keep off cover more than ``full`` of the room.
    Without ``turning`` what lies along stays so, though it may be turned end for end.
    """
    rng = np.random.default_rng([seed, len(start)])
    field = Overlap(tray.blank, tray.keep_out, spacing, start, fixed)
    frozen = frozenset(body.id for body, _ in fixed)
    count = len(start)
    if field.covered > full:
        return None
    best, since, tried = np.inf, 0, np.inf
    keep = [pose for _, pose in start]
    while moves > 0 and not budget.spent():
        moves -= 1
        pairs = field.pairs()
        total = float(np.triu(pairs[:, :count]).sum() + pairs[:, count:].sum())
        if total < best:
            best, since, keep = total, 0, [pose for _, pose in field.placed]
        else:
            since += 1
        if total < NEAR * tried:
            found = settle_if_near([*fixed, *field.placed], frozen, tray, spacing)
            if found is not None:
                return found
            tried = total
            moves -= PUSH
            if total < TOUCH:  # too near by less than the raster sees, and no push helps
                since = STALL
        if since >= STALL:
            _shake(field, keep, rng)
            since, best, tried = 0, np.inf, np.inf
            continue
        _reweigh(field, pairs)
        bad = np.nonzero(pairs.sum(axis=1) > TOUCH)[0]
        for number in rng.permutation(bad):
            moves -= 1
            now = field.of(int(number))
            if now <= TOUCH:
                continue
            value, pose = field.best(int(number), _turns(field.placed[int(number)], rng, turning))
            if value < now - TOUCH:
                field.move(int(number), pose)
    return None


def _turns(one: tuple[Body, Pose], rng: np.random.Generator, turning: bool) -> Sequence[int]:
    """A few of many turns, the present one among them."""
    turns = one[0].turns if turning else tuple(turn for turn in one[0].turns if (turn - one[1].angle_deg) % 180 == 0)
    if len(turns) <= TURNS:
        return turns
    others = [turn for turn in turns if turn != one[1].angle_deg]
    return [int(one[1].angle_deg), *(int(turn) for turn in rng.choice(others, TURNS - 1, replace=False))]


def _reweigh(field: Overlap, pairs: NDArray[np.float64]) -> None:
    """What overlaps weighs more, the more it does; all else less again."""
    root = np.sqrt(pairs)
    most = float(root.max())
    least, greatest = GROW
    grown = np.where(root > TOUCH, least + (greatest - least) * root / max(most, TOUCH), FADE)
    field.weights[:] = np.clip(field.weights * grown, 1.0, HEAVIEST)
    for number in range(len(field.placed)):
        field.weights[number, number] = 0.0


def _shake(field: Overlap, keep: list[Pose], rng: np.random.Generator) -> None:
    """Back to the best layout, two of the larger things changed about, no grudges."""
    for number, pose in enumerate(keep):
        if pose != field.placed[number][1]:
            field.move(number, pose)
    by_area = sorted(range(len(keep)), key=lambda number: (-field.placed[number][0].area, number))
    large = by_area[: max(2, (len(by_area) + 1) // 2)]
    if len(large) >= 2:
        one, other = (int(k) for k in rng.choice(large, 2, replace=False))
        a, b = field.placed[one][1], field.placed[other][1]
        for number, at in ((one, b), (other, a)):
            field.move(number, _inside(field, number, at))
    field.weights[:] = np.where(field.weights > 0, 1.0, 0.0)


def _inside(field: Overlap, number: int, at: Pose) -> Pose:
    """As near to a place as the walls let a thing of the turn it has."""
    body, pose = field.placed[number]
    (x0, x1), (y0, y1) = body.window(int(pose.angle_deg), field.spacing.inset)
    return Pose(min(max(at.x, x0), x1), min(max(at.y, y0), y1), pose.angle_deg, pose.mirror)
