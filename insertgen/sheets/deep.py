"""How deep a seat is cut where the sheets of a stack are cut one by one, and glued afterwards.

A sheet that is cut by itself must not be left thinner than the least floor over
a face: there the cutter breaks through, and glue comes up. A seat that would
end so is cut right through that sheet, deeper than asked by less than the floor.
"""

from __future__ import annotations

from dataclasses import replace

from insertgen.errors import JobError
from insertgen.model.item import Dowel, Item, PostSeat, Step
from insertgen.model.job import Tray
from insertgen.model.seat import Bore, Cut, Seat
from insertgen.units import format_length, format_mm

__all__ = ["SAME_DEPTH", "as_cut", "depth_as_cut", "one_by_one"]

#: What goes no further than this into a sheet is not cut in it; depths nearer than this are one.
SAME_DEPTH = 0.05


def one_by_one(tray: Tray) -> bool:
    """Whether sheets are cut to a depth one by one; a laser's go right through or not at all, which the items know."""
    return not tray.one_block and tray.cutting.machine != "laser"


def depth_as_cut(tray: Tray, depth: float, whose: str) -> float:
    """The depth from the face that is cut for one asked for.

    Raises
    ------
    JobError
        What is below the sheet where it ends is no floor either.
    """
    lower = 0.0
    for number, sheet in enumerate(tray.stack[:-1], 1):
        lower += sheet.thickness
        left = lower - depth
        if abs(left) <= SAME_DEPTH:
            return lower
        if left < 0:
            continue
        if left >= tray.floor - 1e-6:
            return depth
        if tray.thickness - lower < tray.floor - 1e-6:
            raise JobError(
                f"{whose}: {format_length(depth)} deep, it would leave {format_mm(left)} mm of sheet {number}, which is cut by "
                f"itself, and the sheets below it are thinner than the floor of {format_mm(tray.floor)} mm; ask for at most "
                f'{format_length(lower - tray.floor)}, use a thicker sheet at the bottom, or assembly = "glue-first"'
            )
        return lower
    return depth


def as_cut(tray: Tray, seat: Seat) -> Seat:
    """The seat with the depths that are cut; its item says what was asked, and its pegs and posts are as long as is needed."""
    if not one_by_one(tray):
        return seat
    item, whose = seat.item, f"{seat.item.where}: {seat.item.tag} {seat.item.label}"
    cuts = tuple(_cut(tray, cut, whose) for cut in seat.cuts)
    if cuts == seat.cuts:
        return seat
    peg = item.peg
    if peg is not None:
        longer = replace(peg, length=peg.length + cuts[0].depth - seat.cuts[0].depth)
        cuts = tuple(_noted(cut, peg, longer) for cut in cuts)
        peg = longer
    posts: list[PostSeat] = []
    for number, post in enumerate(item.posts):
        stock = replace(post.stock, length=post.stock.length + cuts[number].depth - post.depth)
        cuts = (*cuts[:number], _noted(cuts[number], post.stock, stock), *cuts[number + 1 :])
        posts.append(replace(post, depth=cuts[number].depth, stock=stock))
    return replace(seat, cuts=cuts, item=_item(replace(item, peg=peg, posts=tuple(posts)), seat.cuts, cuts))


def _cut(tray: Tray, cut: Cut, whose: str) -> Cut:
    return cut if cut.through else replace(cut, depth=depth_as_cut(tray, cut.depth, whose))


def _noted(cut: Cut, before: Dowel, after: Dowel) -> Cut:
    """The note of a bore says how long what stands in it is."""
    if cut.bore is None:
        return cut
    old, new = (f"{one.name} x {format_mm(one.length, 1)} mm" for one in (before, after))
    bore: Bore = replace(cut.bore, note=cut.bore.note.replace(old, new))
    return replace(cut, bore=bore)


def _item(item: Item, before: tuple[Cut, ...], after: tuple[Cut, ...]) -> Item:
    if item.posts:  # it lies on the face, as it did
        return item
    steps = item.steps
    if len(steps) == len(after):
        steps = tuple(Step(step.outline, cut.depth, step.through) for step, cut in zip(steps, after, strict=True))
    deeper = max(cut.depth for cut in after) - max(cut.depth for cut in before)
    if abs(deeper) <= SAME_DEPTH:
        return replace(item, steps=steps)
    top = None if item.top is None else max(item.top - deeper, 0.0)
    if item.peg is not None:  # as long above the face as it was
        top = item.top
    return replace(item, steps=steps, depth=item.depth + deeper, asked_depth=item.depth, top=top)
