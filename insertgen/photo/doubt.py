"""How far the outline may be off."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from insertgen.photo.bench import Solution, nudged
from insertgen.photo.boundary import smooth_normals
from insertgen.photo.camera import Array, Camera
from insertgen.photo.standing import Stance, Standing
from insertgen.photo.surety import ACROSS, LOOSE, Sureness

__all__ = ["Expected", "Parts", "expected_error", "height_parts", "parts_of", "say_height"]

_SPAN = 3.0  # mm: an outline off by more than this holds nothing
# fitted by least absolute logarithms of the mean distance: what camera and height leave open, to 109 rendered photos with
# their exact masks, which the network that tells heights has not seen; the drawing, to 105 of them as they are traced.
# The 95th percentile so that more than 9 of 10 are covered, by what the drawing was for networks that had seen no tool of its kind
_FLOOR = 0.04  # mm
_CAMERA = 0.3
_HEIGHT = 0.8
_ACROSS, _LOOSE = 0.36, 0.6
_P95_TAKING = 5.0  # times that of the camera
_P95_HEIGHT = 2.8  # times what the height leaves open where it leaves most open
_P95, _P95_POWER, _P95_LEAST = 7.5, 0.6, 0.2  # times that of the drawing; less where it is small: no part is missing there
_P95_POINT = 2.45


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """What may put the outline wrong, mean distance in mm: edges, pixels on the wrong side, camera, height.

    ``height``: ring by ring, of each point.
    """

    across: float
    loose: float
    camera: float
    height: tuple[Array, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Expected:
    """Distance between traced and true boundary, estimated, mm: mean, 95th percentile, and that of each point."""

    mean: float
    p95: float
    points: tuple[Array, ...]


def parts_of(solution: Solution, sure: Sureness, scale: float, stance: Stance, squares_at: float = 0.0) -> Parts:
    """Independent parts: where the edge is in the photo, what the squares leave open of camera and lens, and the
    height of the edge; ``scale``: mm a pixel."""
    camera = _camera_part(solution, stance, squares_at)
    return Parts(scale * sure.across, scale * sure.loose, camera, height_parts(solution.camera, stance))


def expected_error(parts: Parts, sure: Sureness, scale: float) -> Expected:
    """Parts weighted and added in squares."""
    taking, height = math.hypot(_FLOOR, _CAMERA * parts.camera), _HEIGHT * parts.height[0]
    drawing, at_worst = (math.hypot(a * parts.across, b * parts.loose) for a, b in ((_ACROSS, _LOOSE), (ACROSS, LOOSE)))
    times = _P95 * min(max(at_worst, _P95_LEAST), 1.0) ** _P95_POWER
    mean = math.hypot(taking, drawing, float(height.mean()))
    p95 = math.hypot(_P95_TAKING * taking, times * at_worst, _P95_HEIGHT * float(np.percentile(height, 95)))
    points = [np.hypot(np.hypot(scale * drawn, taking), _HEIGHT * open_) for drawn, open_ in zip(sure.points, parts.height, strict=True)]
    # a point's own 95th percentile, as of a half-normal distribution with its mean
    return Expected(mean, p95, tuple(_P95_POINT * off for off in points))


def _camera_part(solution: Solution, stance: Stance, squares_at: float) -> float:
    """Casts by cameras one standard deviation away along each axis of the covariance."""
    values, axes = np.linalg.eigh(solution.covariance)
    here, total = stance.cast(solution.camera)[0], 0.0
    for value, axis in zip(values, axes.T, strict=True):
        there = nudged(solution.camera, axis * np.sqrt(max(value, 0.0)), squares_at)
        total += float(_moved(here, stance.cast(there)[0]).mean()) ** 2
    return float(np.sqrt(total))


def height_parts(camera: Camera, stance: Stance) -> tuple[Array, ...]:
    """How far each point of each ring moves across it by what is open of the edge's height, mm (n)."""
    moved = []
    for here, lower in zip(stance.cast(camera), stance.lower(camera), strict=True):
        if stance.together:
            moved.append(_moved(here, lower))
        else:
            moved.append(np.abs(((lower - here) * smooth_normals(here)).sum(axis=1)))
    return tuple(moved)


def _moved(here: Array, there: Array) -> Array:
    """How far points moved, a common shift and turn taken out (Kabsch 1976)."""
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    left, _, right = np.linalg.svd(a.T @ b)
    turned = a @ (left @ right)
    return np.asarray(np.linalg.norm(turned - b, axis=1))


def say_height(standing: Standing, stance: Stance, camera: Camera, *, per_10mm: float) -> tuple[str, ...]:
    """Warnings of the height, each with its remedy."""
    said = []
    if standing.height is None and standing.edge_height is None:
        said.append(
            f"no height given: the outline may be up to {per_10mm:.1f} mm too long for every 10 mm its edge stands "
            "above the bench; give the item's height"
        )
    span = _P95_HEIGHT * _HEIGHT * float(np.percentile(height_parts(camera, stance)[0], 95))
    if standing.height is not None and span > _SPAN:
        said.append(
            f"tall for this photo: by where its edge stands, the outline may be {span:.1f} mm "
            "off; take the photo from straight above and farther away, or give the height of the edge instead of the overall height"
        )
    return tuple(said)
