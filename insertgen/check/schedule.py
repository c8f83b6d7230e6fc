"""Does the drill-hole schedule say what the drawing says, with drills that are owned?"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from insertgen.check.bores import TIGHT_MOST, is_moved
from insertgen.check.case import Case
from insertgen.check.say import found, mm, named, spot
from insertgen.check.seated import Seated, due_depth
from insertgen.check.written import Written
from insertgen.errors import UnitError
from insertgen.model import Circle, Finding, Point
from insertgen.rules import HOLE_LOOSE, MILLED_OVER_CUTTER
from insertgen.units import MM_PER_INCH, format_inch, parse_length

__all__ = ["judge_schedule"]

FILE = "holes.csv"
WITHIN = 0.011  # written to 0.01 mm
INCH_WITHIN = float(MM_PER_INCH) / 128 + WITHIN  # fractions are written to 1/64 in
COLUMNS = ("tag", "x", "y", "x_in", "y_in", "diameter", "drill", "depth", "through")
AGAIN = "build the job again"


@dataclass(frozen=True, slots=True)
class Line:
    """One row of the schedule with its figures read; ``one`` is the item of its tag."""

    key: str
    one: Seated
    at: Point
    inches: tuple[str, str]
    diameter: float
    drill: str
    depth: float
    through: str


def judge_schedule(case: Case, holes_csv: str | None) -> Iterator[Finding]:
    bored = {_bare(one.item.tag): key for key, one in case.seated.items() if one.item.bore is not None}
    if holes_csv is None:
        if bored:  # one finding, not one a bore
            yield found(
                "cut-missing", f"{FILE} is missing; {len(bored)} bores are due", AGAIN, tray=case.tray, file=FILE,
                others=tuple(bored.values()),
            )  # fmt: skip
        return
    seen: set[str] = set()
    for number, row in enumerate(csv.DictReader(io.StringIO(holes_csv)), start=2):
        tag = row.get("tag")
        key = bored.get(_bare(tag)) if tag else None
        if key is None or key in seen:
            text = f"{FILE}, line {number}: " + (
                f"the bore of {named(case.seated[key].item)} is there twice" if key else f"no bored item has the tag {tag}"
            )
            yield found("cut-extra", text, "delete the line", tray=case.tray, file=FILE, placement=key)
            continue
        seen.add(key)
        line = _read(row, key, case.seated[key])
        if line is None:
            text = f"{FILE}, line {number}: lacks one of {', '.join(COLUMNS)}, or a figure in it is no number"
            yield found("entity-odd", text, AGAIN, tray=case.tray, file=FILE, placement=key)
        else:
            yield from _judge(case, line, case.matched.cuts.get(key))
    for key in bored.values():
        if key not in seen:
            text = f"{FILE} has no line for the bore of {named(case.seated[key].item)}"
            yield found(
                "cut-missing", text, AGAIN, tray=case.tray, file=FILE, placement=key, at=case.seated[key].centre
            )


def _bare(tag: str) -> str:
    """A tag without leading zeros: spreadsheets drop them."""
    return tag.strip().lstrip("0")


def _read(row: Mapping[str, str | None], key: str, one: Seated) -> Line | None:
    values = {column: row.get(column) for column in COLUMNS}
    said = {column: value.strip() for column, value in values.items() if value is not None}
    if len(said) < len(COLUMNS) or said["through"] not in ("yes", "no"):
        return None
    try:
        x, y, diameter, depth = (float(said[column]) for column in ("x", "y", "diameter", "depth"))
    except ValueError:
        return None
    if not all(map(math.isfinite, (x, y, diameter, depth))):
        return None
    inches = said["x_in"], said["y_in"]
    return Line(key, one, (x, y), inches, diameter, said["drill"], depth, said["through"])


def _judge(case: Case, line: Line, path: Written | None) -> Iterator[Finding]:
    yield from _place(case, line, path)
    yield from _inches(case, line)
    width = list(_width(case, line, path))
    # a figure that is wrong itself says nothing about the drill beside it
    yield from width or _drill(case, line)
    yield from _depth(case, line)


def _found(
    case: Case, line: Line, code: str, text: str, figure: float | None, limit: float | None, remedy: str = AGAIN
) -> Finding:
    return found(
        code, f"{FILE}: {text}", remedy, tray=case.tray, file=FILE, placement=line.key, at=line.at, figure=figure, limit=limit
    )


def _place(case: Case, line: Line, path: Written | None) -> Iterator[Finding]:
    """Held against the layout; what the drawing says is as good, unless it is wrong itself."""
    who, due = named(line.one.item), line.one.centre
    right = [due] if path is None or is_moved(path, line.one) else [due, path.middle]
    if all(max(abs(line.at[0] - x), abs(line.at[1] - y)) > WITHIN for x, y in right):
        text = f"the bore of {who} is listed at {spot(line.at)}; it belongs at {spot(due)}"
        yield _found(case, line, "hole-moved", text, math.dist(line.at, due), WITHIN)


def _inches(case: Case, line: Line) -> Iterator[Finding]:
    for column, text, length in zip(("x_in", "y_in"), line.inches, line.at, strict=True):
        try:
            off = abs(parse_length(text, unit="in", zero=True, negative=True) - length)
        except UnitError:
            off = math.inf
        if off > INCH_WITHIN:
            said = f"{column} of {named(line.one.item)} says {text} in; {mm(length)} is {format_inch(length)} in"
            yield _found(case, line, "hole-moved", said, None if math.isinf(off) else off, INCH_WITHIN)


def _width(case: Case, line: Line, path: Written | None) -> Iterator[Finding]:
    """Held against the drawing; where the drawing is wrong itself, against the item."""
    who, asked = named(line.one.item), line.one.item.bore or 0.0
    least, most = asked - TIGHT_MOST, asked + HOLE_LOOSE
    drawn = path.path.diameter if path is not None and isinstance(path.path, Circle) else asked
    if least <= drawn <= most:
        least = most = drawn
    elif drawn > most and abs(line.diameter - drawn) <= WITHIN:
        return  # loose in the drawing too, and said there
    if line.diameter < least - WITHIN:
        text = f"the bore of {who} is listed as {mm(line.diameter)} wide, it must be {mm(least)}"
        yield _found(case, line, "hole-tight", text, line.diameter, least)
    elif line.diameter > most + WITHIN:
        text = f"the bore of {who} is listed as {mm(line.diameter)} wide, {mm(most)} is right"
        yield _found(case, line, "hole-loose", text, line.diameter, most)


def _depth(case: Case, line: Line) -> Iterator[Finding]:
    due = due_depth(line.one.item, case.tray)
    expected = case.tray.thickness if due is None else due
    if abs(line.depth - expected) > WITHIN or (line.through == "yes") != (due is None):
        listed = f"{mm(line.depth)} deep, {'right through' if line.through == 'yes' else 'not through'}"
        asked = "right through" if due is None else f"{mm(expected)}, not through"
        text = f"the bore of {named(line.one.item)} is listed as {listed}; its item asks for {asked}"
        yield _found(case, line, "depth-wrong", text, line.depth, expected)


def _drill(case: Case, line: Line) -> Iterator[Finding]:
    if line.drill == "milled":
        yield from _milled(case, line)
        return
    who = named(line.one.item)
    drills = {drill.name: drill.diameter for drill in case.tray.cutting.drills}
    if line.drill not in drills:
        text = f"the drill {line.drill} for {who} is not among those owned"
        yield _found(case, line, "hole-tight", text, None, line.one.item.bore)
    elif abs(drills[line.drill] - line.diameter) > WITHIN:
        code = "hole-tight" if drills[line.drill] < line.diameter else "hole-loose"
        text = f"the drill {line.drill} for {who} is {mm(drills[line.drill])}, the line says {mm(line.diameter)}"
        yield _found(case, line, code, text, drills[line.drill], line.diameter)


def _milled(case: Case, line: Line) -> Iterator[Finding]:
    cutting, who = case.tray.cutting, named(line.one.item)
    narrowest = cutting.cutter.diameter + MILLED_OVER_CUTTER
    if cutting.machine == "hand" or line.diameter < narrowest - WITHIN:
        largest = max((drill.diameter for drill in cutting.drills), default=0.0)
        why = "by hand nothing is milled" if cutting.machine == "hand" else f"the cutter mills from {mm(narrowest)} on"
        text = f"no drill for {who}: the largest owned is {mm(largest)}, it asks for {mm(line.diameter)}, and {why}"
        yield _found(case, line, "hole-tight", text, largest, line.diameter, f"get a drill of {mm(line.diameter)} or more")
    elif cutting.cutter.reach is not None and line.depth > cutting.cutter.reach + 1e-6:
        text = f"the bore of {who} is milled {mm(line.depth)} deep; the cutter reaches {mm(cutting.cutter.reach)}"
        remedy = f"use a cutter that reaches {mm(line.depth)}, or bore it with a drill"
        yield _found(case, line, "cutter-too-short", text, line.depth, cutting.cutter.reach, remedy)
