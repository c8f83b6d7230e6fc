"""Finger recesses: where two fingers get at an item, and the bays they need."""

from __future__ import annotations

import math

from insertgen.geometry.chord import chords
from insertgen.geometry.distance import nearest
from insertgen.geometry.offset import swept
from insertgen.geometry.region import Region, area, bounds, centre_of_mass, common, empty, to_outlines, union
from insertgen.model import Item, Point
from insertgen.rules import FINGER_REACH, FINGER_WIDTH

__all__ = ["recesses"]

#: Lines tried across an item: this many directions, at these shares of its size along it from the balance point.
DIRECTIONS = 36
STATIONS = (0.0, -0.06, 0.06, -0.12, 0.12)

#: Being off the balance point by 1 mm counts as being so much wider.
TILT = 1.0

#: A bay that the item itself fills for more than this share is no place for a finger.
FILLED_MOST = 0.35


def recesses(item: Item, solid: Region) -> Region:
    """What finger recesses take, shape frame; empty where none are due.

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
            return empty()
        (ax, ay), (bx, by) = ends
        length = math.hypot(bx - ax, by - ay)
        out = (bx - ax) / length, (by - ay) / length
        return union([_bay((ax, ay), (-out[0], -out[1])), _bay((bx, by), out)])
    return union([_asked(solid, at) for at in item.grips]) if item.grips else empty()


def _bay(start: Point, out: Point) -> Region:
    reach = FINGER_REACH - FINGER_WIDTH / 2
    return swept(start, (start[0] + out[0] * reach, start[1] + out[1] * reach), FINGER_WIDTH / 2)


def _asked(solid: Region, at: Point) -> Region:
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
    return bay if inside or length <= FINGER_REACH - FINGER_WIDTH / 2 else union([bay, swept(edge, at, FINGER_WIDTH / 2)])


def _across(solid: Region) -> tuple[Point, Point] | None:
    """The two opposite places of the edge that fingers best get hold of."""
    ring = to_outlines(solid)[0].outer
    middle = centre_of_mass(solid)
    x0, y0, x1, y1 = bounds(solid)
    size = math.hypot(x1 - x0, y1 - y0)
    shifts = [share * size for share in STATIONS]
    lines = [
        ((middle[0] - shift * math.sin(turn), middle[1] + shift * math.cos(turn)), math.degrees(turn))
        for turn in (math.pi * number / DIRECTIONS for number in range(DIRECTIONS))
        for shift in shifts
    ]
    # to 0.1 mm: round things are as wide in every direction, and then the first counts
    found = [
        (round(math.dist(*ends) + TILT * abs(shifts[number % len(shifts)]), 1), number, ends)
        for number, ends in enumerate(chords(ring, lines))
        if ends is not None and math.dist(*ends) > 1e-3
    ]
    for _, _, ends in sorted(found):
        if _free(solid, ends):
            return ends
    return min(found)[2] if found else None


def _free(solid: Region, ends: tuple[Point, Point]) -> bool:
    """Whether neither bay is filled by another limb of the item."""
    (ax, ay), (bx, by) = ends
    length = math.hypot(bx - ax, by - ay)
    out = (bx - ax) / length, (by - ay) / length
    for start, way in (((ax, ay), (-out[0], -out[1])), ((bx, by), out)):
        tip = start[0] + way[0] * FINGER_REACH / 2, start[1] + way[1] * FINGER_REACH / 2
        ahead = swept(tip, (start[0] + way[0] * FINGER_REACH, start[1] + way[1] * FINGER_REACH), FINGER_WIDTH / 3)
        if area(common(ahead, solid)) > FILLED_MOST * area(ahead):
            return False
    return True
