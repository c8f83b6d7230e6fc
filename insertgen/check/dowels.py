"""Do registration dowels bring the sheets of a stack together in their places, and in no other way?

No item asks for them, so where they are due is found from what was written: a
place where most of the sheets and of the schedule's lines have one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count

from insertgen.check.case import Case
from insertgen.check.due import Due, DueKey
from insertgen.check.match import BORE_REACH
from insertgen.check.rooms import area_of
from insertgen.check.rows import Line
from insertgen.check.say import found, mm, spot
from insertgen.geometry.region import disc, overlaps, to_outlines
from insertgen.model.drawing import Operation
from insertgen.model.figures import Circle, Point
from insertgen.model.finding import Finding
from insertgen.model.item import Item, Turn
from insertgen.model.job import Blank, Tray
from insertgen.model.shape import Disc as Round
from insertgen.model.shape import Shape, Store
from insertgen.rules import DOWELS, THREE_DOWELS

__all__ = ["dowels_due", "judge_dowels"]

#: Holes of one dowel are no further apart than this.
ALIGNED_WITHIN = 0.05
WIDTH_WITHIN = 0.05

#: A sheet laid on the dowels wrongly must miss one of them by at least this.
MISSED_LEAST = 5.0

#: A dowel is no thinner than its hole less this; lines of the schedule are written to 0.01 mm.
LOOSE_MOST, LISTED_WITHIN = 0.25, 0.011

LIST = "holes.csv"
AGAIN = "build the job again"


@dataclass(frozen=True, slots=True)
class _Seen:
    """A hole that may be a dowel's; ``source``: the file and sheet that has it; ``wanted``: the dowel, where that is said."""

    at: Point
    diameter: float
    source: tuple[str, str]
    wanted: float | None = None
    tag: str = ""


def dowels_due(tray: Tray, stack: Sequence[Case], lines: Sequence[Line]) -> list[dict[DueKey, Due]]:
    """For each sheet, the holes that are due in it; depths from its own face."""
    listed = list(_listed(lines))
    seen = [*_drawn(stack), *listed]
    dowels: dict[str, tuple[Point, float]] = {}
    while (group := _group(seen, listed)) is not None:
        xs, ys = (sorted(values) for values in zip(*(one.at for one in group), strict=True))
        at = xs[len(xs) // 2], ys[len(ys) // 2]
        said = next((one.tag for one in group if one.tag), "")
        tag = said if said and said not in dowels else next(name for k in count(1) if (name := f"D{k}") not in dowels)
        dowels[tag] = at, _size(group)
        seen = [one for one in seen if one not in group and not _moved_from(one, at, group)]
    return [dict(_dues(tray, dowels, case)) for case in stack]


def _drawn(stack: Sequence[Case]) -> Iterator[_Seen]:
    for case in stack:
        for path in case.matched.strays:
            if isinstance(path.path, Circle) and case.matched.owner[path.number] is None:
                yield _Seen(path.path.centre, path.path.diameter, (case.sheet.file, str(case.level.number)))


def _listed(lines: Sequence[Line]) -> Iterator[_Seen]:
    for line in lines:
        if line.said["use"] == "dowel" and line.figures is not None:
            at = line.figures["x"], line.figures["y"]
            yield _Seen(at, line.figures["diameter"], (LIST, line.said["sheet"]), line.figures["wanted"], line.said["tag"])


def _group(seen: Sequence[_Seen], listed: Sequence[_Seen]) -> list[_Seen] | None:
    """The holes of the place that most sources have, the first of such; None where no two agree.

    What the schedule, if it knows of dowels, has nowhere near is none: a bore of nobody's.
    """
    best: list[_Seen] = []
    for one in seen:
        near = [other for other in seen if math.dist(one.at, other.at) <= ALIGNED_WITHIN]
        known = not listed or any(math.dist(one.at, line.at) < BORE_REACH for line in listed)
        if known and len({other.source for other in near}) > max(1, len({other.source for other in best})):
            best = near
    return best or None


def _moved_from(one: _Seen, at: Point, group: Sequence[_Seen]) -> bool:
    """Whether a hole is this dowel's in a sheet that has none at its place."""
    near = math.dist(one.at, at) < BORE_REACH
    return near and one.source not in {other.source for other in group}


def _size(group: Sequence[_Seen]) -> float:
    """The dowel that goes into most of the holes: the one the schedule names if it is sold and fits, else the thickest that does."""
    widths = sorted(round(one.diameter, 2) for one in group)
    usual = max(widths, key=lambda width: (widths.count(width), -width))
    fitting = [diameter for _, diameter in DOWELS if diameter <= usual + LISTED_WITHIN]
    named = [
        diameter
        for diameter in fitting
        if diameter > usual - LOOSE_MOST
        and any(one.wanted is not None and abs(one.wanted - diameter) < LISTED_WITHIN for one in group)
    ]
    return max(named or fitting, default=usual)


def _dues(tray: Tray, dowels: Mapping[str, tuple[Point, float]], case: Case) -> Iterator[tuple[DueKey, Due]]:
    last = case.level.number == len(tray.stack)
    depth = case.level.thickness - tray.floor if last and tray.floor > 0 else None
    for tag, (at, diameter) in dowels.items():
        key = f"{tray.slug}/{tag}", 0
        peg = disc(at, diameter)
        yield key, Due(
            key, _item(tray, tag, diameter), peg, peg, at, depth, (Operation.BORE,), diameter, "dowel", step="hole"
        )


def _item(tray: Tray, tag: str, diameter: float) -> Item:
    """A dowel as if it were an item in a bore of its own size."""
    outline = to_outlines(disc((0.0, 0.0), diameter))[0]
    return Item(
        id=f"{tray.slug}/{tag}", tag=tag, name="registration dowel", label="registration dowel", size=mm(diameter),
        shape=Shape("registration dowel", Round(diameter)), store=Store.BORE, outline=outline, room=outline, room_gap=0.0,
        height=None, top=0.0, depth=0.0, through=False, clearance=0.0, expected_error=0.0, slack=0.0, least_gap=0.0,
        turn=Turn.FIXED, bore=diameter, use="dowel",
    )  # fmt: skip


def judge_dowels(tray: Tray, stack: Sequence[Case]) -> Iterator[Finding]:
    """Enough of them, clear of what must stay free, of one width in all sheets, and holding a sheet only one way round."""
    dues = [due for due in stack[0].dues.values() if due.use == "dowel"]
    least = 3 if max(tray.blank.width, tray.blank.depth) >= THREE_DOWELS else 2
    places = [due.centre for due in dues]
    if len(dues) < least:
        text = f"{len(dues)} registration dowels go through all sheets; {least} are due, or the sheets are glued askew"
        yield _about(tray, stack[0], "cut-missing", text, None, places[0] if places else None, float(len(dues)), float(least))
    elif wrong := _turned(tray.blank, places):
        text = (
            f"the registration dowels ({', '.join(spot(at) for at in places)}) would hold a sheet {wrong} as well: "
            f"at least one must then be off by {mm(MISSED_LEAST)}"
        )
        yield _about(tray, stack[0], "entity-odd", text, dues[0], places[0], None, MISSED_LEAST)
    for due in dues:
        for keep in tray.keep_out:
            if overlaps(due.wall, area_of(keep), least=1e-3):
                text = f"a registration dowel stands on the keep-out ({keep.why}) at {spot(due.centre)}"
                yield _about(tray, stack[0], "overlap", text, due, due.centre, 0.0, 0.0)
        yield from _one_width(tray, stack, due)


def _one_width(tray: Tray, stack: Sequence[Case], due: Due) -> Iterator[Finding]:
    wide = {
        case.level.number: path.path.diameter
        for case in stack
        if (path := case.matched.cuts.get(due.key)) is not None and isinstance(path.path, Circle)
    }
    by_number = {case.level.number: case for case in stack}
    usual = sorted(wide.values())[(len(wide) - 1) // 2] if wide else 0.0
    for number, diameter in wide.items():
        if abs(diameter - usual) > WIDTH_WITHIN:
            code = "hole-tight" if diameter < usual else "hole-loose"
            text = f"the hole of {due.item.tag} {due.item.label} is {mm(diameter)} wide in sheet {number}, {mm(usual)} in the others"
            yield _about(tray, by_number[number], code, text, due, due.centre, diameter, usual)


def _about(
    tray: Tray, case: Case, code: str, text: str, due: Due | None, at: Point | None, figure: float | None, limit: float | None
) -> Finding:
    return found(
        code, text, AGAIN, tray=tray, file=case.sheet.file, placement=None if due is None else due.placement, at=at,
        figure=figure, limit=limit,
    )  # fmt: skip


def _turned(blank: Blank, places: Sequence[Point]) -> str | None:
    """A wrong way in which a sheet would go on the dowels; None if there is none."""
    wide, deep = blank.width, blank.depth
    ways: list[tuple[str, Callable[[float, float], Point]]] = [
        ("turned by half a turn", lambda x, y: (wide - x, deep - y)),
        ("flipped left to right", lambda x, y: (wide - x, y)),
        ("flipped front to back", lambda x, y: (x, deep - y)),
    ]
    if abs(wide - deep) < MISSED_LEAST:
        ways += [
            ("turned by a quarter", lambda x, y: (wide - y, x)),
            ("turned by a quarter", lambda x, y: (y, deep - x)),
            ("flipped and turned", lambda x, y: (y, x)),
            ("flipped and turned", lambda x, y: (wide - y, deep - x)),
        ]
    for said, way in ways:
        off = max(min(math.dist(way(*place), other) for other in places) for place in places)
        if off < MISSED_LEAST:
            return said
    return None

