"""Last time's places, for those of today's things that were there then and may still lie there.

Things are told by name and shape, not by number: one more in the middle of the
job moves nobody else. Of several alike the first keeps the first's place.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from insertgen.arrange.body import Body
from insertgen.arrange.feasible import Spacing, stand_in
from insertgen.arrange.settle import Placed, conflicts
from insertgen.model.figures import Pose
from insertgen.model.item import Turn
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Placement, Unmet, Wish
from insertgen.model.seat import Seat

__all__ = ["Kept", "held_over", "same_as", "shape_key"]

ROUNDED = 2e-4  # what a file may round off: angles of pins to 1e-4


@dataclass(frozen=True, slots=True)
class Kept:
    """Poses by id that still hold, and what had a place but cannot keep it."""

    poses: dict[str, Pose]
    lost: tuple[Unmet, ...] = ()


def shape_key(seat: Seat) -> tuple[str, str]:
    """Name and shape, as a placement has them."""
    return seat.item.name, seat.item.shape.source or seat.item.name


def held_over(tray: Tray, spacing: Spacing, bodies: Sequence[Body], before: Layout) -> Kept:
    """What keeps its place of a layout ``before``: allowed to turn so, and clear of all else that is kept or pinned."""
    poses = _matched(bodies, before)
    lost: dict[str, Unmet] = {}
    placed: Placed = []
    for body in bodies:
        pin = body.seat.item.pinned
        if pin is not None:
            placed.append((body, Pose(pin.x, pin.y, pin.angle_deg, body.mirror)))
        elif body.id in poses and _may_lie(body, poses[body.id]):
            placed.append((body, poses[body.id]))
        elif body.id in poses:
            lost[body.id] = Unmet(body.id, Wish.KEEP)
    frozen = {body.id for body, _ in placed if body.seat.item.pinned is not None}
    found = conflicts([stand_in(tray, body.footprint, pose) for body, pose in placed], frozen, tray, spacing)
    while found:
        counts = Counter(name for one in found for name in {one.id, one.other} - frozen)
        loose = [body for body, _ in placed if counts[body.id]]
        if not loose:  # only pins are at odds
            break
        worst = max(loose, key=lambda body: (counts[body.id], -body.area, body.id))
        against = [one.other if one.id == worst.id else one.id for one in found if worst.id in (one.id, one.other)]
        lost[worst.id] = Unmet(worst.id, Wish.KEEP, tuple(dict.fromkeys(against)))
        placed = [(body, pose) for body, pose in placed if body is not worst]
        found = [one for one in found if worst.id not in (one.id, one.other)]
    kept = {body.id: pose for body, pose in placed if body.seat.item.pinned is None}
    return Kept(kept, tuple(lost[body.id] for body in bodies if body.id in lost))


def same_as(layout: Layout, before: Layout) -> Layout | None:
    """The layout of last time, if nothing is new: everything lies where it did, and nothing else has found a place.

    With today's pins and blank, which files round.
    """
    then, now = before.placements, layout.placements
    if [(one.id, one.pinned) for one in now] != [(one.id, one.pinned) for one in then]:
        return None
    if not all(_same_pose(one.pose, other.pose) for one, other in zip(now, then, strict=True)):
        return None
    if [(one.id, one.why) for one in layout.left_out] != [(one.id, one.why) for one in before.left_out]:
        return None
    return replace(before, blank=layout.blank, placements=now)


def _same_pose(one: Pose, other: Pose) -> bool:
    near = math.dist((one.x, one.y, one.angle_deg), (other.x, other.y, other.angle_deg)) < ROUNDED
    return near and one.mirror is other.mirror


def _matched(bodies: Sequence[Body], before: Layout) -> dict[str, Pose]:
    """Poses by today's ids."""
    there: dict[tuple[str, str], list[Placement]] = {}
    for placement in before.placements:
        there.setdefault((placement.name, placement.shape), []).append(placement)
    result = {}
    for body in bodies:
        places = there.get(shape_key(body.seat))
        if places:
            result[body.id] = places.pop(0).pose
    return result


def _may_lie(body: Body, pose: Pose) -> bool:
    anyhow = body.seat.item.turn is Turn.ANY and body.seat.item.face is None
    return pose.mirror is body.mirror and (anyhow or pose.angle_deg % 360 in body.allowed)
