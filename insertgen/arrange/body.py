"""What the search works with: a seat's signed distances, samples and allowed turns.

Only ever used to propose; what is proposed is proved by `insertgen.arrange.feasible`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from insertgen.arrange.feasible import Footprint, Stood, footprint_of, stand
from insertgen.geometry.pose import move_outline
from insertgen.geometry.region import area, bounds
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Facing, Item, Turn
from insertgen.model.job import Blank
from insertgen.model.seat import Seat
from insertgen.model.shape import Store

__all__ = ["Body", "Field", "Member", "Window", "angles", "bodies", "facing_turn", "field_of", "window_of"]

Floats = NDArray[np.float64]
Window = tuple[tuple[float, float], tuple[float, float]]

PAD = 12.0  # how far round a figure its distances are tabled
SAMPLES = 4.0  # no further apart along the boundary, corners always among them
NODES = 9000  # about how many a table has
ANGLES = {
    Turn.ANY: tuple(range(0, 360, 15)),
    Turn.QUARTER: (0, 90, 180, 270),
    Turn.HALF: (0, 180),
    Turn.FIXED: (0,),
}
FACINGS = {Facing.RIGHT: 0, Facing.BACK: 90, Facing.LEFT: 180, Facing.FRONT: 270}
HEAVY = 1.0  # kg from which a thing goes to the front; common practice, no source


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """Signed distance to a figure, negative inside, tabled at nodes ``origin + k * step``."""

    table: Floats  # indexed [y, x]
    origin: tuple[float, float]
    step: float
    samples: Floats  # (n, 2) along the boundary


@dataclass(frozen=True, slots=True, eq=False)
class Member:
    """One of several that are laid out as one body, at its pose in that body's frame."""

    body: Body
    pose: Pose
    turns: bool  # with the whole; what looks the same at every quarter turn keeps its own angle


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """A seat as the search sees it, mirrored already where the item asks for it.

    Or several as one: then ``seat`` is the first one's, which the others are kept beside.
    """

    seat: Seat
    key: int  # equal seats share it
    footprint: Footprint
    opening: Field | None
    room: Field
    area: float  # of the opening, or of the room of what lies or stands on the face
    span: float  # the longest side of its bounds
    allowed: tuple[int, ...]  # turns that the item may have, whether it fits so or not
    turns: tuple[int, ...]
    windows: dict[int, Window]  # by turn: where the origin may go, least and greatest x, then y
    members: tuple[Member, ...] = ()
    columns: int = 0  # of equal things in a grid; 0: no grid

    def window(self, angle: int, inset: float) -> Window:
        """Where the origin may go, ``inset`` further off the walls or in the middle where there is less."""
        spans = []
        for low, high in self.windows[angle]:
            less = min(inset, (high - low) / 2)
            spans.append((low + less, max(low + less, high - less)))  # in the middle they differ by a last bit
        return spans[0], spans[1]

    @property
    def id(self) -> str:
        return self.seat.item.id

    @property
    def mirror(self) -> bool:
        """Whether it lies mirrored: because the item asks for it, or its pin."""
        return not self.members and _mirrored(self.seat)

    @property
    def room_inside(self) -> bool:
        """In the opening: openings apart say all if the web is no less than the gap."""
        return self.footprint.room_inside

    @property
    def on_face(self) -> bool:
        """Lies or stands on the face: over no opening, and nothing over its own."""
        return self.footprint.on_face

    @property
    def extent(self) -> Field:
        """The figure whose reach counts when it is placed: the opening, or the room of what is on the face."""
        return self.room if self.opening is None or self.on_face else self.opening

    @property
    def rack(self) -> bool:
        if self.members:
            return all(member.body.rack for member in self.members)
        return self.seat.item.store in (Store.BORE, Store.PEG)

    @property
    def group(self) -> str | None:
        return self.seat.item.group

    @property
    def front(self) -> bool:
        """Better at the front: asked for, or heavy."""
        weight = self.seat.item.shape.weight_kg
        return self.seat.item.front or (weight is not None and weight > HEAVY)

    @property
    def corner(self) -> bool:
        """Sawn out of the blank's corner or edge."""
        return self.footprint.held is not None

    @property
    def straight(self) -> tuple[int, ...]:
        """The quarter turns among its turns; all if it has none."""
        return tuple(turn for turn in self.turns if turn % 90 == 0) or self.turns

    @property
    def gap(self) -> float:
        return self.footprint.room_gap


def angles(turn: Turn) -> tuple[int, ...]:
    """Degrees that a turn allows the search to try."""
    return ANGLES[turn]


def facing_turn(item: Item) -> int:
    """The turn at which its +x end points where the item asks for; mirrored, that end lies at -x."""
    assert item.face is not None
    return (FACINGS[item.face] + (180 if item.mirror else 0)) % 360


def bodies(
    seats: tuple[Seat, ...], blank: Blank, margin: float, play: float = 0.0, *, unfaced: frozenset[str] = frozenset()
) -> list[Body]:
    """One body a seat; equal seats are worked out once. The tray's wall is ``play`` beyond the blank's edge.

    What is ``unfaced`` may take all its turns, whichever way it was asked to face.
    """
    made: dict[tuple[object, ...], Body] = {}
    result = []
    for seat in seats:
        item = seat.item
        corner = (item.outline, seat.clearance) if item.store is Store.CORNER else None
        face = None if item.id in unfaced else item.face
        key = (seat.opening, item.room, item.room_gap, item.turn, face, _mirrored(seat), item.on_face, corner)
        if key not in made:
            made[key] = _body(seat, len(made), blank, margin, play, angles(item.turn) if face is None else (facing_turn(item),))
        result.append(replace(made[key], seat=seat, footprint=replace(made[key].footprint, id=item.id)))
    return result


def _mirrored(seat: Seat) -> bool:
    return seat.item.mirror or (seat.item.pinned is not None and seat.item.pinned.mirror)


def _body(seat: Seat, key: int, blank: Blank, margin: float, play: float, allowed: tuple[int, ...]) -> Body:
    flip, footprint = Pose(0.0, 0.0, 0.0, _mirrored(seat)), footprint_of(seat)
    room = field_of((move_outline(seat.item.room, flip),))
    opening = room if seat.opening == (seat.item.room,) else None
    if seat.opening and opening is None:
        opening = field_of(tuple(move_outline(piece, flip) for piece in seat.opening))
    region = footprint.room if footprint.opening is None or footprint.on_face else footprint.opening
    x0, y0, x1, y1 = bounds(region)
    windows = {}
    for angle in allowed:
        window = window_of(stand(footprint, replace(flip, angle_deg=float(angle))), blank, margin, play)
        if window is not None:
            windows[angle] = window
    return Body(
        seat=seat,
        key=key,
        footprint=footprint,
        opening=opening,
        room=room,
        area=area(region),
        span=max(x1 - x0, y1 - y0),
        allowed=allowed,
        turns=tuple(windows),
        windows=windows,
    )


def window_of(stood: Stood, blank: Blank, margin: float, play: float) -> Window | None:
    """Where the origin may go for the seat to lie inside the blank, a corner seat inside the tray; None: nowhere."""
    lows, highs = [-math.inf, -math.inf], [math.inf, math.inf]
    spans = [(stood.room_bounds, 0.0)]
    if stood.held is not None:
        spans = [(stood.room_bounds, -play), (bounds(stood.held.item), stood.held.clearance - play)]
    elif stood.opening_bounds is not None:
        spans.append((stood.opening_bounds, margin))
    for (x0, y0, x1, y1), edge in spans:
        lows = [max(lows[0], edge - x0), max(lows[1], edge - y0)]
        highs = [min(highs[0], blank.width - edge - x1), min(highs[1], blank.depth - edge - y1)]
    if lows[0] > highs[0] + 1e-6 or lows[1] > highs[1] + 1e-6:
        return None
    return (lows[0], max(lows[0], highs[0])), (lows[1], max(lows[1], highs[1]))


def field_of(outlines: tuple[Outline, ...]) -> Field:
    rings = [np.asarray(ring, dtype=float) for outline in outlines for ring in (outline.outer, *outline.holes)]
    every = np.vstack(rings)
    x0, y0 = every.min(axis=0) - PAD
    x1, y1 = every.max(axis=0) + PAD
    step = min(2.0, max(0.5, math.sqrt((x1 - x0) * (y1 - y0) / NODES)))
    xs, ys = np.arange(x0, x1 + step, step), np.arange(y0, y1 + step, step)
    fine = np.vstack([_along(ring, step / 4) for ring in rings])
    grid = np.column_stack([a.ravel() for a in np.meshgrid(xs, ys)])
    distance = np.asarray(cKDTree(fine).query(grid)[0]).reshape(len(ys), len(xs))
    inside = _inside(rings, xs, ys)
    samples = np.vstack([_along(ring, SAMPLES) for ring in rings])
    return Field(np.where(inside, -distance, distance), (float(x0), float(y0)), step, samples)


def _along(ring: Floats, spacing: float) -> Floats:
    """Points along a ring, its corners among them, no further apart than ``spacing``; crumbs thinned out."""
    pieces = []
    run = math.inf
    for start, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        length = math.hypot(*(end - start))
        count = max(1, math.ceil(length / spacing))
        if count == 1 and run + length < spacing:
            run += length
            continue
        run = 0.0
        pieces.append(start + (end - start) * (np.arange(count) / count)[:, None])
    return np.vstack(pieces)


def _inside(rings: list[Floats], xs: Floats, ys: Floats) -> NDArray[np.bool_]:
    """Even-odd rule at every node, a scan line a row."""
    inside = np.zeros((len(ys), len(xs)), dtype=bool)
    for ring in rings:
        ends = np.roll(ring, -1, axis=0)
        for (ax, ay), (bx, by) in zip(ring, ends, strict=True):
            low, high = np.searchsorted(ys, (min(ay, by), max(ay, by)))
            if low == high:
                continue
            cross = ax + (ys[low:high] - ay) * (bx - ax) / (by - ay)
            inside[low:high] ^= xs[None, :] > cross[:, None]
    return inside
