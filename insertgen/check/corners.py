"""Does a thing go into the seat that is sawn for it out of the blank's corner or edge?

Such a seat has no contour of its own: it is what the outer contour leaves out
of the blank. On that side the tray's wall, a play beyond the blank's edge, is the
seat's wall.
"""

from __future__ import annotations

from collections.abc import Iterator

from insertgen.check.case import Case
from insertgen.check.fit import least_gap
from insertgen.check.pockets import DRAWN_FOR, GAP_WITHIN, LEAST_GAP_WITHIN, LOST_MOST, lost_to_cutter
from insertgen.check.say import found, mm, named, spot
from insertgen.check.seated import Seated
from insertgen.check.wood import Wood
from insertgen.geometry.distance import gap_between, gap_inside
from insertgen.geometry.offset import grown, opened
from insertgen.geometry.region import Region, area, box, common, disc, is_empty, minus, to_outlines
from insertgen.model.figures import Point
from insertgen.model.finding import Finding
from insertgen.model.job import Cutter

__all__ = ["judge_corners"]

#: A seat of which less than this share was taken out of the blank was not cut at all.
CUT_SHARE = 0.5
AROUND = 1000.0  # how much air is drawn around a blank: more than any item is long
AGAIN = "saw the seat larger there, or build the job again"


def judge_corners(case: Case, wood: Wood) -> Iterator[Finding]:
    cutting = case.tray.cutting
    cutter = cutting.pocket_cutter if cutting.machine == "router" or cutting.template else None
    air = minus(_frame(case, AROUND), wood.left)
    for key, one in case.corners.items():
        inside = common(one.outline, _frame(case, 0.0))
        if area(common(inside, wood.left)) > CUT_SHARE * area(inside):
            text = f"{named(one.item)} has no cut; it is due at {spot(one.centre)}, sawn out of the outer contour"
            yield _found(case, "cut-missing", text, "build the job again", key, one.centre, None, None)
            continue
        yield from _bound(case, key, one, wood, air, cutter)
        yield from _at_tray_wall(case, key, one)
    if cutting.machine == "router":
        yield from _unfollowed(case, air, cutting.cutter)


def _frame(case: Case, by: float) -> Region:
    return box(-by, -by, case.blank.width + by, case.blank.depth + by)


def _found(
    case: Case, code: str, text: str, remedy: str, key: str, at: Point, figure: float | None, limit: float | None
) -> Finding:
    layer = case.matched.edges[0].layer if case.matched.edges else None
    return found(
        code, text, remedy, tray=case.tray, file=case.sheet.file, layer=layer, placement=key, at=at, figure=figure,
        limit=limit,
    )  # fmt: skip


def _bound(
    case: Case, key: str, one: Seated, wood: Wood, air: Region, cutter: Cutter | None
) -> Iterator[Finding]:
    item = one.item
    gap, at = _least(one.outline, air, wood)
    if gap < item.least_gap - LEAST_GAP_WITHIN:
        how = f"sticks {mm(-gap)} into the wood" if gap <= -0.005 else f"is {mm(gap)} from the wood"
        text = f"{named(item)} {how} of its corner seat at {spot(at)}; at least {mm(item.least_gap)} must be left"
        yield _found(case, "item-bound", text, AGAIN, key, at, gap, item.least_gap)
        return
    wanted = one.wall if cutter is None else opened(one.wall, cutter.diameter / 2 + DRAWN_FOR)
    if is_empty(wanted):
        return
    short, at = _least(wanted, air, wood)
    if short < -GAP_WITHIN:
        if cutter is None:  # no corner keeps less than the straights: it is short where it is least
            at = gap_between(wood.left, one.outline).at
        left = gap_between(disc(at, 1e-3), one.outline).distance
        text = (
            f"{named(item)} has {mm(left)} of gap to the wood of its corner seat at {spot(at)}, {mm(-short)} less than "
            f"could be sawn there; {mm(one.gap)} is asked all round"
        )
        yield _found(case, "item-bound", text, AGAIN, key, at, left, one.gap)


def _least(thing: Region, air: Region, wood: Wood) -> tuple[float, Point]:
    """Least gap between a thing and the wood beside it."""
    rings = [ring for outline in to_outlines(wood.left) for ring in (outline.outer, *outline.holes)]
    return min(least_gap(thing, air, ring) for ring in rings)


def _at_tray_wall(case: Case, key: str, one: Seated) -> Iterator[Finding]:
    item = one.item
    gap = gap_inside(one.outline, _frame(case, case.tray.play))
    if gap.distance < item.least_gap - LEAST_GAP_WITHIN:
        how = f"sticks {mm(-gap.distance)} into" if gap.distance <= -0.005 else f"is {mm(gap.distance)} from"
        text = f"{named(item)} {how} the tray's wall at {spot(gap.to)}; at least {mm(item.least_gap)} must be left"
        yield _found(case, "item-bound", text, "move it in", key, gap.at, gap.distance, item.least_gap)


def _unfollowed(case: Case, air: Region, cutter: Cutter) -> Iterator[Finding]:
    """The machine goes round outside: a bend of the wood inwards must let its cutter in."""
    lost = lost_to_cutter(common(air, grown(_frame(case, 0.0), 3 * cutter.diameter)), cutter.diameter)
    if lost is None or lost[1] is None:
        return
    share, at = lost[0], lost[1]
    key, one = min(case.corners.items(), key=lambda each: gap_between(disc(at, 1e-3), each[1].wall).distance)
    text = (
        f"the corner seat of {named(one.item)} is too sharp for the cutter of {mm(cutter.diameter)} at {spot(at)}: "
        f"{share:.2f} mm2 would stay uncut, at most {LOST_MOST:g} may"
    )
    yield _found(case, "cutter-too-big", text, "use a smaller cutter, or round the corner", key, at, share, LOST_MOST)
