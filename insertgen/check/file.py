"""Is the file in millimetres, in the blank's frame, and made of contours and circles only?"""

from __future__ import annotations

from collections.abc import Iterator

from insertgen.check.case import Case
from insertgen.check.lines import off_ring
from insertgen.check.match import edge_operation
from insertgen.check.say import found, mm, spot
from insertgen.check.written import Sheet
from insertgen.exchange.layers import layer_name
from insertgen.geometry.arcs import flatten, rectangle
from insertgen.model import Finding, Tray

__all__ = ["judge_edge", "judge_entities", "judge_units", "wrong_scale"]

MILLIMETRES, METRIC = 4, 1
UNITS = {None: "nothing", 0: "no unit", 1: "1, inches", 2: "2, feet", 5: "5, centimetres", 6: "6, metres"}
WITHIN = 0.01


def judge_units(sheet: Sheet, tray: Tray) -> Iterator[Finding]:
    contents, write_again = sheet.contents, "build the job again, or save the drawing in millimetres"
    if contents.units != MILLIMETRES:
        said = UNITS.get(contents.units, str(contents.units))
        text = f"{sheet.file}: the header's unit ($INSUNITS) says {said}, not {MILLIMETRES} for millimetres"
        yield found("units-wrong", text, write_again, tray=tray, file=sheet.file)
    if contents.measurement != METRIC:
        text = f"{sheet.file}: the header ($MEASUREMENT) does not say metric"
        yield found("units-wrong", text, write_again, tray=tray, file=sheet.file)
    due = (0.0, 0.0, tray.blank.width, tray.blank.depth)
    if contents.extents is None:
        text = f"{sheet.file}: the header does not say how large the drawing is ($EXTMIN, $EXTMAX)"
        yield found("units-wrong", text, write_again, tray=tray, file=sheet.file)
        return
    off = max(abs(said - blank) for said, blank in zip(contents.extents, due, strict=True))
    if off > WITHIN:
        x0, y0, x1, y1 = contents.extents
        text = (
            f"{sheet.file}: the header says the drawing runs from {x0:g}, {y0:g} to {x1:g}, {y1:g}, "
            f"the blank from 0, 0 to {due[2]:g}, {due[3]:g}"
        )
        yield found("units-wrong", text, write_again, tray=tray, file=sheet.file, figure=off, limit=WITHIN)


def wrong_scale(sheet: Sheet, tray: Tray) -> Finding | None:
    """The whole drawing a like multiple of the blank: a unit was mistaken, and nothing else need be said."""
    if sheet.span is None:
        return None
    across, deep = sheet.span[2] - sheet.span[0], sheet.span[3] - sheet.span[1]
    scale = across / tray.blank.width
    if abs(scale - 1) < 0.05 or abs(deep / tray.blank.depth / scale - 1) > 0.01:
        return None
    text = (
        f"{sheet.file}: the drawing is {mm(across)} wide, the blank {mm(tray.blank.width)}: "
        f"all of it is {scale:.4g} times its size"
    )
    if abs(scale * 25.4 - 1) < 0.001 or abs(scale / 25.4 - 1) < 0.001:  # 1 in = 25.4 mm
        text += "; inches and millimetres were mistaken for each other"
    remedy = "export it again in millimetres, at full size"
    return found("units-wrong", text, remedy, tray=tray, file=sheet.file, figure=across, limit=tray.blank.width)


def judge_entities(case: Case) -> Iterator[Finding]:
    """Everything that is neither a flat contour nor a flat circle."""
    for entity in case.sheet.others:
        kind = "contour or circle without size" if entity.path else entity.kind
        place = f" at {spot(entity.at)}" if entity.at else ""
        yield found(
            "entity-odd",
            f"{case.sheet.file}: a {kind} on layer {entity.layer}{place}; no toolpath can be made from it",
            "delete it, or draw it as a closed polyline of lines and arcs, or a circle",
            tray=case.tray, file=case.sheet.file, layer=entity.layer, at=entity.at,
        )  # fmt: skip
    for path in case.sheet.paths:
        if path.odd:
            why, at = path.odd
            text = f"{case.whose(path)} {why} (at {spot(at)})"
            yield case.found("entity-odd", text, "draw it flat, seen from above, as lines and short arcs", path, at)


def judge_edge(case: Case) -> Iterator[Finding]:
    """The blank's own contour: there, on the layer that is due, and the blank's size."""
    due, tray = layer_name(edge_operation(case.tray), 0, through=True), case.tray
    edge = case.matched.edge
    if edge is None:
        text = f"{case.sheet.file}: the blank's edge ({mm(tray.blank.width)} by {mm(tray.blank.depth)}) is missing"
        remedy = f"draw it on the layer {due}, or build the job again"
        yield found("cut-missing", text, remedy, tray=tray, file=case.sheet.file, layer=due)
        return
    if edge.operation is not None and edge.operation is not edge_operation(tray):
        sawn = "is sawn to size beforehand" if tray.edge_sawn else "is cut out by the machine"
        text = f"the blank {sawn}, so its edge is due on the layer {due}; it stands on {edge.layer}"
        yield case.found("cut-missing", text, f"move it to the layer {due}", edge, edge.ring[0])
    if not edge.sound:
        return
    blank = flatten(rectangle(tray.blank.width, tray.blank.depth))
    off = off_ring(edge.ring, blank)
    missed = off_ring(blank, edge.ring)
    worst = max(float(off.max()), float(missed.max()))
    if worst > WITHIN:
        at = edge.ring[int(off.argmax())] if off.max() > WITHIN else blank[int(missed.argmax())]
        text = f"the edge drawn is {mm(worst)} off the blank of {mm(tray.blank.width)} by {mm(tray.blank.depth)}"
        yield case.found("entity-odd", text, "draw the blank's own rectangle", edge, at, worst, WITHIN)
