"""One camera from all the squares at once.

Unknown: each photo's camera height and two tilts, each square's place and turn on the bench, and what the photos
share: focal length, radial distortion and the middle of the lens, each held by what is known beforehand (EXIF,
a tape, straight lines). Known: the side of the squares, and how high they lie. The solution is the one whose
corners fall nearest to those seen (Gauss-Newton on weighted squares, scipy.optimize.least_squares), robust
against single bad corners. The bench as a plane that a photo measures: Criminisi, Reid, Zisserman, Single View
Metrology (IJCV 2000); all of it at once: bundle adjustment (Triggs et al. 1999).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import OptimizeResult, least_squares

from insertgen.photo.camera import Array, Camera, Lens
from insertgen.photo.slopes import slopes_of

__all__ = ["SIGMA_K1", "USUAL_FOCAL_35MM", "Known", "Solution", "View", "nudged", "solve_bench", "solve_views"]

#: Focal length assumed without EXIF: main cameras of phones are 24 to 28 mm; common practice, no source.
USUAL_FOCAL_35MM = 26.0
#: What phones leave of distortion after their own correction, and more; no source.
SIGMA_K1 = 0.04
_SIGMA_FOCAL_EXIF = 0.02  # EXIF gives whole mm: half a mm of 26, and focusing breathes
_SIGMA_FOCAL_NONE = 0.12
_SIGMA_CENTRE = 0.003  # of the diagonal: how far a lens's axis is from the picture's middle; no source
_SIGMA_TILT = math.radians(20.0)  # a photo "from above"; only matters where the squares say next to nothing
_SIGMA_TAPE = 10.0  # mm: where in a phone is the lens?
_FLOOR_PX = 0.08  # no corner is better than this: paper curls, tone curves bend
_PLENTY = 3  # squares that leave no doubt which way the camera tilts
_STARTS = ((0.0, 0.0), (0.3, 0.0), (-0.3, 0.0), (0.0, 0.3), (0.0, -0.3))
_LENS, _POSE = 4, 3  # unknowns of the lens, and of the first photo's pose; a further photo's pose has three more


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of the lens before the squares are looked at.

    Attributes
    ----------
    k1, sigma_k1 : float
        Distortion expected, and its standard error.
    squares_at : float
        mm above the bench at which all squares lie.
    tape : float or None
        Height of the (first) camera above the bench as measured, mm.
    """

    focal_px: float
    focal_from_exif: bool
    centre_px: tuple[float, float]
    k1: float = 0.0
    sigma_k1: float = SIGMA_K1
    squares_at: float = 0.0
    tape: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """The squares in one photo: corners n x 4 x 2 (px, clockwise as seen), their standard errors n, and which
    square of the bench each is (n indices)."""

    quads: Array
    sigmas: Array
    which: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The camera and how well the squares agree with it.

    Attributes
    ----------
    cameras : tuple of Camera
        One a photo, in the bench frame of the first.
    places : array, n x 3
        Each square's middle (mm, bench frame) and turn (radians).
    residual_px : array
        Root mean square distance of each square's corners from where they should be, photo by photo.
    side : array
        Each square's mean side (mm) as its corners measure on the bench.
    chi : float
        Weighted sum of squares: what is compared between solutions.
    covariance : array, 7 x 7
        Of the first camera's (log of height over focal length, tilt a, tilt b, log focal, k1, centre x, centre y),
        from the normal equations; larger where corners lie farther off than they should.
    """

    cameras: tuple[Camera, ...]
    places: Array
    residual_px: Array
    side: Array
    chi: float
    covariance: Array

    @property
    def camera(self) -> Camera:
        return self.cameras[0]


def solve_bench(quads: Array, sigmas: Array, side: float, known: Known, *, fit_lens: bool) -> Solution:
    """Camera from the corners of squares in one photo; see `solve_views`."""
    return solve_views([View(quads, sigmas, tuple(range(len(quads))))], side, known, fit_lens=fit_lens)


def solve_views(views: list[View], side: float, known: Known, *, fit_lens: bool) -> Solution:
    """Cameras from the corners of squares that lie flat, all at one height.

    Parameters
    ----------
    views : list of View
        Photos by one lens; each shares a square with the first.
    side : float
        mm.
    known : Known
    fit_lens : bool
        Also solve for k1 (two squares or more); else it is as known.
    """
    given = (views, side, known, fit_lens)
    scales = _scales(views)
    best: OptimizeResult | None = None
    for tilt in _STARTS:
        start = _guess(views, side, known, tilt)
        fit = least_squares(_residuals, start, _slopes, args=given, method="lm", x_scale=scales, max_nfev=4000)
        best = fit if best is None or fit.cost < best.cost * 0.999 else best
        # corners met within their own errors by squares that lie far apart: there is no second tilt that does so too
        if len(views[0].which) >= _PLENTY and 2 * best.cost <= len(best.fun):
            break
    assert best is not None
    robust = least_squares(_residuals, best.x, _slopes, args=given, loss="soft_l1", f_scale=3.0, x_scale=scales, max_nfev=100)
    return _solution(robust, views, side, known)


def _unpack(unknown: Array, views: list[View], known: Known) -> tuple[tuple[Camera, ...], Array]:
    log_focal, k1, x, y = (float(value) for value in unknown[:_LENS])
    focal = known.focal_px * math.exp(log_focal)
    lens = Lens(focal, (known.centre_px[0] + x, known.centre_px[1] + y), k1)
    cameras, at = [], _LENS
    for index in range(len(views)):
        # the first unknown is the log of height over focal length: the scale, which the squares fix far
        # better than either; solving for the height itself would creep along a narrow valley
        log_scale, a, b = (float(value) for value in unknown[at : at + _POSE])
        at += _POSE
        foot, turn = (0.0, 0.0), 0.0
        if index:
            foot, turn = (float(unknown[at]), float(unknown[at + 1])), float(unknown[at + 2])
            at += 3
        cameras.append(Camera(lens, focal * math.exp(log_scale) + known.squares_at, (a, b), foot, turn))
    return tuple(cameras), unknown[at:].reshape(-1, 3)


def _corners(places: Array, side: float, height: float) -> Array:
    """Corners (n, 4, 3) of squares at (x, y, turn), clockwise as seen from above."""
    half = side / 2
    base = np.array([[-half, half], [half, half], [half, -half], [-half, -half]])
    cos, sin = np.cos(places[:, 2])[:, None], np.sin(places[:, 2])[:, None]
    turned = np.stack([cos * base[:, 0] - sin * base[:, 1], sin * base[:, 0] + cos * base[:, 1]], axis=-1)
    flat = turned + places[:, None, :2]
    return np.concatenate([flat, np.full((*flat.shape[:-1], 1), height)], axis=-1)


def _residuals(unknown: Array, views: list[View], side: float, known: Known, fit_lens: bool) -> Array:
    cameras, places = _unpack(unknown, views, known)
    corners = _corners(places, side, known.squares_at)
    parts = []
    for view, camera in zip(views, cameras, strict=True):
        weights = 1.0 / np.hypot(view.sigmas, _FLOOR_PX)
        off = (camera.project(corners[list(view.which)]) - view.quads) * weights[:, None, None]
        parts += [off.ravel(), np.array(camera.tilt) / _SIGMA_TILT]
    before = list((unknown[:_LENS] - [0.0, known.k1, 0.0, 0.0]) / _sigma_lens(known, fit_lens=fit_lens))
    if known.tape is not None:
        before.append((cameras[0].height - known.tape) / _SIGMA_TAPE)
    return np.concatenate([*parts, before])


def _sigma_lens(known: Known, *, fit_lens: bool) -> Array:
    """How far log of focal length, k1 (in focal lengths) and centre may be from what is known beforehand.

    Without ``fit_lens`` k1 is pinned, not removed, so that the unknowns keep their places.
    """
    centre = _SIGMA_CENTRE * 2 * math.hypot(*known.centre_px)
    return np.array([_SIGMA_FOCAL_EXIF if known.focal_from_exif else _SIGMA_FOCAL_NONE, known.sigma_k1 if fit_lens else 1e-6, centre, centre])


def _slopes(unknown: Array, views: list[View], side: float, known: Known, fit_lens: bool) -> Array:
    """Of `_residuals`, row by row, by each unknown."""
    cameras, places = _unpack(unknown, views, known)
    corners = _corners(places, side, known.squares_at)
    at, parts = _LENS, []
    for index, (view, camera) in enumerate(zip(views, cameras, strict=True)):
        which = np.repeat(view.which, 4)
        points = corners[list(view.which)].reshape(-1, 3)
        moves, above = slopes_of(camera, points), camera.height - known.squares_at
        by = np.zeros((len(points), 2, len(unknown)))
        by[:, :, 0] = moves.log_focal + above * moves.height  # the height goes with it: see `_unpack`
        by[:, :, 1] = moves.k1
        by[:, :, 2:_LENS] = np.eye(2)
        by[:, :, at] = above * moves.height
        by[:, :, at + 1 : at + _POSE] = moves.tilt
        tilts = np.zeros((2, len(unknown)))
        tilts[:, at + 1 : at + _POSE] = np.eye(2) / _SIGMA_TILT
        at += _POSE
        if index:
            by[:, :, at : at + 2], by[:, :, at + 2] = moves.foot, moves.turn
            at += 3
        off = points[:, :2] - places[which, :2]
        across = moves.point[:, :, :2] @ np.stack([-off[:, 1], off[:, 0]], axis=1)[:, :, None]
        every, first = np.arange(len(points)), len(unknown) - places.size + 3 * which
        for axis, column in enumerate((moves.point[:, :, 0], moves.point[:, :, 1], across[:, :, 0])):
            by[every, :, first + axis] = column
        weights = 1.0 / np.hypot(view.sigmas, _FLOOR_PX)
        parts += [(by * np.repeat(weights, 4)[:, None, None]).reshape(-1, len(unknown)), tilts]
    before = np.zeros((_LENS + (known.tape is not None), len(unknown)))
    before[range(_LENS), range(_LENS)] = 1 / _sigma_lens(known, fit_lens=fit_lens)
    if known.tape is not None:
        before[_LENS, [0, _LENS]] = (cameras[0].height - known.squares_at) / _SIGMA_TAPE
    return np.concatenate([*parts, before])


def _guess(views: list[View], side: float, known: Known, tilt: tuple[float, float]) -> Array:
    lens = Lens(known.focal_px, known.centre_px)
    poses: list[float] = []
    places: dict[int, Array] = {}
    for index, view in enumerate(views):
        sides = np.linalg.norm(view.quads - np.roll(view.quads, -1, axis=1), axis=2)
        above = known.focal_px * side / float(np.median(sides))
        camera = Camera(lens, above + known.squares_at, tilt)
        spots = camera.cast(view.quads.reshape(-1, 2), known.squares_at).reshape(view.quads.shape)
        edge = spots[:, 1] - spots[:, 0] + spots[:, 2] - spots[:, 3]
        seen = np.c_[spots.mean(axis=1), np.arctan2(edge[:, 1], edge[:, 0])]
        poses += [math.log(above / known.focal_px), *tilt]
        if index:
            shared = next(at for at, square in enumerate(view.which) if square in places)
            x, y, turn = _onto(seen[shared], places[view.which[shared]])
            poses += [x, y, turn]
            cos, sin = math.cos(turn), math.sin(turn)
            seen = np.c_[seen[:, :2] @ np.array([[cos, sin], [-sin, cos]]) + [x, y], seen[:, 2] + turn]
        for square, place in zip(view.which, seen, strict=True):
            places.setdefault(square, place)
    return np.concatenate([[0.0, known.k1, 0.0, 0.0], poses, *(places[square] for square in sorted(places))])


def _onto(here: Array, there: Array) -> tuple[float, float, float]:
    """Shift and turn that take one place (x, y, turn) to another."""
    turn = float(there[2] - here[2])
    cos, sin = math.cos(turn), math.sin(turn)
    return (
        float(there[0] - cos * here[0] + sin * here[1]), float(there[1] - sin * here[0] - cos * here[1]), turn,
    )  # fmt: skip


def _scales(views: list[View]) -> Array:
    poses = [np.array([0.05] * _POSE if not index else [0.05] * _POSE + [5.0, 5.0, 0.02]) for index in range(len(views))]
    count = 1 + max(max(view.which) for view in views)
    return np.concatenate([[0.02, 0.02, 5.0, 5.0], *poses, np.tile([5.0, 5.0, 0.02], count)])


def _solution(fit: OptimizeResult, views: list[View], side: float, known: Known) -> Solution:
    unknown, jacobian = np.asarray(fit.x, np.float64), np.asarray(fit.jac, np.float64)
    cameras, places = _unpack(unknown, views, known)
    corners = _corners(places, side, known.squares_at)
    residuals, sides, excess = [], [], 0.0
    for view, camera in zip(views, cameras, strict=True):
        off = ((camera.project(corners[list(view.which)]) - view.quads) ** 2).sum(axis=2)
        spots = camera.cast(view.quads.reshape(-1, 2), known.squares_at).reshape(view.quads.shape)
        sides.append(np.linalg.norm(spots - np.roll(spots, -1, axis=1), axis=2).mean(axis=1))
        residuals.append(np.sqrt(off.mean(axis=1)))
        excess += float((off / np.hypot(view.sigmas, _FLOOR_PX)[:, None] ** 2).sum())
    # of the unknowns only the places and the first pose surely cost a measurement; the lens is held beforehand too
    free = max(1, sum(view.quads.size for view in views) - places.size - _POSE * len(views))
    covariance = np.linalg.pinv(jacobian.T @ jacobian) * max(1.0, excess / free)
    order = [_LENS, _LENS + 1, _LENS + 2, 0, 1, 2, 3]
    return Solution(
        cameras, places, np.concatenate(residuals), np.concatenate(sides), 2 * float(fit.cost),
        np.asarray(covariance[np.ix_(order, order)], np.float64),
    )  # fmt: skip


def nudged(camera: Camera, by: Array, squares_at: float = 0.0) -> Camera:
    """The camera with its unknowns, in the order of `Solution.covariance`, changed by a little."""
    lens = camera.lens
    moved = Lens(
        lens.focal_px * math.exp(by[3]),
        (lens.centre_px[0] + float(by[5]), lens.centre_px[1] + float(by[6])),
        lens.k1 + float(by[4]),
    )
    height = (camera.height - squares_at) * math.exp(by[0] + by[3]) + squares_at
    return Camera(moved, height, (camera.tilt[0] + float(by[1]), camera.tilt[1] + float(by[2])), camera.foot, camera.turn)
