"""How far the outline may be off."""

from __future__ import annotations

import numpy as np

from insertgen.photo.bench import Solution, nudged
from insertgen.photo.boundary import Boundary
from insertgen.photo.camera import Array
from insertgen.photo.silhouette import Silhouette
from insertgen.photo.standing import Standing

__all__ = ["expected_error", "height_part", "say_height"]

_P95 = 1.96  # of a normal distribution
_SPAN = 3.0  # mm: an outline off by more than this holds nothing


def expected_error(
    solution: Solution, ring: Boundary, seen: Silhouette, scale: float, standing: Standing, squares_at: float = 0.0
) -> float:
    """95th percentile of the distance between traced and true boundary, estimated, mm.

    Independent parts, added in squares: where the edge is in the photo (its blur and the doubt
    of the silhouette), what the squares leave open of camera and lens, and the height of the edge
    (casts around the one used).
    """
    pixel = scale * seen.sigma_px * _P95
    parts = [
        pixel,
        _camera_part(solution, ring.outer, standing.plane, squares_at),
        height_part(solution, ring.outer, standing),
    ]
    return float(np.sqrt(np.sum(np.square(parts))))


def _camera_part(solution: Solution, ring: Array, plane: float, squares_at: float) -> float:
    """Casts by cameras one standard deviation away along each axis of the covariance."""
    values, axes = np.linalg.eigh(solution.covariance)
    here = solution.camera.cast(ring, plane)
    total = 0.0
    for value, axis in zip(values, axes.T, strict=True):
        there = nudged(solution.camera, axis * np.sqrt(max(value, 0.0)), squares_at)
        total += _moved(here, there.cast(ring, plane)) ** 2
    return float(np.sqrt(total))


def height_part(solution: Solution, ring: Array, standing: Standing) -> float:
    """How far the outline moves if its edge stands elsewhere, between 0.2 and 0.8 of the height, mm."""
    here = standing.cast(solution.camera, ring)
    return max(_moved(here, there) for there in standing.casts_around(solution.camera, ring))


def _moved(here: Array, there: Array) -> float:
    """95th percentile of how far points moved, a common shift and turn taken out (Kabsch 1976)."""
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    left, _, right = np.linalg.svd(a.T @ b)
    turned = a @ (left @ right)
    return float(np.percentile(np.linalg.norm(turned - b, axis=1), 95))


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
            "off; take the photo from farther away, or give the height of the edge instead of the overall height"
        )
    return tuple(said)
