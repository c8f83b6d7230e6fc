"""Router templates: openings that guide a hand-held router's bush or bearing.

The guide runs along the template, the cutter half the difference of their
diameters further in: 3/16 in for a 5/8 in bush and a 1/4 in cutter. So a
template's opening is the way of the cutter's centre, grown by half the guide.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from insertgen.exchange.layers import layer_name
from insertgen.geometry.arcs import fit_path, rectangle
from insertgen.geometry.distance import farthest, gap_between
from insertgen.geometry.offset import grown, shrunk
from insertgen.geometry.region import area, from_path, minus, pieces, to_outlines
from insertgen.model.drawing import Entity, Layer, Operation, Rounded, SheetDrawing
from insertgen.model.figures import Circle, Contour
from insertgen.model.job import Template, Tray
from insertgen.rules import TEMPLATE_CLAMP, TEMPLATE_WEB

__all__ = ["rounded_corners", "template_opening", "templates"]

#: Lines and arcs follow the opening within this; it is grown by it first, so that the pocket is never cut too small.
TOLERANCE = 0.02

#: A channel just as wide as the cutter still has a way down its middle: taken in by this less.
SPARE = 0.005

#: A corner of wood that loses less than this, and this area, is not worth a word.
SEEN = 0.5
LEAST_LOST = 0.2


def templates(tray: Tray, sheet: SheetDrawing) -> tuple[SheetDrawing, ...]:
    """Templates for the pockets and through-cuts of a sheet; none if the job asks for none.

    What would leave less than the web between two openings of one template
    (nested steps, near neighbours) goes on a further one.
    """
    template = tray.cutting.template
    if template is None:
        return ()
    routed = [Entity(template_opening(entity.path, template), entity.placement) for entity in _routed(sheet)]
    return tuple(_sheet(tray, template, number, group) for number, group in enumerate(_apart(routed), 1))


def template_opening(path: Contour | Circle, template: Template) -> Contour | Circle:
    """The opening that makes a hand-held router cut ``path``.

    >>> from insertgen.model.job import Cutter
    >>> template_opening(Circle((0.0, 0.0), 50.8), Template("bush", 15.875, Cutter(6.35), 6.0)).diameter / 25.4
    2.375
    """
    if isinstance(path, Circle):
        return Circle(path.centre, path.diameter + 2 * template.offset)
    way = shrunk(from_path(path), template.cutter.diameter / 2 - SPARE)
    opening = grown(way, template.diameter / 2 - SPARE + TOLERANCE)
    return fit_path(to_outlines(pieces(opening)[0])[0].outer, TOLERANCE)


def rounded_corners(tray: Tray, sheet: SheetDrawing) -> tuple[Rounded, ...]:
    """Where templates take more than `SEEN` of a corner of wood that sticks out into a seat, the most first.

    The guide runs round such a corner at its own radius, the cutter at that less its own: of a corner of wood of
    angle t so much is lost as (guide - cutter)/2 (1/sin(t/2) - 1).
    """
    template = tray.cutting.template
    if template is None:
        return ()
    found = []
    for entity in _routed(sheet):
        pocket, opening = from_path(entity.path), from_path(template_opening(entity.path, template))
        cut = grown(shrunk(opening, template.diameter / 2), template.cutter.diameter / 2)
        for piece in pieces(minus(cut, pocket)):
            if area(piece) > LEAST_LOST:
                tip = farthest(piece, cut.boundary)
                if tip.distance > SEEN and entity.placement is not None:
                    found.append(Rounded(entity.placement, tip.at, tip.distance))
    return tuple(sorted(found, key=lambda one: (-round(one.by, 3), one.placement, one.at)))


def _routed(sheet: SheetDrawing) -> list[Entity]:
    """What a hand-held router cuts by a template."""
    return [
        entity
        for layer in sheet.layers
        if layer.operation in (Operation.POCKET, Operation.THROUGH)
        for entity in layer.entities
    ]


def _apart(entities: Sequence[Entity]) -> Iterable[list[Entity]]:
    """Openings in as few groups as a simple going-through makes, none nearer than the web to another of its group."""
    regions = [from_path(entity.path) for entity in entities]
    groups: list[list[int]] = []
    for number, region in enumerate(regions):
        for group in groups:
            if all(gap_between(region, regions[other]).distance >= TEMPLATE_WEB for other in group):
                group.append(number)
                break
        else:
            groups.append([number])
    return [[entities[number] for number in group] for group in groups]


def _sheet(tray: Tray, template: Template, number: int, entities: list[Entity]) -> SheetDrawing:
    thick, blank = template.thickness, tray.blank
    edge = rectangle(blank.width, blank.depth)
    rim = rectangle(blank.width + 2 * TEMPLATE_CLAMP, blank.depth + 2 * TEMPLATE_CLAMP)
    clamped = Contour(tuple((x - TEMPLATE_CLAMP, y - TEMPLATE_CLAMP, bulge) for x, y, bulge in rim.vertices))
    layers = tuple(
        Layer(layer_name(operation, thick, through=True, names=tray.layer_names), operation, thick, True, tuple(within))
        for operation, within in (
            (Operation.THROUGH, entities),
            (Operation.OUTSIDE, [Entity(clamped, None)]),
            (Operation.EDGE, [Entity(edge, None)]),
        )
    )
    return SheetDrawing(number, "router template", thick, layers, f"template-{number}")
