"""Does the item go into its pocket or through-cut, and can the cutter make it?

In a corner of inside angle t a cutter of radius r leaves the gap
r - (r - c) / sin(t / 2), c being the gap due along the straights: 0.10 mm at
90 degrees, c = 1, r = 3.175. So the gap due is asked for where the cutter
reaches, and the least gap everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from insertgen.check.case import Case
from insertgen.check.due import Due
from insertgen.check.fit import least_gap
from insertgen.check.lines import distance_to_ring
from insertgen.check.say import mm, named, spot
from insertgen.check.written import Written
from insertgen.geometry.distance import can_shift, farthest
from insertgen.geometry.offset import opened
from insertgen.geometry.region import Region, area, is_empty, minus, pieces, to_outlines
from insertgen.model.drawing import Operation
from insertgen.model.figures import Point
from insertgen.model.finding import Finding

__all__ = ["CUTTER_WITHIN", "DRAWN_FOR", "GAP_WITHIN", "LEAST_GAP_WITHIN", "LOST_MOST", "judge_loose", "judge_pockets", "lost_to_cutter"]

LEAST_GAP_WITHIN = 0.02
GAP_WITHIN = 0.05
CUTTER_WITHIN = 0.02
#: A contour is drawn for a cutter a little larger, so that fitting lines and arcs to it leaves no bend too tight;
#: in a corner of inside angle t that takes so much times 1 / sin(t / 2) - 1 of the gap.
DRAWN_FOR = 0.04
LOST_MOST = 0.1  # mm2
SHIFT_WITHIN = 0.1
NECK = 1e-3


def judge_pockets(case: Case) -> Iterator[Finding]:
    for due, path in case.openings():
        yield from _bound(case, path, due)
        yield from _unfollowed(case, path, due)


def judge_loose(stack: Sequence[Case]) -> Iterator[Finding]:
    """Seats no step of which, in any sheet, keeps the item from shifting about."""
    seats: dict[str, list[tuple[Due, Written]]] = {}
    cases: dict[str, Case] = {}
    for case in stack:
        for due, path in case.openings():
            if Operation.SLOT not in due.operations:  # its ends are bored, and longer than the item for that
                seats.setdefault(due.placement, []).append((due, path))
                cases.setdefault(due.placement, case)
    for placement, cuts in seats.items():
        yield from _loose(cases[placement], cuts)


def _loose(case: Case, cuts: list[tuple[Due, Written]]) -> Iterator[Finding]:
    due, path = cuts[0]
    most = due.item.clearance + due.item.expected_error + case.tray.shift + SHIFT_WITHIN
    if all(can_shift(each.outline, cut.region, most) for each, cut in cuts):
        text = f"{named(due.item)} could shift by more than {mm(most)} in its seat at {spot(path.middle)}"
        remedy = "cut the seat closer to the item, or build the job again"
        yield case.found("hole-loose", text, remedy, path, path.middle, None, most)


def _bound(case: Case, path: Written, due: Due) -> Iterator[Finding]:
    item, remedy = due.item, "cut the seat larger there, or build the job again"
    gap, at = least_gap(due.outline, path.region, path.ring)
    seat = f"its {due.step}" if due.step else "its seat"
    if gap < item.least_gap - LEAST_GAP_WITHIN:
        how = f"sticks {mm(-gap)} into the wall" if gap <= -0.005 else f"is {mm(gap)} from the wall"
        text = f"{named(item)} {how} of {seat} at {spot(at)}; at least {mm(item.least_gap)} must be left"
        yield case.found("item-bound", text, remedy, path, at, gap, item.least_gap)
        return
    cutter = case.cutter(due)
    wanted = due.wall if cutter is None else opened(due.wall, cutter.diameter / 2 + DRAWN_FOR)
    if is_empty(wanted):
        return
    short, at = least_gap(wanted, path.region, path.ring)
    if short < -GAP_WITHIN:
        asked = item.clearance + item.expected_error
        left = min(distance_to_ring(at, outline.outer) for outline in to_outlines(due.outline))
        text = (
            f"{named(item)} has {mm(left)} of gap to the wall of {seat} at {spot(at)}, "
            f"{mm(-short)} less than the cutter could leave there; {mm(asked)} is asked all round"
        )
        yield case.found("item-bound", text, remedy, path, at, left, asked)


def _unfollowed(case: Case, path: Written, due: Due) -> Iterator[Finding]:
    cutter = case.cutter(due)
    if cutter is None:
        return
    lost = lost_to_cutter(path.region, cutter.diameter)
    if lost is None:
        return
    share, at = lost
    text = (
        f"the seat of {named(due.item)} is too narrow or too sharp for the cutter of {mm(cutter.diameter)} at "
        f"{spot(at or path.middle)}: {share:.2f} mm2 would stay uncut, at most {LOST_MOST:g} may"
    )
    radius = math.ceil(cutter.diameter * 50) / 100
    remedy = f"use a smaller cutter, or give the corners a radius of at least {radius:g} mm"
    yield case.found("cutter-too-big", text, remedy, path, at or path.middle, share, LOST_MOST)


def lost_to_cutter(region: Region, diameter: float) -> tuple[float, Point | None] | None:
    """The largest piece of a region that no round cutter gets at: area, and its point farthest from what is cut.

    None: nothing worth a word is lost. No point where all of it is lost.
    """
    reached = opened(region, diameter / 2 - CUTTER_WITHIN)
    # opened: rounding leaves necks of no width along the walls that join one corner's waste to another's
    lost = pieces(opened(minus(region, reached), NECK))
    if not lost or area(lost[0]) <= LOST_MOST:
        return None
    return area(lost[0]), None if is_empty(reached) else farthest(lost[0], reached).at
