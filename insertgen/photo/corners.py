"""Corners of a dark square to a small part of a pixel: lines fitted to its four edges, and crossed.

A threshold shrinks a dark square, since film and eye are not linear; here an edge
stands where linear light is half way between the two sides, which a symmetric
blur does not move, less what the camera's own sharpening moved it (`rise`).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.photo.light import Float
from insertgen.photo.rise import find_rise

__all__ = ["Array", "Corners", "refine_corners", "sample"]

Array = NDArray[np.float64]

_STEP = 0.25  # px between samples across an edge
_ALONG = (0.08, 0.92)  # of the side: the corners themselves are rounded by the blur
_TURNS = 3
_WINDOW, _WINDOW_SHARE = 6.0, 0.12  # px to either side, and of the side at most: where ink and paper are plain
_LEAST_WINDOW = 3.0
_MOST_SHIFT = 0.6  # px
_DAZZLED, _SIGMA_DAZZLED = 0.9, 0.15  # light of the paper from which clipping hides the edge's place, and by how much, px


@dataclass(frozen=True, slots=True, eq=False)
class Corners:
    """Four refined corners in the order given, and how well the edges were straight.

    Attributes
    ----------
    px : array, 4 x 2
        Pixel centres at integers.
    sigma_px : float
        Standard error of a corner, from the scatter of edge points about the lines.
    scatter_px : float
        Robust scatter of the edge points themselves.
    contrast : float
        Least ratio of light outside to light inside over the four edges.
    grown_px : float
        By how much each edge was moved outward for the sharpening.
    """

    px: Array
    sigma_px: float
    scatter_px: float
    contrast: float
    grown_px: float = 0.0


def refine_corners(light: Float, quad: Array) -> Corners | None:
    """Sub-pixel corners of a dark quadrilateral, None if it has no four straight clean edges.

    Parameters
    ----------
    light : float32 array, H x W
        Linear luminance.
    quad : array, 4 x 2
        Corners within a few pixels, in order round the square.
    """
    corners = quad.astype(np.float64)
    reach = max(4.0, 0.025 * float(np.min(np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1))))
    for turn in range(_TURNS):
        lines, scatters, counts, contrasts = [], [], [], []
        for side in range(4):
            edge = _edge_points(light, corners[side], corners[(side + 1) % 4], corners.mean(axis=0), reach)
            if edge is None:
                return None
            points, contrast = edge
            line, scatter = _fit_line(points)
            lines.append(line)
            scatters.append(scatter)
            counts.append(len(points))
            contrasts.append(contrast)
        fresh = np.array([_cross(lines[side - 1], lines[side]) for side in range(4)])
        if not np.isfinite(fresh).all() or np.abs(fresh - corners).max() > 3 * reach:
            return None
        corners = fresh
        reach = max(3.0, reach / 1.5) if turn == 0 else reach
    scatter = float(np.max(scatters))
    # a line's end is about twice as uncertain as its middle: scatter * 2 / sqrt(n independent points)
    sigma = 2.0 * scatter / float(np.sqrt(max(4.0, min(counts) / 2.0)))
    shift, doubt = _sharpening(light, corners)
    return Corners(_grown(corners, shift), float(np.hypot(sigma, doubt)), scatter, float(np.min(contrasts)), shift)


def _sharpening(light: Float, corners: Array) -> tuple[float, float]:
    """How far outside its fitted lines the square's edges truly stand, and a standard error to add, px."""
    sides = np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1)
    reach = min(_WINDOW, _WINDOW_SHARE * float(sides.min()))
    if reach < _LEAST_WINDOW:
        return 0.0, 0.0
    offsets = np.arange(-reach, reach + _STEP / 2, _STEP)
    middle, profiles = corners.mean(axis=0), []
    for side in range(4):
        base, normal = _along_edge(corners[side], corners[(side + 1) % 4], middle)
        profiles.append(sample(light, base[:, None, :] + offsets[None, :, None] * normal).mean(axis=0))
    rise = find_rise(offsets, np.mean(profiles, axis=0))
    if rise is None or abs(rise.at) > _MOST_SHIFT:
        return 0.0, _SIGMA_DAZZLED
    return rise.at, _SIGMA_DAZZLED if rise.pale > _DAZZLED else 0.0


def _grown(corners: Array, shift: float) -> Array:
    middle, lines = corners.mean(axis=0), []
    for side in range(4):
        start, end = corners[side], corners[(side + 1) % 4]
        _, normal = _along_edge(start, end, middle)
        lines.append(np.array([*normal, normal @ start + shift]))
    return np.array([_cross(lines[side - 1], lines[side]) for side in range(4)])


def _along_edge(start: Array, end: Array, middle: Array) -> tuple[Array, Array]:
    """Points along an edge, the corners left out, and its normal away from the middle."""
    length = float(np.linalg.norm(end - start))
    along = np.linspace(*_ALONG, int(np.clip(length, 12, 120)))
    normal = np.array([end[1] - start[1], start[0] - end[0]]) / length
    return start + along[:, None] * (end - start), normal if normal @ (start - middle) > 0 else -normal


def _edge_points(
    light: Float, start: Array, end: Array, middle: Array, reach: float
) -> tuple[Array, float] | None:
    """Points where the light is half way, along profiles across the edge, outward positive."""
    base, normal = _along_edge(start, end, middle)
    count = len(base)
    offsets = np.arange(-reach, reach + _STEP / 2, _STEP)
    grid = base[:, None, :] + offsets[None, :, None] * normal
    profile = sample(light, grid)
    ends = max(3, len(offsets) // 6)
    inside, outside = profile[:, :ends].mean(axis=1), profile[:, -ends:].mean(axis=1)
    rise = outside - inside
    good = (rise > 0.25 * np.median(rise)) & (rise > 0.01)
    if good.sum() < 0.7 * count:
        return None
    # the step of equal area: unmoved by any symmetric blur, and uses every sample
    share = ((profile - inside[:, None]) / np.where(good, rise, 1.0)[:, None]).sum(axis=1) * _STEP
    at = offsets[-1] + _STEP / 2 - share
    good &= np.abs(at) < reach
    if good.sum() < 0.6 * count:
        return None
    contrast = float(np.median(outside[good] / np.maximum(inside[good], 1e-4)))
    return (base + at[:, None] * normal)[good], contrast


def _fit_line(points: Array) -> tuple[Array, float]:
    """Total least squares with bisquare weights: (a, b, c), a x + b y = c, and the scatter."""
    weight = np.ones(len(points))
    line, scatter = np.zeros(3), 0.0
    for _ in range(6):
        middle = np.average(points, axis=0, weights=weight)
        spread = (points - middle) * np.sqrt(weight)[:, None]
        normal = np.linalg.svd(spread, full_matrices=False)[2][1]
        line = np.array([normal[0], normal[1], normal @ middle])
        off = points @ normal - line[2]
        scatter = 1.4826 * float(np.median(np.abs(off)))
        limit = 4.0 * max(scatter, 0.02)
        weight = np.where(np.abs(off) < limit, (1 - (off / limit) ** 2) ** 2, 0.0) + 1e-9
    return line, scatter


def _cross(first: Array, second: Array) -> Array:
    matrix = np.array([first[:2], second[:2]])
    if abs(np.linalg.det(matrix)) < 0.1:
        return np.full(2, np.nan)
    return np.linalg.solve(matrix, np.array([first[2], second[2]]))


def sample(picture: Float, grid: Array) -> Array:
    """Bilinear values at points (..., 2) as x, y in pixels; the frame's edge repeats outward."""
    flat = grid.reshape(-1, 2)
    width = 4096  # remap takes at most 32767 rows or columns
    rows = -(-len(flat) // width)
    x, y = np.zeros((2, rows * width), np.float32)
    x[: len(flat)], y[: len(flat)] = flat.T
    values = cv2.remap(
        picture,
        x.reshape(rows, width),
        y.reshape(rows, width),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(values, np.float64).reshape(-1)[: len(flat)].reshape(grid.shape[:-1])
