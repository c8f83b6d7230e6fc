"""How sure the boundary is, point by point: by the odds beside it, and by pixels on its wrong side."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from scipy.spatial import cKDTree

from insertgen.photo.boundary import Boundary
from insertgen.photo.camera import Array
from insertgen.photo.contour import Snapped
from insertgen.photo.corners import sample
from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.odds import chance
from insertgen.photo.surface import Surface

__all__ = ["Looseness", "Sureness", "by_hand", "looseness", "sureness"]

#: Weights of the two against the distance measured, see `doubt`.
ACROSS, LOOSE = 0.43, 1.34
_BY_HAND = 0.5  # px
_NEAR = 40  # working px: what is wrong farther away is another thing
_SURE = 4.5  # log odds: what is surer than that, in a photo whose voices put in 5 at most, is not on the wrong side
_AROUND = 6.0  # working px: over how much of the boundary what is wrong beside it is shared out
# px of a 2400 px photo: mean distance of points of the boundary from the mask, by the mean log odds of their two
# sides; measured on rendered photos of tools that the networks had not seen
_ODDS = (0.0, 1.0, 2.0, 3.0, 4.0, 5.0)
_OFF = (13.3, 10.6, 5.7, 2.3, 1.65, 1.04)


@dataclass(frozen=True, slots=True, eq=False)
class Looseness:
    """How far the boundary would move were each pixel put where it likely belongs, photo px.

    Attributes
    ----------
    mean : float
        Area on the wrong side, each pixel as likely as it is, over the boundary's length.
    local : float32 array, h x w
        The same around each working pixel.
    """

    mean: float
    local: Float


def looseness(surface: Surface, odds: Float, region: Bool) -> Looseness:
    """By the odds (h x w, log) of the pixels, and the region taken for the item."""
    likely = chance(odds)
    least = float(chance(np.array(-_SURE, np.float32)))
    wrong = np.maximum(np.where(region, 1 - likely, likely) - least, 0.0) / (1 - least)
    wrong[surface.paper] = 0.0
    away = cv2.distanceTransform((~region).astype(np.uint8), cv2.DIST_L2, 5)
    rim = (cv2.dilate(region.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0) & ~region
    length = max(float(rim.sum()), 1.0)
    near = np.where(away < _NEAR, wrong, 0.0).astype(np.float32)
    along = cv2.GaussianBlur(rim.astype(np.float32), (0, 0), _AROUND)
    local = cv2.GaussianBlur(near, (0, 0), _AROUND) / np.maximum(along, np.float32(0.02))
    return Looseness(float(near.sum()) / length / surface.scale, np.asarray(local / surface.scale, np.float32))


@dataclass(frozen=True, slots=True, eq=False)
class Sureness:
    """What the pixels tell of how far the boundary may be off, photo px.

    Attributes
    ----------
    across : float
        Mean distance to be expected by the odds on the two sides of the boundary.
    loose : float
        `Looseness.mean`.
    points : tuple of arrays
        The expected distance of each point, ring by ring, as in the boundary.
    """

    across: float
    loose: float
    points: tuple[Array, ...]


def by_hand(boundary: Boundary) -> Sureness:
    """Of a mask made by hand: half a pixel everywhere."""
    return Sureness(_BY_HAND, 0.0, tuple(np.full(len(ring), _BY_HAND) for ring in (boundary.outer, *boundary.holes)))


def sureness(surface: Surface, loose: Looseness, rings: list[Snapped], boundary: Boundary, unit: float) -> Sureness:
    """Of rings as they were drawn, for the points of the boundary that was made of them."""
    drawn = np.vstack([ring.ring for ring in rings])
    across = np.concatenate([np.interp(ring.odds, _ODDS, _OFF) * unit for ring in rings])
    beside = np.hypot(ACROSS * across, LOOSE * sample(loose.local, surface.to_work(drawn)))
    nearest = cKDTree(drawn)
    points = tuple(beside[nearest.query(ring)[1]] for ring in (boundary.outer, *boundary.holes))
    return Sureness(float(across.mean()), loose.mean, points)
