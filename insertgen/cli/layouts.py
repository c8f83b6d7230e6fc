"""What a layout has to say for itself: what it could not do as asked, and by how much something did not fit."""

from __future__ import annotations

from collections.abc import Iterator

from insertgen.cli.options import say
from insertgen.model.layout import Layout, LeftOut, LeftOutReason, Unmet, Wish
from insertgen.units import format_mm

__all__ = ["say_layout"]


def say_layout(tray: str, layout: Layout, *, kept: bool) -> None:
    """On stderr, a line for each; nothing where all went as asked."""
    for line in _lines(layout, kept):
        say(f"{tray}: {line}")


def _lines(layout: Layout, kept: bool) -> Iterator[str]:
    names = {one.id: f"{one.id.rpartition('/')[2]} {one.name}" for one in layout.placements}
    names["wall"] = "the margin"
    if layout.stopped_by_time:
        yield "the search was stopped before its end; a longer --time may find more room, and repeats exactly"
    for out in layout.left_out:
        if out.short is not None:
            yield _shortfall(out, names)
    untried = sum(1 for out in layout.left_out if out.why is LeftOutReason.NO_ROOM and out.short is None)
    if layout.stopped_by_time and untried:
        yield f"{untried} more had no place yet when the search was stopped; that does not say that they have no room"
    if layout.would_hold is not None:
        size = f"{format_mm(layout.would_hold.width, 1)} x {format_mm(layout.would_hold.depth, 1)} mm"
        if layout.would_hold == layout.blank:
            yield f"all would find room on this blank ({size}) without --keep-layout"
        else:
            yield f"all would find room on a blank of {size}"
    elif kept and layout.left_out:
        yield "the places of last time were held; without --keep-layout more may find room"
    for unmet in layout.unmet:
        if unmet.wish is Wish.KEEP:  # the job's own wishes are for the check to name
            yield _lost(unmet, names)


def _shortfall(out: LeftOut, names: dict[str, str]) -> str:
    against = ", ".join(names.get(other, other) for other in out.others)
    return f"{out.id} found no room; at the best place found {format_mm(out.short or 0.0, 1)} mm are missing, against {against}"


def _lost(unmet: Unmet, names: dict[str, str]) -> str:
    there = ", ".join(names.get(other, other) for other in unmet.others)
    return f"{names.get(unmet.id, unmet.id)} could not keep its place of last time" + (f": {there} is there" if there else "")
