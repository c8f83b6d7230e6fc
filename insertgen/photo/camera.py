"""The camera above the bench: where a pixel looks at a plane of a given height.

Bench frame: origin on the bench right below the (first) camera, x to the photo's right,
y up the photo (so seen from above, right-handed), z up from the bench.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["DOWN", "Array", "Camera", "Lens", "about_z", "rotation"]

Array = NDArray[np.float64]

# A camera that looks straight down: its x is the bench's x, its y (down the photo) is -y, it looks along -z.
DOWN = np.diag([1.0, -1.0, -1.0])
_UNDISTORT_ROUNDS = 40


@dataclass(frozen=True, slots=True)
class Lens:
    """What belongs to the camera and stays the same from photo to photo.

    Attributes
    ----------
    focal_px : float
    centre_px : (float, float)
        Principal point, pixel centres at integers.
    k1 : float
        Radial distortion, x_seen = x (1 + k1 r^2), x in focal lengths (Brown 1966).
    """

    focal_px: float
    centre_px: tuple[float, float]
    k1: float = 0.0

    def rays(self, px: Array) -> Array:
        """Slopes (n, 2) of the straight rays that pixels see; undoes the distortion by fixed-point rounds."""
        seen = (px - np.asarray(self.centre_px)) / self.focal_px
        straight = seen.copy()
        if self.k1 != 0.0:
            for _ in range(_UNDISTORT_ROUNDS):
                straight = seen / (1 + self.k1 * (straight**2).sum(axis=-1, keepdims=True))
        return np.asarray(straight)

    def pixels(self, slopes: Array) -> Array:
        bent = slopes * (1 + self.k1 * (slopes**2).sum(axis=-1, keepdims=True))
        return np.asarray(bent * self.focal_px + np.asarray(self.centre_px))


@dataclass(frozen=True, slots=True)
class Camera:
    """A lens and its pose over the bench.

    Attributes
    ----------
    height : float
        Above the bench, mm.
    tilt : (float, float)
        Rotation vector about x and y, radians.
    foot : (float, float)
        Point of the bench right below; not the origin only in a frame set by another photo.
    turn : float
        Radians counter-clockwise, likewise.
    """

    lens: Lens
    height: float
    tilt: tuple[float, float]
    foot: tuple[float, float] = (0.0, 0.0)
    turn: float = 0.0

    @property
    def tilt_deg(self) -> float:
        """Between the line of sight and straight down."""
        return math.degrees(math.hypot(*self.tilt))

    def project(self, points: Array) -> Array:
        """Pixels (n, 2) of bench points (n, 3), mm."""
        turn = rotation(self.tilt) @ DOWN @ about_z(-self.turn)
        seen = (points - np.array([*self.foot, self.height])) @ turn.T
        depth = np.maximum(
            seen[..., 2:], 1e-3 * self.height
        )  # behind the camera: only on the way of the solver
        return self.lens.pixels(seen[..., :2] / depth)

    def cast(self, px: Array, height: float = 0.0) -> Array:
        """Bench x, y (n, 2) in mm where the rays of pixels meet the plane at ``height``.

        Two casts of one pixel differ by parallax: seen from D above, a point at
        height h lies (D - h)/D as far from the foot as it looks on the bench
        (similar triangles).
        """
        slopes = self.lens.rays(px)
        rays = np.concatenate([slopes, np.ones((*slopes.shape[:-1], 1))], axis=-1) @ (
            rotation(self.tilt) @ DOWN @ about_z(-self.turn)
        )
        drop = (self.height - height) / np.maximum(-rays[..., 2:], 1e-9)
        return np.asarray(rays[..., :2] * drop + np.array(self.foot))

    def mm_per_pixel(self, px: Array, height: float = 0.0) -> float:
        """Mean size of a pixel on the plane, around one point: square root of the area ratio."""
        near = px + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
        origin, right, down = self.cast(near, height)
        (ax, ay), (bx, by) = right - origin, down - origin
        return math.sqrt(abs(ax * by - ay * bx))


def about_z(angle: float) -> Array:
    """Rotation matrix of a turn (radians), counter-clockwise from above."""
    cos, sin = math.cos(angle), math.sin(angle)
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])


def rotation(tilt: tuple[float, float] | Array) -> Array:
    """Rotation matrix of a rotation vector (a, b, 0): Rodrigues' formula."""
    a, b = float(tilt[0]), float(tilt[1])
    angle = math.hypot(a, b)
    if angle < 1e-12:
        return np.array([[1.0, 0.0, b], [0.0, 1.0, -a], [-b, a, 1.0]])
    cross = np.array([[0.0, 0.0, b], [0.0, 0.0, -a], [-b, a, 0.0]]) / angle
    turned: Array = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * (cross @ cross)
    return turned
