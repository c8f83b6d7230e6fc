"""Does the item go into its pocket or through-cut, and can the cutter make it?

In a corner of inside angle t a cutter of radius r leaves the gap
r - (r - c) / sin(t / 2), c being the gap due along the straights: 0.10 mm at
90 degrees, c = 1, r = 3.175. So the gap due is asked for where the cutter
reaches, and the least gap everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from insertgen.check.case import Case
from insertgen.check.fit import least_gap
from insertgen.check.lines import distance_to_ring
from insertgen.check.say import mm, named, spot
from insertgen.check.seated import Seated
from insertgen.check.written import Written
from insertgen.geometry.distance import farthest
from insertgen.geometry.offset import opened
from insertgen.geometry.region import area, is_empty, minus, pieces, to_outlines
from insertgen.model import Finding

__all__ = ["judge_pockets"]

LEAST_GAP_WITHIN = 0.02
GAP_WITHIN = 0.05
CUTTER_WITHIN = 0.02
LOST_MOST = 0.1  # mm2
NECK = 1e-3


def judge_pockets(case: Case) -> Iterator[Finding]:
    for key, path in case.matched.cuts.items():
        one = case.seated[key]
        if one.item.bore is None and path.sound and not is_empty(path.region):
            yield from _bound(case, path, one)
            yield from _unfollowed(case, path, one)


def _bound(case: Case, path: Written, one: Seated) -> Iterator[Finding]:
    item, remedy = one.item, "cut the seat larger there, or build the job again"
    gap, at = least_gap(one.outline, path.region, path.ring)
    if gap < item.least_gap - LEAST_GAP_WITHIN:
        how = f"sticks {mm(-gap)} into the wall" if gap <= -0.005 else f"is {mm(gap)} from the wall"
        text = f"{named(item)} {how} of its seat at {spot(at)}; at least {mm(item.least_gap)} must be left"
        yield case.found("item-bound", text, remedy, path, at, gap, item.least_gap)
        return
    due = one.wall if _sawn(case, one) else opened(one.wall, case.tray.cutting.cutter.diameter / 2)
    if is_empty(due):
        return
    short, at = least_gap(due, path.region, path.ring)
    if short < -GAP_WITHIN:
        left = min(distance_to_ring(at, outline.outer) for outline in to_outlines(one.outline))
        text = (
            f"{named(item)} has {mm(left)} of gap to the wall of its seat at {spot(at)}, "
            f"{mm(-short)} less than the cutter could leave there; {mm(one.gap)} is asked all round"
        )
        yield case.found("item-bound", text, remedy, path, at, left, one.gap)


def _unfollowed(case: Case, path: Written, one: Seated) -> Iterator[Finding]:
    if _sawn(case, one):
        return
    diameter = case.tray.cutting.cutter.diameter
    reached = opened(path.region, diameter / 2 - CUTTER_WITHIN)
    # opened: rounding leaves necks of no width along the walls that join one corner's waste to another's
    lost = pieces(opened(minus(path.region, reached), NECK))
    if not lost or area(lost[0]) <= LOST_MOST:
        return
    at = path.middle if is_empty(reached) else farthest(lost[0], reached).at
    text = (
        f"the seat of {named(one.item)} is too narrow or too sharp for the cutter of {mm(diameter)} at {spot(at)}: "
        f"{area(lost[0]):.2f} mm2 would stay uncut, at most {LOST_MOST:g} may"
    )
    remedy = f"use a smaller cutter, or give the corners a radius of at least {math.ceil(diameter * 50) / 100:g} mm"
    yield case.found("cutter-too-big", text, remedy, path, at, area(lost[0]), LOST_MOST)


def _sawn(case: Case, one: Seated) -> bool:
    """By hand a through-cut is sawn: a saw turns any corner."""
    return case.tray.cutting.machine == "hand" and one.item.through
