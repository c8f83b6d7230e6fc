"""Can fingers get under an item: are the recesses that it asks for beside its seat?

A recess holds a finger where a disc of the finger's width, lying within every
step of the seat, reaches out far enough from the item.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce
from itertools import combinations

from insertgen.check.case import Case
from insertgen.check.due import Due
from insertgen.check.lines import nearest_on_ring
from insertgen.check.say import found, mm, named, spot
from insertgen.check.seated import Seated
from insertgen.check.written import Written
from insertgen.geometry.distance import farthest
from insertgen.geometry.offset import grown, shrunk, swept
from insertgen.geometry.pose import move_point
from insertgen.geometry.region import Region, area, centre_of_mass, common, minus, overlaps, pieces, to_outlines
from insertgen.model.figures import Point
from insertgen.model.finding import Finding
from insertgen.model.shape import Store
from insertgen.rules import FINGER_REACH, FINGER_WIDTH

__all__ = ["judge_recesses"]

#: How much narrower a recess may be than is due.
NARROWER = 0.6
#: How much less far out, measured square to the item's edge. A bay runs out along the line between two fingers; where
#: that line meets the edge at a slant, its round end is nearer: at 60 degrees 12.5 + 7.5 cos 60 = 16.25 mm of 20.
NEARER = 4.0
#: Two recesses lie opposite each other if the item is between them, and the ways out of them turn by more than this (two
#: on adjoining sides of a rectangle turn by 90); or if, seen from its balance point, they are so far round it.
OPPOSITE_DEG, ROUND_DEG = 95.0, 120.0
SPECK = 0.01  # mm2: less than this is rounding, no place for a finger


@dataclass(frozen=True, slots=True)
class _Bay:
    """Where a fingertip goes furthest out, and the point of the item that it comes from."""

    tip: Point
    foot: Point


def judge_recesses(case: Case) -> Iterator[Finding]:
    seats: dict[str, list[tuple[Due, Written]]] = {}
    for due, path in case.openings():
        seats.setdefault(due.placement, []).append((due, path))
    for key, cuts in seats.items():
        one = case.seated[key]
        due_here = sum(1 for due in case.dues.values() if due.placement == key)
        # a step that is missing or spoilt is said to be; of what is left nothing follows
        if one.item.store in (Store.POCKET, Store.THROUGH) and one.item.grips != () and len(cuts) == due_here:
            yield from _recesses(case, key, one, [path for _, path in cuts])


def _recesses(case: Case, key: str, one: Seated, paths: list[Written]) -> Iterator[Finding]:
    bays = _bays(one, reduce(common, (path.region for path in paths)))
    path = paths[0]
    if one.item.grips is None:
        if not any(_opposite(one, a, b) for a, b in combinations(bays, 2)):
            how = {0: "no finger recess", 1: "one finger recess only"}.get(len(bays), "no two finger recesses opposite each other")
            at = bays[0].tip if bays else one.centre
            yield _missing(case, key, one, path, f"has {how}; two are due, one on either side", at)
        return
    for grip in one.item.grips:
        at = move_point(grip, one.pose)
        foot = nearest_on_ring(at, to_outlines(one.outline)[0].outer)
        if not any(math.dist(bay.foot, foot) <= FINGER_WIDTH / 2 for bay in bays):
            yield _missing(case, key, one, path, "has no finger recess where the grip asks for one", at)


def _bays(one: Seated, opening: Region) -> list[_Bay]:
    # middles of fingertips that fit in, and reach out far enough
    fits = shrunk(opening, (FINGER_WIDTH - NARROWER) / 2)
    out = minus(fits, grown(one.outline, FINGER_REACH - NEARER - FINGER_WIDTH / 2))
    tips = (farthest(piece, one.outline) for piece in pieces(out) if area(piece) > SPECK)
    return [_Bay(tip.at, tip.to) for tip in tips]


def _opposite(one: Seated, a: _Bay, b: _Bay) -> bool:
    if not overlaps(swept(a.tip, b.tip, 0.5), one.outline, least=1.0):
        return False
    middle = centre_of_mass(one.outline)
    return _turn(a.foot, a.tip, b.foot, b.tip) > OPPOSITE_DEG or _turn(middle, a.tip, middle, b.tip) > ROUND_DEG


def _turn(a: Point, b: Point, c: Point, d: Point) -> float:
    """Degrees between the way from a to b and that from c to d."""
    first, second = math.atan2(b[1] - a[1], b[0] - a[0]), math.atan2(d[1] - c[1], d[0] - c[0])
    return abs((math.degrees(first - second) + 180) % 360 - 180)


def _missing(case: Case, key: str, one: Seated, path: Written, what: str, at: Point) -> Finding:
    text = (
        f"{named(one.item)} {what} ({mm(FINGER_WIDTH)} wide, {mm(FINGER_REACH)} out, as deep as the seat; "
        f"looked for at {spot(at)})"
    )
    remedy = "build the job again, or set grips = 0 to have none"
    return found(
        "cut-missing", text, remedy, tray=case.tray, file=case.sheet.file, layer=path.layer, placement=key, at=at
    )
