"""Which texts a template page asks for: at every cut its tag, label and how it is cut, from the fullest to the shortest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from insertgen.model.drawing import Drawing, Entity, Fence, Hole, Layer, Mark, Operation, SheetDrawing
from insertgen.model.figures import Circle, Ring
from insertgen.output.held import corner_words, lies_words
from insertgen.output.methods import method_words
from insertgen.output.stored import holes_apart, in_corner, is_base, item_of, lies_on_face, marks_on
from insertgen.output.wood import cuts_of
from insertgen.output.words import depth_words, drill_words, hole_of, start_words
from insertgen.units import format_length, format_mm

__all__ = ["Wish", "wishes"]


@dataclass(frozen=True, slots=True)
class Wish:
    """A text wanted: for which ring, in which words from the fullest to the shortest.

    ``head`` is the tag and label of a seat; of the several contours of one seat
    (steps) only the one with the most room gets it. ``item`` is what lies in the
    ring: a text stands on it, as beside it there are only finger recesses.
    """

    ring: Ring
    lines: tuple[str, ...]
    bore: Circle | None = None
    head: str = ""
    placement: str | None = None
    item: Ring | None = None
    last: bool = False  # set down after all others
    floor: bool = False  # of a seat where there is no wood


def wishes(drawing: Drawing, sheet: SheetDrawing) -> Iterator[Wish]:
    """Texts for one sheet, bores and contours from the largest to the smallest."""
    marks = {mark.placement: mark for mark in drawing.marks}
    for layer, entity, ring in cuts_of(sheet):
        mark = marks.get(entity.placement or "")
        hole = hole_of(drawing, sheet, entity)
        if isinstance(entity.path, Circle) and (hole or layer.operation is Operation.BORE):
            lines = _bore_lines(drawing, hole, mark, method_words(drawing, layer, entity))
            yield Wish(ring, lines, entity.path)
        elif mark is None:
            yield Wish(ring, _split(method_words(drawing, layer, entity)))
        else:
            lines = _contour_lines(drawing, sheet, layer, entity, mark)
            yield Wish(ring, lines, head=_head(mark), placement=mark.placement, item=mark.outline.outer)
    for mark in () if is_base(drawing, sheet) else marks_on(drawing, sheet):
        if in_corner(drawing, mark):
            words = corner_words(drawing, mark)
            yield Wish(mark.outline.outer, (words,), head=_head(mark), placement=mark.placement, floor=True)
        elif lies_on_face(drawing, mark):
            item = item_of(drawing, mark)
            words = lies_words(item) if item else "stands here, no cut"
            ring = mark.outline.outer if item and item.posts else mark.room.outer
            yield Wish(ring, (words,), head=_head(mark), placement=mark.placement)
    for hole in holes_apart(drawing, sheet):
        if hole.bore.use == "start":
            circle = Circle(hole.at, hole.bore.diameter)
            yield Wish(_box(circle), (start_words(hole),), circle, last=True)


def _bore_lines(drawing: Drawing, hole: Hole | None, mark: Mark | None, words: str) -> tuple[str, ...]:
    tag = hole.tag if hole else mark.tag if mark else ""
    label = hole.label if hole else mark.label if mark else ""
    if hole is None:
        return f"{tag}: {words}" if tag else words, *((label,) if label else ())
    drill = drill_words(hole.bore, drawing.tray.cutting.machine)
    if hole.bore.use == "post":
        return f"{tag} post: {drill}", *_split(depth_words(hole.depth, hole.through))
    first = f"{tag}: {drill}" if tag else drill
    return first, *_split(depth_words(hole.depth, hole.through)), *((label,) if label else ())


def _contour_lines(
    drawing: Drawing, sheet: SheetDrawing, layer: Layer, entity: Entity, mark: Mark
) -> tuple[str, ...]:
    lines = _split(method_words(drawing, layer, entity))
    if layer.operation is not Operation.SLOT:
        return lines
    ends = [hole for hole in holes_apart(drawing, sheet) if hole.tag == mark.tag and hole.bore.use == "slot-end"]
    bored = (f"ends: bore {drill_words(ends[0].bore, drawing.tray.cutting.machine)}",) if ends else ()
    fences = [line for fence in drawing.fences if fence.placement == mark.placement for line in _fence_lines(fence)]
    return (*lines, *bored, *fences)


def _fence_lines(fence: Fence) -> tuple[str, ...]:
    second = (f"second pass {format_mm(fence.shift)} mm further out",) if fence.shift else ()
    return f"fence at the {fence.edge} edge,", f"{format_length(fence.distance)} to cutter", *second


def _head(mark: Mark) -> str:
    return f"{mark.tag} {mark.label}"


def _split(words: str) -> tuple[str, ...]:
    """Method and inch fraction on two lines: both stay readable in a narrow seat."""
    if words.startswith(("rout by ", "saw THROUGH from")):
        how, split, rest = words.partition(", " if ", " in words else " from ")
        return (f"{how},", *_split(rest)) if split == ", " else (how, f"from {rest}")
    head, bracket, tail = words.partition(" (")
    if bracket and tail.endswith(" deep"):
        return f"{head} deep", f"({tail.removesuffix(' deep')}"
    if bracket and tail.endswith(" wide"):
        how, _, width = head.rpartition(", ")
        return how, f"{width} ({tail}"
    return (words,)


def _box(circle: Circle) -> Ring:
    (x, y), r = circle.centre, circle.diameter / 2
    return (x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)
