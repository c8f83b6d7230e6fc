"""Outline of the one item in a photo: the order of the steps, and what is said of the result."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from insertgen.errors import InsertgenError, PhotoError
from insertgen.model import Outline
from insertgen.photo.agree import SquareFit, agree
from insertgen.photo.bench import USUAL_FOCAL_35MM, Known, Solution
from insertgen.photo.boundary import Boundary, signed_area
from insertgen.photo.doubt import expected_error, height_part, say_doubts
from insertgen.photo.frame import to_shape_frame
from insertgen.photo.light import luminance
from insertgen.photo.load import FILM_DIAGONAL, Bool, Photo
from insertgen.photo.silhouette import Silhouette, find_item, from_mask
from insertgen.photo.squares import Candidate, find_squares

__all__ = ["TOLERANCE", "SquareFit", "Trace", "trace_photo"]

#: Greatest distance of the thinned outline from the traced one, mm.
TOLERANCE = 0.05
_LEAST_HOLE = 10.0  # mm2; nothing is seated by a smaller one
_SIDE_RANGE = (5.0, 500.0)  # mm: anything else is a slip of the unit
_FRAME_GAP = 2.0  # px between item and frame


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """What a photo says of an item. Lengths mm, shape frame; pixels have their centres at integers.

    Attributes
    ----------
    squares : tuple of SquareFit
        Every dark reference square seen, used or not.
    mm_per_pixel : float
        At the item's middle, on the plane of its edge.
    camera_height : float or None
        None when the lens is not known and the squares do not tell.
    edge_height : float
        Height of the plane the outline was cast onto.
    expected_error : float
        95th percentile of the boundary's distance from the true one, estimated.
    error_per_10mm : float
        By how much the outline's length is too large for every 10 mm its edge stands
        above the plane assumed: length * 10 / (D - 10).
    outline_px : tuple of arrays, n x 2
        Outer ring first, as traced in the photo.
    """

    outline: Outline
    squares: tuple[SquareFit, ...]
    mm_per_pixel: float
    tilt_deg: float
    camera_height: float | None
    edge_height: float
    length: float
    width: float
    area: float
    expected_error: float
    error_per_10mm: float
    warnings: tuple[str, ...]
    outline_px: tuple[np.typing.NDArray[np.float64], ...]


def trace_photo(
    photo: Photo,
    *,
    square: float,
    height: float | None = None,
    edge_height: float | None = None,
    silhouette: Bool | None = None,
) -> Trace:
    """Trace the one item that lies on the bench among dark reference squares.

    Parameters
    ----------
    photo : Photo
    square : float
        Side of the squares as measured on the paper, mm.
    height : float, optional
        The item's overall height; the outline is cast onto the plane at half of it, where
        the widest line of most things is.
    edge_height : float, optional
        Where the visible edge really stands; instead of ``height``.
    silhouette : bool array, H x W, optional
        The item's pixels, in place of those found.

    Raises
    ------
    PhotoError
        No usable square, no item or two, an item at the frame: with how to retake the photo.
    InsertgenError
        Lengths that cannot be.
    """
    _check_lengths(square, height, edge_height)
    light = luminance(photo.rgb)
    candidates, cut_off = find_squares(light)
    solution, fits = _bench(photo, candidates, cut_off, square)
    if silhouette is None:
        seen = find_item(photo, [np.array(fit.corners_px) for fit in fits], solution.camera)
    else:
        seen = from_mask(silhouette, photo.name)
    plane = edge_height if edge_height is not None else (height or 0.0) / 2
    _check_height(photo, max(plane, height or 0.0), solution)
    return _measure(photo, solution, fits, seen, plane, height, edge_height)


def _check_lengths(square: float, height: float | None, edge_height: float | None) -> None:
    low, high = _SIDE_RANGE
    if not (math.isfinite(square) and low <= square <= high):
        raise InsertgenError(
            f"a square of {square:g} mm cannot be: {low:g} to {high:g} mm; type the side of the black square as measured"
        )
    if height is not None and edge_height is not None:
        raise InsertgenError("give the overall height or the height of the edge, not both")
    for what, value in (("height", height), ("edge height", edge_height)):
        if value is not None and not (math.isfinite(value) and 0 <= value <= 1000):
            raise InsertgenError(f"{what} {value:g} mm cannot be: 0 to 1000 mm")


def _bench(
    photo: Photo, candidates: list[Candidate], cut_off: list[np.typing.NDArray[np.float64]], square: float
) -> tuple[Solution, tuple[SquareFit, ...]]:
    if cut_off:
        raise PhotoError(
            f"{photo.name}: a square is cut off by the edge of the photo; take it again with every square whole"
        )
    if not candidates:
        raise PhotoError(
            f"{photo.name}: no dark square with pale paper round it was found; lay printed squares flat beside the item, "
            "all in the photo, nothing on them, no lamp mirrored in them"
        )
    centre = ((photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
    assumed = USUAL_FOCAL_35MM * math.hypot(photo.width_px, photo.height_px) / FILM_DIAGONAL
    known = Known(photo.focal_px or assumed, photo.focal_px is not None, centre)
    return agree(candidates, square, known, photo.name)


def _check_height(photo: Photo, top: float, solution: Solution) -> None:
    if top > 0.7 * solution.camera.height:
        raise InsertgenError(
            f"{photo.name}: a height of {top:g} mm would be near the camera, which was only "
            f"{solution.camera.height:.0f} mm above the bench; check the height, or take the photo from farther away"
        )


def _measure(
    photo: Photo, solution: Solution, fits: tuple[SquareFit, ...], seen: Silhouette, plane: float,
    height: float | None, edge_height: float | None,
) -> Trace:  # fmt: skip
    camera, ring = solution.camera, seen.boundary
    framed = to_shape_frame(*_cast(ring, solution, plane), TOLERANCE)
    middle = ring.outer.mean(axis=0)
    scale = camera.mm_per_pixel(middle, plane)
    error = expected_error(solution, ring, seen, scale, plane, height, edge_height)
    per_10mm = framed.length * 10.0 / (camera.height - plane - 10.0)
    unknown_focal = photo.focal_px is None and math.sqrt(solution.covariance[3, 3]) > 0.05
    doubts = say_doubts(
        photo, solution, fits, seen, length=framed.length, scale=scale,
        unknown_focal=unknown_focal, no_height=height is None and edge_height is None, per_10mm=per_10mm,
        span=0.0 if height is None else height_part(solution, ring.outer, plane, height, None),
    )  # fmt: skip
    return Trace(
        framed.outline, fits, scale, camera.tilt_deg, None if unknown_focal else camera.height, plane,
        framed.length, framed.width, framed.area, error, per_10mm, doubts, (ring.outer, *ring.holes),
    )  # fmt: skip


def _cast(
    ring: Boundary, solution: Solution, plane: float
) -> tuple[np.typing.NDArray[np.float64], tuple[np.typing.NDArray[np.float64], ...]]:
    area_px = solution.camera.mm_per_pixel(ring.outer.mean(axis=0), plane) ** 2
    holes = [hole for hole in ring.holes if abs(signed_area(hole)) * area_px >= _LEAST_HOLE]
    return solution.camera.cast(ring.outer, plane), tuple(solution.camera.cast(hole, plane) for hole in holes)
