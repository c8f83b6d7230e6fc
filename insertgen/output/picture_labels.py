"""Tags and labels of the preview: set down where nothing is covered."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw

from insertgen.model.drawing import Drawing, Mark, Operation
from insertgen.model.figures import Point, Ring
from insertgen.model.job import KeepOut
from insertgen.output.dowels import registration
from insertgen.output.picture import INK, ITEM, View, font
from insertgen.output.picture_cuts import cuts_seen
from insertgen.output.spots import Ground, Mask
from insertgen.output.stored import in_corner, lies_on_face, shows_room
from insertgen.output.typeface import legible, shortened
from insertgen.output.wood import cuts_of, wood_rings

__all__ = ["Label", "labels_of", "write_label"]

TEXT = 17  # px


@dataclass(frozen=True, slots=True)
class Label:
    words: tuple[str, ...]
    middle: Point
    size: float  # mm
    turned: bool
    light: bool


def labels_of(drawing: Drawing, scale: float) -> tuple[list[Label], bool]:
    """Where tags and labels stand; whether some label is left to the legend."""
    blank, size = drawing.blank, TEXT / scale
    ground = Ground((0.0, 0.0, blank.width, blank.depth), cell=max(0.25, 1.5 / scale))
    _take(drawing, ground)
    dark = _dark(drawing, ground)
    labels: list[Label] = []
    short = False
    rings = _rings(drawing)
    for keep in drawing.keep_out:
        labels += _keep_out_label(keep, size, ground)
    for mark in sorted(drawing.marks, key=lambda mark: len(rings.get(mark.placement, ()))):
        words, found, turned = _label(mark, rings.get(mark.placement), size, ground)
        short = short or (len(words) == 1 and words[0] == mark.tag)
        labels.append(Label(words, found, size, turned, _is_dark(dark, found, ground)))
    for dowel in registration(drawing):
        (x, y), half = dowel.holes[0].at, dowel.diameter / 2 + 0.5 + _width((dowel.tag,), size) / 2
        for side in ((x + half, y), (x - half, y)):
            if place := _free(ground, (dowel.tag,), size, False, side, None, 2 * size):
                labels.append(Label((dowel.tag,), place, size, False, _is_dark(dark, place, ground)))
                break
    return labels, short


def _take(drawing: Drawing, ground: Ground) -> None:
    for ring in wood_rings(drawing.sheets[0], drawing.blank):
        ground.take_line(ring)
    for _, _, ring in cuts_seen(drawing):
        ground.take_line(ring)
    for mark in drawing.marks:
        for ring in (mark.outline.outer, *mark.outline.holes):
            ground.take_line(ring)
        if shows_room(drawing, mark):
            for ring in (mark.room.outer, *mark.room.holes):
                ground.take_line(ring, faint=True)
    for keep in drawing.keep_out:
        ground.take_box(*keep.at, keep.at[0] + keep.size[0], keep.at[1] + keep.size[1])


def _dark(drawing: Drawing, ground: Ground) -> Mask:
    """Where the tray's floor is seen: letters must be light there."""
    dark = np.ones(ground.shape, dtype=bool)
    for ring in wood_rings(drawing.sheets[0], drawing.blank):
        dark &= ~ground.inside(ring)
    for through, _, ring in cuts_seen(drawing):
        if through:
            dark |= ground.inside(ring)
    return dark


def _is_dark(dark: Mask, point: Point, ground: Ground) -> bool:
    row, column = (int((v - low) / ground.cell) for v, low in zip(point[::-1], ground.window[1::-1], strict=True))
    return bool(dark[min(row, dark.shape[0] - 1), min(column, dark.shape[1] - 1)])


def _rings(drawing: Drawing) -> dict[str, tuple[Ring, ...]]:
    """Largest ring cut for each placement in the top sheet, then the item's unless it stands in a bore: a label is in both."""
    found: dict[str, tuple[Ring, ...]] = {}
    marks = {mark.placement: mark for mark in drawing.marks}
    for layer, entity, ring in cuts_of(drawing.sheets[0]):
        mark = marks.get(entity.placement or "")
        if mark and mark.placement not in found:
            found[mark.placement] = (ring,) if layer.operation is Operation.BORE else (ring, mark.outline.outer)
    for mark in drawing.marks:
        if in_corner(drawing, mark) or (lies_on_face(drawing, mark) and mark.placement in found):
            found[mark.placement] = (mark.outline.outer,)
    return found


def _label(
    mark: Mark, rings: tuple[Ring, ...] | None, size: float, ground: Ground
) -> tuple[tuple[str, ...], Point, bool]:
    """Words, middle, and whether they read upwards."""
    rings = rings or (mark.room.outer,)
    own: Mask = np.logical_and.reduce([ground.inside(ring) for ring in rings])
    xs, ys = zip(*rings[0], strict=True)
    near = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    tag, name = mark.tag, legible(mark.label)
    for words in ((tag, name), (tag, *_halved(name)), (f"{tag} {name}",)):
        for turned in (False, True):
            if found := _free(ground, words, size, turned, near, own):
                return words, found, turned
    if found := _free(ground, (tag,), size, False, near, own):
        return (tag,), found, False
    if len(rings) > 1 and (found := _beside(ground, f"{tag} {name}", size, rings[0])):  # a slot, say
        return (f"{tag} {name}",), found, False
    # beside a small bore: the tag on the wood, close by
    side = max(xs) + _width((tag,), size) / 2 + 0.5, near[1]
    reach = 2 * size
    found = _free(ground, (tag,), size, False, side, None, reach) or _free(
        ground, (tag,), size, False, side, None, over_faint=True
    ) or near
    return (tag,), found, False


def _beside(ground: Ground, words: str, size: float, ring: Ring) -> Point | None:
    """Close above, below, right or left of the middle of a cut."""
    xs, ys = zip(*ring, strict=True)
    x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    across, up = (max(xs) - min(xs)) / 2 + _width((words,), size) / 2 + size / 2, (max(ys) - min(ys)) / 2 + size
    for side in ((x, y + up), (x, y - up), (x + across, y), (x - across, y))[:: 1 if across > up else -1]:
        if found := _free(ground, (words,), size, False, side, None, size / 2):
            return found
    return None


def _halved(name: str) -> tuple[str, ...]:
    words = name.split()
    if len(words) < 2:
        return (name,)
    cuts = [(" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words))]
    return min(cuts, key=lambda pair: (max(map(len, pair)), pair))


def _free(ground: Ground, words: tuple[str, ...], size: float, turned: bool, near: Point, own: Mask | None,
          reach: float = math.inf, over_faint: bool = False) -> Point | None:  # fmt: skip
    width, height = _width(words, size) + size * 0.4, len(words) * size * 1.25 + size * 0.3
    if turned:
        width, height = height, width
    found = ground.spot(width, height, near, within=own, reach=reach, over_faint=over_faint)
    if found:
        x, y = found
        ground.take_box(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
    return found


def _width(words: tuple[str, ...], size: float) -> float:
    return max(font(k == 0, 100).getlength(line) / 100 * size for k, line in enumerate(words))


def _keep_out_label(keep: KeepOut, size: float, ground: Ground) -> list[Label]:
    middle = keep.at[0] + keep.size[0] / 2, keep.at[1] + keep.size[1] / 2
    reach = max(keep.size) + 4 * size
    for words in (("keep out", shortened(legible(keep.why), 14 * size, size)), ("keep out",)):
        for over_faint in (False, True):
            if found := _free(ground, words, size, False, middle, None, reach, over_faint):
                return [Label(words, found, size, False, False)]
    return []  # no room on the wood: the hatching says it alone


def write_label(picture: Image.Image, label: Label, view: View) -> None:
    size = max(1, round(label.size * view.scale))
    colour = ITEM if label.light else INK
    width = math.ceil(_width(label.words, size)) + 4
    height = math.ceil(len(label.words) * size * 1.25) + 4
    mask = Image.new("L", (width, height), 0)
    draw = ImageDraw.Draw(mask)
    for k, line in enumerate(label.words):
        draw.text((width / 2, 2 + (k + 0.5) * size * 1.25), line, font=font(k == 0, size), fill=255, anchor="mm")
    if label.turned:
        mask = mask.rotate(90, expand=True)
    x, y = view.at(label.middle)
    picture.paste(colour, (round(x - mask.width / 2), round(y - mask.height / 2)), mask)
