"""In what order things are laid down: what is to be at the front, then groups, then the rest; and by size within."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from insertgen.arrange.body import Body

__all__ = ["by_area", "next_order", "wished_first"]


def by_area(loose: Sequence[Body]) -> list[Body]:
    return sorted(loose, key=lambda body: (-round(body.area, 3), body.key, body.id))


def next_order(
    number: int, loose: Sequence[Body], order: Sequence[Body], left: Sequence[Body], rng: np.random.Generator
) -> list[Body]:
    """By length second; then by turns: those left first, or area shaken at random."""
    if number == 0:
        return sorted(loose, key=lambda body: (-round(body.span, 3), body.key, body.id))
    if number % 2:
        names = {body.id for body in left}
        return [body for body in order if body.id in names] + [body for body in order if body.id not in names]
    shake = {body.id: float(rng.normal(0.0, 0.5)) for body in loose}
    return sorted(loose, key=lambda body: (-np.log(body.area + 1.0) + shake[body.id], body.id))


def wished_first(order: Sequence[Body]) -> list[Body]:
    """The same order within each kind: fronts, groups from the largest to the smallest, the rest."""
    areas: dict[str, float] = {}
    for body in order:
        if body.group is not None:
            areas[body.group] = areas.get(body.group, 0.0) + body.area
    rank = {name: number for number, name in enumerate(sorted(areas, key=lambda name: (-round(areas[name], 3), name)))}
    return sorted(order, key=lambda body: (not body.front, math.inf if body.group is None else rank[body.group]))
