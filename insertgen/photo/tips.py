"""Points of blades, as they are seen close: joined to the rings where a part that grows thin goes on beyond them."""

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

__all__ = ["with_tips"]

# px of a 2400 px photo
_RIM = 2.0  # nearer to the item it is its edge that is seen otherwise
_START = 3.5  # a point begins nearer than that
_END = 4.0  # and what of it is nearer than that is where it begins
_REACH = 3.0  # from the item, at least
_HALF = 5.0  # half of the greatest width
_MAY = -2.5  # log odds, as for wires
# of the item behind the place where a point begins: so far back, and so wide at most
_BEHIND = ((14.0, 16.0), (36.0, 26.0))
_ALL_BEHIND = 0.85  # share of it that lies behind: there the item ends
_WIDER = 3.0  # a point may be so much wider than the item there


def with_tips(boundary: Boundary, brink: Brink, least_hole: float) -> Boundary:
    """The rings with the points that go on from thin ends of theirs, by the network that sees the photo's own pixels.

    The last millimetres of a blade are two pixels wide and less: those who judge the photo as a whole take them for bench, and what is
    two pixels wide cannot be drawn onto its edges either. A scratch runs out from the side of the item, or from a broad end; a
    point goes on from an end that is thin already, the way that it grew thin.

    Parameters
    ----------
    boundary : Boundary
        Photo px.
    brink : Brink
    least_hole : float
        Photo px2; smaller holes are filled where a point was joined.
    """
    points = _points(strips.pixels_inside(boundary, brink), brink.odds)
    if not points.any():
        return boundary
    return strips.boundary_of(union([strips.as_region(boundary), *strips.regions_of(points, brink)]), least_hole)


def _points(inside: Bool, odds: Float) -> Bool:
    """Points outside, the item's own rim with them where they begin."""
    found = strips.beyond(inside, (odds > _MAY) & ~inside, _RIM)
    points = np.zeros(inside.shape, np.uint8)
    for at in np.nonzero((found.reach >= _REACH) & (found.half <= _HALF) & (found.start < _START))[0]:
        strip = np.asarray(found.label == at)
        point = strips.core_of(strip, odds) & _going_on(strip, found.away, inside)
        if at > 0 and point.any():
            points[point] = 1
            places = np.argwhere(point)[:, ::-1].astype(float)
            strips.lead_on(points, places[[int(found.away[point].argmin())]], inside)
    side = 2 * (int(_RIM) + strips.LAP) + 1
    near = cv2.dilate(points, np.ones((side, side), np.uint8)) > 0
    return np.asarray(near & ((points > 0) | strips.rim_of(inside)))


def _going_on(strip: Bool, away: Float, inside: Bool) -> Bool:
    """Of a strip that begins at one thin end of the item, and runs on as that does, what is no wider than that; nothing of others."""
    point, roots = np.zeros_like(strip), strip & (away < _END)
    if cv2.connectedComponents(cv2.dilate(roots.astype(np.uint8), np.ones((3, 3), np.uint8)))[0] != 2:
        return point
    places, distance = np.argwhere(strip)[:, ::-1].astype(float), away[strip]
    root = np.argwhere(roots)[:, ::-1].mean(axis=0)
    way = places[distance > 0.7 * distance.max()].mean(axis=0) - root
    length = float(np.linalg.norm(way))
    if length < 0.5:
        return point
    along = way / length
    across = np.array([-along[1], along[0]])
    for back, widest in _BEHIND:
        item = _about(inside, root, back)
        if not len(item) or (item @ along < 1.0).mean() < _ALL_BEHIND or _width(item, across) > widest:
            return point
    wide = _width(_about(inside, root, _BEHIND[0][0]), across)
    if _width(places - root, across) > wide + _WIDER:
        return point
    point[strip] = np.abs((places - root) @ across) <= wide / 2
    return point


def _about(inside: Bool, root: Array, reach: float) -> Array:
    """Pixels of the item so near to a place, from there (n x 2)."""
    low = np.maximum(np.floor(root - reach).astype(int), 0)
    high = np.ceil(root + reach).astype(int) + 1
    places = np.argwhere(inside[low[1] : high[1], low[0] : high[0]])[:, ::-1] + low - root
    return np.asarray(places[np.linalg.norm(places, axis=1) <= reach])


def _width(places: Array, across: Array) -> float:
    return float(np.ptp(places @ across)) + 1.0
