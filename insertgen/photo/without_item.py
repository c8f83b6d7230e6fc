"""A photo of the same bench without the item laid under the photo with it, so that grain, stains and lines cancel."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.errors import PhotoError
from insertgen.photo.light import Float
from insertgen.photo.load import Photo

__all__ = ["check_same_view", "registered"]

_ROUNDS, _PRECISION = 60, 1e-4
_LEAST_ALIKE = 0.6  # correlation of the two photos' fine detail once laid on each other
_BLUR = 3.0


def check_same_view(photo: Photo, bench: Photo) -> None:
    """Refuse a photo of another size.

    Raises
    ------
    PhotoError
    """
    if photo.rgb.shape != bench.rgb.shape:
        raise PhotoError(
            f"{bench.name}: the photo of the bench alone is {bench.width_px} x {bench.height_px} px, {photo.name} is "
            f"{photo.width_px} x {photo.height_px} px; take both with the same camera, held or clamped in the same place"
        )
    if bench.sha256 == photo.sha256:
        raise PhotoError(f"{bench.name} and {photo.name} are the same photo; give one of the bench without the item")


def registered(light: Float, bench: Float, name: str) -> Float:
    """``bench`` (log light, h x w x 3) moved onto ``light``: enhanced correlation (Evangelidis, Psarakis 2008).

    Raises
    ------
    PhotoError
        The two do not show the same bench from the same place.
    """
    here, there = _detail(light), _detail(bench)
    start, _ = cv2.phaseCorrelate(there.astype(np.float64), here.astype(np.float64))
    warp = np.array([[1, 0, -start[0]], [0, 1, -start[1]], [0, 0, 1]], np.float32)
    if float(np.hypot(start[0], start[1])) > 0.05 * max(here.shape):
        warp = np.eye(3, dtype=np.float32)
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, _ROUNDS, _PRECISION)
    try:
        alike, moved = cv2.findTransformECC(here, there, warp, cv2.MOTION_HOMOGRAPHY, stop, np.ones(here.shape, np.uint8), 3)
        warp = np.asarray(moved, np.float32)
    except cv2.error:  # it found no way to lay one on the other
        alike = 0.0
    if alike < _LEAST_ALIKE:
        raise PhotoError(
            f"{name}: the photo of the bench alone does not show the same bench from the same place; take both from one "
            "place, squares lying as they are, and move nothing but the item"
        )
    return np.asarray(cv2.warpPerspective(
        bench, warp, light.shape[1::-1], flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    ))  # fmt: skip


def _detail(light: Float) -> Float:
    grey = light.mean(axis=2)
    fine = cv2.GaussianBlur(grey, (0, 0), 0.8) - cv2.GaussianBlur(grey, (0, 0), 8 * _BLUR)
    limit = 4.0 * max(float(np.median(np.abs(fine))), 1e-3)
    return np.asarray(np.clip(fine, -limit, limit), np.float32)
