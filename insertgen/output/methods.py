"""By what method a contour is cut: sawn, sawn from a start hole, bored, routed by template, or cut by the machine."""

from __future__ import annotations

from insertgen.model.drawing import Drawing, Entity, Layer, Operation
from insertgen.model.figures import Circle, Contour
from insertgen.output.spots import ring_of
from insertgen.output.stored import is_sawn
from insertgen.output.words import cut_words, depth_words

__all__ = ["method_words"]

#: A template's opening is its cut grown by the guide's offset; corners of the item may round it by less than this.
_SAME_BOX = 1.0


def method_words(drawing: Drawing, layer: Layer, entity: Entity) -> str:
    """How one contour is cut: "saw THROUGH from a start hole", "rout by template-1, 12.7 mm (1/2 in) deep".

    What a router or a laser cuts by itself is said as in `cut_words`.
    """
    sawn = is_sawn(drawing, entity.placement)
    routed = layer.operation in (Operation.POCKET, Operation.THROUGH) and not sawn
    if routed and (name := _template(drawing, entity)):
        return f"rout by {name}, {depth_words(layer.depth, layer.through)}"
    if drawing.tray.cutting.machine != "hand":
        return cut_words(layer, entity)
    if layer.operation is Operation.OUTSIDE:
        return "outside, saw THROUGH last"
    if layer.operation is Operation.THROUGH:
        return "saw THROUGH from a start hole" if sawn else "saw THROUGH"
    return cut_words(layer, entity)


def _template(drawing: Drawing, entity: Entity) -> str | None:
    """Name of the router template that has the opening for a contour; of several steps of a seat each has its own."""
    how = drawing.tray.cutting.template
    if how is None or entity.placement is None:
        return None
    wanted = _box(entity.path, how.offset)
    openings = [
        (max(abs(a - b) for a, b in zip(_box(opening.path, 0.0), wanted, strict=True)), sheet.name)
        for sheet in drawing.templates
        for layer in sheet.layers
        for opening in layer.entities
        if opening.placement == entity.placement and layer.operation not in (Operation.OUTSIDE, Operation.EDGE)
    ]
    off, name = min(openings, default=(_SAME_BOX, ""))
    return name if off < _SAME_BOX else None


def _box(path: Contour | Circle, grow: float) -> tuple[float, float, float, float]:
    xs, ys = zip(*ring_of(path), strict=True)
    return min(xs) - grow, min(ys) - grow, max(xs) + grow, max(ys) + grow
