"""Is the file in millimetres, in the blank's frame, and made of contours and circles only?"""

from __future__ import annotations

from collections.abc import Iterator

from insertgen.check.case import Case
from insertgen.check.lines import off_ring
from insertgen.check.say import found, mm, spot
from insertgen.check.written import INCHES, Sheet, Written
from insertgen.exchange.dxf import R12, units_in_name
from insertgen.exchange.layers import layer_name
from insertgen.geometry.arcs import flatten, rectangle
from insertgen.model.drawing import Operation
from insertgen.model.finding import Finding
from insertgen.model.job import Tray

__all__ = ["judge_edge", "judge_entities", "judge_units", "wrong_scale"]

MILLIMETRES = 4
MEASUREMENT = {MILLIMETRES: (1, "metric"), INCHES: (0, "inches")}
UNITS = {None: "nothing", 0: "no unit", 1: "1, inches", 2: "2, feet", 5: "5, centimetres", 6: "6, metres"}
WITHIN = 0.01
KERF_WITHIN = 0.02  # corners that the beam rounds


Span = tuple[float, float, float, float]  # least x, least y, greatest x, greatest y


def judge_units(sheet: Sheet, tray: Tray, span: Span) -> Iterator[Finding]:
    contents, write_again = sheet.contents, "build the job again, or save the drawing in millimetres"
    for text in _unit_faults(sheet):
        yield found("units-wrong", f"{sheet.file}: {text}", write_again, tray=tray, file=sheet.file)
    if contents.extents is None:
        text = f"{sheet.file}: the header does not say how large the drawing is ($EXTMIN, $EXTMAX)"
        yield found("units-wrong", text, write_again, tray=tray, file=sheet.file)
        return
    # what is in it may be less or more than the blank: a corner sawn off, half a kerf all round
    real = [span] if sheet.span is None else [span, sheet.span]
    off = min(max(abs(said - due) for said, due in zip(contents.extents, each, strict=True)) for each in real)
    if off > WITHIN:
        x0, y0, x1, y1 = contents.extents
        text = (
            f"{sheet.file}: the header says the drawing runs from {x0:g}, {y0:g} to {x1:g}, {y1:g}, "
            f"the blank from {span[0]:g}, {span[1]:g} to {span[2]:g}, {span[3]:g}"
        )
        yield found("units-wrong", text, write_again, tray=tray, file=sheet.file, figure=off, limit=WITHIN)


def _unit_faults(sheet: Sheet) -> Iterator[str]:
    contents, in_name = sheet.contents, units_in_name(sheet.file)
    if contents.version == R12:
        if in_name is None:
            yield "an R12 file cannot say its unit, so its name must end in -mm.dxf or -in.dxf"
        return
    if contents.units not in MEASUREMENT:
        said = UNITS.get(contents.units, str(contents.units))
        yield f"the header's unit ($INSUNITS) says {said}, not {MILLIMETRES} for millimetres"
        return
    measurement, system = MEASUREMENT[contents.units]
    if contents.measurement != measurement:
        yield f"the header ($MEASUREMENT) does not say {system}"
    if in_name is not None and in_name != ("in" if contents.units == INCHES else "mm"):
        yield f"its name says {in_name}, its header ($INSUNITS) {UNITS.get(contents.units, 'millimetres')}"


def wrong_scale(sheet: Sheet, tray: Tray, due: Span) -> Finding | None:
    """The whole drawing a like multiple of the blank: a unit was mistaken, and nothing else need be said."""
    if sheet.span is None:
        return None
    across, deep = sheet.span[2] - sheet.span[0], sheet.span[3] - sheet.span[1]
    wide = due[2] - due[0]
    scale = across / wide
    if abs(scale - 1) < 0.05 or abs(deep / (due[3] - due[1]) / scale - 1) > 0.01:
        return None
    text = (
        f"{sheet.file}: the drawing is {mm(across)} wide, {mm(wide)} is right: "
        f"all of it is {scale:.4g} times its size"
    )
    if abs(scale * 25.4 - 1) < 0.001 or abs(scale / 25.4 - 1) < 0.001:  # 1 in = 25.4 mm
        text += "; inches and millimetres were mistaken for each other"
    remedy = "export it again in millimetres, at full size"
    return found("units-wrong", text, remedy, tray=tray, file=sheet.file, figure=across, limit=wide)


def judge_entities(case: Case) -> Iterator[Finding]:
    """Everything that is neither a flat contour nor a flat circle."""
    for entity in case.sheet.others:
        kind = "contour or circle without size, or more than 10 m away," if entity.path else entity.kind
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
    """The outer contour: there, on the layer that is due, and the blank's size unless seats are sawn out of it."""
    operation, blank = case.level.edge.operation, case.blank
    due = layer_name(operation, 0, through=True, names=case.tray.layer_names)
    if not case.matched.edges:
        text = f"{case.sheet.file}: the blank's edge ({mm(blank.width)} by {mm(blank.depth)}) is missing"
        remedy = f"draw it on the layer {due}, or build the job again"
        yield found("cut-missing", text, remedy, tray=case.tray, file=case.sheet.file, layer=due)
    for edge in case.matched.edges:
        if edge.operation is not None and edge.operation is not operation:
            text = f"{_why(case)}, so its edge is due on the layer {due}; it stands on {edge.layer}"
            yield case.found("cut-missing", text, f"move it to the layer {due}", edge, edge.ring[0])
        if edge.sound and not case.level.edge.opened:
            yield from _off_blank(case, edge)


def _why(case: Case) -> str:
    if case.level.edge.operation is Operation.EDGE:
        return "the blank is sawn to size beforehand"
    return "seats are sawn out of the blank's edge" if case.level.edge.opened else "the blank is cut out by the machine"


def _off_blank(case: Case, edge: Written) -> Iterator[Finding]:
    blank = flatten(rectangle(case.blank.width, case.blank.depth))
    off = off_ring(edge.ring, blank)
    missed = off_ring(blank, edge.ring)
    worst = max(float(off.max()), float(missed.max()))
    within = WITHIN if case.level.kerf == 0 else KERF_WITHIN
    if worst > within:
        at = edge.ring[int(off.argmax())] if off.max() > within else blank[int(missed.argmax())]
        text = f"the edge drawn is {mm(worst)} off the blank of {mm(case.blank.width)} by {mm(case.blank.depth)}"
        yield case.found("entity-odd", text, "draw the blank's own rectangle", edge, at, worst, within)
