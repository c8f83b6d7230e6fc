"""One camera from all the squares at once.

Unknown: the camera's height and two tilts, each square's place and turn on the
bench, and, where the squares carry it, focal length and radial distortion, each
held by what is known beforehand. Known: the side of the squares. The solution is
the one whose corners fall nearest to those seen (Gauss-Newton on weighted
squares, scipy.optimize.least_squares), robust against single bad corners.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import OptimizeResult, least_squares

from insertgen.photo.camera import Array, Camera, Lens

__all__ = ["Known", "Solution", "solve_bench"]

#: Focal length assumed without EXIF: main cameras of phones are 24 to 28 mm; common practice, no source.
USUAL_FOCAL_35MM = 26.0
_SIGMA_FOCAL_EXIF = 0.02  # EXIF gives whole mm: half a mm of 26, and focusing breathes
_SIGMA_FOCAL_NONE = 0.12
_SIGMA_K1 = 0.04  # what phones leave after their own correction, and more; no source
_SIGMA_TILT = math.radians(20.0)  # a photo "from above"; only matters where the squares say next to nothing
_FLOOR_PX = 0.08  # no corner is better than this: paper curls, tone curves bend
_STARTS = ((0.0, 0.0), (0.3, 0.0), (-0.3, 0.0), (0.0, 0.3), (0.0, -0.3))


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of the lens before the squares are looked at."""

    focal_px: float
    focal_from_exif: bool
    centre_px: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The camera and how well the squares agree with it.

    Attributes
    ----------
    places : array, n x 3
        Each square's middle (mm, bench frame) and turn (radians).
    residual_px : array, n
        Root mean square distance of each square's corners from where they should be.
    side : array, n
        Each square's mean side (mm) as its corners measure on the bench.
    chi : float
        Weighted sum of squares: what is compared between solutions.
    covariance : array
        Of (log height over focal, tilt a, tilt b, log focal, k1), from the normal equations.
    """

    camera: Camera
    places: Array
    residual_px: Array
    side: Array
    chi: float
    covariance: Array


def solve_bench(quads: Array, sigmas: Array, side: float, known: Known, *, fit_lens: bool) -> Solution:
    """Camera from the corners of squares lying on the bench.

    Parameters
    ----------
    quads : array, n x 4 x 2
        Corners in pixels, clockwise as seen in the photo.
    sigmas : array, n
        Standard error of the corners, px.
    side : float
        mm.
    known : Known
    fit_lens : bool
        Also solve for k1 (two squares or more).
    """
    weights = 1.0 / np.hypot(sigmas, _FLOOR_PX)
    given = (quads, weights, side, known, fit_lens)
    best = None
    for start in _STARTS:
        guess = _guess(quads, side, known, start)
        fit = least_squares(
            _residuals, guess, args=given, method="lm", x_scale=_scales(len(quads)), max_nfev=4000
        )
        if best is None or fit.cost < best.cost * 0.999:
            best = fit
    assert best is not None
    robust = least_squares(
        _residuals, best.x, args=given, loss="soft_l1", f_scale=3.0, x_scale=_scales(len(quads)), max_nfev=100
    )
    return _solution(robust, quads, side, known)


def _unpack(unknown: Array, known: Known) -> tuple[Camera, Array]:
    # the first unknown is the log of height over focal length: the scale, which the squares fix far
    # better than either; solving for the height itself would creep along a narrow valley
    log_scale, a, b, log_focal, k1 = unknown[:5]
    lens = Lens(known.focal_px * math.exp(log_focal), known.centre_px, float(k1))
    return Camera(lens, known.focal_px * math.exp(log_scale + log_focal), (float(a), float(b))), unknown[
        5:
    ].reshape(-1, 3)


def _corners(places: Array, side: float) -> Array:
    """Corners (n, 4, 3) of squares at (x, y, turn): clockwise in the photo is counter-clockwise from... y is up here."""
    half = side / 2
    base = np.array([[-half, half], [half, half], [half, -half], [-half, -half]])
    cos, sin = np.cos(places[:, 2]), np.sin(places[:, 2])
    turned = np.stack(
        [
            cos[:, None] * base[:, 0] - sin[:, None] * base[:, 1],
            sin[:, None] * base[:, 0] + cos[:, None] * base[:, 1],
        ],
        axis=-1,
    )
    flat = turned + places[:, None, :2]
    return np.concatenate([flat, np.zeros((*flat.shape[:-1], 1))], axis=-1)


def _residuals(
    unknown: Array, quads: Array, weights: Array, side: float, known: Known, fit_lens: bool
) -> Array:
    camera, places = _unpack(unknown, known)
    off = (camera.project(_corners(places, side)) - quads) * weights[:, None, None]
    sigma_focal = _SIGMA_FOCAL_EXIF if known.focal_from_exif else _SIGMA_FOCAL_NONE
    # k1 is in focal lengths; without fit_lens it is pinned, not removed, so that the unknowns keep their places
    before = [unknown[1] / _SIGMA_TILT, unknown[2] / _SIGMA_TILT, unknown[3] / sigma_focal,
              unknown[4] / (_SIGMA_K1 if fit_lens else 1e-6)]  # fmt: skip
    return np.concatenate([off.ravel(), before])


def _guess(quads: Array, side: float, known: Known, tilt: tuple[float, float]) -> Array:
    sides = np.linalg.norm(quads - np.roll(quads, -1, axis=1), axis=2)
    height = known.focal_px * side / float(np.median(sides))
    camera = Camera(Lens(known.focal_px, known.centre_px), height, tilt)
    spots = camera.cast(quads.reshape(-1, 2)).reshape(quads.shape)
    edge = spots[:, 1] - spots[:, 0] + spots[:, 2] - spots[:, 3]
    places = np.c_[spots.mean(axis=1), np.arctan2(edge[:, 1], edge[:, 0])]
    return np.concatenate([[math.log(height / known.focal_px), *tilt, 0.0, 0.0], places.ravel()])


def _scales(count: int) -> Array:
    return np.concatenate([[0.05, 0.05, 0.05, 0.02, 0.02], np.tile([5.0, 5.0, 0.02], count)])


def _solution(fit: OptimizeResult, quads: Array, side: float, known: Known) -> Solution:
    unknown, jacobian = np.asarray(fit.x, np.float64), np.asarray(fit.jac, np.float64)
    camera, places = _unpack(unknown, known)
    off = camera.project(_corners(places, side)) - quads
    spots = camera.cast(quads.reshape(-1, 2)).reshape(quads.shape)
    sides = np.linalg.norm(spots - np.roll(spots, -1, axis=1), axis=2).mean(axis=1)
    covariance = np.asarray(np.linalg.pinv(jacobian.T @ jacobian)[:5, :5], np.float64)
    residual = np.sqrt((off**2).sum(axis=2).mean(axis=1))
    return Solution(camera, places, residual, sides, 2 * float(fit.cost), covariance)
