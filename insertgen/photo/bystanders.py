"""What else lies on the bench: a second item, or something that the frame cuts off."""

from __future__ import annotations

import math
from collections.abc import Callable

import cv2
import numpy as np

from insertgen.errors import PhotoError
from insertgen.photo.camera import Array
from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.pieces import at_frame, filled, midst

__all__ = ["part_left_out", "refuse_bystanders"]

_SHARE = 0.25  # of the item's area: what is smaller may be a chip or a screw
_PART = 0.06  # of its area: what is smaller is no part of it worth a word
_FAINT, _BLUR = -3.0, 2.0  # log odds of a part that may be, and blur, working px
_GAP, _THICK = 13, 7  # working px: twice the distance from the item, and least thickness
_APART = 12.0  # mm: what lies nearer may be part of the item
_LIKELY = 1.0  # mean log odds of a second item
_FRAME = 3  # working px


def refuse_bystanders(pieces: list[Bool], odds: Float, mm2: float, name: str, to_photo: Callable[[Array], Array]) -> None:
    """Refuse what one outline cannot tell; ``mm2``: of a working pixel, ``to_photo``: working px to those of the photo.

    Raises
    ------
    PhotoError
        A second thing lies on the bench, or one touches the edge of the photo.
    """
    least = _SHARE * max((float(piece.sum()) for piece in pieces[:1]), default=0.0)
    large = [piece for piece in pieces if piece.sum() >= least and _likely(piece, odds)]
    cut_off = next((piece for piece in large if at_frame(piece, _FRAME)), None)
    if cut_off is not None:
        raise PhotoError(
            f"{name}: something on the bench, near {_place(cut_off, to_photo)}, touches the edge of the photo; if it is the item, move the camera "
            "or the item so that all of it is in the picture with bench all round, and take the photo again; if not, clear it away, or leave it "
            "out with --crop x0,y0,x1,y1"
        )
    others = [piece for piece in large if piece is not pieces[0] and _gap(pieces[0], piece, mm2) > _APART]
    if others:
        first, second = (_place(piece, to_photo) for piece in (pieces[0], others[0]))
        raise PhotoError(
            f"{name}: two items lie on the bench, near {first} and near {second}; clear one away and take the photo again, or leave it out with "
            "--crop x0,y0,x1,y1"
        )


def _place(piece: Bool, to_photo: Callable[[Array], Array]) -> str:
    """As ``--inside`` takes it."""
    x, y = np.round(to_photo(midst(piece)))
    return f"{x:.0f},{y:.0f}"


def part_left_out(item: Bool, others: list[Bool], odds: Float, paper: Bool) -> bool:
    """Whether something beside the item that is no paper and none of ``others`` may be a part of it.

    Bench is surely bench: log odds of -6 and less. A blade that the networks never saw the like of may come out
    likelier bench, but not so surely: an island of faint odds, as large as a part.
    """
    known = filled(np.logical_or.reduce([item, *others])).astype(np.uint8)
    beside = cv2.dilate(known, np.ones((_GAP, _GAP), np.uint8)) == 0
    faint = (cv2.GaussianBlur(odds, (0, 0), _BLUR) > _FAINT) & beside & ~paper
    thick = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_THICK, _THICK))
    _, _, stats, _ = cv2.connectedComponentsWithStats(cv2.morphologyEx(faint.astype(np.uint8), cv2.MORPH_OPEN, thick))
    return bool(max(stats[1:, cv2.CC_STAT_AREA], default=0) > _PART * item.sum())


def _likely(piece: Bool, odds: Float) -> bool:
    return float(odds[piece].mean()) >= _LIKELY


def _gap(item: Bool, other: Bool, mm2: float) -> float:
    away = cv2.distanceTransform((~item).astype(np.uint8), cv2.DIST_L2, 5)
    return float(away[other].min()) * math.sqrt(mm2)
