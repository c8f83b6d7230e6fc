"""What must be cut for each item: openings, a step each, and round bores."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from insertgen.check.say import mm, named
from insertgen.check.seated import Seated, has_cut
from insertgen.geometry.offset import grown
from insertgen.geometry.pose import move_point, move_region
from insertgen.geometry.region import Region, disc, from_outline, without_holes
from insertgen.model.drawing import Operation
from insertgen.model.figures import Point
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.shape import Store

__all__ = ["Due", "DueKey", "all_dues", "in_base", "in_sheet", "in_whole_sheet"]

#: Placement, and number of the cut among that placement's.
DueKey = tuple[str, int]

DEPTH_WITHIN = 0.05
SNAP_WITHIN = 1e-6


@dataclass(frozen=True, slots=True)
class Due:
    """One cut that is due; regions and points in the blank frame.

    ``outline`` is what goes in there, ``wall`` where the wall is due, ``depth``
    from the face (None: right through). ``bore`` is the diameter that a round
    bore must at least have, None for an opening; ``use`` what stands in it.
    ``step`` says which of several cuts of its item it is, empty for the only one.
    """

    key: DueKey
    item: Item
    outline: Region
    wall: Region
    centre: Point
    depth: float | None
    operations: tuple[Operation, ...]
    bore: float | None = None
    use: str | None = None
    step: str = ""

    @property
    def placement(self) -> str:
        return self.key[0]

    @property
    def said(self) -> str:
        """As a message says it: the cut of 03 block, the 12 mm step of 03 block."""
        return f"the {self.step or 'cut'} of {named(self.item)}"

    @property
    def bore_said(self) -> str:
        return f"the {self.step or 'bore'} of {named(self.item)}"


def all_dues(seated: Mapping[str, Seated], tray: Tray) -> dict[DueKey, Due]:
    """Every cut due in the stack, in job order; none for a corner seat, which is part of the outer contour."""
    dues = (due for key, one in seated.items() for due in _dues(key, one, tray))
    return {due.key: due for due in dues}


def _dues(key: str, one: Seated, tray: Tray) -> Iterable[Due]:
    item = one.item
    if not has_cut(item) or item.store is Store.CORNER:
        return ()
    if item.store is Store.POSTS:
        return _posts(key, one, tray)
    if item.bore is not None:
        depth = _clamped(item.depth, item.through, tray)
        return (Due((key, 0), item, one.outline, one.wall, one.centre, depth, (Operation.BORE,), item.bore, item.use),)
    return _steps(key, one, tray)


def _clamped(depth: float, through: bool, tray: Tray) -> float | None:
    """Never deeper than the stack less the floor: a seat that asks for more is cut that deep, and said to be too deep."""
    return None if through else min(depth, tray.thickness - tray.floor)


def _steps(key: str, one: Seated, tray: Tray) -> Iterable[Due]:
    several = len(one.item.steps) > 1
    for number, step in enumerate(one.item.steps):
        outline = move_region(without_holes(from_outline(step.outline)), one.pose)
        depth = _clamped(step.depth, step.through, tray)
        through = Operation.SLOT if one.item.store is Store.SLOT else Operation.THROUGH
        name = "" if not several else "through step" if depth is None else f"{mm(depth)} step"
        operation = through if depth is None else Operation.POCKET
        yield Due((key, number), one.item, outline, grown(outline, one.gap), one.centre, depth, (operation,), step=name)


def _posts(key: str, one: Seated, tray: Tray) -> Iterable[Due]:
    for number, post in enumerate(one.item.posts):
        centre = move_point(post.at, one.pose)
        stands = disc(centre, post.stock.diameter)
        depth = _clamped(post.depth, post.through, tray)
        yield Due(
            (key, number), one.item, stands, disc(centre, post.bore), centre, depth, (Operation.BORE,), post.bore, "post",
            step=f"{post.kind} bore",
        )  # fmt: skip


def in_whole_sheet(dues: Mapping[DueKey, Due], lower: float, thickness: float) -> dict[DueKey, Due]:
    """What is due right through one sheet of a stack that a laser cuts sheet by sheet.

    A seat is cut in every sheet whose lower face is no deeper than it; of nested
    steps the widest that reaches so deep is the whole of the opening there.

    Parameters
    ----------
    lower, thickness : float
        Depth of the sheet's lower face from the face of the stack, and of the stack's.
    """
    found: dict[DueKey, Due] = {}
    opened: set[str] = set()
    for key, due in dues.items():
        depth = thickness if due.depth is None else due.depth
        if depth < lower - DEPTH_WITHIN or (due.bore is None and due.placement in opened):
            continue
        if due.bore is None:
            opened.add(due.placement)
        operations = (Operation.THROUGH,) if Operation.POCKET in due.operations else due.operations
        found[key] = replace(due, depth=None, operations=operations, step="" if due.bore is None else due.step)
    return found


def in_sheet(dues: Mapping[DueKey, Due], upper: float, lower: float, tray: Tray) -> dict[DueKey, Due]:
    """What is due in one sheet of a stack that is cut sheet by sheet, each to a depth from its own face.

    What goes down to the sheet's lower face or deeper is due right through; so is what would leave less than the
    floor over that face, unless the sheet is the last. What ends in it is due to the rest of its depth.

    Parameters
    ----------
    upper, lower : float
        Depth of the sheet's faces from the face of the stack.
    """
    found: dict[DueKey, Due] = {}
    opened: set[str] = set()
    for key, due in dues.items():
        depth = tray.thickness if due.depth is None else due.depth
        is_last = lower > tray.thickness - DEPTH_WITHIN
        snaps = not is_last and due.depth is not None and depth > upper and lower - depth < tray.floor - SNAP_WITHIN
        if depth >= lower - DEPTH_WITHIN or snaps:
            if due.bore is None and due.placement in opened:
                continue
            if due.bore is None:
                opened.add(due.placement)
            operations = (Operation.THROUGH,) if Operation.POCKET in due.operations else due.operations
            found[key] = replace(due, depth=None, operations=operations, step="" if due.bore is None else due.step)
        elif depth > upper + DEPTH_WITHIN:
            name = due.step if due.bore is not None or not due.step else f"{mm(depth - upper)} step"
            found[key] = replace(due, depth=depth - upper, step=name)
    return found


def in_base(dues: Mapping[DueKey, Due]) -> dict[DueKey, Due]:
    """What is cut in the tray's base too: what goes through it."""
    return {key: due for key, due in dues.items() if due.item.store is Store.SLOT}
