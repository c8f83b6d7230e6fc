"""How high above the bench the edge seen in a photo stands, and where the outline lies by that."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from insertgen.errors import InsertgenError
from insertgen.photo.boundary import Boundary, smooth_normals
from insertgen.photo.camera import Array, Camera
from insertgen.photo.edge_heights import EdgeHeight, edge_heights

__all__ = ["Stance", "Standing", "check_length", "check_standing", "stance_of"]

# If the walls are said to be upright: the camera sees the top edge where a wall looks away from it, the foot where it
# looks towards it. A quarter of the height up and down, since few walls have sharp edges.
_SWING = 0.25  # of the height
_SOFT = 0.1  # slope of the line of sight across the wall at which the swing is 3/4 of the whole
_UNKNOWN_EDGE = 5.0  # mm: without any height, the edge of a thing of 10 mm
_GIVEN_OFF = 0.05  # of a height of the edge that was measured
_WALLS_OFF = 0.25  # of the swing: what saying that walls are upright leaves open


@dataclass(frozen=True, slots=True)
class Standing:
    """What is known of the height of the edge, mm.

    Attributes
    ----------
    height : float or None
        Overall height of the item: where its edge stands below that is told by its look.
    edge_height : float or None
        Where the edge stands, all round; instead of ``height``.
    upright : bool
        The item's walls stand upright: of the height, far sides stand high, near ones low.
    """

    height: float | None = None
    edge_height: float | None = None
    upright: bool = False

    @property
    def plane(self) -> float:
        """One height for all of the edge."""
        return self.edge_height if self.edge_height is not None else (self.height or 0.0) / 2

    @property
    def top(self) -> float:
        return max(self.plane, self.height or 0.0)


def check_standing(standing: Standing) -> None:
    """Refuse heights that cannot be.

    Raises
    ------
    InsertgenError
        Two heights for one edge, walls without a height, a height out of all bounds.
    """
    if standing.height is not None and standing.edge_height is not None:
        raise InsertgenError("give the overall height or the height of the edge, not both")
    if standing.upright and standing.height is None:
        raise InsertgenError("upright walls stand up to the overall height; give that height too")
    check_length("height", standing.height)
    check_length("edge height", standing.edge_height)


def check_length(what: str, value: float | None) -> None:
    """Refuse a length above the bench that is below it or over 1 m.

    Raises
    ------
    InsertgenError
        With ``what`` was given.
    """
    if value is not None and not (math.isfinite(value) and 0 <= value <= 1000):
        raise InsertgenError(f"{what} {value:g} mm cannot be: 0 to 1000 mm")


@dataclass(frozen=True, slots=True, eq=False)
class Stance:
    """Where each point of a boundary's rings stands, the outer ring first.

    Attributes
    ----------
    rings : tuple of arrays, n x 2
        Pixels.
    edges : tuple of EdgeHeight
        The height of each point, and what is open of it.
    together : bool
        What is open is the same for all points: then most of it only moves the whole outline.
    """

    rings: tuple[Array, ...]
    edges: tuple[EdgeHeight, ...]
    together: bool

    def cast(self, camera: Camera) -> tuple[Array, ...]:
        """Bench x, y (n, 2) of every ring.

        A point at height h seen from D above lies (D - h) / D as far from the foot as it looks on the bench.
        """
        return tuple(_cast(camera, ring, edge.height) for ring, edge in zip(self.rings, self.edges, strict=True))

    def lower(self, camera: Camera) -> tuple[Array, ...]:
        """The same with the edge lower by what is open of its height."""
        return tuple(_cast(camera, ring, edge.height - edge.spread) for ring, edge in zip(self.rings, self.edges, strict=True))


def stance_of(standing: Standing, camera: Camera, rgb: NDArray[np.uint8], boundary: Boundary) -> Stance:
    """By the look of the item in the photo (``rgb``, H x W x 3), unless the height of the edge is known."""
    rings = (boundary.outer, *boundary.holes)
    if standing.upright:
        return Stance(rings, tuple(_walls(camera, ring, standing, hole=at > 0) for at, ring in enumerate(rings)), together=False)
    if standing.height is not None and standing.height > 0:
        return Stance(rings, edge_heights(camera, rgb, rings, standing.height), together=False)
    spread = _UNKNOWN_EDGE if standing.edge_height is None and standing.height is None else _GIVEN_OFF * standing.plane
    level = tuple(EdgeHeight(np.full(len(ring), standing.plane), np.full(len(ring), spread)) for ring in rings)
    return Stance(rings, level, together=True)


def _cast(camera: Camera, ring: Array, height: Array) -> Array:
    # along a ray, the place is linear in the height
    low = camera.cast(ring, 0.0)
    return np.asarray(low + (camera.cast(ring, 1.0) - low) * height[:, None])


def _walls(camera: Camera, ring: Array, standing: Standing, *, hole: bool) -> EdgeHeight:
    middle = camera.cast(ring, standing.plane)
    out = smooth_normals(middle) * (-1.0 if hole else 1.0)
    out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)
    away = ((middle - np.array(camera.foot)) * out).sum(axis=1) / (camera.height - standing.plane)
    swing = _SWING * (standing.height or 0.0)
    return EdgeHeight(standing.plane + swing * np.tanh(away / _SOFT), np.full(len(ring), _WALLS_OFF * swing))
