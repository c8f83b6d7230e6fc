"""Where a sheet may be screwed or clamped down: in what is waste, clear of the cutter."""

from __future__ import annotations

from insertgen.exchange.marks import HOLD, TAB, MarkLayer
from insertgen.geometry.distance import nearest
from insertgen.geometry.offset import grown, shrunk
from insertgen.geometry.region import Region, box, disc, is_empty, minus, pieces, union, widest_disc
from insertgen.model.drawing import Operation
from insertgen.model.figures import Circle, Point
from insertgen.sheets.mark_cuts import SheetCuts

__all__ = ["SCREW", "holds"]

#: Across the head of a No. 8 wood screw. Common practice, no source.
SCREW = 8.0

#: A clamp on the insert itself keeps this much from its edge.
RIM = 5.0

#: A side of the blank longer than this is held in its middle too.
LONG = 400.0


def holds(sheet: SheetCuts, taken: tuple[MarkLayer, ...]) -> tuple[MarkLayer, tuple[str, ...]]:
    """Screw heads clear of every cut by cutter and margin: in loose pieces, beyond the blank, or else on the blank.

    A laser presses on nothing, and by hand the work is clamped where the hand is not: they get none.
    ``taken`` are the marks already there.
    """
    tray = sheet.drawing.tray
    if tray.cutting.machine != "router":
        return MarkLayer(HOLD), ()
    clear = tray.cutting.cutter.diameter + tray.margin + SCREW / 2
    found = list(_in_waste(sheet, clear))
    said: list[str] = []
    if sheet.cut_out:
        found += _beyond(sheet, clear)
        said.append("the hold-down places beyond the blank need stock that reaches that far")
    else:
        on_blank = list(_on_blank(sheet, clear, taken))
        found += on_blank
        if on_blank:
            said.append("the blank is sawn to size, so hold-down places lie on the insert itself: clamp there, or plug the holes")
    if not found:
        said.append("no place to hold the sheet down is clear of every cut: use double-sided tape")
    return MarkLayer(HOLD, circles=tuple(Circle(at, SCREW) for at in found)), tuple(said)


def _in_waste(sheet: SheetCuts, clear: float) -> list[Point]:
    """The middle of every loose piece that is large enough."""
    found = []
    for pairs in sheet.by_placement.values():
        for layer, region in pairs:
            if layer.operation is Operation.THROUGH:
                room = shrunk(region, clear)
                found += [widest_disc(piece)[0] for piece in pieces(room)]
    return found


def _beyond(sheet: SheetCuts, clear: float) -> list[Point]:
    """At the corners of the waste round the blank, and along its long sides."""
    blank = sheet.drawing.blank
    x0, y0, x1, y1 = -clear, -clear, blank.width + clear, blank.depth + clear
    found = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    if blank.width > LONG:
        found += [(blank.width / 2, y0), (blank.width / 2, y1)]
    if blank.depth > LONG:
        found += [(x0, blank.depth / 2), (x1, blank.depth / 2)]
    return found


def _on_blank(sheet: SheetCuts, clear: float, taken: tuple[MarkLayer, ...]) -> list[Point]:
    """The places of the wood nearest to the blank's corners, apart from each other and from what is marked."""
    blank = sheet.drawing.blank
    room = minus(shrunk(sheet.rim, SCREW / 2 + RIM), grown(sheet.cuts, clear))
    room = minus(room, union(_boxes(taken)))
    found: list[Point] = []
    for corner in ((0.0, 0.0), (blank.width, 0.0), (blank.width, blank.depth), (0.0, blank.depth)):
        if is_empty(room):
            break
        at, _ = nearest(room, corner)
        found.append(at)
        room = minus(room, disc(at, 8 * SCREW))
    return found


def _boxes(taken: tuple[MarkLayer, ...]) -> list[Region]:
    around = SCREW / 2 + 3.0
    found = []
    for layer in taken:
        if layer.name == TAB:
            continue
        for line in layer.lines:
            xs, ys = zip(*line, strict=True)
            found.append(box(min(xs) - around, min(ys) - around, max(xs) + around, max(ys) + around))
    return found
