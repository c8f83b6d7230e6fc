"""May things lie so? Exact geometry, apart from any search.

The rules, for every two seats, within `TOLERANCE`: openings at least the web
apart; rooms above the face at least the larger of their two room gaps apart;
what lies or stands on the face is not over another's opening, nor another over
its. For every seat: its opening the margin from the blank's edge and the web
from every keep-out, its room inside the blank and over no keep-out.

Corner seats: the opening, drawn out to every edge nearer than the margin, is
what others keep the web from, and no margin is due; the item keeps its
clearance from the tray's wall, which stands the play beyond the blank's edge,
and its room stays inside the tray. Two of them may run together, or leave a
tongue thinner than the web, which is sawn away: their items stay both
clearances apart, neither over the other's opening, and the wood that is left is
one piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from insertgen.geometry.distance import gap_between
from insertgen.geometry.open_edge import opened_to_edges, wood_left
from insertgen.geometry.pose import move_region
from insertgen.geometry.region import (
    Region,
    bounds,
    box,
    common,
    covers,
    from_outline,
    is_empty,
    pieces,
    to_outlines,
    union,
)
from insertgen.model.figures import Point, Pose
from insertgen.model.job import Blank, Tray
from insertgen.model.layout import Layout
from insertgen.model.seat import Seat
from insertgen.model.shape import Store

__all__ = [
    "TOLERANCE",
    "WALL",
    "WOOD",
    "Bounds",
    "Conflict",
    "Footprint",
    "Held",
    "Spacing",
    "Stood",
    "conflicts",
    "footprint_of",
    "pair_conflicts",
    "stand",
    "stand_in",
    "wall_conflicts",
    "web_conflicts",
    "wood_pieces",
]

TOLERANCE = 1e-6
WALL = "wall"
WOOD = "wood"  # what corner seats leave of the blank falls apart

Bounds = tuple[float, float, float, float]


class Conflict(NamedTuple):
    """``id`` comes too near ``other``: another id, `WALL`, `WOOD`, or "keep-out: why".

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
    is judged. Of walls half of it, where there is room: as if each of two things
    brought its half. A thing as deep as the blank has nothing to give.
    """

    web: float
    margin: float
    extra: float = 0.0

    @property
    def inset(self) -> float:
        """What is asked on top of the margin."""
        return self.extra / 2


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """What a tray's wall holds of a corner seat: the item, below the face and above, and the gap it keeps."""

    item: Region
    whole: Region  # the item and its room
    clearance: float


@dataclass(frozen=True, slots=True, eq=False)
class Footprint:
    """A seat's opening (None: it only stands) and room as regions, shape frame."""

    id: str
    opening: Region | None
    room: Region
    room_gap: float
    room_inside: bool  # the room lies wholly in the opening
    on_face: bool = False
    held: Held | None = None  # of a corner seat


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
    on_face: bool = False
    held: Held | None = None


def footprint_of(seat: Seat) -> Footprint:
    """The regions of a seat."""
    item = seat.item
    opening = union(from_outline(piece) for piece in seat.opening) if seat.opening else None
    room = opening if opening is not None and seat.opening == (item.room,) else from_outline(item.room)
    inside, held = opening is not None and covers(opening, room), None
    if item.store is Store.CORNER:
        outline = from_outline(item.outline)
        held = Held(outline, outline if covers(outline, room) else union([outline, room]), seat.clearance)
    return Footprint(item.id, opening, room, item.room_gap, inside, item.on_face or opening is None, held)


def stand(footprint: Footprint, pose: Pose) -> Stood:
    """The seat at a pose; a corner seat not yet opened to any edge."""
    opening = move_region(footprint.opening, pose) if footprint.opening is not None else None
    same = opening is not None and footprint.opening is footprint.room
    room = opening if opening is not None and same else move_region(footprint.room, pose)
    around, held = bounds(opening) if opening is not None else None, footprint.held
    if held is not None:
        held = Held(move_region(held.item, pose), move_region(held.whole, pose), held.clearance)
    return Stood(
        footprint.id, opening, room, around, bounds(room), footprint.room_gap, footprint.room_inside,
        footprint.on_face, held,
    )  # fmt: skip


def stand_in(tray: Tray, footprint: Footprint, pose: Pose) -> Stood:
    """The seat at a pose in a tray; a corner seat opened to every edge of the blank nearer than the margin."""
    stood = stand(footprint, pose)
    if stood.held is None or stood.opening is None:
        return stood
    opening = opened_to_edges(stood.opening, tray.blank, tray.margin)
    if is_empty(
        opening
    ):  # pinned wholly beside the blank: what stands there is judged, there is nothing to cut
        return replace(stood, opening=None, opening_bounds=None, room_inside=False)
    # over the blank's edge the room reaches out of the opening, and nothing else may be there
    return replace(
        stood, opening=opening, opening_bounds=bounds(opening), room_inside=covers(opening, stood.room)
    )


def conflicts(tray: Tray, seats: Sequence[Seat], layout: Layout) -> list[Conflict]:
    """Everything in a layout that is nearer than the tray's rules allow; empty: it may be cut.

    Judges pinned things like all others.
    """
    by_id = {seat.item.id: seat for seat in seats}
    stood = [
        stand_in(tray, footprint_of(by_id[placement.id]), placement.pose) for placement in layout.placements
    ]
    spacing = Spacing(tray.web, tray.margin)
    found: list[Conflict] = []
    for index, one in enumerate(stood):
        found += wall_conflicts(one, tray, spacing)
        for other in stood[index + 1 :]:
            found += pair_conflicts(one, other, spacing)
    return found + _wood_conflicts(stood, tray)


def wall_conflicts(one: Stood, tray: Tray, spacing: Spacing) -> list[Conflict]:
    """What a seat has against the blank's edge, or the tray's wall, and the keep-outs."""
    found: list[Conflict] = []
    if one.held is not None:
        item = one.held.item
        found += _past_wall(one.id, item, bounds(item), tray.blank, one.held.clearance - tray.play)
        found += _past_wall(one.id, one.room, one.room_bounds, tray.blank, -tray.play)
    else:
        if one.opening is not None and one.opening_bounds is not None:
            found += _past_wall(one.id, one.opening, one.opening_bounds, tray.blank, spacing.margin)
        found += _past_wall(one.id, one.room, one.room_bounds, tray.blank, 0.0)
    for rect in tray.keep_out:
        (x, y), (width, depth) = rect.at, rect.size
        region, name = box(x, y, x + width, y + depth), f"keep-out: {rect.why}"
        around = (x, y, x + width, y + depth)
        if one.opening is not None and one.opening_bounds is not None:
            need = spacing.web + spacing.extra
            found += _too_near((one.id, name), (one.opening, one.opening_bounds), (region, around), need)
        found += _too_near((one.id, name), (one.room, one.room_bounds), (region, around), spacing.extra)
    return found


def pair_conflicts(a: Stood, b: Stood, spacing: Spacing) -> list[Conflict]:
    """What two seats have against each other; of two corner seats, only their items and rooms."""
    names, extra = (a.id, b.id), spacing.extra
    gap = max(a.room_gap, b.room_gap) + extra
    found: list[Conflict] = []
    if a.held is not None and b.held is not None:
        need = a.held.clearance + b.held.clearance + extra
        wholes = (a.held.whole, bounds(a.held.whole)), (b.held.whole, bounds(b.held.whole))
        found += _too_near(names, *wholes, need)
        for (whole, around), other in zip(wholes, (b, a), strict=True):
            if other.opening is not None and other.opening_bounds is not None:
                found += _too_near(names, (whole, around), (other.opening, other.opening_bounds), extra)
    else:
        found += web_conflicts(a, b, spacing)
        if not found and a.room_inside and b.room_inside and gap <= spacing.web + extra:
            return []  # rooms are further apart than the openings they lie in
    if a.on_face or b.on_face:
        if a.opening is not None and a.opening_bounds is not None:
            found += _too_near(names, (a.opening, a.opening_bounds), (b.room, b.room_bounds), extra)
        if b.opening is not None and b.opening_bounds is not None:
            found += _too_near(names, (a.room, a.room_bounds), (b.opening, b.opening_bounds), extra)
    found += _too_near(names, (a.room, a.room_bounds), (b.room, b.room_bounds), gap)
    return found


def web_conflicts(a: Stood, b: Stood, spacing: Spacing) -> list[Conflict]:
    """Whether two openings leave less than the web between them."""
    if a.opening is None or b.opening is None or a.opening_bounds is None or b.opening_bounds is None:
        return []
    need = spacing.web + spacing.extra
    return _too_near((a.id, b.id), (a.opening, a.opening_bounds), (b.opening, b.opening_bounds), need)


def wood_pieces(stood: Sequence[Stood], tray: Tray) -> list[Region]:
    """What corner seats leave of the blank, tongues thinner than the web sawn away, in pieces; largest first."""
    cuts = [one.opening for one in stood if one.held is not None and one.opening is not None]
    return list(pieces(wood_left(tray.blank, union(cuts), tray.web)))


def _wood_conflicts(stood: Sequence[Stood], tray: Tray) -> list[Conflict]:
    corners = [one.id for one in stood if one.held is not None]
    if not corners:
        return []
    left = wood_pieces(stood, tray)
    if len(left) == 1:
        return []
    width, depth = tray.blank.width, tray.blank.depth
    x0, y0, x1, y1 = bounds(left[1]) if left else (0.0, 0.0, width, depth)
    return [Conflict(corners[-1], WOOD, tray.web, ((x0 + x1) / 2, (y0 + y1) / 2))]


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
