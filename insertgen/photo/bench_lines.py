"""Thin lines on the bench that run into the item: a scribed or pencilled line, a scratch, taken for part of it."""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.load import Bool

__all__ = ["bench_lines", "is_thin_line"]

_OPENED = 7  # working px: what is narrower may be a line
_WIDEST = 1.2  # mm
_SHORTEST = 20.0  # mm
_STRAIGHT = 3.0  # times its own width, at most, to either side together
_STEADY = 0.75  # of the width of its third near the item its last third has; a point grows thin
_LEAST_CORE = 0.5  # of the item's area: else it is all thin, a wire or a key
_GAP = 3  # working px


def bench_lines(body: Bool, mm: float) -> Bool:
    """What of a filled region is a thin straight line that leaves it and ends on the bench; ``mm``: a working pixel.

    Seen alone, it differs from a wire in nothing; but a tool has few parts of steady width that are thinner than
    1.2 mm and longer than 20 mm, and none of them asks for a seat of its own.
    """
    small = np.ones((3, 3), np.uint8)
    core = cv2.morphologyEx(body.astype(np.uint8), cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_OPENED, _OPENED)))
    lines = np.zeros_like(body)
    if core.sum() < _LEAST_CORE * body.sum():
        return lines
    near = cv2.dilate(core, small)
    count, label = cv2.connectedComponents((body & (near == 0)).astype(np.uint8))
    for at in range(1, count):
        part = np.asarray(label == at)
        if part.sum() * mm >= _SHORTEST and _is_line(part, core > 0, mm):
            lines |= (cv2.dilate(part.astype(np.uint8), small, iterations=2) > 0) & body & (core == 0)
    return lines


def is_thin_line(part: Bool, mm: float) -> bool:
    """Whether a piece is straight, thin and long enough for a line drawn on the bench; ``mm``: a working pixel."""
    places = np.argwhere(part)[:, ::-1].astype(np.float32)
    sides = cv2.minAreaRect(places)[1]
    length = max(sides) + 1.0
    width = len(places) / length
    return bool(length * mm >= _SHORTEST and width * mm <= _WIDEST and min(sides) <= _STRAIGHT * max(width, 1.0))


def _is_line(part: Bool, core: Bool, mm: float) -> bool:
    if not is_thin_line(part, mm):
        return False
    touched = (cv2.dilate(part.astype(np.uint8), np.ones((2 * _GAP + 1, 2 * _GAP + 1), np.uint8)) > 0) & core
    if cv2.connectedComponents(touched.astype(np.uint8))[0] != 2:
        return False
    root = np.argwhere(touched)[:, ::-1].mean(axis=0)
    away = np.linalg.norm(np.argwhere(part)[:, ::-1] - root, axis=1)
    third = float(np.ptp(away)) / 3
    return bool((away > away.max() - third).sum() >= _STEADY * (away < away.min() + third).sum())
