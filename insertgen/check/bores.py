"""Is each bore where its item is, and as wide as its item asks?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from insertgen.check.case import Case
from insertgen.check.say import mm, named, spot
from insertgen.check.seated import Seated
from insertgen.check.written import Written
from insertgen.model import Circle, Finding
from insertgen.rules import HOLE_LOOSE

__all__ = ["MOVED_MOST", "TIGHT_MOST", "is_moved", "judge_bores"]

MOVED_MOST = 0.05
TIGHT_MOST = 0.005


def is_moved(path: Written, one: Seated) -> bool:
    """Whether a bore is not where its item stands."""
    return one.item.bore is not None and math.dist(path.middle, one.centre) > MOVED_MOST


def judge_bores(case: Case) -> Iterator[Finding]:
    for key, path in case.matched.cuts.items():
        one = case.seated[key]
        if one.item.bore is None:
            continue
        if is_moved(path, one):
            off = math.dist(path.middle, one.centre)
            text = (
                f"the bore of {named(one.item)} is at {spot(path.middle)}, {mm(off)} off; "
                f"it belongs at {spot(one.centre)}, within {mm(MOVED_MOST)}"
            )
            remedy = "move it back, or build the job again"
            yield case.found("hole-moved", text, remedy, path, path.middle, off, MOVED_MOST)
        if isinstance(path.path, Circle):
            yield from _width(case, path, one.item.bore, path.path.diameter, named(one.item))
        elif path.odd is None:
            text = f"the bore of {named(one.item)} is drawn as a polyline"
            yield case.found("entity-odd", text, "draw it as a circle", path, path.middle)


def _width(case: Case, path: Written, wanted: float, diameter: float, who: str) -> Iterator[Finding]:
    if diameter < wanted - TIGHT_MOST:
        text = f"the bore of {who} is {mm(diameter)} wide; it must be at least {mm(wanted)}"
        remedy = f"bore it with the next drill from {mm(wanted)} up"
        yield case.found("hole-tight", text, remedy, path, path.middle, diameter, wanted)
    elif diameter > wanted + HOLE_LOOSE:
        text = f"the bore of {who} is {mm(diameter)} wide; {mm(wanted)} is enough, so it will stand loosely"
        remedy = f"use a drill between {mm(wanted)} and {mm(wanted + HOLE_LOOSE)}"
        yield case.found("hole-loose", text, remedy, path, path.middle, diameter, wanted + HOLE_LOOSE)
