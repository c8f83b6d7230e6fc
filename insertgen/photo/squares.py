"""Where the dark reference squares are: plain black, or carrying a code, with pale paper round them."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.photo.boundary import normals, resample
from insertgen.photo.corners import Array, Corners, refine_corners, sample
from insertgen.photo.light import Float

__all__ = ["Candidate", "find_squares"]

#: The code printed in coded squares: OpenCV's ArUco dictionary of 50 codes of 4 x 4 cells.
_CODES = cv2.aruco.DICT_4X4_50
_CELLS = 6  # 4 cells and the black frame on either side
_WORK_SIDE = 2400  # search at no more than this; corners are refined at full size
_LEAST_SIDE = 18.0  # px of the working picture
_INSIDE = (0.03, 0.12)  # of the side: black all round, code or not
_OUTSIDE = (0.045, 0.14)  # of the side: pale paper all round
_CONTRAST = 2.2  # paper gives at least this times the light of the ink


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A dark square seen in the photo; ``fault`` "" if it may be used."""

    corners: Corners
    coded: bool
    fault: str = ""


def find_squares(light: Float) -> tuple[list[Candidate], list[Array]]:
    """Squares in a photo, and those the frame cuts off.

    Parameters
    ----------
    light : float32 array, H x W
        Linear luminance.

    Returns
    -------
    candidates : list of Candidate
        Largest first.
    cut_off : list of arrays, 4 x 2
        Boxes (pixels) of dark squares that run out of the frame.
    """
    scale = min(1.0, _WORK_SIDE / max(light.shape))
    small = light
    if scale < 1.0:
        small = np.asarray(
            cv2.resize(light, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.float32
        )
    grey = np.clip(255.0 * np.sqrt(small), 0, 255).astype(np.uint8)
    found: list[Candidate] = []
    cut: list[Array] = []
    for contour in _dark_contours(grey):
        quad = _quad(contour)
        if _touches_frame(contour, grey.shape):
            box = _cut_square(contour, small)
            if box is not None and not any(_near(box, other) for other in cut):
                cut.append((box + 0.5) / scale - 0.5)
            continue
        if quad is None or any(_near((quad + 0.5) / scale - 0.5, other.corners.px) for other in found):
            continue
        candidate = _judge(light, (quad + 0.5) / scale - 0.5)
        if candidate is not None:
            found.append(candidate)
    found.sort(key=lambda item: (-cv2.contourArea(item.corners.px.astype(np.float32)), *item.corners.px[0]))
    return found, cut


def _dark_contours(grey: NDArray[np.uint8]) -> list[NDArray[np.int32]]:
    """Outlines of dark patches under several local thresholds."""
    blurred = cv2.GaussianBlur(grey, (0, 0), 1.0)
    contours: list[NDArray[np.int32]] = []
    longest = max(grey.shape)
    for block, below in ((longest // 8, 20), (longest // 24, 12), (longest // 4, 35)):
        dark = cv2.adaptiveThreshold(
            blurred, 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, block | 1, below
        )
        rings, _ = cv2.findContours(dark, cv2.RETR_LIST, cv2.CHAIN_APPROX_NONE)
        contours += [np.asarray(ring, np.int32) for ring in rings if len(ring) >= 3 * _LEAST_SIDE]
    return contours


def _quad(contour: NDArray[np.int32]) -> Array | None:
    length = cv2.arcLength(contour, True)
    for share in (0.03, 0.05):
        corners = cv2.approxPolyDP(contour, share * length, True).reshape(-1, 2).astype(np.float64)
        if len(corners) == 4 and cv2.isContourConvex(corners.astype(np.float32)):
            sides = np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1)
            if sides.min() < max(_LEAST_SIDE, 0.45 * sides.max()):
                return None
            if cv2.contourArea(contour) < 0.85 * cv2.contourArea(corners.astype(np.float32)):
                return None
            # clockwise as seen in the photo, or a code would be read mirrored
            return (
                corners
                if cv2.contourArea(corners.astype(np.float32), oriented=True) > 0
                else corners[::-1].copy()
            )
    return None


def _near(first: Array, second: Array) -> bool:
    reach = 0.3 * float(np.linalg.norm(second[0] - second[2]))
    return bool(np.linalg.norm(first.mean(axis=0) - second.mean(axis=0)) < reach)


def _touches_frame(contour: NDArray[np.int32], shape: tuple[int, ...]) -> bool:
    x0, y0, w, h = cv2.boundingRect(contour)
    return x0 <= 1 or y0 <= 1 or x0 + w >= shape[1] - 1 or y0 + h >= shape[0] - 1


def _judge(light: Float, quad: Array) -> Candidate | None:
    """A candidate with refined corners, None for anything that is no reference square."""
    corners = refine_corners(light, quad)
    if corners is None or corners.contrast < _CONTRAST:
        return None
    side = float(np.linalg.norm(corners.px - np.roll(corners.px, -1, axis=0), axis=1).mean())
    if corners.scatter_px > max(0.6, 0.006 * side):
        return None
    rim, paper = _band(light, corners.px, -1, _INSIDE), _band(light, corners.px, 1, _OUTSIDE)
    middle = np.sqrt(np.median(rim) * np.median(paper))
    if (rim > middle).mean() > 0.03 or (paper < middle).mean() > 0.03:
        return None
    if np.std(np.sqrt(paper)) > 0.12 * np.mean(np.sqrt(paper)):
        return None
    content = _content(light, corners.px, float(middle))
    if content is None:
        return None
    return Candidate(corners, coded=content)


def _band(light: Float, quad: Array, outward: int, share: tuple[float, float]) -> Array:
    """Light in a band along the edges, inside or outside, corners included."""
    target = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float32)
    back = cv2.getPerspectiveTransform(target, quad.astype(np.float32))
    points = []
    for depth in np.linspace(*share, 4):
        low, high = -outward * depth, 1 + outward * depth
        along = np.linspace(low, high, 60)
        points += [np.c_[along, np.full(60, low)], np.c_[along, np.full(60, high)]]
        points += [np.c_[np.full(60, low), along], np.c_[np.full(60, high), along]]
    flat = np.vstack(points)
    return sample(light, cv2.perspectiveTransform(flat[None], back)[0])


def _content(light: Float, quad: Array, middle: float) -> bool | None:
    """False: plain black; True: one of the codes; None: something else, so no square of ours."""
    target = np.array([[0, 0], [_CELLS, 0], [_CELLS, _CELLS], [0, _CELLS]], np.float32)
    back = cv2.getPerspectiveTransform(target, quad.astype(np.float32))
    centre = (np.arange(_CELLS) + 0.5)[:, None] + np.array([-0.25, 0.0, 0.25])
    across = centre.ravel()
    grid = np.stack(np.meshgrid(across, across), axis=-1).reshape(-1, 2)
    values = sample(light, cv2.perspectiveTransform(grid[None], back)[0]).reshape(_CELLS, 3, _CELLS, 3)
    pale = (values > middle).mean(axis=(1, 3))
    if (pale > 0.2).sum() == 0:
        return False
    bits = (pale[1:-1, 1:-1] > 0.5).astype(np.uint8)
    known, _, _ = cv2.aruco.getPredefinedDictionary(_CODES).identify(bits, 0.5)
    return True if known else None


def _cut_square(contour: NDArray[np.int32], light: Float) -> Array | None:
    """Box of a dark square that the frame cuts, None for any other thing at the frame's edge."""
    height, width = light.shape
    x, y, w, h = cv2.boundingRect(contour)
    if max(w, h) < 2 * _LEAST_SIDE or max(w, h) > 0.5 * max(width, height) or min(w, h) < 6:
        return None
    hull = cv2.convexHull(contour)
    if not 3 <= len(cv2.approxPolyDP(hull, 0.03 * cv2.arcLength(hull, True), True)) <= 6:
        return None
    points = resample(hull.reshape(-1, 2).astype(np.float64), 1.0)
    free = ((points > 3) & (points < np.array([width, height]) - 4)).all(axis=1)
    if free.mean() < 0.3:
        return None
    step = max(4.0, 0.06 * max(w, h)) * normals(points)[free]
    outside, inside = sample(light, points[free] + step), sample(light, points[free] - step)
    if (outside > _CONTRAST * inside).mean() < 0.85 or np.std(outside) > 0.25 * np.mean(outside):
        return None
    return np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]], np.float64)
