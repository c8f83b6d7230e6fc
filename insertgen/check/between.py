"""Is there wood enough between the cuts of a drawing, to its edge, and to what must stay free?"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from insertgen.check.case import Case
from insertgen.check.due import DueKey
from insertgen.check.rooms import WITHIN, Rooms, area_of, midway
from insertgen.check.say import mm, spot
from insertgen.check.written import Written
from insertgen.geometry.distance import Gap, gap_between, gap_inside
from insertgen.geometry.region import bounds, box, overlaps
from insertgen.model.finding import Finding

__all__ = ["judge_between"]


def judge_between(case: Case, rooms: Rooms) -> Iterator[Finding]:
    sound = case.sound_cuts()
    by_placement: dict[str, dict[DueKey, Written]] = {}
    for key, path in sound.items():
        by_placement.setdefault(key[0], {})[key] = path
    for first, second in combinations(by_placement, 2):
        # things that crowd each other are said to; the wood between them follows from it
        if not rooms.crowded(first, second):
            yield from _web(case, by_placement[first], by_placement[second], second)
    for cuts in by_placement.values():
        yield from _own_bores(case, cuts)
        yield from _margin(case, cuts)
        for path in cuts.values():
            yield from _at_keep_outs(case, path)


def _web(case: Case, one: dict[DueKey, Written], other: dict[DueKey, Written], second: str) -> Iterator[Finding]:
    web = case.tray.web
    near = [(a, b) for a in one.values() for b in other.values() if _boxes_within(a, b, web)]
    if not near:
        return
    gap, a, b = min(((gap_between(a.region, b.region), a, b) for a, b in near), key=lambda each: each[0].distance)
    if gap.distance < web - WITHIN:
        yield _thin(case, gap, a, b, (second,))


def _own_bores(case: Case, cuts: dict[DueKey, Written]) -> Iterator[Finding]:
    """Posts of one item that stand too near each other."""
    bores = [path for key, path in cuts.items() if case.dues[key].bore is not None]
    for a, b in combinations(bores, 2):
        gap = gap_between(a.region, b.region)
        if gap.distance < case.tray.web - WITHIN:
            yield _thin(case, gap, a, b, ())


def _thin(case: Case, gap: Gap, a: Written, b: Written, others: tuple[str, ...]) -> Finding:
    at, web = midway(gap), case.tray.web
    text = (
        f"{mm(gap.distance)} of wood between {case.whose(a)} and {case.whose(b)} at {spot(at)}; "
        f"at least {mm(web)} is asked"
    )
    return case.found("web-thin", text, "move one of them, or ask for a thinner web", a, at, gap.distance, web, others)


def _boxes_within(a: Written, b: Written, reach: float) -> bool:
    (a0, b0, a1, b1), (c0, d0, c1, d1) = bounds(a.region), bounds(b.region)
    return max(c0 - a1, a0 - c1, d0 - b1, b0 - d1) <= reach


def _margin(case: Case, cuts: dict[DueKey, Written]) -> Iterator[Finding]:
    blank, margin = box(0, 0, case.blank.width, case.blank.depth), case.tray.margin
    # steps of one seat lie within each other: only the nearest is said
    gap, path = min(((gap_inside(path.region, blank), path) for path in cuts.values()), key=lambda each: each[0].distance)
    if -WITHIN < gap.distance < margin - WITHIN:  # outside the blank: said by another judge
        text = (
            f"{mm(gap.distance)} of wood between {case.whose(path)} and the edge of the blank at {spot(gap.to)}; "
            f"at least {mm(margin)} is asked"
        )
        remedy = "move it in, or ask for a thinner margin"
        yield case.found("margin-thin", text, remedy, path, midway(gap), gap.distance, margin)


def _at_keep_outs(case: Case, path: Written) -> Iterator[Finding]:
    for keep_out in case.tray.keep_out:
        area = area_of(keep_out)
        if overlaps(path.region, area, least=1e-3):
            continue  # the item's room says so
        gap = gap_between(path.region, area)
        if gap.distance < case.tray.web - WITHIN:
            at = midway(gap)
            text = (
                f"{mm(gap.distance)} of wood between {case.whose(path)} and the keep-out ({keep_out.why}) at {spot(at)}; "
                f"at least {mm(case.tray.web)} is asked"
            )
            remedy = "move it away from the keep-out"
            yield case.found("web-thin", text, remedy, path, at, gap.distance, case.tray.web)
