"""What else lies on the bench: a second item, or something that the frame cuts off.

A thing has a sharp edge and is thicker than a scratch; stains and shade are soft,
pencil lines and scratches thin.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.errors import PhotoError
from insertgen.photo.hypotheses import Guess
from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.surface import Surface

__all__ = ["refuse_bystanders"]

_UNLIKE = 5.0  # times the bench's usual scatter
_THICK = 7  # working px: no scratch is
_SHARP = 0.6  # mean sharpness of its edge, 0..1
_STRIP = 14  # working px along the frame
_CROSSING = 4.0  # times the bench's strong edges; seen: 6.6 and more for things cut off, 2.3 at most for shade
_SHARE = 0.25  # of the item's area: what is smaller may be a chip or a screw
_FILLED = 0.6  # of a second item is thick and unlike the bench
_APART = 12.0  # mm: what lies nearer may be part of the item, its shade or gloss
_LEAST = 300  # working px
_LIKELY, _CERTAIN = 1.0, 5.0  # log odds: mean of a second item, and what one pixel counts at most


def refuse_bystanders(surface: Surface, guesses: list[Guess], odds: Float, mm2: float, name: str) -> None:
    """Refuse what one outline cannot tell; ``mm2``: of a working pixel.

    Raises
    ------
    PhotoError
        A second thing lies on the bench, or one touches the edge of the photo.
    """
    least = max(_LEAST, _SHARE * float(guesses[0].region.sum())) if guesses else _LEAST
    things = _unlike_bench(surface)
    if any(thing.sum() >= least and _crosses_sharply(surface, thing) for thing in _at_frame(things)):
        raise PhotoError(
            f"{name}: something on the bench touches the edge of the photo; move the camera or the item so that "
            "all of it is in the picture with bench all round, clear other things away, and take the photo again"
        )
    near = _grown(guesses[0].region, _APART / math.sqrt(mm2)) if guesses else things > 0
    if any(_is_second(guess, near, things, odds, least) for guess in guesses[1:]):
        raise PhotoError(
            f"{name}: two items lie on the bench; leave one, clear the other away, and take the photo again"
        )


def _at_frame(things: NDArray[np.uint8]) -> Iterator[Bool]:
    height, width = things.shape
    count, label, stats, _ = cv2.connectedComponentsWithStats(things)
    for at in range(1, count):
        x, y, w, h, _area = (int(value) for value in stats[at])
        if x <= 2 or y <= 2 or x + w >= width - 2 or y + h >= height - 2:
            yield np.asarray(label == at)


def _grown(region: Bool, by: float) -> Bool:
    return np.asarray(cv2.distanceTransform((~region).astype(np.uint8), cv2.DIST_L2, 5) < by)


def _is_second(guess: Guess, near: Bool, things: NDArray[np.uint8], odds: Float, least: float) -> bool:
    """Away from the item, sharp, and filled: what pencil lines or the joints of boards enclose is bench."""
    area = float(guess.region.sum())
    if guess.sharp < _SHARP or area < least or bool((guess.region & near).any()):
        return False
    if float(np.clip(odds[guess.region], -_CERTAIN, _CERTAIN).mean()) < _LIKELY:
        return False
    return float((guess.region & (things > 0)).sum()) >= _FILLED * area


def _unlike_bench(surface: Surface) -> NDArray[np.uint8]:
    blurred = cv2.GaussianBlur(surface.departure, (0, 0), 1.5)
    bench = surface.departure[~surface.paper]
    middle = np.median(bench, axis=0)
    scatter = np.maximum(1.4826 * np.median(np.abs(bench - middle), axis=0), 0.02)
    off = np.sqrt((((blurred - middle) / scatter) ** 2).mean(axis=2))
    unlike = ((off > _UNLIKE) & ~surface.paper).astype(np.uint8)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (_THICK, _THICK))
    return np.asarray(cv2.morphologyEx(unlike, cv2.MORPH_OPEN, disc), np.uint8)


def _crosses_sharply(surface: Surface, thing: Bool) -> bool:
    """Whether it has sharp edges where it meets the frame: the rim of shade or of a darker corner has none."""
    strip = np.ones(thing.shape, bool)
    strip[_STRIP:-_STRIP, _STRIP:-_STRIP] = False
    around = cv2.dilate(thing.astype(np.uint8), np.ones((9, 9), np.uint8)) > 0
    usual = float(np.percentile(surface.crisp[~surface.paper], 97))
    return float(np.percentile(surface.crisp[around & strip], 97)) > _CROSSING * usual
