"""What an item needs of the insert: cuts and bores."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.model.figures import Circle, Contour, Outline
from insertgen.model.item import Item
from insertgen.model.job import DrillSize

__all__ = ["Bore", "Cut", "Seat"]


@dataclass(frozen=True, slots=True)
class Bore:
    """How a round hole is made. ``wanted`` is the diameter the item asks for.

    ``drill`` None: milled by the cutter at just the wanted diameter.
    """

    diameter: float
    wanted: float
    drill: DrillSize | None
    use: str  # shank | collet | peg | post | slot-end | start | dowel | screw
    note: str = ""


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut of a seat, in the shape frame; ``depth`` from the face of the stack."""

    path: Contour | Circle
    depth: float
    through: bool
    bore: Bore | None = None


@dataclass(frozen=True, slots=True)
class Seat:
    """What an item needs of the insert: its cuts; the plan room is the item's.

    ``opening`` is the plan of all cuts at the face, shape frame, empty for an
    item that only stands. ``clearance`` is the gap all round that was cut for,
    expected error included. ``least_gap``, ``unreached_area`` and ``extra_area``
    (what is cut beyond the outline grown by the clearance, finger recesses
    apart) are measured on the final contours, not taken from the way they were
    made; None for bores. A corner seat's one cut is drawn nowhere by itself:
    it opens to the edges of the blank and becomes part of its outer contour.
    ``schedule`` are bores that only the drill-hole schedule names: the ends of a
    slot, a start hole in the waste of a sawn through-cut.
    """

    item: Item
    cuts: tuple[Cut, ...]
    opening: tuple[Outline, ...]  # several: bores apart from each other
    clearance: float
    least_gap: float | None
    unreached_area: float | None
    extra_area: float | None = None
    schedule: tuple[Cut, ...] = ()
