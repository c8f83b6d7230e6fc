"""Which rows the drill-hole schedule must have, and which row is which: by tag, use and place."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from insertgen.check.case import Case, is_moved
from insertgen.check.due import Due, DueKey
from insertgen.check.say import named
from insertgen.check.written import Written
from insertgen.geometry.offset import shrunk
from insertgen.geometry.region import is_empty
from insertgen.model.drawing import Operation
from insertgen.model.figures import Circle, Point, Ring
from insertgen.model.item import Item

__all__ = ["COLUMNS", "Line", "RowDue", "bare_tag", "paired", "read_lines", "rows_due", "slot_ends"]

COLUMNS = (
    "tag", "sheet", "use", "x", "y", "x_in", "y_in", "diameter", "drill", "wanted", "slack", "depth", "through", "when",
)  # fmt: skip
FIGURES = ("x", "y", "diameter", "wanted", "slack", "depth")

#: Wood of the waste that a start hole leaves to the line is at least this; what a schedule's rounding takes is less.
START_WOOD = 1.0


@dataclass(frozen=True, slots=True)
class RowDue:
    """A row that the schedule must have.

    ``at`` None: anywhere in ``path``. ``path`` is the bore as drawn, the slot or
    the through-cut that it belongs to; None where that is missing or spoilt, which
    is said elsewhere. ``width`` is what must be bored, at least; ``depth`` None:
    right through.
    """

    placement: str
    item: Item
    use: str
    at: Point | None
    width: float | None
    depth: float | None
    said: str
    path: Written | None
    case: Case  # of the sheet that it is bored in
    number: int = 0

    @property
    def sheet(self) -> str:
        return str(self.case.level.number)

    @property
    def place(self) -> Point:
        if self.at is not None:
            return self.at
        return self.path.middle if self.path is not None else (0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Line:
    """One row of the schedule, with its figures read; ``said`` is every field as it stands there."""

    number: int
    said: Mapping[str, str]
    figures: Mapping[str, float] | None  # None: a column or a number is missing

    @property
    def at(self) -> Point | None:
        return None if self.figures is None else (self.figures["x"], self.figures["y"])


def rows_due(case: Case, dues: Mapping[DueKey, Due]) -> list[RowDue]:
    """In job order: a row a bore, two a slot, one to start the saw in every closed through-cut by hand.

    Parameters
    ----------
    case : Case
        Of the sheet, or of the first one of a stack that has one row a bore.
    dues : mapping
        Of that sheet, or of the whole stack; depths from its face.
    """
    return [row for due in dues.values() for row in _rows(case, due)]


def _rows(case: Case, due: Due) -> Iterator[RowDue]:
    path = case.matched.cuts.get(due.key)
    key, item = due.key[0], due.item
    if due.bore is not None:
        yield RowDue(key, item, due.use or "", due.centre, due.bore, due.depth, due.bore_said, path, case, due.key[1])
        return
    sound = path if path is not None and path.sound and not is_empty(path.region) else None
    if Operation.SLOT in due.operations:
        ends, width = slot_ends(sound) if sound else ((None, None), None)
        for number, end in enumerate(ends):
            yield RowDue(key, item, "slot-end", end, width, None, f"the slot end of {named(item)}", sound, case, number)
    elif _is_sawn(case, due) and sound and _room_to_start(case, sound):
        yield RowDue(key, item, "start", None, None, None, f"the start hole of {named(item)}", sound, case)


def _is_sawn(case: Case, due: Due) -> bool:
    """By hand the saw must get into a closed cut; a router guided by a template goes in by itself."""
    cutting = case.tray.cutting
    return cutting.machine == "hand" and cutting.template is None and due.depth is None


def _room_to_start(case: Case, path: Written) -> bool:
    """Whether the smallest owned drill goes into the waste and leaves some of it."""
    smallest = min((drill.diameter for drill in case.tray.cutting.drills), default=math.inf)
    return not math.isinf(smallest) and not is_empty(shrunk(path.region, smallest / 2 + START_WOOD))


def slot_ends(path: Written) -> tuple[tuple[Point, ...], float]:
    """The centres of the round ends of a slot, and its width; one centre where it is round.

    It runs along the principal axis of its area (second moments of a polygon,
    closed form); the centres lie half its width in from where it ends.
    """
    if isinstance(path.path, Circle):
        return (path.path.centre,), path.path.diameter
    along = _principal_axis(path.ring)
    across = np.array([-along[1], along[0]])
    runs, offs = np.asarray(path.ring) @ along, np.asarray(path.ring) @ across
    width, line = float(np.ptp(offs)), float(offs.max() + offs.min()) / 2
    if np.ptp(runs) - width < 0.01:
        return (path.middle,), width
    ends = (runs.min() + width / 2) * along + line * across, (runs.max() - width / 2) * along + line * across
    return tuple((float(x), float(y)) for x, y in ends), width


def _principal_axis(ring: Ring) -> NDArray[np.float64]:
    points = np.asarray(ring) - np.mean(ring, axis=0)
    after = np.roll(points, -1, axis=0)
    twice = points[:, 0] * after[:, 1] - after[:, 0] * points[:, 1]  # of each triangle to the origin
    middle = ((points + after) * twice[:, None]).sum(axis=0) / (3 * twice.sum())
    points, after = points - middle, after - middle
    twice = points[:, 0] * after[:, 1] - after[:, 0] * points[:, 1]
    both = points + after
    moments = np.einsum("k,ki,kj->ij", twice, points, points) + np.einsum("k,ki,kj->ij", twice, after, after)
    moments = (moments + np.einsum("k,ki,kj->ij", twice, both, both)) / 24 * np.sign(twice.sum())
    axis: NDArray[np.float64] = np.linalg.eigh(moments)[1][:, 1]
    # left to right, or front to back
    return axis if (axis[0], axis[1]) > (1e-9, 0.0) or (abs(axis[0]) <= 1e-9 and axis[1] > 0) else -axis


def read_lines(holes_csv: str) -> list[Line]:
    return [_line(number, row) for number, row in enumerate(csv.DictReader(io.StringIO(holes_csv)), start=2)]


def _line(number: int, row: Mapping[str, str | None]) -> Line:
    said = {column: (row.get(column) or "").strip() for column in COLUMNS}
    if any(row.get(column) is None for column in COLUMNS) or said["through"] not in ("yes", "no"):
        return Line(number, said, None)
    try:
        figures = {column: float(said[column]) for column in FIGURES}
    except ValueError:
        return Line(number, said, None)
    return Line(number, said, figures if all(map(math.isfinite, figures.values())) else None)


def bare_tag(tag: str) -> str:
    """A tag without leading zeros: spreadsheets drop them."""
    return tag.strip().lstrip("0")


def paired(lines: Sequence[Line], dues: Sequence[RowDue]) -> tuple[list[tuple[Line, RowDue]], list[Line], list[RowDue]]:
    """Rows with what they are, the nearest first; rows that are nothing; and what has no row.

    A row whose sheet is none of its tag's, or whose use, stands for whatever of that tag is left.
    """
    pairs: list[tuple[Line, RowDue]] = []
    lines_left, dues_left = list(lines), list(dues)
    for alike in (("use", "sheet"), ("use",), ()):
        for line, due in _nearest_first(lines_left, dues_left, alike):
            if line in lines_left and due in dues_left:
                pairs.append((line, due))
                lines_left.remove(line)
                dues_left.remove(due)
    return sorted(pairs, key=lambda pair: pair[0].number), lines_left, dues_left


def _nearest_first(
    lines: Iterable[Line], dues: Sequence[RowDue], alike: Sequence[str]
) -> list[tuple[Line, RowDue]]:
    offers = []
    for line in lines:
        for order, due in enumerate(dues):
            said = {"use": due.use, "sheet": due.sheet}
            if bare_tag(line.said["tag"]) != bare_tag(due.item.tag) or any(line.said[column] != said[column] for column in alike):
                continue
            off = math.dist(line.at, due.place) if line.at is not None else math.inf
            offers.append((off, line.number, order, line, due))
    return [(line, due) for *_, line, due in sorted(offers, key=lambda offer: offer[:3])]


def drawn_right(path: Written | None, case: Case) -> bool:
    """Whether a bore is where it is due."""
    if path is None:
        return False
    owner = case.matched.owner[path.number]
    return owner is not None and not is_moved(path, case.dues[owner])
