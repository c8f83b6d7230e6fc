"""The opening a round cutter makes for an outline: clearance all round, corners relieved, channels widened.

What a cutter of radius r reaches of the wanted opening is its opening by a disc
of r. In an inside corner of angle t that leaves a gap of r - (r - c) / sin(t/2)
to the item; where that is below the least gap the cutter is sent further into
the corner, along its bisector (a relief); a stretch narrower than the cutter is
widened to the cutter's own width.
"""

from __future__ import annotations

import math

from insertgen.geometry.distance import farthest
from insertgen.geometry.offset import grown, opened, shrunk, swept
from insertgen.geometry.region import (
    Region,
    area,
    common,
    covers,
    is_empty,
    minus,
    pieces,
    union,
    without_holes,
)

__all__ = ["opening_for", "without_slivers"]

#: How far a relief goes beyond what is needed, so that rounding never leaves it short.
SPARE = 0.01

#: By how much more than a square corner's rounding a tip of wood must stand out to be cut away.
SPARE_TIP = 0.1

#: Share of a missing piece that one relief may leave for the next.
LEFT = 0.1

#: Half the width of what is no piece of an opening, but the difference of two polygons for the same arc.
HAIR = 0.002

#: Rounds of relief, each for so many of the pieces still missing, the largest first (small ones often go with
#: them); after the last the rest is cut off without finesse.
ROUNDS = 8
AT_ONCE = 24


def opening_for(item: Region, *, clearance: float, radius: float, least_gap: float) -> Region:
    """The region to be cut so that ``item`` drops in, every point of it within reach of the cutter.

    Parameters
    ----------
    item : Region
        Plan of the item; its holes are cut away too (no island of wood stands in a pocket).
    clearance : float
        Gap all round, expected error included.
    radius : float
        Of the cutter; 0 for a saw, which turns any corner.
    least_gap : float
        To be left everywhere, inside corners included.
    """
    solid = without_holes(item)
    wanted = without_holes(grown(solid, clearance))
    if radius <= 0:
        return wanted
    locus = shrunk(wanted, radius)
    reached = grown(locus, radius)
    needed = grown(solid, least_gap + HAIR)  # by what is dropped as a hair
    for _ in range(ROUNDS):
        missing = _thick(minus(needed, reached))
        if not missing:
            return without_holes(reached)
        reached = union([reached, *(_reach(piece, wanted, locus, radius) for piece in missing[:AT_ONCE])])
    # what is still missing is crumbs: the cutter is set down on each
    return without_holes(union([reached, *(grown(piece, radius) for piece in _thick(minus(needed, reached)))]))


def _thick(region: Region) -> list[Region]:
    """The pieces that are more than what the chords of two arcs leave between them, without such hairs."""
    return list(pieces(opened(region, HAIR)))


def without_slivers(opening: Region, thinnest: float, radius: float = 0.0) -> Region:
    """An opening with the tongues of wood cut away that stand into it and are thinner than ``thinnest``.

    They would break off. Where that opens a passage narrower than the cutter, the cutter is led through it. A square corner of wood is no such tongue; the tip of one sharper than 82 degrees is.

    >>> from insertgen.geometry.region import box
    >>> comb = minus(box(0, 0, 40, 30), union([box(10, 10, 11, 31), box(20, 10, 30, 31)]))
    >>> round(area(without_slivers(comb, 2.0)))  # 1200 - 20 - 200, and the tongue of 1 x 20 too, but for its root
    1000
    """
    closed = shrunk(grown(opening, thinnest / 2), thinnest / 2)
    # of a square corner so much lies beyond the disc in it, and no further out; less is no tongue
    most, least = (math.sqrt(2) - 1) * thinnest / 2 + SPARE_TIP, (1 - math.pi / 4) * (thinnest / 2) ** 2
    tips = [
        piece
        for piece in pieces(minus(closed, opening))
        if area(piece) > least and farthest(piece, closed.boundary).distance > most
    ]
    if not tips:
        return opening
    wanted = without_holes(union([opening, *(grown(tip, SPARE) for tip in tips)]))
    narrow = [tip for tip in tips if radius > 0 and _narrow(wanted, tip, radius)]
    return _followed(wanted, radius, union([grown(tip, 2 * radius) for tip in narrow])) if narrow else wanted


def _narrow(wanted: Region, tip: Region, radius: float) -> bool:
    """Whether the cutter does not get everywhere just round where a tip of wood was; looked at there only."""
    about = common(wanted, grown(tip, 5 * radius))
    lost = common(minus(about, opened(about, radius)), grown(tip, 2 * radius))
    return bool(_thick(lost))


def _followed(wanted: Region, radius: float, within: Region | None = None) -> Region:
    """A region, and what the cutter takes besides to get everywhere in it, or in what of it lies ``within``."""
    locus = shrunk(wanted, radius)
    reached = grown(locus, radius)
    for _ in range(ROUNDS):
        lost = minus(wanted, reached)
        missing = _thick(lost if within is None else common(lost, within))
        if not missing:
            break
        reached = union([reached, *(_reach(piece, wanted, locus, radius) for piece in missing[:AT_ONCE])])
    return without_holes(union([wanted, reached]))


def _reach(piece: Region, wanted: Region, locus: Region, radius: float) -> Region:
    """What the cutter cuts to get at one missing piece; ``locus`` is where its centre may go anyhow."""
    if not is_empty(locus):
        away = farthest(piece, locus)
        if away.distance <= 3 * radius:  # a corner: go at its tip straight from the nearest place
            ahead = (away.distance - radius + SPARE) / away.distance
            tip = (
                away.to[0] + (away.at[0] - away.to[0]) * ahead,
                away.to[1] + (away.at[1] - away.to[1]) * ahead,
            )
            swath = swept(away.to, tip, radius)
            if area(minus(piece, swath)) <= LEFT * area(piece):  # else it is a neck between two wide places
                return swath
    return _channel(piece, wanted, radius)


def _channel(piece: Region, wanted: Region, radius: float) -> Region:
    """A stretch too narrow for the cutter, widened evenly and as little as does.

    The cutter's way must not break where the stretch is narrowest: the teeth of
    wood left there would almost touch the item.
    """
    near = grown(piece, radius)
    whole = len(pieces(common(wanted, near)))
    # the cutter's way is the stretch taken in evenly; where that breaks however little, what it is grown to first
    for grow_first in (False, True):
        low, high, best = 0.0, radius, None
        for _ in range(12):
            more = (low + high) / 2
            way = shrunk(grown(wanted, more), radius) if grow_first else shrunk(wanted, radius - more)
            centres = common(way, near)
            swath = grown(centres, radius)
            if not is_empty(centres) and len(pieces(centres)) <= whole and covers(swath, piece):
                high, best = more, swath
            else:
                low = more
        if best is not None:
            return best
    return grown(piece, radius)
