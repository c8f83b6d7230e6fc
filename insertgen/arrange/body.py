"""What the search works with: a seat's signed distances, samples and allowed turns.

Only ever used to propose; what is proposed is proved by `insertgen.arrange.feasible`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from insertgen.geometry.pose import move_outline
from insertgen.geometry.region import area, bounds, covers, from_outline
from insertgen.model import Blank, Outline, Pose, Seat, Store, Turn

__all__ = ["Body", "Field", "angles", "bodies"]

Floats = NDArray[np.float64]

PAD = 12.0  # how far round a figure its distances are tabled
SAMPLES = 4.0  # no further apart along the boundary, corners always among them
NODES = 9000  # about how many a table has
ANGLES = {
    Turn.ANY: tuple(range(0, 360, 15)),
    Turn.QUARTER: (0, 90, 180, 270),
    Turn.HALF: (0, 180),
    Turn.FIXED: (0,),
}


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """Signed distance to a figure, negative inside, tabled at nodes ``origin + k * step``."""

    table: Floats  # indexed [y, x]
    origin: tuple[float, float]
    step: float
    samples: Floats  # (n, 2) along the boundary


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """A seat as the search sees it, mirrored already where the item asks for it."""

    seat: Seat
    key: int  # equal seats share it
    opening: Field | None
    room: Field
    area: float  # of the opening, or of the room of what stands
    span: float  # the longest side of its bounds
    turns: tuple[int, ...]
    room_inside: (
        bool  # the room lies inside the opening: openings apart say all if the web is no less than the gap
    )
    windows: dict[int, tuple[tuple[float, float], tuple[float, float]]] = field(default_factory=dict)

    @property
    def id(self) -> str:
        return self.seat.item.id

    @property
    def rack(self) -> bool:
        return self.seat.item.store in (Store.BORE, Store.PEG)

    @property
    def gap(self) -> float:
        return self.seat.item.room_gap


def angles(turn: Turn) -> tuple[int, ...]:
    """Degrees that a turn allows the search to try."""
    return ANGLES[turn]


def bodies(seats: tuple[Seat, ...], blank: Blank, margin: float) -> list[Body]:
    """One body a seat; equal seats are worked out once."""
    made: dict[tuple[object, ...], Body] = {}
    result = []
    for seat in seats:
        item = seat.item
        key = (seat.opening, item.room, item.room_gap, item.turn, item.mirror)
        if key not in made:
            made[key] = _body(seat, len(made), blank, margin)
        like = made[key]
        result.append(
            Body(
                seat,
                like.key,
                like.opening,
                like.room,
                like.area,
                like.span,
                like.turns,
                like.room_inside,
                like.windows,
            )
        )
    return result


def _body(seat: Seat, key: int, blank: Blank, margin: float) -> Body:
    item = seat.item
    flip = Pose(0.0, 0.0, 0.0, item.mirror)
    room = move_outline(item.room, flip)
    opening = move_outline(seat.opening, flip) if seat.opening else None
    room_region = from_outline(room)
    region = from_outline(opening) if opening else room_region
    x0, y0, x1, y1 = bounds(region)
    windows = {}
    for angle in angles(item.turn):
        window = _window(seat, Pose(0.0, 0.0, float(angle), item.mirror), blank, margin)
        if window is not None:
            windows[angle] = window
    inside = opening is not None and covers(region, room_region)
    opening_field = _field(opening) if opening else None
    return Body(
        seat,
        key,
        opening_field,
        opening_field if opening_field is not None and opening == room else _field(room),
        area(region),
        max(x1 - x0, y1 - y0),
        tuple(windows),
        inside,
        windows,
    )


def _window(
    seat: Seat, turned: Pose, blank: Blank, margin: float
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Where the origin may go for the seat to lie inside the blank; None: nowhere."""
    spans = []
    lows, highs = [-math.inf, -math.inf], [math.inf, math.inf]
    spans.append((bounds(from_outline(move_outline(seat.item.room, turned))), 0.0))
    if seat.opening:
        spans.append((bounds(from_outline(move_outline(seat.opening, turned))), margin))
    for (x0, y0, x1, y1), edge in spans:
        lows = [max(lows[0], edge - x0), max(lows[1], edge - y0)]
        highs = [min(highs[0], blank.width - edge - x1), min(highs[1], blank.depth - edge - y1)]
    if lows[0] > highs[0] + 1e-6 or lows[1] > highs[1] + 1e-6:
        return None
    return (lows[0], max(lows[0], highs[0])), (lows[1], max(lows[1], highs[1]))


def _field(outline: Outline) -> Field:
    rings = [np.asarray(ring, dtype=float) for ring in (outline.outer, *outline.holes)]
    x0, y0 = rings[0].min(axis=0) - PAD
    x1, y1 = rings[0].max(axis=0) + PAD
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
