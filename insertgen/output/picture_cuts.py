"""What the preview shows of wood, cuts and items, seen from above into the stack."""

from __future__ import annotations

import math

from PIL import Image, ImageDraw

from insertgen.model.drawing import Drawing, Operation
from insertgen.model.figures import Point, Ring
from insertgen.model.job import KeepOut
from insertgen.output.picture import DEEP, FAINT, GREY, INK, ITEM, OVER, SHALLOW, THROUGH, WOOD, Colour, View
from insertgen.output.stored import lies_on_face, shows_room
from insertgen.output.wood import blank_ring, corners_gone, cuts_of, wood_rings

__all__ = ["cuts_seen", "draw_cuts", "draw_keep_out", "draw_things", "draw_wood"]


def draw_wood(draw: ImageDraw.ImageDraw, drawing: Drawing, view: View) -> None:
    """The top sheet's wood; where corners are sawn away the tray's floor, dashed round."""
    if corners_gone(drawing.sheets[0], drawing.blank):
        draw.polygon(view.ring(blank_ring(drawing.blank)), fill=THROUGH)
        _dashes(draw, view.ring(blank_ring(drawing.blank)), FAINT)
    for ring in wood_rings(drawing.sheets[0], drawing.blank):
        points = view.ring(ring)
        draw.polygon(points, fill=WOOD)
        draw.line([*points, points[0]], fill=GREY, width=2 * OVER, joint="curve")


def draw_cuts(draw: ImageDraw.ImageDraw, drawing: Drawing, view: View) -> None:
    """Deep cuts over shallow ones, the deeper the darker."""
    for through, depth, ring in cuts_seen(drawing):
        points = view.ring(ring)
        draw.polygon(points, fill=THROUGH if through else _shade(depth / drawing.tray.thickness))
        draw.line([*points, points[0]], fill=INK, width=OVER, joint="curve")


def cuts_seen(drawing: Drawing) -> list[tuple[bool, float, Ring]]:
    """Cuts of all sheets: right through the stack or not, how deep from its face, where; the deepest last."""
    cuts, top = [], 0.0
    for sheet in drawing.sheets:
        last = sheet == drawing.sheets[-1]
        cuts += [(layer.through and last, top + layer.depth, ring) for layer, _, ring in cuts_of(sheet)]
        top += sheet.thickness
    return sorted(cuts, key=lambda cut: cut[:2])  # stable: the larger of equal depth first


def _shade(share: float) -> Colour:
    share = min(1.0, share)
    return (_mix(0, share), _mix(1, share), _mix(2, share))


def _mix(band: int, share: float) -> int:
    return round(SHALLOW[band] + (DEEP[band] - SHALLOW[band]) * share)


def draw_things(draw: ImageDraw.ImageDraw, drawing: Drawing, view: View) -> None:
    """Items in their seats or on the face; a shank fills its bore but for the slack and is not drawn."""
    bores = [layer for sheet in drawing.sheets for layer in sheet.layers if layer.operation is Operation.BORE]
    bored = {entity.placement for layer in bores for entity in layer.entities}
    for mark in drawing.marks:
        if mark.placement not in bored or lies_on_face(drawing, mark):
            for ring in (mark.outline.outer, *mark.outline.holes):
                points = view.ring(ring)
                draw.line([*points, points[0]], fill=ITEM, width=2 * OVER, joint="curve")
        if shows_room(drawing, mark):
            for ring in (mark.room.outer, *mark.room.holes):
                _dashes(draw, view.ring(ring), GREY)


def _dashes(draw: ImageDraw.ImageDraw, ring: list[Point], colour: Colour, on: float = 8, off: float = 6) -> None:
    on, off = on * OVER, off * OVER
    way = 0.0
    for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True):
        length = math.hypot(x1 - x0, y1 - y0)
        done = 0.0
        while done < length:
            place = (way + done) % (on + off)
            step = min((on if place < on else on + off) - place + 1e-6, length - done)
            if place < on:
                draw.line([(x0 + (x1 - x0) * done / length, y0 + (y1 - y0) * done / length),
                           (x0 + (x1 - x0) * (done + step) / length, y0 + (y1 - y0) * (done + step) / length)],
                          fill=colour, width=3)  # fmt: skip
            done += step
        way += length


def draw_keep_out(picture: Image.Image, keep: KeepOut, view: View) -> None:
    (left, top), (right, low) = view.at((keep.at[0], keep.at[1] + keep.size[1])), view.at(
        (keep.at[0] + keep.size[0], keep.at[1])
    )
    size = max(1, round(right - left)), max(1, round(low - top))
    patch = Image.new("RGB", size, WOOD)
    draw = ImageDraw.Draw(patch)
    apart = 9 * OVER
    for k in range(0, size[0] + size[1], apart):
        draw.line([(k, 0), (k - size[1], size[1])], fill=GREY, width=OVER)
    draw.rectangle((0, 0, size[0] - 1, size[1] - 1), outline=INK, width=OVER)
    picture.paste(patch, (round(left), round(top)))
