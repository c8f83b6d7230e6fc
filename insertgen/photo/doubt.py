"""How far the outline may be off, and what a person would want to be told."""

from __future__ import annotations

import numpy as np

from insertgen.photo.agree import SquareFit
from insertgen.photo.bench import Solution, nudged
from insertgen.photo.boundary import Boundary
from insertgen.photo.camera import Array
from insertgen.photo.load import Photo
from insertgen.photo.silhouette import Silhouette

__all__ = ["expected_error", "height_part", "say_doubts"]

_P95 = 1.96  # of a normal distribution
_UNKNOWN_EDGE = 5.0  # mm: without any height, the edge of a thing of 10 mm
_FOCAL_OFF = 0.08  # log: four times what EXIF's whole millimetres leave open
_STEEP_DEG = 25.0
_COARSE = 0.25  # mm per pixel
_SMALL = 1 / 8  # square's side to item's length
_SPAN = 3.0  # mm: an outline off by more than this holds nothing


def expected_error(
    solution: Solution, ring: Boundary, seen: Silhouette, scale: float, plane: float,
    height: float | None, edge_height: float | None,
) -> float:  # fmt: skip
    """95th percentile of the distance between traced and true boundary, estimated, mm.

    Independent parts, added in squares: where the edge is in the photo (its blur and the doubt
    of the silhouette), what the squares leave open of camera and lens, and the height of the edge
    (casts around the plane used).
    """
    pixel = scale * seen.sigma_px * _P95
    parts = [
        pixel,
        _camera_part(solution, ring.outer, plane),
        height_part(solution, ring.outer, plane, height, edge_height),
    ]
    return float(np.sqrt(np.sum(np.square(parts))))


def _camera_part(solution: Solution, ring: Array, plane: float) -> float:
    """Casts by cameras one standard deviation away along each axis of the covariance."""
    values, axes = np.linalg.eigh(solution.covariance)
    here = solution.camera.cast(ring, plane)
    total = 0.0
    for value, axis in zip(values, axes.T, strict=True):
        total += _moved(here, nudged(solution.camera, axis * np.sqrt(max(value, 0.0))).cast(ring, plane)) ** 2
    return float(np.sqrt(total))


def height_part(
    solution: Solution, ring: Array, plane: float, height: float | None, edge_height: float | None
) -> float:
    """How far the outline moves if its edge stands elsewhere between 0.2 and 0.8 of the height, mm."""
    if height is not None:
        low, high = 0.2 * height, 0.8 * height
    elif edge_height is not None:
        low, high = 0.9 * edge_height, 1.1 * edge_height
    else:
        low, high = 0.0, _UNKNOWN_EDGE
    here = solution.camera.cast(ring, plane)
    return max(_moved(here, solution.camera.cast(ring, other)) for other in (low, high))


def _moved(here: Array, there: Array) -> float:
    """95th percentile of how far points moved, a common shift and turn taken out (Kabsch 1976)."""
    a, b = here - here.mean(axis=0), there - there.mean(axis=0)
    left, _, right = np.linalg.svd(a.T @ b)
    turned = a @ (left @ right)
    return float(np.percentile(np.linalg.norm(turned - b, axis=1), 95))


def say_doubts(
    photo: Photo, solution: Solution, fits: tuple[SquareFit, ...], seen: Silhouette, *, length: float, scale: float,
    unknown_focal: bool, no_height: bool, per_10mm: float, span: float,
) -> tuple[str, ...]:  # fmt: skip
    """Warnings, each with its remedy."""
    said = list(seen.warnings)
    if no_height:
        said.append(
            f"no height given: the outline may be up to {per_10mm:.1f} mm too long for every 10 mm its edge stands "
            "above the bench; give the item's height"
        )
    if span > _SPAN:
        said.append(
            f"tall for this photo: by where its edge stands, the outline may be {span:.1f} mm "
            "off; take the photo from farther away, or give the height of the edge instead of the overall height"
        )
    if photo.focal_px is None:
        how = "a usual phone lens is assumed" if unknown_focal else "it was found from the squares"
        said.append(f"the photo does not tell its focal length ({how}); use the photo as the camera wrote it")
    elif abs(np.log(solution.camera.lens.focal_px / photo.focal_px)) > _FOCAL_OFF:
        said.append(
            f"the photo tells a lens of {photo.focal_35mm:g} mm (35 mm equivalent), the squares do not agree: was it "
            "cropped or zoomed? Use the photo as the camera wrote it, uncropped"
        )
    said += [f"square {at} left out: {fit.why}" for at, fit in enumerate(fits, 1) if not fit.used]
    used = [fit for fit in fits if fit.used]
    if used[0].side < _SMALL * length and len(used) < 3:
        said.append(
            f"the squares are small beside the item ({length:.0f} mm): use larger ones, or four round the item"
        )
    if len(used) == 1:
        said.append("only one square: a bent lens cannot be noticed; lay four round the item")
    if solution.camera.tilt_deg > _STEEP_DEG:
        said.append(
            f"the photo was taken at {solution.camera.tilt_deg:.0f} degrees; hold the camera straight above"
        )
    if scale > _COARSE:
        said.append(f"a pixel is {scale:.2f} mm; come nearer or use the camera's full resolution")
    return tuple(said)
