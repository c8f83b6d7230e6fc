"""Openings that run out over the edge of a blank, and the wood that they leave.

A seat in a corner is sawn out: from its opening straight to the edges it lies
by, so that the tray's wall becomes the seat's wall. What would be left of the
wood as a tongue thinner than the web is taken away with it.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely

from insertgen.geometry.distance import farthest
from insertgen.geometry.offset import grown, opened
from insertgen.geometry.region import Region, bounds, box, minus, pieces, union
from insertgen.model.job import Blank

__all__ = ["near_edges", "opened_to_edges", "wood_left"]

SIDES = ("left", "front", "right", "back")

#: How far beyond the blank an opening is drawn out: only ever cut off again.
BEYOND = 10.0

#: A corner of the wood is rounded by the opening that finds slivers; only what reaches further out than this is one.
SPARE = 0.2

HAIR = 0.01


def near_edges(opening: Region, blank: Blank, reach: float) -> tuple[str, ...]:
    """The edges of a blank that an opening is nearer to than ``reach``, of left, front, right and back.

    >>> near_edges(box(3, 40, 30, 60), Blank(100, 100), 8.0)
    ('left',)
    >>> near_edges(box(3, 75, 30, 99), Blank(100, 100), 8.0)
    ('left', 'back')
    """
    x0, y0, x1, y1 = bounds(opening)
    gaps = (x0, y0, blank.width - x1, blank.depth - y1)
    return tuple(side for side, gap in zip(SIDES, gaps, strict=True) if gap < reach - 1e-9)


def opened_to_edges(opening: Region, blank: Blank, reach: float) -> Region:
    """An opening (blank frame) drawn out straight to every edge nearer than ``reach``; all of it within the blank.

    >>> from insertgen.geometry.region import area, disc
    >>> round(area(opened_to_edges(disc((20.0, 20.0), 40.0), Blank(100, 100), 8.0)), 0)  # 40^2 less a corner
    1514.0
    """
    ways = {"left": (-1, 0), "front": (0, -1), "right": (1, 0), "back": (0, 1)}
    x0, y0, x1, y1 = bounds(opening)
    out = {
        "left": x1 + BEYOND, "front": y1 + BEYOND,
        "right": blank.width - x0 + BEYOND, "back": blank.depth - y0 + BEYOND,
    }  # fmt: skip
    swept = opening
    for side in near_edges(opening, blank, reach):
        (dx, dy), way = ways[side], out[side]
        swept = _drawn_out(swept, dx * way, dy * way)
    inside = swept.intersection(box(0, 0, blank.width, blank.depth))
    return union(pieces(inside))


def _drawn_out(region: Region, dx: float, dy: float) -> Region:
    """All that a region passes over on a straight way."""
    quads = []
    for piece in pieces(region):
        start, way = shapely.get_coordinates(piece.exterior), np.array([dx, dy])
        ends = np.stack([start[:-1], start[1:], start[1:] + way, start[:-1] + way], axis=1)
        swept: Any = shapely.polygons(ends)  # an array, of whatever its stubs say
        quads += [quad for quad in swept if quad.area > 1e-12]
    return union([region, *quads])


def wood_left(blank: Blank, cut: Region, web: float) -> Region:
    """A blank less what is cut out of its edges, without tongues thinner than ``web``.

    >>> from insertgen.geometry.region import area, empty
    >>> area(wood_left(Blank(100, 50), empty(), 6.0))
    5000.0
    >>> pair = union([box(0, 0, 48, 30), box(52, 0, 100, 30)])  # a tongue of 4 x 30 between them
    >>> round(area(wood_left(Blank(100, 50), pair, 6.0)))  # 100 x 20, and what rounds the tongue's root
    2002
    """
    wood = minus(box(0, 0, blank.width, blank.depth), cut)
    sound = opened(wood, web / 2)
    # the tip of a square corner lies this far from the disc in it; a sliver's lies further
    most = (math.sqrt(2) - 1) * web / 2 + SPARE
    slivers = [piece for piece in pieces(minus(wood, sound)) if farthest(piece, sound).distance > most]
    # a little more than the sliver: the chords of its rounding would leave hairs of wood along its sides
    return union(pieces(minus(wood, grown(union(slivers), HAIR)))) if slivers else wood
