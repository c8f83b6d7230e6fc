"""Several guesses at the item's outer outline, and the best of them.

A single way to tell item from bench fails on some bench: each guess is judged by
how sharp and complete its edges are, and how much that is not
bench it takes in. Edges alone do not notice half an item missing; area alone would
take in every shadow.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.photo.boundary import rings_of_mask
from insertgen.photo.camera import Array
from insertgen.photo.enclosure import enclosed_at, levels
from insertgen.photo.frame import least_rectangle
from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.regions import region_by_colour
from insertgen.photo.sharpness import EdgeView, sharpness
from insertgen.photo.surface import Surface

__all__ = ["Guess", "best_guesses", "filled", "overlap"]

_LEAST = 600  # working px
_GREATEST = 0.4  # of the photo
_ALIKE = 0.96  # overlap from which two guesses are one
_SHARP_WEIGHT = 4.0
_NEAR = 0.15  # log score
_BEYOND = 0.03
_AS_LONG = 0.96
_KIN = 0.75  # overlap from which two guesses are the same thing with more or less of its shade
_COMPACT_WEIGHT = 0.3
_BENCH_TAX = 0.5  # of a pixel that looks like bench, against one that does not
_WORTH_JUDGING = 0.15  # of the best guess's area that is not bench
_MOST = 14
_TIP = 6  # working px


@dataclass(frozen=True, slots=True, eq=False)
class Guess:
    """A filled region at working size, its ring (photo px, not yet on its edges), and its score (log; greater is better).

    ``sharp`` is the mean sharpness of the ring, 0..1; ``strength`` the geometric mean of the change across it.
    """

    region: Bool
    ring: Array
    sharp: float
    strength: float
    score: float


def best_guesses(view: EdgeView, surface: Surface, learnt: list[Bool], odds: Float) -> list[Guess]:
    """Guesses, best first; empty if nothing on the bench is enclosed by edges.

    The score is the sum of the log odds (cut off at 5 either way) taken in, over that of all that is likely item.
    """
    regions = _distinct([filled(region) for region in learnt[:3]] + _regions(surface))
    sure = np.clip(odds, -5.0, 5.0)
    for region in learnt[:3]:
        sure[filled(region) & ~region] = 0.0  # bench seen through a hole speaks against no outline
    total = max(float(sure[sure > 0].sum()), 1.0)
    worth = [(float(sure[region].sum()) / total, region) for region in regions]
    worth.sort(key=lambda item: -item[0])
    guesses = []
    for value, region in worth[:_MOST]:
        if value < _WORTH_JUDGING * worth[0][0]:
            break
        rough = surface.to_photo(rings_of_mask(region).outer)
        sharp, strength = sharpness(view, rough)
        guesses.append(Guess(region, rough, sharp, strength, float(np.log(max(value, 1e-3)))))
    return guesses


def _same_with_less_shade(guess: Guess, best: Guess) -> bool:
    """Nearly as good, within the best guess but for a little, and as long; the stronger edge then decides."""
    outside = float((guess.region & ~best.region).sum())
    return (
        guess.score > best.score - _NEAR
        and outside <= _BEYOND * best.region.sum()
        and overlap(guess.region, best.region) >= _KIN
        and least_rectangle(guess.ring)[1] >= _AS_LONG * least_rectangle(best.ring)[1]
    )


def overlap(first: Bool, second: Bool) -> float:
    """Area in common over area together, 0..1."""
    return float((first & second).sum() / (first | second).sum())


def _regions(surface: Surface) -> list[Bool]:
    found = [filled(piece) for piece in _pieces(region_by_colour(surface).astype(np.uint8), 1)]
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5))
    for edge in (surface.crisp, surface.edge):
        for level in levels(edge, surface.paper)[::-1]:
            enclosed = enclosed_at(edge, float(level)).astype(np.uint8)
            found += [
                filled(_with_tips(piece, enclosed))
                for piece in _pieces(np.asarray(cv2.morphologyEx(enclosed, cv2.MORPH_OPEN, disc), np.uint8), 2)
            ]
    return found


def _with_tips(piece: Bool, enclosed: NDArray[np.uint8]) -> Bool:
    """What the disc cut off: thin ends that hang on the piece, a little way out."""
    thin = cv2.morphologyEx(enclosed, cv2.MORPH_OPEN, np.ones((2, 2), np.uint8)) > 0
    grown = piece
    for _ in range(_TIP):
        grown = np.asarray((cv2.dilate(grown.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0) & (thin | grown))
    return grown


def _pieces(region: NDArray[np.uint8], most: int) -> list[Bool]:
    """The largest pieces that may be an item: large enough, not at the frame."""
    height, width = region.shape
    _, label, stats, _ = cv2.connectedComponentsWithStats(region)
    order = 1 + np.argsort(-stats[1:, cv2.CC_STAT_AREA])
    pieces = []
    for at in order[:most]:
        x, y, w, h, area = (int(value) for value in stats[at])
        at_frame = x <= 2 or y <= 2 or x + w >= width - 2 or y + h >= height - 2
        if area >= _LEAST and area <= _GREATEST * height * width and not at_frame:
            pieces.append(np.asarray(label == at))
    return pieces


def filled(region: Bool) -> Bool:
    """A region without its holes."""
    rings, _ = cv2.findContours(region.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    whole = np.zeros(region.shape, np.uint8)
    cv2.drawContours(whole, rings, -1, 1, -1)
    return np.asarray(whole > 0)


def _distinct(regions: list[Bool]) -> list[Bool]:
    kept: list[tuple[Bool, int]] = []
    for region in regions:
        area = int(region.sum())
        alike = (
            min(area, other_area) > _ALIKE * max(area, other_area)
            and (region & other).sum() > _ALIKE * (region | other).sum()
            for other, other_area in kept
        )
        if not any(alike):
            kept.append((region, area))
    return [region for region, _ in kept]


def _looks_like_bench(surface: Surface) -> Bool:
    """Within one and a half of the bench's usual scatter in all colours."""
    blurred = cv2.GaussianBlur(surface.departure, (0, 0), 1.0)
    bench = surface.departure[~surface.paper]
    middle = np.median(bench, axis=0)
    scatter = np.maximum(1.4826 * np.median(np.abs(bench - middle), axis=0), 0.02)
    off: Float = ((blurred - middle) / scatter) ** 2
    return np.asarray(np.sqrt(off.mean(axis=2)) < 1.5)
