"""How an item is held, in the words of a legend."""

from __future__ import annotations

from collections import Counter

from insertgen.geometry.open_edge import near_edges
from insertgen.geometry.region import from_outline
from insertgen.model.drawing import Drawing, Entity, Layer, Mark, Operation, SheetDrawing
from insertgen.model.figures import Circle
from insertgen.model.item import Item
from insertgen.model.shape import PostKind, Store
from insertgen.output.methods import method_words
from insertgen.output.stored import in_corner, is_sawn, item_of
from insertgen.output.words import (
    bore_words,
    counted,
    depth_words,
    drill_words,
    hole_of,
    passes,
    start_words,
)
from insertgen.units import format_length, format_mm

__all__ = ["corner_words", "held_words", "lies_words", "posts_words"]

_MILLED = (Operation.POCKET, Operation.THROUGH, Operation.SLOT)


def held_words(drawing: Drawing, mark: Mark) -> str:
    """How an item is held and how deep, from the cuts that were drawn for it; several sheets are named."""
    item = item_of(drawing, mark)
    cuts = _cuts(drawing, mark)
    said = [*_first(drawing, mark, item), *cuts]
    if not said:
        return "stands on the face, no cut"
    if len(drawing.sheets) > 1 and cuts and not mark.through and item and not (item.posts or item.bore):
        said.append(f"{depth_words(mark.depth, False)} in all")
    return "; ".join([*said, *_last(drawing, mark, item)])


def corner_words(drawing: Drawing, mark: Mark) -> str:
    """Of a seat that opens to the blank's edges: to two that meet, or else to one or across the whole."""
    item, tray = item_of(drawing, mark), drawing.tray
    gap = item.clearance + item.expected_error if item else tray.clearance
    sides = near_edges(from_outline(mark.outline), drawing.blank, tray.margin + gap)
    how = "cut" if tray.cutting.machine == "laser" else "sawn"
    meet = {"left", "right"} & set(sides) and {"front", "back"} & set(sides)
    return f"{'corner' if meet else 'open edge'}, {how} right through"


def posts_words(item: Item) -> str:
    """What to stand in the bores beside an item: "lies between posts: 2 dowels 1/4 in x 35 mm"."""
    count = Counter((post.kind, post.stock.name, post.stock.length) for post in item.posts)
    each = [
        f"{counted(many, kind.value)} {name} x {format_mm(length, 1)} mm{' (no points up)' if kind is PostKind.NAIL else ''}"
        for (kind, name, length), many in count.items()
    ]
    return f"{lies_words(item)}: {' and '.join(each)}"


def lies_words(item: Item) -> str:
    """Of an item on the face: between posts, by the only one, or free."""
    if not item.posts:
        return "stands here, no cut"
    return "lies between posts" if len(item.posts) > 1 else "lies by a post"


def _first(drawing: Drawing, mark: Mark, item: Item | None) -> list[str]:
    if in_corner(drawing, mark):
        return [corner_words(drawing, mark)]
    if item is None:
        return []
    if item.posts:
        return [posts_words(item)]
    if item.store is Store.STAND:
        return ["stands on the face, no cut"]
    return [f"on a peg: dowel {item.peg.name} x {format_mm(item.peg.length, 1)} mm"] if item.peg else []


def _cuts(drawing: Drawing, mark: Mark) -> list[str]:
    """Every way it is cut, once; on which sheets if there are several."""
    sheets: dict[str, list[int]] = {}
    for sheet in drawing.sheets:
        for layer in sheet.layers:
            for entity in layer.entities:
                if entity.placement == mark.placement:
                    numbers = sheets.setdefault(_cut(drawing, sheet, layer, entity), [])
                    numbers += [sheet.number] if sheet.number not in numbers else []
    return [words if len(drawing.sheets) == 1 else f"{_listed(numbers)}: {words}" for words, numbers in sheets.items()]


def _cut(drawing: Drawing, sheet: SheetDrawing, layer: Layer, entity: Entity) -> str:
    machine = drawing.tray.cutting.machine
    if hole := hole_of(drawing, sheet, entity):
        return bore_words(hole, machine)
    words = method_words(drawing, layer, entity)
    if isinstance(entity.path, Circle) and layer.operation is Operation.BORE:
        return words
    milled = layer.operation in _MILLED and not is_sawn(drawing, entity.placement)
    count = passes(layer.depth, _cutter(drawing, entity)) if milled else 1
    return f"{words}, in {count} passes" if count > 1 else words


def _cutter(drawing: Drawing, entity: Entity) -> float:
    """Diameter of the cutter that mills a contour: of the fence, the router, the template; 0 where none does."""
    fences = [fence.cutter for fence in drawing.fences if fence.placement == entity.placement]
    cutting = drawing.tray.cutting
    if fences or cutting.machine == "router":
        return fences[0] if fences else cutting.cutter.diameter
    return cutting.template.cutter.diameter if cutting.template else 0.0


def _last(drawing: Drawing, mark: Mark, item: Item | None) -> list[str]:
    said = []
    holes = [hole for hole in drawing.holes if hole.tag == mark.tag]
    if ends := [hole for hole in holes if hole.bore.use == "slot-end"]:
        said.append(f"bore its ends first, {drill_words(ends[0].bore, drawing.tray.cutting.machine)}")
    said += dict.fromkeys(f"{start_words(hole)} in the waste" for hole in holes if hole.bore.use == "start")
    if drawing.base and any(entity.placement == mark.placement for layer in drawing.base.layers for entity in layer.entities):
        said.append("through the tray's base too")
    if item and item.asked_depth is not None:
        asked, cut = format_length(item.asked_depth), format_length(item.depth)
        laser = drawing.tray.cutting.machine == "laser"
        if laser:
            said.append(f"depth asked {asked}, a laser cuts whole sheets: {cut}")
        else:  # it may be a depth that nobody wrote: half a collet, say
            said.append(f"cut {cut} deep: at {asked} less than the floor would be left of that sheet")
    if item and item.beside and (other := next((one for one in drawing.tray.items if one.id == item.beside), None)):
        said.append(f"kept by {other.tag}")
    return said


def _listed(numbers: list[int]) -> str:
    """
    >>> _listed([1]), _listed([1, 2]), _listed([1, 2, 4])
    ('sheet 1', 'sheets 1 and 2', 'sheets 1, 2 and 4')
    """
    if len(numbers) == 1:
        return f"sheet {numbers[0]}"
    return f"sheets {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"
