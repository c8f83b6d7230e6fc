"""Bows of wire between two parts of an item, as they are seen close: joined to its rings, with the holes that they close."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.geometry.region import union
from insertgen.photo import strips
from insertgen.photo.boundary import Boundary
from insertgen.photo.brink import Brink
from insertgen.photo.camera import Array
from insertgen.photo.light import Float
from insertgen.photo.load import Bool

__all__ = ["with_wires"]

# px of a 2400 px photo
_RIM = 4.0  # nearer to the item it is its edge that is seen otherwise
_END = 7.0  # nearer than that a wire ends at the item
_REACH = 20.0  # from the item, at least
_HALF = 8.0  # half of the greatest width
_BENT = 10.0  # from the straight way between its ends, at least: a line on the bench may pass under two parts of the item
_MAY = -2.5  # log odds: what the rough ones deny, and this network sees for all that


def with_wires(boundary: Boundary, brink: Brink, least_hole: float) -> Boundary:
    """The rings with the bows that begin and end at them, by the network that sees the photo's own pixels.

    A spring of wire between the handles of scissors is two pixels wide where the photo is seen as a whole, and no voice there knows it
    from grain; nor do rings drawn onto edges follow it, since both its sides lie within their reach. The bounds were set by
    109 photos (78 of ``tests/bench/render_photos.py``, 31 that may be learnt from): what ends at nothing was a scratch or grain more often than a point
    (see `tips` for those), and what closes no hole was the rim of a shadow.

    Parameters
    ----------
    boundary : Boundary
        Photo px.
    brink : Brink
    least_hole : float
        Photo px2: a strip that closes no hole of that size is no bow; smaller ones that a bow closes are filled.
    """
    bows = _bows(strips.pixels_inside(boundary, brink), brink.odds)
    if not bows.any():
        return boundary
    whole = before = strips.as_region(boundary)
    for bow in strips.regions_of(bows, brink):
        joined = union([whole, bow])
        if len(strips.holes_of(joined, least_hole)) > len(strips.holes_of(whole, least_hole)):
            whole = joined
    return boundary if whole is before else strips.boundary_of(whole, least_hole)


def _bows(inside: Bool, odds: Float) -> Bool:
    """Thin bows outside that begin and end at the item, a little of it with them."""
    said = (odds > _MAY) & ~inside
    found = strips.beyond(inside, said, _RIM)
    bows = np.zeros(inside.shape, np.uint8)
    for at in np.nonzero((found.reach >= _REACH) & (found.half <= _HALF))[0]:
        bow = np.asarray(found.label == at)
        ends = _ends(bow & (found.away < _END))
        if at > 0 and len(ends) > 1 and _bend(bow, ends) >= _BENT:
            bows[strips.core_of(bow, odds)] = 1
            strips.lead_on(bows, ends, inside)
    side = 2 * (int(_RIM) + strips.LAP) + 1
    near = cv2.dilate(bows, np.ones((side, side), np.uint8)) > 0
    return np.asarray(near & ((bows > 0) | (said & (found.away <= _RIM)) | strips.rim_of(inside)))


def _ends(places: Bool) -> Array:
    """Middles of the places where a strip comes near the item (n x 2, x and y)."""
    joined = cv2.dilate(places.astype(np.uint8), np.ones((3, 3), np.uint8))
    return np.asarray(cv2.connectedComponentsWithStats(joined)[3][1:])


def _bend(bow: Bool, ends: Array) -> float:
    """How far a strip runs from the straight way between the two of its ends that lie farthest apart."""
    apart = np.linalg.norm(ends[:, None] - ends[None], axis=2)
    first, last = np.unravel_index(int(apart.argmax()), apart.shape)
    way = (ends[last] - ends[first]) / apart[first, last]
    beyond_way = np.argwhere(bow)[:, ::-1] - ends[first]
    return float(np.abs(beyond_way @ np.array([-way[1], way[0]])).max())
