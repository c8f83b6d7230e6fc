"""What was asked of a layout and is not met: groups, fronts, facings, what is kept beside what. Judged by the poses alone.

A group is together if its members hang together by their shortest links (a
least spanning tree, Prim 1957) and no other thing lies across one of them. A
thing is at the front if nothing stands wholly before it that is not to be at
the front too. Beside another is within a hand's breadth, nothing between.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from insertgen.arrange.body import facing_turn
from insertgen.arrange.feasible import Bounds, Stood, footprint_of, stand
from insertgen.arrange.settle import Placed
from insertgen.geometry.between import bars
from insertgen.geometry.distance import gap_between
from insertgen.model.figures import Point
from insertgen.model.item import Item
from insertgen.model.layout import Placement, Unmet, Wish
from insertgen.model.seat import Seat

__all__ = ["broken", "unmet_wishes"]

BESIDE = 60.0  # mm, a hand's breadth; common practice, no source
EPSILON = 1e-6

Link = tuple[int, int, Point, Point]


def unmet_wishes(seats: Sequence[Seat], placements: Sequence[Placement]) -> tuple[Unmet, ...]:
    """Every wish that a layout does not meet, in its order; pinned things are where they were asked to be."""
    by_id = {seat.item.id: seat for seat in seats}
    items = [by_id[one.id].item for one in placements]
    stood = [stand(footprint_of(by_id[one.id]), one.pose) for one in placements]
    found = [*_parted(items, stood), *_not_in_front(items, stood), *_not_beside(items, stood)]
    found += [
        Unmet(item.id, Wish.FACE)
        for item, one in zip(items, placements, strict=True)
        if item.face is not None and item.pinned is None and one.pose.angle_deg % 360 != facing_turn(item)
    ]
    order = {item.id: number for number, item in enumerate(items)}
    return tuple(sorted(found, key=lambda one: (order[one.id], one.wish, one.others)))


def broken(placed: Placed) -> int:
    """How many group and front wishes a layout of bodies breaks; 0 at once where there are none.

    What is heavy is wished to the front unasked; that is sought, and nobody's finding.
    """
    if not any(body.group or body.front for body, _ in placed):
        return 0
    items = [replace(body.seat.item, front=body.front) for body, _ in placed]
    stood = [stand(body.footprint, pose) for body, pose in placed]
    return sum(1 for _ in _parted(items, stood)) + sum(1 for _ in _not_in_front(items, stood))


# ---- groups ------------------------------------------------------------------------------------


def _parted(items: Sequence[Item], stood: Sequence[Stood]) -> list[Unmet]:
    """One for every link of a group that another thing lies across."""
    groups: dict[str, list[int]] = {}
    for number, item in enumerate(items):
        if item.group is not None:
            groups.setdefault(item.group, []).append(number)
    found = []
    for members in groups.values():
        for a, b, start, end in _links(members, stood):
            across = _across(start, end, [one for k, one in enumerate(stood) if k not in members])
            if across:
                found.append(Unmet(items[max(a, b)].id, Wish.GROUP, (items[min(a, b)].id, *across)))
    return found


def _links(members: Sequence[int], stood: Sequence[Stood]) -> list[Link]:
    """The least tree that joins all members: each one joined by the shortest way to those joined already."""
    best: dict[int, tuple[float, Link]] = {}
    links: list[Link] = []
    joined, rest = members[0], list(members[1:])
    while rest:
        for other in rest:
            if other in best and best[other][0] <= _apart(stood[joined].room_bounds, stood[other].room_bounds):
                continue
            gap = gap_between(stood[joined].room, stood[other].room)
            if other not in best or gap.distance < best[other][0]:
                best[other] = gap.distance, (joined, other, gap.at, gap.to)
        joined = min(rest, key=lambda other: (round(best[other][0], 6), other))
        rest.remove(joined)
        links.append(best[joined][1])
    return links


def _across(start: Point, end: Point, others: Sequence[Stood]) -> list[str]:
    """Ids of what lies across a straight way."""
    x0, x1 = sorted((start[0], end[0]))
    y0, y1 = sorted((start[1], end[1]))
    return [
        one.id
        for one in others
        if _apart(one.room_bounds, (x0, y0, x1, y1)) <= 0 and bars(one.room, start, end)
    ]


def _apart(a: Bounds, b: Bounds) -> float:
    """No more than the distance of what two boxes hold."""
    return max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])


# ---- front, beside -----------------------------------------------------------------------------


def _not_in_front(items: Sequence[Item], stood: Sequence[Stood]) -> list[Unmet]:
    found = []
    for item, one in zip(items, stood, strict=True):
        if not item.front or item.pinned is not None:
            continue
        x0, y0, x1, _ = one.room_bounds
        before = tuple(
            other.id
            for also, other in zip(items, stood, strict=True)
            if not also.front
            and other.room_bounds[3] <= y0 + EPSILON
            and min(x1, other.room_bounds[2]) - max(x0, other.room_bounds[0]) > EPSILON
        )
        if before:
            found.append(Unmet(item.id, Wish.FRONT, before))
    return found


def _not_beside(items: Sequence[Item], stood: Sequence[Stood]) -> list[Unmet]:
    at = {item.id: number for number, item in enumerate(items)}
    found = []
    for number, item in enumerate(items):
        if item.beside is None or item.beside not in at:
            continue
        partner = at[item.beside]
        gap = gap_between(stood[number].room, stood[partner].room)
        between = _across(gap.at, gap.to, [one for k, one in enumerate(stood) if k not in (number, partner)])
        if gap.distance > BESIDE or between:
            found.append(Unmet(item.id, Wish.BESIDE, (item.beside, *between)))
    return found
