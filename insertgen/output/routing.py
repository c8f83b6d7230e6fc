"""Router templates and slots against a fence, in words."""

from __future__ import annotations

from collections.abc import Iterator

from insertgen.model.drawing import Drawing, Operation, SheetDrawing
from insertgen.model.job import Template
from insertgen.output.stored import is_sawn
from insertgen.output.words import counted, passes
from insertgen.units import format_inch, format_length, format_mm

__all__ = ["template_words"]

#: So many corners of one seat are listed; the report has all.
CORNERS_SAID = 6


def template_words(drawing: Drawing) -> tuple[str, ...]:
    """A line for each router template of a tray, then what holds for all of them; empty without templates."""
    how = drawing.tray.cutting.template
    if how is None or not drawing.templates:
        return ()
    return (*(_file(drawing, sheet, how) for sheet in drawing.templates), *_corners(drawing, how), _reach(drawing, how))


def _file(drawing: Drawing, sheet: SheetDrawing, how: Template) -> str:
    ids = {entity.placement for layer in sheet.layers for entity in layer.entities if entity.placement is not None}
    tags = sorted((mark.tag for mark in drawing.marks if mark.placement in ids), key=lambda tag: (len(tag), tag))
    openings = sum(entity.placement is not None for layer in sheet.layers for entity in layer.entities)
    return (
        f"{sheet.name}.dxf: {format_length(how.thickness)} thick, for a {how.guide} of {format_length(how.diameter)} and a "
        f"cutter of {format_length(how.cutter.diameter)}; {counted(openings, 'opening')}: {', '.join(tags)}"
    )


def _corners(drawing: Drawing, how: Template) -> Iterator[str]:
    """A convex corner of the template is run round by the guide at its own radius."""
    if how.offset <= 0.05:
        return
    inch = format_inch(how.offset)
    yield f"Wood corners that stick out into a seat come out with a radius of {format_mm(how.offset, 1)} mm ({inch} in)."
    tags = {mark.placement: f"{mark.tag} {mark.label}" for mark in drawing.marks}
    for placement in dict.fromkeys(one.placement for one in drawing.rounded):
        lost = [one for one in drawing.rounded if one.placement == placement]
        places = ", ".join(
            f"{format_mm(one.by, 1)} mm at {format_mm(one.at[0], 0)}/{format_mm(one.at[1], 0)}" for one in lost[:CORNERS_SAID]
        )
        more = f", and {len(lost) - CORNERS_SAID} less" if len(lost) > CORNERS_SAID else ""
        yield f"{tags.get(placement, placement)} loses at its wood corners (mm from left/front): {places}{more}."


def _reach(drawing: Drawing, how: Template) -> str:
    depths = [
        layer.depth for sheet in drawing.sheets for layer in sheet.layers for entity in layer.entities
        if layer.operation is Operation.POCKET
        or (layer.operation is Operation.THROUGH and not is_sawn(drawing, entity.placement))
    ]  # fmt: skip
    deepest = max(depths, default=0.0)
    whole = how.thickness + deepest
    said = f"Reach needed of the cutter: {format_length(whole)}, {format_mm(how.thickness)} mm of template and "
    said += f"{format_mm(deepest)} mm of seat; deepest seat in {counted(passes(deepest, how.cutter.diameter), 'pass')}"
    if how.cutter.reach is None:
        return f"{said}."
    short = "" if how.cutter.reach >= whole - 1e-6 else ": TOO SHORT, take a longer one"
    return f"{said}; this cutter reaches {format_length(how.cutter.reach)}{short}."
