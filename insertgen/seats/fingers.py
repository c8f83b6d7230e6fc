"""Finger recesses: where two fingers get at an item, and the bays they need."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from insertgen.geometry.chord import chords
from insertgen.geometry.distance import nearest, outside_by
from insertgen.geometry.offset import swept
from insertgen.geometry.region import Region, area, bounds, centre_of_mass, common, to_outlines, union
from insertgen.model.figures import Point
from insertgen.model.item import Item
from insertgen.rules import FINGER_REACH, FINGER_WIDTH

__all__ = ["Bay", "bays_of", "joined"]

#: Lines tried across an item: so many directions, and along it every pad's width up to this share of its size off the balance point.
DIRECTIONS = 24
STATIONS = 0.3

#: What a finger presses on, and how thick its tip is (FAA HFDS appendix B: a fingertip is less than the 16 to 23 of its joint).
PAD = 6.0
TIP = 14.0

#: How much a wall may lean over a pad's width and still be gripped: 35 degrees.
SLANT = 0.7

#: Being off the balance point by 1 mm counts as being so much wider: lifted off it, the item tips.
TILT = 2.0

#: The share of a fingertip's room and of a bay that must be free of the item; and how many places are looked at.
FREE_LEAST = 0.85
TRIED = 200


@dataclass(frozen=True, slots=True, eq=False)
class Bay:
    """A finger recess: what it takes, shape frame, and where it starts at the item's edge."""

    region: Region
    root: Point


def bays_of(item: Item, solid: Region) -> tuple[Bay, ...]:
    """The finger recesses of an item; none where none are due.

    Two bays, opposite each other across the item where it is narrow near its
    balance point (the centre of its area), or one at each place that was asked
    for. A bay is as wide as a finger with some room, round-ended, and reaches
    out from the item by `FINGER_REACH`.

    Parameters
    ----------
    solid : Region
        All of the item that is below the face, without holes.
    """
    if item.grips is None:
        ends = _across(solid)
        if ends is None:
            return ()
        (ax, ay), (bx, by) = ends
        length = math.hypot(bx - ax, by - ay)
        out = (bx - ax) / length, (by - ay) / length
        back = (-out[0], -out[1])
        return Bay(_bay((ax, ay), back), (ax, ay)), Bay(_bay((bx, by), out), (bx, by))
    return tuple(_asked(solid, at) for at in item.grips)


def joined(bays: Sequence[Bay], solid: Region) -> Region:
    """What recesses take at the depth of one step.

    To a narrower step below a wider one they run on, as wide as a finger; to one further away than a finger
    reaches they do not go down.
    """
    whole = []
    for bay in bays:
        edge, inside = nearest(solid, bay.root)
        if inside or math.dist(edge, bay.root) < 1e-6:
            whole.append(bay.region)
        elif math.dist(edge, bay.root) <= FINGER_REACH:
            whole.append(union([bay.region, swept(bay.root, edge, FINGER_WIDTH / 2)]))
    return union(whole)


def _bay(start: Point, out: Point) -> Region:
    reach = FINGER_REACH - FINGER_WIDTH / 2
    return swept(start, (start[0] + out[0] * reach, start[1] + out[1] * reach), FINGER_WIDTH / 2)


def _asked(solid: Region, at: Point) -> Bay:
    """A bay from the item's edge out to where a finger was asked for; inside the item, out of its nearest edge."""
    edge, inside = nearest(solid, at)
    dx, dy = at[0] - edge[0], at[1] - edge[1]
    length = math.hypot(dx, dy)
    if length < 1e-6:  # on the edge: straight away from the middle
        middle = centre_of_mass(solid)
        dx, dy = edge[0] - middle[0], edge[1] - middle[1]
        length = math.hypot(dx, dy) or 1.0
    elif inside:
        dx, dy = -dx, -dy
    bay = _bay(edge, (dx / length, dy / length))
    if not inside and length > FINGER_REACH - FINGER_WIDTH / 2:
        bay = union([bay, swept(edge, at, FINGER_WIDTH / 2)])
    return Bay(bay, edge)


def _across(solid: Region) -> tuple[Point, Point] | None:
    """The two opposite places of the edge that fingers best get hold of.

    The narrowest of those where both walls stand about square to the line and
    two fingertips find room; where none has room for both, the one with most.
    """
    best: tuple[float, tuple[Point, Point]] | None = None
    # of a thing bent all over no wall stands square: then any stretch across it will do
    for ends in _clear_first(solid, _narrow_first(solid, SLANT) or _narrow_first(solid, math.inf))[:TRIED]:
        free = _free(solid, ends)
        if free >= FREE_LEAST:
            return ends
        if best is None or free > best[0]:
            best = free, ends
    return best[1] if best else None


def _narrow_first(solid: Region, slant: float) -> list[tuple[Point, Point]]:
    """Stretches across the item between walls that lean no more than ``slant``, narrow ones near its balance point first."""
    ring = to_outlines(solid)[0].outer
    middle = centre_of_mass(solid)
    x0, y0, x1, y1 = bounds(solid)
    count = max(1, math.ceil(STATIONS * math.hypot(x1 - x0, y1 - y0) / PAD))
    turns = [math.pi * number / DIRECTIONS for number in range(DIRECTIONS)]
    lines = [
        ((middle[0] - shift * math.sin(turn), middle[1] + shift * math.cos(turn)), math.degrees(turn))
        for turn in turns
        for shift in (PAD * step for step in range(-count - 1, count + 2))
    ]
    found = chords(ring, lines)
    row = 2 * count + 3
    ranked = []
    for number in range(len(lines)):
        before, here, after = (found[number - 1], found[number], found[(number + 1) % len(found)])
        if number % row in (0, row - 1) or here is None:
            continue
        turn = turns[number // row]
        if slant == math.inf or all(one is not None and _square(one, here, turn, slant) for one in (before, after)):
            off = math.dist(((here[0][0] + here[1][0]) / 2, (here[0][1] + here[1][1]) / 2), middle)
            # to 0.1 mm: round things are as wide in every direction, and then the first counts
            ranked.append((round(math.dist(*here) + TILT * off, 1), number, here))
    return [here for _, _, here in sorted(ranked)]


def _clear_first(solid: Region, stretches: list[tuple[Point, Point]]) -> list[tuple[Point, Point]]:
    """Those first beside which a fingertip gets down clear of the item, the further out the better; between the teeth of a comb none does."""
    if not stretches:
        return []
    ends = np.array(stretches)  # n x 2 ends x 2
    out = ends - ends[:, ::-1]
    out /= np.maximum(np.linalg.norm(out, axis=2, keepdims=True), 1e-9)
    ways = np.linspace(TIP / 2 + 1, FINGER_REACH - TIP / 2, 3)
    spots = ends[:, :, None] + ways[:, None] * out[:, :, None]
    room = outside_by(solid, spots.reshape(-1, 2)).reshape(len(ends), 2, -1).min(axis=1)
    steps_clear = np.logical_and.accumulate(room >= FREE_LEAST * TIP / 2, axis=1).sum(axis=1)
    return [stretches[at] for at in np.argsort(-steps_clear, kind="stable")]


def _square(one: tuple[Point, Point], here: tuple[Point, Point], turn: float, slant: float) -> bool:
    """Whether both walls between two neighbouring stretches stand about square to them."""
    way = math.cos(turn), math.sin(turn)
    return all(abs((p[0] - q[0]) * way[0] + (p[1] - q[1]) * way[1]) <= slant * PAD for p, q in zip(one, here, strict=True))


def _free(solid: Region, ends: tuple[Point, Point]) -> float:
    """The least share of a fingertip's room, and of a bay, that the item leaves free on either side."""
    (ax, ay), (bx, by) = ends
    length = math.hypot(bx - ax, by - ay)
    if length < 1e-3:
        return 0.0
    out = (bx - ax) / length, (by - ay) / length
    shares = []
    for start, way in (((ax, ay), (-out[0], -out[1])), ((bx, by), out)):
        near, far = TIP / 2 + 1, FINGER_REACH - TIP / 2
        tip = swept(_ahead(start, way, near), _ahead(start, way, far), TIP / 2)
        bay = _bay(_ahead(start, way, FINGER_WIDTH / 2), way)
        shares += [1 - area(common(tip, solid)) / area(tip), 1 - area(common(bay, solid)) / area(bay)]
    return min(shares)


def _ahead(start: Point, way: Point, reach: float) -> Point:
    return start[0] + way[0] * reach, start[1] + way[1] * reach
