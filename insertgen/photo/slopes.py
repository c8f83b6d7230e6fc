"""How the pixels that a camera shows points at move with all that is not known of it: the slopes of `Camera.project`.

Chain rule through perspective (Hartley, Zisserman, Multiple View Geometry, 2nd ed., ch. 6) and radial distortion; a
rotation vector's slopes by the right Jacobian of rotations (Chirikjian, Stochastic Models, Information Theory, and Lie
Groups 2, 2012, sec. 10.8; formulas from memory, checked by differences in the tests).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from insertgen.photo.camera import DOWN, Array, Camera, about_z, rotation

__all__ = ["Slopes", "slopes_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Slopes:
    """Of n pixels, x and y each (n x 2): by the log of the focal length, k1, height (mm) and turn (radians) of the camera; by
    its tilt, its foot (n x 2 x 2) and the point itself (n x 2 x 3)."""

    log_focal: Array
    k1: Array
    height: Array
    turn: Array
    tilt: Array
    foot: Array
    point: Array


def slopes_of(camera: Camera, points: Array) -> Slopes:
    """Slopes of ``camera.project(points)`` for points (n x 3, mm) in front of the camera.

    Straight from above at 500 mm, by a lens of 2000 px, a point 10 mm to the right is seen 40 px to the right, 4 px further
    with each mm that it moves there. A camera that turns counter-clockwise sees it move down the photo.

    >>> from insertgen.photo.camera import Lens
    >>> moves = slopes_of(Camera(Lens(2000.0, (0.0, 0.0)), 500.0, (0.0, 0.0)), np.array([[10.0, 0.0, 0.0]]))
    >>> float(moves.point[0, 0, 0]), float(moves.log_focal[0, 0]), float(moves.turn[0, 1])
    (4.0, 40.0, 40.0)
    """
    lens, tilted, spun = camera.lens, rotation(camera.tilt), DOWN @ about_z(-camera.turn)
    away = points - np.array([*camera.foot, camera.height])
    upright = away @ spun.T
    seen = upright @ tilted.T
    depth = np.maximum(seen[:, 2:], 1e-3 * camera.height)  # behind the camera: only on the way of the solver
    slope = seen[:, :2] / depth
    far2 = (slope**2).sum(axis=1, keepdims=True)
    bent = slope * (1 + lens.k1 * far2)
    by_slope = lens.focal_px * ((1 + lens.k1 * far2)[:, :, None] * np.eye(2) + 2 * lens.k1 * slope[:, :, None] * slope[:, None, :])
    by_seen = by_slope @ np.concatenate([np.broadcast_to(np.eye(2), (len(slope), 2, 2)), -slope[:, :, None]], axis=2) / depth[:, :, None]
    by_point = by_seen @ tilted @ spun
    against = np.stack([away[:, 1], -away[:, 0]], axis=1)  # a camera turned about its foot sees the points turned the other way
    return Slopes(
        log_focal=bent * lens.focal_px,
        k1=slope * far2 * lens.focal_px,
        height=-by_point[:, :, 2],
        turn=(by_point[:, :, :2] @ against[:, :, None])[:, :, 0],
        tilt=-by_seen @ tilted @ _cross(upright) @ _right_jacobian(camera.tilt)[:, :2],
        foot=-by_point[:, :, :2],
        point=by_point,
    )


def _cross(vectors: Array) -> Array:
    """Matrices (n x 3 x 3) that take the cross product with vectors (n x 3)."""
    return np.cross(np.eye(3), vectors[:, None])


def _right_jacobian(tilt: tuple[float, float]) -> Array:
    """Turns R(t + d) into R(t) R(J d), d small."""
    angle, cross = math.hypot(*tilt), _cross(np.array([[*tilt, 0.0]]))[0]
    if angle < 1e-6:
        return np.asarray(np.eye(3) - 0.5 * cross)
    first, second = (1 - math.cos(angle)) / angle**2, (angle - math.sin(angle)) / angle**3
    return np.asarray(np.eye(3) - first * cross + second * cross @ cross)
