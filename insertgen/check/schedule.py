"""Does the drill-hole schedule say what the drawing says, with drills that are owned?"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Iterator, Mapping

from insertgen.check.case import Case
from insertgen.check.say import found, mm, named, spot
from insertgen.check.seated import Seated, due_depth
from insertgen.check.written import Written
from insertgen.model import Circle, Finding

__all__ = ["judge_schedule"]

FILE = "holes.csv"
WITHIN = 0.011  # written to 0.01 mm
DEPTH_WITHIN = 0.05
COLUMNS = ("tag", "x", "y", "diameter", "drill", "depth", "through")

Row = Mapping[str, str]
Say = Callable[[str, str, str, float | None, float | None], Finding]


def judge_schedule(case: Case, holes_csv: str) -> Iterator[Finding]:
    rows = list(csv.DictReader(io.StringIO(holes_csv)))
    bored = {one.item.tag: key for key, one in case.seated.items() if one.item.bore is not None}
    seen: set[str] = set()
    for line, row in enumerate(rows, start=2):
        if any(row.get(column) is None for column in COLUMNS):
            text = f"{FILE}, line {line} lacks one of the columns {', '.join(COLUMNS)}"
            yield found("entity-odd", text, "build the job again", tray=case.tray, file=FILE)
            continue
        key = bored.get(row["tag"])
        if key is None or row["tag"] in seen:
            text = f"{FILE}, line {line}: a hole with the tag {row['tag']} belongs to no item, or is there twice"
            yield found("cut-extra", text, "delete the line", tray=case.tray, file=FILE, placement=key)
            continue
        seen.add(row["tag"])
        yield from _row(case, case.seated[key], case.matched.cuts.get(key), row, key)
    for tag, key in bored.items():
        if tag not in seen:
            text = f"{FILE} has no line for the bore of {named(case.seated[key].item)}"
            yield found(
                "cut-missing", text, "build the job again", tray=case.tray, file=FILE, placement=key,
                at=case.seated[key].centre,
            )  # fmt: skip


def _row(case: Case, one: Seated, path: Written | None, row: Row, key: str) -> Iterator[Finding]:
    who = named(one.item)

    def said(code: str, text: str, remedy: str, figure: float | None, limit: float | None) -> Finding:
        return found(
            code, f"{FILE}: {text}", remedy, tray=case.tray, file=FILE, placement=key, at=one.centre,
            figure=figure, limit=limit,
        )  # fmt: skip

    try:
        x, y, diameter, depth = (float(row[name]) for name in ("x", "y", "diameter", "depth"))
    except ValueError:
        yield said("entity-odd", f"the line of {who} holds a figure that is no number", "build the job again", None, None)
        return
    if path is not None and isinstance(path.path, Circle):
        centre, drawn = path.path.centre, path.path.diameter
        off = max(abs(x - centre[0]), abs(y - centre[1]))
        if off > WITHIN:
            text = f"{who} is bored at {spot((x, y))}, the drawing has it at {spot(centre)}"
            yield said("hole-moved", text, "build the job again", math.dist((x, y), centre), WITHIN)
        if abs(diameter - drawn) > WITHIN:
            code = "hole-tight" if diameter < drawn else "hole-loose"
            text = f"the bore of {who} is {mm(diameter)} wide, the drawing has {mm(drawn)}"
            yield said(code, text, "build the job again", diameter, drawn)
    due = due_depth(one.item, case.tray)
    expected = case.tray.thickness if due is None else due
    if abs(depth - expected) > DEPTH_WITHIN or (row["through"] == "yes") != (due is None):
        text = f"the bore of {who} is {mm(depth)} deep, its item asks for {mm(expected)}"
        yield said("depth-wrong", text, "build the job again", depth, expected)
    yield from _drill(case, one, row, said)


def _drill(case: Case, one: Seated, row: Row, said: Say) -> Iterator[Finding]:
    wanted, name = one.item.bore or 0.0, row["drill"]
    if name == "milled":
        if case.tray.cutting.machine == "hand":
            largest = max((drill.diameter for drill in case.tray.cutting.drills), default=0.0)
            text = f"no owned drill is as large as the {mm(wanted)} that {named(one.item)} asks for"
            yield said("hole-tight", text, "get a larger drill, or mill it", largest, wanted)
        return
    drills = {drill.name: drill.diameter for drill in case.tray.cutting.drills}
    if name not in drills:
        text = f"the drill {name} for {named(one.item)} is not among those owned"
        yield said("hole-tight", text, "build the job again", None, wanted)
    elif abs(drills[name] - float(row["diameter"])) > WITHIN:
        text = f"the drill {name} for {named(one.item)} is {mm(drills[name])}, the line says {row['diameter']} mm"
        code = "hole-tight" if drills[name] < float(row["diameter"]) else "hole-loose"
        yield said(code, text, "build the job again", drills[name], float(row["diameter"]))
