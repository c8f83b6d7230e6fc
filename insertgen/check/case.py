"""All that the judges of one drawing look at, gathered once."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from insertgen.check.due import Due, DueKey
from insertgen.check.match import EdgeDue, Matched, match
from insertgen.check.say import found
from insertgen.check.seated import Seated
from insertgen.check.written import Sheet, Written
from insertgen.geometry.region import Region, is_empty, union
from insertgen.model.drawing import Operation
from insertgen.model.figures import Point
from insertgen.model.finding import Finding
from insertgen.model.job import Blank, Cutter, Tray
from insertgen.model.shape import Store

__all__ = ["MOVED_MOST", "Case", "Level", "gather", "is_moved"]

MOVED_MOST = 0.05


@dataclass(frozen=True, slots=True)
class Level:
    """One drawing that is due: a sheet of the stack, the glued block, or the tray's base."""

    file: str
    number: int
    thickness: float
    edge: EdgeDue
    dues: Mapping[DueKey, Due]
    kerf: float = 0.0
    is_base: bool = False
    beyond: float = 0.0  # how far it may reach beyond the blank: a router template is clamped out there


@dataclass(frozen=True, slots=True)
class Case:
    tray: Tray
    level: Level
    sheet: Sheet
    seated: Mapping[str, Seated]
    matched: Matched

    @property
    def dues(self) -> Mapping[DueKey, Due]:
        return self.level.dues

    @property
    def blank(self) -> Blank:
        return self.level.edge.blank

    @property
    def corners(self) -> dict[str, Seated]:
        """The seats that are sawn out of the outer contour of this drawing."""
        if self.level.is_base:
            return {}
        return {key: one for key, one in self.seated.items() if one.item.store is Store.CORNER}

    def cuts(self) -> Iterator[tuple[Due, Written]]:
        """Each cut due that is there, with its path, in job order."""
        for key, due in self.dues.items():
            if key in self.matched.cuts:
                yield due, self.matched.cuts[key]

    def sound_cuts(self) -> dict[DueKey, Written]:
        """Paths that can be taken at their word, by the cut due.

        A moved bore or an open contour has its own finding; what follows from it is not said again.
        """
        return {
            due.key: path
            for due, path in self.cuts()
            if path.sound and not is_empty(path.region) and not is_moved(path, due)
        }

    def openings(self) -> Iterator[tuple[Due, Written]]:
        """The sound paths of openings, with what is due."""
        for due, path in self.cuts():
            if due.bore is None and path.sound and not is_empty(path.region):
                yield due, path

    def cut_regions(self) -> dict[str, Region]:
        """The plan of all sound cuts of each placement."""
        regions: dict[str, list[Region]] = {}
        for (placement, _), path in self.sound_cuts().items():
            regions.setdefault(placement, []).append(path.region)
        return {placement: union(each) if len(each) > 1 else each[0] for placement, each in regions.items()}

    def cutter(self, due: Due) -> Cutter | None:
        """The cutter that must get round in an opening; None: a beam or a saw, which turns any corner."""
        cutting = self.tray.cutting
        if cutting.machine == "laser" or self.sawn(due):
            return None
        cutter = cutting.cutter if Operation.SLOT in due.operations else cutting.pocket_cutter
        return cutter if cutter.diameter > 0 else None

    def sawn(self, due: Due) -> bool:
        """By hand a seat right through is sawn, unless there is a router template for it; a slot is routed between its ends."""
        cutting, steps = self.tray.cutting, due.item.steps
        through = due.bore is None and all(step.through for step in steps)
        return cutting.machine == "hand" and through and Operation.SLOT not in due.operations and cutting.template is None

    def whose(self, written: Written) -> str:
        """Whose cut a path is, as a message says it."""
        owner = self.matched.owner[written.number]
        if owner is not None:
            return self.dues[owner].said
        return "the edge of the blank" if written in self.matched.edges else "a cut that belongs to no item"

    def found(
        self,
        code: str,
        message: str,
        remedy: str,
        written: Written,
        at: Point,
        figure: float | None = None,
        limit: float | None = None,
        others: tuple[str, ...] = (),
    ) -> Finding:
        """A finding about a written path."""
        owner = self.matched.owner[written.number]
        return found(
            code, message, remedy, tray=self.tray, file=written.file, layer=written.layer,
            placement=owner[0] if owner else None, at=at, figure=figure, limit=limit, others=others,
        )  # fmt: skip


def is_moved(path: Written, due: Due) -> bool:
    """Whether a bore is not where it is due."""
    return due.bore is not None and math.dist(path.middle, due.centre) > MOVED_MOST


def gather(tray: Tray, level: Level, sheet: Sheet, seated: Mapping[str, Seated]) -> Case:
    return Case(tray, level, sheet, seated, match(sheet.paths, level.dues, level.edge))
