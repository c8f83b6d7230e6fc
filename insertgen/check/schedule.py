"""Does the drill-hole schedule say what the drawing says, with drills that are owned?"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from insertgen.check.bores import TIGHT_MOST
from insertgen.check.case import MOVED_MOST, Case
from insertgen.check.drills import judge_drill
from insertgen.check.due import Due, DueKey
from insertgen.check.rows import COLUMNS, Line, RowDue, bare_tag, drawn_right, paired, read_lines, rows_due
from insertgen.check.say import found, mm, spot
from insertgen.errors import UnitError
from insertgen.geometry.distance import gap_inside
from insertgen.geometry.region import disc
from insertgen.model.figures import Circle
from insertgen.model.finding import Finding
from insertgen.rules import HOLE_LOOSE
from insertgen.units import MM_PER_INCH, format_inch, parse_length

__all__ = ["judge_schedule"]

FILE = "holes.csv"
WITHIN = 0.011  # written to 0.01 mm
INCH_WITHIN = float(MM_PER_INCH) / 128 + WITHIN  # fractions are written to 1/64 in
START_WOOD_LEAST = 0.5
AGAIN = "build the job again"


def judge_schedule(stack: Sequence[Case], dues: Mapping[DueKey, Due] | None, holes_csv: str | None) -> Iterator[Finding]:
    """The schedule against the drawings.

    Parameters
    ----------
    stack : sequence of Case
        The sheets that have rows of their own.
    dues : mapping, optional
        What is due in the whole stack, depths from its face, where one row stands for all sheets; None: what is due in each.
    """
    due = [row for case in stack for row in rows_due(case, case.dues if dues is None else dues)]
    case = stack[0]
    if holes_csv is None:
        if due:  # one finding, not one a bore
            others = tuple(dict.fromkeys(row.placement for row in due))
            text = f"{FILE} is missing; {len(due)} bores are due"
            yield found("cut-missing", text, AGAIN, tray=case.tray, file=FILE, others=others)
        return
    pairs, surplus, missing = paired(read_lines(holes_csv), due)
    for line in surplus:
        yield _surplus(case, line, due)
    for line, row in pairs:
        if line.figures is None:
            text = f"{FILE}, line {line.number}: lacks one of {', '.join(COLUMNS)}, or a figure in it is no number"
            yield found("entity-odd", text, AGAIN, tray=case.tray, file=FILE, placement=row.placement)
        else:
            yield from _judge(row.case, line, line.figures, row)
    for row in missing:
        text = f"{FILE} has no line for {row.said}"
        yield found("cut-missing", text, AGAIN, tray=case.tray, file=FILE, placement=row.placement, at=row.place)


def _surplus(case: Case, line: Line, due: list[RowDue]) -> Finding:
    tag = line.said["tag"]
    mine = [row for row in due if tag and bare_tag(row.item.tag) == bare_tag(tag)]
    if mine:
        row = next((row for row in mine if row.use == line.said["use"]), mine[0])
        text = f"{FILE}, line {line.number}: {row.said} is there once more than it is due"
        return found("cut-extra", text, "delete the line", tray=case.tray, file=FILE, placement=row.placement, at=line.at)
    text = f"{FILE}, line {line.number}: no bored item has the tag {tag}"
    return found("cut-extra", text, "delete the line", tray=case.tray, file=FILE, at=line.at)


Figures = Mapping[str, float]


def _judge(case: Case, line: Line, figures: Figures, row: RowDue) -> Iterator[Finding]:
    if row.use == "start":
        yield from _in_waste(case, line, figures, row)
    else:
        yield from _place(case, line, figures, row)
    yield from _inches(case, line, figures, row)
    width = list(_width(case, line, figures, row)) if row.width is not None else []
    # a figure that is wrong itself says nothing about the drill beside it
    yield from width or judge_drill(case, line, figures, row)
    yield from _wanted(case, line, figures, row, wide_right=not width)
    yield from _depth(case, line, figures, row)
    yield from _words(case, line, row)


def _found(
    case: Case, line: Line, row: RowDue, code: str, text: str, figure: float | None, limit: float | None, remedy: str = AGAIN
) -> Finding:
    return found(
        code, f"{FILE}: {text}", remedy, tray=case.tray, file=FILE, placement=row.placement, at=line.at, figure=figure,
        limit=limit,
    )  # fmt: skip


def _place(case: Case, line: Line, figures: Figures, row: RowDue) -> Iterator[Finding]:
    """Held against the layout; what the drawing says is as good, unless it is wrong itself."""
    if row.at is None:
        return
    at = figures["x"], figures["y"]
    within = MOVED_MOST + WITHIN if row.use == "slot-end" else WITHIN
    right = [row.at]
    if row.use != "slot-end" and row.path is not None and drawn_right(row.path, case):
        right.append(row.path.middle)
    if all(max(abs(at[0] - x), abs(at[1] - y)) > within for x, y in right):
        text = f"{row.said} is listed at {spot(at)}; it belongs at {spot(row.at)}"
        yield _found(case, line, row, "hole-moved", text, math.dist(at, row.at), within)


def _in_waste(case: Case, line: Line, figures: Figures, row: RowDue) -> Iterator[Finding]:
    if row.path is None:
        return
    at = figures["x"], figures["y"]
    gap = gap_inside(disc(at, max(figures["diameter"], 0.01)), row.path.region)
    if gap.distance < START_WOOD_LEAST:
        where = "leaves the waste" if gap.distance < 0 else f"is {mm(gap.distance)} from the line"
        text = f"{row.said} at {spot(at)}, {mm(figures['diameter'])} wide, {where}; {mm(START_WOOD_LEAST)} of waste must be left"
        remedy = "bore it further in, or with a smaller drill"
        yield _found(case, line, row, "hole-moved", text, gap.distance, START_WOOD_LEAST, remedy)


def _inches(case: Case, line: Line, figures: Figures, row: RowDue) -> Iterator[Finding]:
    for column, length in (("x_in", figures["x"]), ("y_in", figures["y"])):
        text = line.said[column]
        try:
            off = abs(parse_length(text, unit="in", zero=True, negative=True) - length)
        except UnitError:
            off = math.inf
        if off > INCH_WITHIN:
            said = f"{column} of {row.said} says {text} in; {mm(length)} is {format_inch(length)} in"
            yield _found(case, line, row, "hole-moved", said, None if math.isinf(off) else off, INCH_WITHIN)


def _width(case: Case, line: Line, figures: Figures, row: RowDue) -> Iterator[Finding]:
    """Held against the drawing; where the drawing is wrong itself, against the item."""
    asked, diameter = row.width or 0.0, figures["diameter"]
    if row.use == "slot-end":
        least, most = asked - MOVED_MOST, asked + MOVED_MOST
    else:
        least, most = asked - TIGHT_MOST, asked + HOLE_LOOSE
        drawn = row.path.path.diameter if row.path is not None and isinstance(row.path.path, Circle) else asked
        if least <= drawn <= most:
            least = most = drawn
        elif drawn > most and abs(diameter - drawn) <= WITHIN:
            return  # loose in the drawing too, and said there
    if diameter < least - WITHIN:
        text = f"{row.said} is listed as {mm(diameter)} wide, it must be {mm(least)}"
        yield _found(case, line, row, "hole-tight", text, diameter, least)
    elif diameter > most + WITHIN:
        text = f"{row.said} is listed as {mm(diameter)} wide, {mm(most)} is right"
        yield _found(case, line, row, "hole-loose", text, diameter, most)


def _wanted(case: Case, line: Line, figures: Figures, row: RowDue, *, wide_right: bool) -> Iterator[Finding]:
    """The width asked for, and how much the bore is wider."""
    diameter, wanted, slack = figures["diameter"], figures["wanted"], figures["slack"]
    if row.width is not None and row.use != "slot-end" and abs(wanted - row.width) > WITHIN:
        code = "hole-tight" if wanted < row.width else "hole-loose"
        text = f"{row.said} is listed with {mm(wanted)} wanted; {mm(row.width)} is asked for"
        yield _found(case, line, row, code, text, wanted, row.width)
    elif wide_right and abs(diameter - wanted - slack) > 2 * WITHIN:
        code = "hole-tight" if slack > diameter - wanted else "hole-loose"
        text = f"{row.said} is listed with {mm(slack)} of slack; {mm(diameter)} less {mm(wanted)} is {mm(diameter - wanted)}"
        yield _found(case, line, row, code, text, slack, diameter - wanted)


def _depth(case: Case, line: Line, figures: Figures, row: RowDue) -> Iterator[Finding]:
    whole = case.level.thickness if _by_sheet(case) else case.tray.thickness
    expected = whole if row.depth is None else row.depth
    through = line.said["through"] == "yes"
    if abs(figures["depth"] - expected) > WITHIN or through != (row.depth is None):
        listed = f"{mm(figures['depth'])} deep, {'right through' if through else 'not through'}"
        asked = "right through" if row.depth is None else f"{mm(expected)}, not through"
        text = f"{row.said} is listed as {listed}; its item asks for {asked}"
        yield _found(case, line, row, "depth-wrong", text, figures["depth"], expected)


def _words(case: Case, line: Line, row: RowDue) -> Iterator[Finding]:
    """Which sheet, what for, and whether the stack is glued by then."""
    glued = case.tray.one_block and len(case.tray.stack) > 1
    when = "before-glue" if _by_sheet(case) else "after-glue" if glued else "any"
    for column, code, due in (("sheet", "hole-moved", row.sheet), ("use", "entity-odd", row.use), ("when", "entity-odd", when)):
        if line.said[column] != due:
            text = f'{row.said} is listed with {column} "{line.said[column]}"; "{due}" is right'
            yield _found(case, line, row, code, text, None, None)


def _by_sheet(case: Case) -> bool:
    """Whether each sheet is bored by itself, and has rows of its own."""
    return not case.tray.one_block and case.tray.cutting.machine != "laser"
