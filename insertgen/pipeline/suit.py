"""Which of a job's own items suit which trays: how high, how large, how heavy they are there."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from insertgen.errors import JobError
from insertgen.geometry.offset import grown
from insertgen.geometry.region import area, bounds, from_outline, union
from insertgen.items.resolve import items_of
from insertgen.model.item import Item, Wanted
from insertgen.model.job import Tray

__all__ = ["HEAVY", "Fit", "fit_in", "names_of", "room_of"]

HEAVY = 1.0  # kg from which a thing goes as low as can be; common practice, no source


@dataclass(frozen=True, slots=True)
class Fit:
    """An item in a tray: the area it takes, and how much headroom is left over it (inf: unknown)."""

    area: float
    spare: float


def fit_in(tray: Tray, wanted: Wanted) -> Fit | JobError | None:
    """How an item would sit in a tray by itself; None: too tall, too deep or too big; an error: why it cannot be seated."""
    try:
        item = items_of(replace(tray, wanted=(replace(wanted, beside=None),), lift_out=None))[0]
    except JobError as error:
        return error
    spare = math.inf
    if tray.headroom is not None and item.top is not None:
        spare = tray.headroom - tray.thickness - item.top
    if spare < -1e-6 or (tray.room_below is not None and item.hang > tray.room_below + 1e-6):
        return None
    if not item.through and item.depth > tray.thickness - tray.floor + 1e-6:
        return None
    region = union([from_outline(item.outline), from_outline(item.room)])
    if not _goes_in(item, tray, bounds(region)):
        return None
    return Fit(area(grown(region, max(item.clearance + tray.web / 2, item.room_gap / 2))), spare)


def _goes_in(item: Item, tray: Tray, around: tuple[float, float, float, float]) -> bool:
    """Whether it could be in the blank at all, turned or not; the layout has the last word."""
    x0, y0, x1, y1 = around
    mine, blank = sorted((x1 - x0, y1 - y0)), sorted((tray.blank.width, tray.blank.depth))
    return mine[0] <= blank[0] + 2 * tray.play and math.hypot(*mine) <= math.hypot(*blank) + 2 * tray.play


def room_of(tray: Tray) -> float:
    """The area that seats and their share of the web may take, keep-outs off."""
    width, depth = (side - 2 * tray.margin + tray.web for side in (tray.blank.width, tray.blank.depth))
    return width * depth - sum(rect.size[0] * rect.size[1] for rect in tray.keep_out)


def names_of(wanted: Wanted) -> set[str]:
    """What another item may call it by."""
    names = (wanted.shape.name, wanted.label, wanted.shape.label, wanted.shape.source)
    return {name.casefold() for name in names if name}
