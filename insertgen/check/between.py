"""Is there wood enough between the cuts, and room enough between the things that stand in them?"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from insertgen.check.bores import is_moved
from insertgen.check.case import Case
from insertgen.check.say import found, mm, named, spot
from insertgen.check.seated import Seated
from insertgen.check.written import Written
from insertgen.geometry.distance import Gap, farthest, gap_between, gap_inside
from insertgen.geometry.region import Region, box, common, is_empty, overlaps
from insertgen.model import Finding, KeepOut, Point, Store

__all__ = ["judge_between"]

WITHIN = 0.02


def judge_between(case: Case) -> Iterator[Finding]:
    sound = {
        key: path
        for key, path in case.matched.cuts.items()
        # a moved bore or an open contour has its own finding; what follows from it is not said again
        if path.sound and not is_empty(path.region) and not is_moved(path, case.seated[key])
    }
    for first, second in combinations(case.seated, 2):
        crowded = _rooms(case, first, second)
        if crowded:
            yield crowded
        elif first in sound and second in sound:
            yield from _web(case, first, second, sound[first], sound[second])
    for key, path in sound.items():
        yield from _margin(case, path)
        yield from _cut_at_keep_outs(case, key, path)
    for key, one in case.seated.items():
        yield from _room_at_keep_outs(case, key, one)
        yield from _room_in_tray(case, key, one)


def _web(case: Case, first: str, second: str, one: Written, other: Written) -> Iterator[Finding]:
    gap, web = gap_between(one.region, other.region), case.tray.web
    if gap.distance < web - WITHIN:
        at = _midway(gap)
        text = (
            f"{mm(gap.distance)} of wood between {case.whose(one)} and {case.whose(other)} at {spot(at)}; "
            f"at least {mm(web)} is asked"
        )
        remedy = "move one of them, or ask for a thinner web"
        yield case.found("web-thin", text, remedy, one, at, gap.distance, web, others=(second,))


def _margin(case: Case, path: Written) -> Iterator[Finding]:
    blank, margin = _blank(case), case.tray.margin
    gap = gap_inside(path.region, blank)
    if -WITHIN < gap.distance < margin - WITHIN:  # outside the blank: said by another judge
        text = (
            f"{mm(gap.distance)} of wood between {case.whose(path)} and the edge of the blank at {spot(gap.to)}; "
            f"at least {mm(margin)} is asked"
        )
        remedy = "move it in, or ask for a thinner margin"
        yield case.found("margin-thin", text, remedy, path, _midway(gap), gap.distance, margin)


def _rooms(case: Case, first: str, second: str) -> Finding | None:
    """Two things that take the same room, or stand nearer than fingers need."""
    one, other = case.seated[first], case.seated[second]
    asked = max(one.item.room_gap, other.item.room_gap)
    a, b = _taken(case, first, one, other), _taken(case, second, other, one)
    if overlaps(a, b, least=1e-3):
        gap, at = 0.0, _middle_of_common(a, b)
        text = f"{named(one.item)} and {named(other.item)} take the same room at {spot(at)}"
    else:
        between = gap_between(a, b)
        gap, at = between.distance, _midway(between)
        if gap >= asked - WITHIN:
            return None
        text = f"{mm(gap)} between {named(one.item)} and {named(other.item)} at {spot(at)}; fingers need {mm(asked)}"
    return found(
        "overlap", text, "move one of them, or leave one out",
        tray=case.tray, file=case.sheet.file, placement=first, at=at, figure=gap, limit=asked, others=(second,),
    )  # fmt: skip


def _taken(case: Case, key: str, one: Seated, beside: Seated) -> Region:
    """What may not be taken twice: the room above the face; beside a thing that only stands, the cut too."""
    path = case.matched.cuts.get(key)
    if beside.item.store is Store.STAND and path is not None and not is_empty(path.region):
        return one.room.union(path.region)
    return one.room


def _cut_at_keep_outs(case: Case, key: str, path: Written) -> Iterator[Finding]:
    for keep_out in case.tray.keep_out:
        area = _area(keep_out)
        if overlaps(path.region, area, least=1e-3):
            continue  # the item's room says so, or the next judge
        gap = gap_between(path.region, area)
        if gap.distance < case.tray.web - WITHIN:
            at = _midway(gap)
            text = (
                f"{mm(gap.distance)} of wood between {case.whose(path)} and the keep-out ({keep_out.why}) at {spot(at)}; "
                f"at least {mm(case.tray.web)} is asked"
            )
            remedy = "move it away from the keep-out"
            yield case.found("web-thin", text, remedy, path, at, gap.distance, case.tray.web)


def _room_at_keep_outs(case: Case, key: str, one: Seated) -> Iterator[Finding]:
    path = case.matched.cuts.get(key)
    taken = one.room if path is None or is_empty(path.region) else one.room.union(path.region)
    for keep_out in case.tray.keep_out:
        area = _area(keep_out)
        if overlaps(taken, area, least=1e-3):
            at = _middle_of_common(taken, area)
            text = f"{named(one.item)} stands on the keep-out ({keep_out.why}) at {spot(at)}"
            yield found(
                "overlap", text, "move it away from the keep-out", tray=case.tray, file=case.sheet.file,
                placement=key, at=at, figure=0.0, limit=0.0,
            )  # fmt: skip


def _room_in_tray(case: Case, key: str, one: Seated) -> Iterator[Finding]:
    gap = gap_inside(one.room, _blank(case))
    if gap.distance < -WITHIN:
        text = f"{named(one.item)} reaches {mm(-gap.distance)} over the edge of the blank at {spot(gap.at)}, into the tray's wall"
        yield found(
            "overlap", text, "move it in", tray=case.tray, file=case.sheet.file, placement=key, at=gap.at,
            figure=-gap.distance, limit=0.0,
        )  # fmt: skip


def _blank(case: Case) -> Region:
    return box(0, 0, case.tray.blank.width, case.tray.blank.depth)


def _area(keep_out: KeepOut) -> Region:
    (x, y), (width, depth) = keep_out.at, keep_out.size
    return box(x, y, x + width, y + depth)


def _midway(gap: Gap) -> Point:
    return (gap.at[0] + gap.to[0]) / 2, (gap.at[1] + gap.to[1]) / 2


def _middle_of_common(a: Region, b: Region) -> Point:
    shared = common(a, b)
    x0, y0, x1, y1 = shared.bounds
    middle = (float(x0 + x1) / 2, float(y0 + y1) / 2)
    # of a crescent the middle lies outside: then the nearest point of it
    away = farthest(box(middle[0], middle[1], middle[0] + 1e-6, middle[1] + 1e-6), shared)
    return away.to
