"""A stack whose sheets are cut one by one: what is cut in which sheet, and how deep from its face."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from insertgen.geometry.pose import move_point
from insertgen.geometry.region import from_path, widest_disc
from insertgen.model.drawing import Hole
from insertgen.model.figures import Circle
from insertgen.model.job import Tray
from insertgen.model.layout import Placement
from insertgen.model.seat import Bore, Cut, Seat
from insertgen.model.shape import Store
from insertgen.rules import start_drill
from insertgen.sheets.deep import SAME_DEPTH, one_by_one

__all__ = ["InSheet", "cuts_in_sheets", "holes_of"]

Placed = Sequence[tuple[Placement, Seat]]


@dataclass(frozen=True, slots=True)
class InSheet:
    """One cut in one sheet; ``depth`` from that sheet's face."""

    placement: Placement
    seat: Seat
    cut: Cut
    depth: float
    through: bool


def cuts_in_sheets(tray: Tray, placed: Placed) -> Iterator[tuple[InSheet, ...]]:
    """For each sheet, top first, what goes right through it, and what ends in it."""
    lower = 0.0
    for sheet in tray.stack:
        upper, lower = lower, lower + sheet.thickness
        yield tuple(
            InSheet(placement, seat, cut, sheet.thickness if through else cut.depth - upper, through)
            for placement, seat in placed
            for cut, through in _in_sheet(seat, upper, lower)
        )


def _in_sheet(seat: Seat, upper: float, lower: float) -> Iterator[tuple[Cut, bool]]:
    """The cuts of a seat in one sheet, and whether they go right through it.

    Of nested steps that all go through, the widest is the whole of the opening there.
    """
    opened = False
    for cut in seat.cuts:
        if cut.through or cut.depth >= lower - SAME_DEPTH:
            if cut.bore is not None or not opened:
                yield cut, True
            opened = opened or cut.bore is None
        elif cut.depth > upper + SAME_DEPTH:
            yield cut, False


def holes_of(tray: Tray, placed: Placed) -> Iterator[Hole]:
    """The rows of the schedule: a row a bore, or a row a bore and sheet where each sheet is bored by itself."""
    if one_by_one(tray):
        for number, cuts in enumerate(cuts_in_sheets(tray, placed), 1):
            yield from _in_one(tray, number, cuts)
        return
    when = "after-glue" if tray.one_block and len(tray.stack) > 1 else "any"
    for placement, seat in placed:
        for cut in (*seat.cuts, *seat.schedule):
            if cut.bore is not None:
                yield _hole(placement, seat, 1, cut, cut.bore, cut.depth, cut.through, when)


def _in_one(tray: Tray, number: int, cuts: Iterable[InSheet]) -> Iterator[Hole]:
    thick = tray.stack[number - 1].thickness
    for one in cuts:
        if one.cut.bore is not None:
            yield _hole(one.placement, one.seat, number, one.cut, one.cut.bore, one.depth, one.through, "before-glue")
        elif one.through:
            for cut in one.seat.schedule or _start_hole(tray, one):
                if cut.bore is not None:
                    yield _hole(one.placement, one.seat, number, cut, cut.bore, thick, True, "before-glue")


def _hole(
    placement: Placement, seat: Seat, sheet: int, cut: Cut, bore: Bore, depth: float, through: bool, when: str
) -> Hole:
    assert isinstance(cut.path, Circle)
    at = move_point(cut.path.centre, placement.pose)
    return Hole(seat.item.tag, sheet, seat.item.label, at, bore, depth, through, when)


def _start_hole(tray: Tray, one: InSheet) -> tuple[Cut, ...]:
    """By hand an opening through an upper sheet is sawn, though its seat ends in a lower one."""
    if tray.cutting.machine != "hand" or one.seat.item.store not in (Store.POCKET, Store.THROUGH):
        return ()
    at, radius = widest_disc(from_path(one.cut.path))
    drill = start_drill(radius, tray.cutting.drills)
    if drill is None:
        return ()
    bore = Bore(drill.diameter, drill.diameter, drill, "start", "in the waste, for the saw")
    return (Cut(Circle(at, drill.diameter), one.depth, True, bore),)

