"""Round bores: milled to size where the cutter can circle in them, else drilled."""

from __future__ import annotations

from insertgen.model.item import Item, PostSeat
from insertgen.model.job import Cutting
from insertgen.model.seat import Bore
from insertgen.model.shape import PostKind
from insertgen.rules import HOLE_LOOSE, MILLED_OVER_CUTTER, smallest_drill
from insertgen.units import format_mm

__all__ = ["bore_for", "bore_of", "post_bore"]


def bore_for(item: Item, cutting: Cutting) -> Bore:
    """How the bore of an item is made; see `bore_of`."""
    if item.bore is None or item.use is None:
        raise ValueError(f"{item.id} is not stored in a bore")
    peg = f"dowel {item.peg.name} x {format_mm(item.peg.length, 1)} mm" if item.peg else ""
    return bore_of(item.bore, item.use, cutting, peg)


def post_bore(post: PostSeat, cutting: Cutting) -> Bore:
    """How the bore of a post is made; its note says what stands in it."""
    stands = f"{post.kind} {post.stock.name} x {format_mm(post.stock.length, 1)} mm"
    return bore_of(post.bore, "post", cutting, f"{stands}, no point up" if post.kind is PostKind.NAIL else stands)


def bore_of(wanted: float, use: str, cutting: Cutting, note: str = "") -> Bore:
    """A bore of at least ``wanted``: the smallest owned drill that clears, never the nearest.

    A router mills a bore from the cutter's diameter plus 1 mm on, to just the
    wanted diameter (common practice, no source); a laser cuts any; what is left
    goes to the drill press.
    """
    milled = cutting.machine == "router" and wanted >= cutting.cutter.diameter + MILLED_OVER_CUTTER
    if milled:
        return Bore(wanted, wanted, None, use, note)
    if cutting.machine == "laser":
        return Bore(wanted, wanted, None, use, _join(note, "cut by the laser"))
    drill = smallest_drill(wanted, cutting.drills)
    if drill is None:  # check says so: the schedule names no drill
        return Bore(wanted, wanted, None, use, _join(note, "no owned drill is large enough"))
    loose = drill.diameter - wanted
    said = f"loose: {format_mm(loose)} mm more than asked" if loose > HOLE_LOOSE else ""
    return Bore(drill.diameter, wanted, drill, use, _join(note, said))


def _join(*notes: str) -> str:
    return "; ".join(note for note in notes if note)
