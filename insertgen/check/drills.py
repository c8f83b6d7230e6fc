"""Is the drill that the schedule names for a bore owned, and can what is not drilled be milled?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from insertgen.check.case import Case
from insertgen.check.rows import Line, RowDue
from insertgen.check.say import found, mm
from insertgen.model.finding import Finding
from insertgen.rules import MILLED_OVER_CUTTER

__all__ = ["judge_drill"]

FILE = "holes.csv"
WITHIN = 0.011
#: What the schedule says of a hole that no drill makes, by machine.
UNDRILLED = {"router": "milled", "laser": "laser", "hand": "none"}
AGAIN = "build the job again"


def judge_drill(case: Case, line: Line, figures: Mapping[str, float], row: RowDue) -> Iterator[Finding]:
    diameter, named = figures["diameter"], line.said["drill"]
    machine = case.tray.cutting.machine
    if named == UNDRILLED[machine]:
        yield from _milled(case, line, figures, row)
        return
    if named in UNDRILLED.values():
        text = f'{row.said} is listed with drill "{named}"; with a {machine} it is a drill\'s name or "{UNDRILLED[machine]}"'
        yield _found(case, line, row, "entity-odd", text, None, None)
        return
    drills = {drill.name: drill.diameter for drill in case.tray.cutting.drills}
    if named not in drills:
        text = f"the drill {named} for {row.said} is not among those owned"
        yield _found(case, line, row, "hole-tight", text, None, row.width)
    elif abs(drills[named] - diameter) > WITHIN:
        code = "hole-tight" if drills[named] < diameter else "hole-loose"
        text = f"the drill {named} for {row.said} is {mm(drills[named])}, the line says {mm(diameter)}"
        yield _found(case, line, row, code, text, drills[named], diameter)


def _found(
    case: Case, line: Line, row: RowDue, code: str, text: str, figure: float | None, limit: float | None, remedy: str = AGAIN
) -> Finding:
    return found(
        code, f"{FILE}: {text}", remedy, tray=case.tray, file=FILE, placement=row.placement, at=line.at, figure=figure,
        limit=limit,
    )  # fmt: skip


def _milled(case: Case, line: Line, figures: Mapping[str, float], row: RowDue) -> Iterator[Finding]:
    cutting, diameter, depth = case.tray.cutting, figures["diameter"], figures["depth"]
    if cutting.machine == "laser":  # a beam cuts any width
        return
    narrowest = cutting.cutter.diameter + MILLED_OVER_CUTTER
    if cutting.machine == "hand" or diameter < narrowest - WITHIN:
        largest = max((drill.diameter for drill in cutting.drills), default=0.0)
        why = "by hand nothing is milled" if cutting.machine == "hand" else f"the cutter mills from {mm(narrowest)} on"
        text = f"no drill for {row.said}: the largest owned is {mm(largest)}, it asks for {mm(diameter)}, and {why}"
        yield _found(case, line, row, "hole-tight", text, largest, diameter, f"get a drill of {mm(diameter)} or more")
    elif cutting.cutter.reach is not None and depth > cutting.cutter.reach + 1e-6:
        text = f"{row.said} is milled {mm(depth)} deep; the cutter reaches {mm(cutting.cutter.reach)}"
        remedy = f"use a cutter that reaches {mm(depth)}, or bore it with a drill"
        yield _found(case, line, row, "cutter-too-short", text, depth, cutting.cutter.reach, remedy)
