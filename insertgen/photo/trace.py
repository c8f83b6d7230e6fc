"""Outline of the one item in a photo: the order of the steps, and what is said of the result."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from insertgen.errors import InsertgenError, PhotoError
from insertgen.model.figures import Outline
from insertgen.photo.agree import SquareFit, agree
from insertgen.photo.bench import USUAL_FOCAL_35MM, Known, Solution
from insertgen.photo.boundary import signed_area
from insertgen.photo.doubt import expected_error, parts_of, say_height
from insertgen.photo.frame import to_shape_frame
from insertgen.photo.hints import NO_HINTS, Hints
from insertgen.photo.light import luminance
from insertgen.photo.load import FILM_DIAGONAL, Bool, Photo
from insertgen.photo.overlap import refuse_on_item
from insertgen.photo.silhouette import Silhouette, find_items, from_mask
from insertgen.photo.squares import Candidate, find_squares
from insertgen.photo.standing import Standing, stance_of
from insertgen.photo.taking import say_assumed, say_edge, say_squares, say_taking

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
        Of the plane the outline was cast onto, or the mean of its points' heights.
    expected_error : float
        95th percentile of the boundary's distance from the true one, estimated.
    error_per_10mm : float
        By how much the outline's length is too large for every 10 mm its edge stands
        above the height assumed: length * 10 / (D - 10).
    outline_px : tuple of arrays, n x 2
        Outer ring first, as traced in the photo.
    assumed : tuple of str
        Where focal length and distortion came from.
    expected_mean : float
        Mean of that distance, estimated.
    point_errors : tuple of arrays, n
        ``expected_error`` of each point of ``outline_px``.
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
    assumed: tuple[str, ...] = ()
    expected_mean: float = 0.0
    point_errors: tuple[np.typing.NDArray[np.float64], ...] = ()


def trace_photo(
    photo: Photo,
    *,
    square: float,
    height: float | None = None,
    edge_height: float | None = None,
    upright: bool = False,
    squares_at: float = 0.0,
    camera_height: float | None = None,
    silhouette: Bool | None = None,
    hints: Hints = NO_HINTS,
    bench_photo: Photo | None = None,
    which: tuple[int, int] = (1, 1),
) -> Trace:
    """Trace the one item that lies on the bench among dark reference squares.

    Parameters
    ----------
    photo : Photo
    square : float
        Side of the squares as measured on the paper, mm.
    height : float, optional
        The item's overall height; where its edge stands below that is told by its look.
    edge_height : float, optional
        Where the visible edge really stands, all round; instead of ``height``.
    upright : bool
        The item has upright walls from the bench to ``height``, whatever it looks like: sides that look away from
        the camera are cast high, the others low.
    squares_at : float
        How high above the bench all the squares lie, mm.
    camera_height : float, optional
        Of the lens above the bench, measured with a tape, mm.
    silhouette : bool array, H x W, optional
        The item's pixels, in place of those found.
    hints : Hints
        Places on the item and off it, and where it is.
    bench_photo : Photo, optional
        The same view without the item.
    which : (number, count)
        Which item, from the left, of how many that lie in the photo.

    Raises
    ------
    PhotoError
        No usable square, no item or two, an item at the frame: with how to retake the photo.
    InsertgenError
        Lengths that cannot be.
    """
    standing = Standing(height, edge_height, upright)
    _check_lengths(square, standing, squares_at, camera_height)
    light = luminance(photo.rgb)
    candidates, cut_off = find_squares(light)
    known = _known(photo, squares_at, camera_height)
    solution, fits = _bench(photo, candidates, cut_off, square, known)
    if silhouette is None:
        quads = [np.array(fit.corners_px) for fit in fits]
        seen = find_items(photo, quads, solution.camera, which[1], hints, bench_photo)[which[0] - 1]
    elif hints or bench_photo is not None or which[1] > 1:
        raise InsertgenError(
            "a silhouette says where the one item is: leave out --inside, --outside, --crop, --bench-photo and further names"
        )
    else:
        seen = from_mask(silhouette, photo.name)
    _check_height(photo, standing.top, solution)
    refuse_on_item(fits, seen.boundary.outer, photo.name)
    return _measure(photo, known, solution, fits, seen, standing)


def _check_lengths(square: float, standing: Standing, squares_at: float, camera_height: float | None) -> None:
    low, high = _SIDE_RANGE
    if not (math.isfinite(square) and low <= square <= high):
        raise InsertgenError(
            f"a square of {square:g} mm cannot be: {low:g} to {high:g} mm; type the side of the black square as measured"
        )
    if standing.height is not None and standing.edge_height is not None:
        raise InsertgenError("give the overall height or the height of the edge, not both")
    if standing.upright and standing.height is None:
        raise InsertgenError("upright walls stand up to the overall height; give that height too")
    for what, value in (("height", standing.height), ("edge height", standing.edge_height), ("squares at", squares_at)):
        if value is not None and not (math.isfinite(value) and 0 <= value <= 1000):
            raise InsertgenError(f"{what} {value:g} mm cannot be: 0 to 1000 mm")
    if camera_height is not None and not (math.isfinite(camera_height) and squares_at + 50 <= camera_height <= 10_000):
        raise InsertgenError(
            f"camera height {camera_height:g} mm cannot be: at least 50 mm above the squares, at most 10000 mm"
        )


def _known(photo: Photo, squares_at: float, camera_height: float | None) -> Known:
    centre = ((photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
    assumed = USUAL_FOCAL_35MM * math.hypot(photo.width_px, photo.height_px) / FILM_DIAGONAL
    return Known(
        photo.focal_px or assumed, photo.focal_px is not None, centre, squares_at=squares_at, tape=camera_height
    )


def _bench(
    photo: Photo, candidates: list[Candidate], cut_off: list[np.typing.NDArray[np.float64]], square: float, known: Known
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
    return agree(candidates, square, known, photo.name)


def _check_height(photo: Photo, top: float, solution: Solution) -> None:
    if top > 0.7 * solution.camera.height:
        raise InsertgenError(
            f"{photo.name}: a height of {top:g} mm would be near the camera, which was only "
            f"{solution.camera.height:.0f} mm above the bench; check the height, or take the photo from farther away"
        )


def _measure(
    photo: Photo, known: Known, solution: Solution, fits: tuple[SquareFit, ...], seen: Silhouette, standing: Standing
) -> Trace:
    camera, ring = solution.camera, seen.boundary
    stance = stance_of(standing, camera, photo.rgb, ring)
    plane = float(stance.edges[0].height.mean())
    outer, *holes = stance.cast(camera)
    framed = to_shape_frame(outer, tuple(hole for hole in holes if abs(signed_area(hole)) >= _LEAST_HOLE), TOLERANCE)
    scale = camera.mm_per_pixel(ring.outer.mean(axis=0), plane)
    error = expected_error(parts_of(solution, seen.sure, scale, stance, known.squares_at), seen.sure, scale)
    per_10mm = framed.length * 10.0 / (camera.height - plane - 10.0)
    doubts = (
        *seen.warnings,
        *say_height(standing, stance, camera, per_10mm=per_10mm),
        *say_taking(photo, known, solution, ring.outer, scale=scale),
        *say_squares(photo, solution, fits, ring.outer, length=framed.length),
    )
    unknown_focal = photo.focal_px is None and math.sqrt(solution.covariance[3, 3]) > 0.05
    return Trace(
        framed.outline, fits, scale, camera.tilt_deg, None if unknown_focal else camera.height, plane,
        framed.length, framed.width, framed.area, error.p95, per_10mm, doubts, (ring.outer, *ring.holes),
        (*say_assumed(photo, known, solution), *say_edge(standing, stance)), error.mean, error.points,
    )  # fmt: skip
