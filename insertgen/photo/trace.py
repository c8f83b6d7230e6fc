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
from insertgen.photo.standing import Standing, check_length, check_standing, stance_of
from insertgen.photo.taking import say_assumed, say_edge, say_squares, say_taking

__all__ = ["TOLERANCE", "Looked", "SquareFit", "Trace", "look_at_items", "trace_item", "trace_photo"]

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


@dataclass(frozen=True, slots=True, eq=False)
class Looked:
    """What is seen in a photo before anything is known of the heights of its items.

    Attributes
    ----------
    photo : Photo
    square : float
        Side of the squares as measured on the paper, mm.
    known : Known
        Of the lens, from the file or assumed.
    solution : Solution
        The camera above the bench.
    squares : tuple of SquareFit
        Every dark reference square seen, used or not.
    items : tuple of Silhouette
        From left to right.
    """

    photo: Photo
    square: float
    known: Known
    solution: Solution
    squares: tuple[SquareFit, ...]
    items: tuple[Silhouette, ...]


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
) -> Trace:
    """Trace the one item that lies on the bench among dark reference squares.

    Of the arguments those not named here are told by `look_at_items`.

    Parameters
    ----------
    height : float, optional
        The item's overall height; where its edge stands below that is told by its look.
    edge_height : float, optional
        Where the visible edge really stands, all round; instead of ``height``.
    upright : bool
        The item has upright walls from the bench to ``height``, whatever it looks like: sides that look away from
        the camera are cast high, the others low.

    Raises
    ------
    PhotoError
        No usable square, no item or two, an item at the frame: with how to retake the photo.
    InsertgenError
        Lengths that cannot be.
    """
    standing = Standing(height, edge_height, upright)
    check_standing(standing)
    looked = look_at_items(
        photo, square=square, squares_at=squares_at, camera_height=camera_height, silhouette=silhouette, hints=hints, bench_photo=bench_photo
    )
    return _measured(looked, looked.items[0], standing)


def look_at_items(
    photo: Photo,
    *,
    square: float,
    squares_at: float = 0.0,
    camera_height: float | None = None,
    silhouette: Bool | None = None,
    hints: Hints = NO_HINTS,
    bench_photo: Photo | None = None,
    count: int = 1,
) -> Looked:
    """Find the camera, and so many items: what takes seconds, and is the same for all items of a photo.

    Parameters
    ----------
    photo : Photo
    square : float
        Side of the squares as measured on the paper, mm.
    squares_at : float
        How high above the bench all the squares lie, mm.
    camera_height : float, optional
        Of the lens above the bench, measured with a tape, mm.
    silhouette : bool array, H x W, optional
        The one item's pixels, in place of those found.
    hints : Hints
        Places on the item and off it, and where it is.
    bench_photo : Photo, optional
        The same view without the item.
    count : int
        How many items lie in the photo.

    Raises
    ------
    PhotoError
        No usable square, fewer items or more, an item at the frame: with how to retake the photo.
    InsertgenError
        Lengths that cannot be; a silhouette with what it leaves nothing to say.
    """
    _check_taking(square, squares_at, camera_height)
    candidates, cut_off = find_squares(luminance(photo.rgb))
    known = _known(photo, squares_at, camera_height)
    solution, fits = _bench(photo, candidates, cut_off, square, known)
    if silhouette is None:
        quads = [np.array(fit.corners_px) for fit in fits]
        items = find_items(photo, quads, solution.camera, count, hints, bench_photo)
    elif hints or bench_photo is not None or count > 1:
        raise InsertgenError(
            "a silhouette says where the one item is: leave out --inside, --outside, --crop, --bench-photo and further names"
        )
    else:
        items = [from_mask(silhouette, photo.name)]
    return Looked(photo, square, known, solution, fits, tuple(items))


def trace_item(looked: Looked, number: int, standing: Standing) -> Trace:
    """Outline in mm of one item seen in a photo.

    Parameters
    ----------
    looked : Looked
    number : int
        Which item, 1 the leftmost.
    standing : Standing
        How high it is, or its edge.

    Raises
    ------
    PhotoError
        The item lies over a square.
    InsertgenError
        Heights that cannot be.
    """
    check_standing(standing)
    return _measured(looked, looked.items[number - 1], standing)


def _check_taking(square: float, squares_at: float, camera_height: float | None) -> None:
    low, high = _SIDE_RANGE
    if not (math.isfinite(square) and low <= square <= high):
        raise InsertgenError(
            f"a square of {square:g} mm cannot be: {low:g} to {high:g} mm; type the side of the black square as measured"
        )
    check_length("squares at", squares_at)
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


def _measured(looked: Looked, seen: Silhouette, standing: Standing) -> Trace:
    photo, known, solution, fits = looked.photo, looked.known, looked.solution, looked.squares
    camera, ring = solution.camera, seen.boundary
    _check_height(photo, standing.top, solution)
    refuse_on_item(fits, ring.outer, photo.name)
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
