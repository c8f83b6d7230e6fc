"""All that one tray's judges look at, gathered once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from insertgen.check.match import Matched, match
from insertgen.check.say import found, named
from insertgen.check.seated import Seated
from insertgen.check.written import Sheet, Written
from insertgen.model import Finding, Point, Tray

__all__ = ["Case", "gather"]


@dataclass(frozen=True, slots=True)
class Case:
    tray: Tray
    sheet: Sheet
    seated: Mapping[str, Seated]
    matched: Matched

    def whose(self, written: Written) -> str:
        """Whose cut a path is, as a message says it."""
        owner = self.matched.owner[written.number]
        if owner is not None:
            return f"the cut of {named(self.seated[owner].item)}"
        return "the edge of the blank" if written is self.matched.edge else "a cut that belongs to no item"

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
        return found(
            code, message, remedy, tray=self.tray, file=written.file, layer=written.layer,
            placement=self.matched.owner[written.number], at=at, figure=figure, limit=limit, others=others,
        )  # fmt: skip


def gather(tray: Tray, sheet: Sheet, seated: Mapping[str, Seated]) -> Case:
    return Case(tray, sheet, seated, match(sheet.paths, seated, tray))
