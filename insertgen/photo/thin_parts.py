"""Thin strips that run out from an item: whether they are points of it or lines on the bench, the voice of bodies alone decides."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.light import Float
from insertgen.photo.load import Bool

__all__ = ["with_thin_parts"]

_RIM = 2.0  # working px: nearer to the item it is its edge that the voices see differently
_END_REACH, _LINE_REACH = 7.0, 15.0  # working px: least lengths of a point that was missed and of a line that was taken in
_WIDTH = 6.0  # working px: greatest mean width
_SAID = 3.0  # log odds: more than the boundary of a strip 1 px wide costs, and not sure


def with_thin_parts(odds: Float, body: Float) -> Float:
    """The log odds, changed along thin strips about which the voice of bodies was outvoted.

    A blade a few pixels wide, with the bench in every pixel, is bench to those who judge pixels, and a scratch is item; the
    voice of bodies knows that what tapers goes on and that a line is no part of a tool. The bounds were set
    by 115 photos (78 of ``tests/bench/render_photos.py``, 37 that may be learnt from): all 4 strips added are item, all 4 taken away lines.

    Parameters
    ----------
    odds : float32 array, h x w
        Log odds (item / bench) of all voices together.
    body : float32 array, h x w
        Those of the voice of bodies alone.
    """
    said, known = odds > 0, body > 0
    result = odds.copy()
    ends = _strips(known, said, _END_REACH) & (odds < _SAID)
    result[ends] = _SAID
    lines = _strips(said, known, _LINE_REACH) & (odds > -_SAID)
    result[lines] = -_SAID
    return result


def _strips(whole: Bool, core: Bool, least: float) -> Bool:
    """Thin strips of a region that start at its core and reach so far from it."""
    away = cv2.distanceTransform((~core).astype(np.uint8), cv2.DIST_L2, 5)
    count, label = cv2.connectedComponents((whole & (away > _RIM)).astype(np.uint8))
    some = label > 0
    part = np.asarray(label[some], np.intp)
    area, reach, start = np.bincount(part, minlength=count), np.zeros(count), np.full(count, np.inf)
    np.maximum.at(reach, part, away[some])
    np.minimum.at(start, part, away[some])
    thin = (reach >= least) & (area <= _WIDTH * reach) & (start < 2 * _RIM)
    thin[0] = False
    if not thin.any():
        return np.zeros_like(whole)
    strips = cv2.dilate(thin[label].astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    return np.asarray(strips & whole & ~core)
