"""Where each item stands by the layout, and where the wall of its seat must therefore be."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.geometry.offset import grown
from insertgen.geometry.pose import move_region
from insertgen.geometry.region import Region, from_outline, without_holes
from insertgen.model.figures import Point, Pose
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.layout import Layout
from insertgen.model.shape import Store

__all__ = ["Seated", "has_cut", "seated_items"]


@dataclass(frozen=True, slots=True)
class Seated:
    """An item at its pose; all regions in the blank frame.

    ``outline`` is what goes into the seat, its holes filled (no island of wood
    stands in a seat); ``bare`` has them open. ``wall`` is where the wall of the
    whole seat is due.
    """

    item: Item
    pose: Pose
    outline: Region
    bare: Region
    room: Region
    wall: Region

    @property
    def centre(self) -> Point:
        return self.pose.x, self.pose.y

    @property
    def gap(self) -> float:
        """Gap all round that is due, the outline's expected error included."""
        return self.item.clearance + self.item.expected_error


def has_cut(item: Item) -> bool:
    """Whether wood is taken away for it."""
    if item.store is Store.STAND:
        return False
    return item.through or item.depth > 0 or bool(item.posts)


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
    bare = move_region(from_outline(item.outline), pose)
    outline = without_holes(bare)
    room = move_region(without_holes(from_outline(item.room)), pose)
    return Seated(item, pose, outline, bare, room, grown(outline, item.clearance + item.expected_error))
