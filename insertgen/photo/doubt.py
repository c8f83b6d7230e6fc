"""How far the outline may be off."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from insertgen.photo.bench import Solution, nudged
from insertgen.photo.boundary import Boundary
from insertgen.photo.camera import Array
from insertgen.photo.standing import Standing
from insertgen.photo.surety import ACROSS, LOOSE, Sureness

__all__ = ["Expected", "Parts", "expected_error", "height_part", "parts_of", "say_height"]

_SPAN = 3.0  # mm: an outline off by more than this holds nothing
# fitted by least absolute logarithms of the mean distance: what camera and height leave open, to 41 rendered photos with
# their exact masks; the drawing, to 37 traced by networks that had seen no tool of its kind. The 95th percentile so that
# 9 of 10 of 77 photos are covered by their exact masks
_FLOOR = 0.08  # mm
_CAMERA = 1.1
_HEIGHT, _HEIGHT_POWER = 0.28, 1.32  # mm: thin things have upright walls, tall ones bulge
_UPRIGHT = 0.5  # of that, if walls are said to be upright: what saying so takes off, see `standing`
_P95_TAKING = 4.8  # times that of camera and height
_P95, _P95_POWER, _P95_LEAST = 7.5, 0.6, 0.2  # times that of the drawing; less where it is small: no part is missing there
_P95_POINT = 2.45


@dataclass(frozen=True, slots=True)
class Parts:
    """What may put the outline wrong, mean distance in mm: edges, pixels on the wrong side, camera, height."""

    across: float
    loose: float
    camera: float
    height: float


@dataclass(frozen=True, slots=True, eq=False)
class Expected:
    """Distance between traced and true boundary, estimated, mm: mean, 95th percentile, and that of each point."""

    mean: float
    p95: float
    points: tuple[Array, ...]


def parts_of(
    solution: Solution, ring: Boundary, sure: Sureness, scale: float, standing: Standing, squares_at: float = 0.0
) -> Parts:
    """Independent parts: where the edge is in the photo, what the squares leave open of camera and lens, and the
    height of the edge (casts around the one used); ``scale``: mm a pixel."""
    return Parts(
        scale * sure.across, scale * sure.loose,
        _camera_part(solution, ring.outer, standing.plane, squares_at), _height_mean(solution, ring.outer, standing),
    )  # fmt: skip


def expected_error(parts: Parts, sure: Sureness, scale: float) -> Expected:
    """Parts weighted and added in squares."""
    taking = math.hypot(_FLOOR, _CAMERA * parts.camera, _HEIGHT * parts.height**_HEIGHT_POWER)
    drawing = math.hypot(ACROSS * parts.across, LOOSE * parts.loose)
    times = _P95 * min(max(drawing, _P95_LEAST), 1.0) ** _P95_POWER
    points = [np.hypot(scale * points, taking) for points in sure.points]
    # a point's own 95th percentile, as of a half-normal distribution with its mean
    return Expected(math.hypot(taking, drawing), math.hypot(_P95_TAKING * taking, times * drawing), tuple(_P95_POINT * off for off in points))


def _camera_part(solution: Solution, ring: Array, plane: float, squares_at: float) -> float:
    """Casts by cameras one standard deviation away along each axis of the covariance."""
    values, axes = np.linalg.eigh(solution.covariance)
    here = solution.camera.cast(ring, plane)
    total = 0.0
    for value, axis in zip(values, axes.T, strict=True):
        there = nudged(solution.camera, axis * np.sqrt(max(value, 0.0)), squares_at)
        total += float(_moved(here, there.cast(ring, plane)).mean()) ** 2
    return float(np.sqrt(total))


def _height_mean(solution: Solution, ring: Array, standing: Standing) -> float:
    here = standing.cast(solution.camera, ring)
    moved = max(float(_moved(here, there).mean()) for there in standing.casts_around(solution.camera, ring))
    return _UPRIGHT * moved if standing.upright else moved


def height_part(solution: Solution, ring: Array, standing: Standing) -> float:
    """How far the outline moves if its edge stands elsewhere, as `Standing.casts_around` says: 95th percentile, mm."""
    here = standing.cast(solution.camera, ring)
    return max(float(np.percentile(_moved(here, there), 95)) for there in standing.casts_around(solution.camera, ring))


def _moved(here: Array, there: Array) -> Array:
    """How far points moved, a common shift and turn taken out (Kabsch 1976)."""
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    left, _, right = np.linalg.svd(a.T @ b)
    turned = a @ (left @ right)
    return np.asarray(np.linalg.norm(turned - b, axis=1))


def say_height(standing: Standing, *, per_10mm: float, span: float) -> tuple[str, ...]:
    """Warnings of the height, each with its remedy; ``span``: `height_part` of an overall height."""
    said = []
    if standing.height is None and standing.edge_height is None:
        said.append(
            f"no height given: the outline may be up to {per_10mm:.1f} mm too long for every 10 mm its edge stands "
            "above the bench; give the item's height"
        )
    if standing.height is not None and span > _SPAN:
        said.append(
            f"tall for this photo: by where its edge stands, the outline may be {span:.1f} mm "
            "off; take the photo from straight above and farther away, or give the height of the edge instead of the overall height"
        )
    return tuple(said)
