"""Where each item stands by the layout, and what its cut must therefore be."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.geometry.offset import grown
from insertgen.geometry.pose import move_region
from insertgen.geometry.region import Region, from_outline, without_holes
from insertgen.model import Item, Layout, Operation, Point, Pose, Store, Tray

__all__ = ["Seated", "due_depth", "due_operations", "has_cut", "seated_items"]


@dataclass(frozen=True, slots=True)
class Seated:
    """An item at its pose; all regions in the blank frame. ``wall`` is where the seat's wall is due."""

    item: Item
    centre: Point
    outline: Region
    room: Region
    wall: Region

    @property
    def gap(self) -> float:
        """Gap all round that is due, the outline's expected error included."""
        return self.item.clearance + self.item.expected_error


def has_cut(item: Item) -> bool:
    return item.store is not Store.STAND and (item.through or item.depth > 0)


def seated_items(tray: Tray, layout: Layout) -> dict[str, Seated]:
    """Placed items by id, in job order.

    Whether an item is mirrored is the job's to say: a layout that mirrors it
    unasked makes a seat it does not go into, and that must show.
    """
    poses = {placement.id: placement.pose for placement in reversed(layout.placements)}
    return {item.id: _seated(item, poses[item.id]) for item in tray.items if item.id in poses}


def _seated(item: Item, pose: Pose) -> Seated:
    mirror = item.mirror or (item.pinned is not None and item.pinned.mirror)
    pose = Pose(pose.x, pose.y, pose.angle_deg, mirror)
    outline = move_region(without_holes(from_outline(item.outline)), pose)
    room = move_region(without_holes(from_outline(item.room)), pose)
    wall = grown(outline, item.clearance + item.expected_error)
    return Seated(item, (pose.x, pose.y), outline, room, wall)


def due_depth(item: Item, tray: Tray) -> float | None:
    """Depth from the face; None: right through. Never deeper than the stack less the floor."""
    return None if item.through else min(item.depth, tray.thickness - tray.floor)


def due_operations(item: Item) -> tuple[Operation, ...]:
    if item.bore is not None:
        return (Operation.BORE,)
    return (Operation.THROUGH, Operation.SLOT) if item.through else (Operation.POCKET,)
