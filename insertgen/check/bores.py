"""Is each bore where it is due, and as wide as what stands in it asks?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from insertgen.check.case import MOVED_MOST, Case, is_moved
from insertgen.check.due import Due
from insertgen.check.say import mm, spot
from insertgen.check.written import Written
from insertgen.model.figures import Circle
from insertgen.model.finding import Finding
from insertgen.rules import HOLE_LOOSE

__all__ = ["TIGHT_MOST", "judge_bores"]

TIGHT_MOST = 0.005


def judge_bores(case: Case) -> Iterator[Finding]:
    for due, path in case.cuts():
        if due.bore is None:
            continue
        if is_moved(path, due):
            off = math.dist(path.middle, due.centre)
            text = (
                f"{due.bore_said} is at {spot(path.middle)}, {mm(off)} off; "
                f"it belongs at {spot(due.centre)}, within {mm(MOVED_MOST)}"
            )
            remedy = "move it back, or build the job again"
            yield case.found("hole-moved", text, remedy, path, path.middle, off, MOVED_MOST)
        if isinstance(path.path, Circle):
            yield from _width(case, path, due, due.bore, path.path.diameter)
        elif path.odd is None:
            text = f"{due.bore_said} is drawn as a polyline"
            yield case.found("entity-odd", text, "draw it as a circle", path, path.middle)


def _width(case: Case, path: Written, due: Due, wanted: float, diameter: float) -> Iterator[Finding]:
    if diameter < wanted - TIGHT_MOST:
        text = f"{due.bore_said} is {mm(diameter)} wide; it must be at least {mm(wanted)}"
        remedy = f"bore it with the next drill from {mm(wanted)} up"
        yield case.found("hole-tight", text, remedy, path, path.middle, diameter, wanted)
    elif diameter > wanted + HOLE_LOOSE:
        text = f"{due.bore_said} is {mm(diameter)} wide; {mm(wanted)} is enough, so it will stand loosely"
        remedy = f"use a drill between {mm(wanted)} and {mm(wanted + HOLE_LOOSE)}"
        yield case.found("hole-loose", text, remedy, path, path.middle, diameter, wanted + HOLE_LOOSE)
