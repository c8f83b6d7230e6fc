"""Round bores: milled to size where the cutter can circle in them, else drilled."""

from __future__ import annotations

from insertgen.model import Bore, Cutting, Item
from insertgen.rules import HOLE_LOOSE, MILLED_OVER_CUTTER, smallest_drill
from insertgen.units import format_mm

__all__ = ["bore_for"]


def bore_for(item: Item, cutting: Cutting) -> Bore:
    """How the bore of an item is made: the smallest owned drill that clears, never the nearest.

    A router mills a bore from the cutter's diameter plus 1 mm on, to just the
    wanted diameter (common practice, no source); a smaller one is left to the drill press.
    """
    if item.bore is None or item.use is None:
        raise ValueError(f"{item.id} is not stored in a bore")
    peg = f"dowel {item.peg.name} x {format_mm(item.peg.length, 1)} mm" if item.peg else ""
    if cutting.machine == "router" and item.bore >= cutting.cutter.diameter + MILLED_OVER_CUTTER:
        return Bore(item.bore, item.bore, None, item.use, peg)
    drill = smallest_drill(item.bore, cutting.drills)
    if drill is None:  # check says so: the schedule names no drill
        return Bore(item.bore, item.bore, None, item.use, _join(peg, "no owned drill is large enough"))
    loose = drill.diameter - item.bore
    said = f"loose: {format_mm(loose)} mm more than asked" if loose > HOLE_LOOSE else ""
    return Bore(drill.diameter, item.bore, drill, item.use, _join(peg, said))


def _join(*notes: str) -> str:
    return "; ".join(note for note in notes if note)
