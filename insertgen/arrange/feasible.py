"""May things lie so? Exact geometry, apart from any search.

The rules, for every two seats, within `TOLERANCE`: openings at least the web
apart; rooms above the face at least the larger of their two room gaps apart;
what only stands is not over another's opening. For every seat: its opening the
margin from the blank's edge and the web from every keep-out, its room inside
the blank and over no keep-out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from insertgen.geometry.distance import gap_between
from insertgen.geometry.pose import move_region
from insertgen.geometry.region import (
    Region,
    bounds,
    box,
    common,
    covers,
    from_outline,
    is_empty,
    to_outlines,
    union,
)
from insertgen.model import Blank, KeepOut, Layout, Point, Pose, Seat, Tray

__all__ = [
    "TOLERANCE",
    "WALL",
    "Bounds",
    "Conflict",
    "Footprint",
    "Spacing",
    "Stood",
    "conflicts",
    "footprint_of",
    "pair_conflicts",
    "stand",
    "wall_conflicts",
]

TOLERANCE = 1e-6
WALL = "wall"

Bounds = tuple[float, float, float, float]


class Conflict(NamedTuple):
    """``id`` comes too near ``other``: another id, `WALL`, or "keep-out: why".

    ``shortfall`` mm are missing, ``at`` is where, blank frame.
    """

    id: str
    other: str
    shortfall: float
    at: Point


@dataclass(frozen=True, slots=True)
class Spacing:
    """What is asked of gaps.

    ``extra`` is asked on top between things, and to keep-outs; 0 when a layout
    is judged. Not of walls: a thing as deep as the blank has nothing to give.
    """

    web: float
    margin: float
    extra: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Footprint:
    """A seat's opening (None: it only stands) and room as regions, shape frame."""

    id: str
    opening: Region | None
    room: Region
    room_gap: float
    room_inside: bool  # the room lies wholly in the opening


@dataclass(frozen=True, slots=True, eq=False)
class Stood:
    """A seat at its pose: its regions and their bounds, blank frame."""

    id: str
    opening: Region | None
    room: Region
    opening_bounds: Bounds | None
    room_bounds: Bounds
    room_gap: float
    room_inside: bool


def footprint_of(seat: Seat) -> Footprint:
    """The regions of a seat."""
    opening = union(from_outline(piece) for piece in seat.opening) if seat.opening else None
    room = opening if opening is not None and seat.opening == (seat.item.room,) else from_outline(seat.item.room)
    inside = opening is not None and covers(opening, room)
    return Footprint(seat.item.id, opening, room, seat.item.room_gap, inside)


def stand(footprint: Footprint, pose: Pose) -> Stood:
    """The seat at a pose."""
    opening = move_region(footprint.opening, pose) if footprint.opening is not None else None
    same = opening is not None and footprint.opening is footprint.room
    room = opening if opening is not None and same else move_region(footprint.room, pose)
    around = bounds(opening) if opening is not None else None
    return Stood(footprint.id, opening, room, around, bounds(room), footprint.room_gap, footprint.room_inside)


def conflicts(tray: Tray, seats: Sequence[Seat], layout: Layout) -> list[Conflict]:
    """Everything in a layout that is nearer than the tray's rules allow; empty: it may be cut.

    Judges pinned things like all others.
    """
    by_id = {seat.item.id: seat for seat in seats}
    stood = [stand(footprint_of(by_id[placement.id]), placement.pose) for placement in layout.placements]
    spacing = Spacing(tray.web, tray.margin)
    found: list[Conflict] = []
    for index, one in enumerate(stood):
        found += wall_conflicts(one, tray.blank, tray.keep_out, spacing)
        for other in stood[index + 1 :]:
            found += pair_conflicts(one, other, spacing)
    return found


def wall_conflicts(one: Stood, blank: Blank, keep_out: Iterable[KeepOut], spacing: Spacing) -> list[Conflict]:
    """What a seat has against the blank's edge and the keep-outs."""
    found: list[Conflict] = []
    if one.opening is not None and one.opening_bounds is not None:
        found += _past_wall(one.id, one.opening, one.opening_bounds, blank, spacing.margin)
    found += _past_wall(one.id, one.room, one.room_bounds, blank, 0.0)
    for rect in keep_out:
        (x, y), (width, depth) = rect.at, rect.size
        region, name = box(x, y, x + width, y + depth), f"keep-out: {rect.why}"
        around = (x, y, x + width, y + depth)
        if one.opening is not None and one.opening_bounds is not None:
            need = spacing.web + spacing.extra
            found += _too_near((one.id, name), (one.opening, one.opening_bounds), (region, around), need)
        found += _too_near((one.id, name), (one.room, one.room_bounds), (region, around), spacing.extra)
    return found


def pair_conflicts(a: Stood, b: Stood, spacing: Spacing) -> list[Conflict]:
    """What two seats have against each other."""
    names = a.id, b.id
    web, gap = spacing.web + spacing.extra, max(a.room_gap, b.room_gap) + spacing.extra
    found: list[Conflict] = []
    if a.opening is not None and a.opening_bounds is not None:
        if b.opening is not None and b.opening_bounds is not None:
            found += _too_near(names, (a.opening, a.opening_bounds), (b.opening, b.opening_bounds), web)
            if not found and a.room_inside and b.room_inside and gap <= web:
                return []  # rooms are further apart than the openings they lie in
        else:
            found += _too_near(names, (a.opening, a.opening_bounds), (b.room, b.room_bounds), spacing.extra)
    elif b.opening is not None and b.opening_bounds is not None:
        found += _too_near(names, (a.room, a.room_bounds), (b.opening, b.opening_bounds), spacing.extra)
    found += _too_near(names, (a.room, a.room_bounds), (b.room, b.room_bounds), gap)
    return found


def _past_wall(name: str, region: Region, around: Bounds, blank: Blank, margin: float) -> list[Conflict]:
    x0, y0, x1, y1 = around
    shortfalls = (margin - x0, margin - y0, x1 - (blank.width - margin), y1 - (blank.depth - margin))
    worst = max(range(4), key=lambda side: shortfalls[side])
    if shortfalls[worst] <= TOLERANCE:
        return []
    corners = [corner for outline in to_outlines(region) for corner in outline.outer]
    keys = (lambda p: p[0], lambda p: p[1], lambda p: -p[0], lambda p: -p[1])
    return [Conflict(name, WALL, shortfalls[worst], min(corners, key=keys[worst]))]


def _too_near(
    names: tuple[str, str], one: tuple[Region, Bounds], other: tuple[Region, Bounds], need: float
) -> list[Conflict]:
    if _boxes_apart(one[1], other[1]) >= need:
        return []
    gap = gap_between(one[0], other[0])
    if gap.distance > 0 and gap.distance >= need - TOLERANCE:
        return []
    if gap.distance > 0:
        return [Conflict(*names, need - gap.distance, gap.at)]
    shared = common(one[0], other[0])
    if is_empty(shared):
        return [Conflict(*names, need, gap.at)] if need > TOLERANCE else []
    x0, y0, x1, y1 = bounds(shared)
    depth = min(x1 - x0, y1 - y0)  # near enough the way that one must move to come clear
    if need + depth <= TOLERANCE:
        return []
    return [Conflict(*names, need + depth, ((x0 + x1) / 2, (y0 + y1) / 2))]


def _boxes_apart(a: Bounds, b: Bounds) -> float:
    """Distance of two boxes, negative where they share room (less than that of what they hold)."""
    dx, dy = max(a[0] - b[2], b[0] - a[2]), max(a[1] - b[3], b[1] - a[3])
    if dx > 0 and dy > 0:
        return float((dx * dx + dy * dy) ** 0.5)
    return max(dx, dy)
