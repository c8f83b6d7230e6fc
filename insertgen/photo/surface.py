"""What the bench alone would look like, and how the photo departs from it.

Logarithms of linear light: a shadow, or a lamp's fall-off, is then something
added, and a smooth surface takes most of it away.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from insertgen.photo.camera import Array
from insertgen.photo.corners import sample
from insertgen.photo.light import Float, log_light
from insertgen.photo.load import Bool, Photo
from insertgen.photo.without_item import check_same_view, registered

__all__ = ["DARK", "Surface", "look_at_bench", "reduced_light", "smooth_surface"]

WORK_SIDE = 1200  # px; the region is found at this size, its boundary at full size
DARK = 0.01  # added to the light that the small networks see, see `log_light`
_GRAIN, _GRAIN_HUE = 0.0105, 0.25  # log light, blurred by a pixel, and share that differs from colour to colour
_BLURRED = 0.282  # of white noise is left by a blur of one pixel: 1 / (2 sqrt(pi))
_DEGREE = 3
_EXPONENTS = tuple(zip(*((i, j) for i in range(_DEGREE + 1) for j in range(_DEGREE + 1 - i)), strict=True))  # of x, and of y
_ROUNDS = 8
_FINE, _COARSE = 0.8, 3.2  # px, blur before the gradient
_SOFT_SHARE, _WIDE_SHARE = 0.7, 1.5
_PAPER_REACH = 2.0  # times the square: how far its sheet may go
_PAPER_FALL = 0.25  # log light: less than this below the paper is still paper


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """The photo at working size, as departures from the bench.

    Attributes
    ----------
    scale : float
        Working pixels per photo pixel.
    departure : float32 array, h x w x 3
        Log light (red, green, blue) less the bench's smooth surface.
    level : float32 array, h x w x 3
        Log light less ``departure``: the bench as it would look.
    paper : bool array, h x w
        Squares and the sheets they are printed on.
    edge : float32 array, h x w
        Strength of colour edges (log light per pixel; brightness, and hue weighted double), 0 on the paper.
    crisp, sharp : float32 arrays, h x w
        What of it a wide edge, such as the rim of a shadow, would not show; ``sharp`` less than ``crisp``.
    """

    scale: float
    departure: Float
    level: Float
    paper: Bool
    edge: Float
    crisp: Float
    sharp: Float

    def to_work(self, px: Array) -> Array:
        return (px + 0.5) * self.scale - 0.5

    def to_photo(self, px: Array) -> Array:
        return (px + 0.5) / self.scale - 0.5


def look_at_bench(photo: Photo, quads: list[Array], bench: Photo | None = None) -> Surface:
    """Fit the bench's smooth surface, the squares left out; with ``bench``, a photo without the item, less what that shows.

    Raises
    ------
    PhotoError
        ``bench`` shows another view.
    """
    scale = min(1.0, WORK_SIDE / max(photo.rgb.shape))
    light = whole = reduced_light(photo, scale, DARK)
    paper = _paper(light, [(quad + 0.5) * scale - 0.5 for quad in quads])
    if bench is not None:
        check_same_view(photo, bench)
        light = light - registered(light, reduced_light(bench, scale, DARK), bench.name)
    bare = light - smooth_surface(light, paper)
    departure = _with_grain(bare, ~paper)
    fine, coarse = _gradient(departure, _FINE), _gradient(departure, _COARSE)
    # what a coarser look shows as well is taken off: the rim of a shadow is wide, an item's edge as sharp
    # as the lens (Elder, Zucker 1998, local scale control)
    sharp = np.maximum(fine - np.float32(_WIDE_SHARE) * coarse, 0.0)
    crisp = np.maximum(fine - np.float32(_SOFT_SHARE) * coarse, 0.0)
    fine[paper] = sharp[paper] = crisp[paper] = 0.0
    return Surface(scale, departure, whole - bare, paper, fine, crisp, sharp)


def _with_grain(departure: Float, bench: Bool) -> Float:
    """Filled up to the grain of the plainest bench that the networks learnt from: they measure everything by it.

    A drawn photo has less, and one less the photo of its bench alone.
    """
    bright = cv2.GaussianBlur(departure.mean(axis=2), (0, 0), 1.0)[bench]
    there = 1.4826 * float(np.median(np.abs(bright - np.median(bright))))
    if there >= _GRAIN:
        return departure
    lacking = np.float32(math.sqrt(_GRAIN**2 - there**2) / _BLURRED)
    grain = np.random.default_rng(0).standard_normal((*departure.shape[:2], 4), np.float32)
    return np.asarray(departure + lacking * (grain[:, :, :1] + np.float32(_GRAIN_HUE) * grain[:, :, 1:]), np.float32)


def reduced_light(photo: Photo, scale: float, dark: float) -> Float:
    """`log_light` of the photo at a smaller size."""
    small = cv2.resize(photo.rgb, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else photo.rgb
    return log_light(np.asarray(small, np.uint8), dark)


def _paper(light: Float, quads: list[Array]) -> Bool:
    grey = light.mean(axis=2)
    paper = np.zeros(grey.shape, np.uint8)
    for quad in quads:
        middle = quad.mean(axis=0)
        rim = middle + (quad - middle) * 1.16
        on_sheet = np.vstack(
            [rim + (np.roll(rim, -1, axis=0) - rim) * share for share in np.linspace(0, 1, 12)]
        )
        level = float(np.median(sample(grey, on_sheet)))
        around, square = np.zeros_like(paper), np.zeros_like(paper)
        cv2.fillConvexPoly(around, np.round(middle + (quad - middle) * _PAPER_REACH).astype(np.int32), 1)
        cv2.fillConvexPoly(square, np.round(middle + (quad - middle) * 1.08).astype(np.int32), 1)
        pale = ((grey > level - _PAPER_FALL) & (around > 0)) | (square > 0)
        _, label = cv2.connectedComponents(pale.astype(np.uint8), connectivity=4)
        x, y = np.clip(np.round(middle), 0, [grey.shape[1] - 1, grey.shape[0] - 1]).astype(int)
        paper |= (label == label[y, x]).astype(np.uint8)
    return np.asarray(cv2.dilate(paper, np.ones((7, 7), np.uint8)) > 0)


def _powers(x: Array, y: Array) -> Array:
    return np.stack([x**i * y**j for i, j in zip(*_EXPONENTS, strict=True)], axis=-1)


def smooth_surface(light: Float, paper: Bool) -> Float:
    """Cubic in x and y per channel, robust: bisquare weights on the joint departure of the channels."""
    height, width = paper.shape
    step = 8
    x, y = np.meshgrid(np.arange(width) / width * 2.0 - 1, np.arange(height) / height * 2.0 - 1)
    keep = ~paper[::step, ::step]
    terms, seen = (
        _powers(x[::step, ::step][keep], y[::step, ::step][keep]),
        light[::step, ::step][keep].astype(np.float64),
    )
    weight = np.ones(len(seen))
    factors = np.zeros((terms.shape[1], 3))
    for _ in range(_ROUNDS):
        factors = np.asarray(np.linalg.lstsq(terms * weight[:, None], seen * weight[:, None], rcond=None)[0])
        off = np.linalg.norm(seen - terms @ factors, axis=1)
        limit = 4 * float(np.median(off)) + 1e-6
        weight = np.where(off < limit, 1 - (off / limit) ** 2, 0.0) + 1e-6
    return _on_grid(factors, x[0], y[:, 0])


def _on_grid(factors: Array, x: Array, y: Array) -> Float:
    """Values at every x and y of a grid (h x w x channels): powers of rows and of columns apart, not of each pixel."""
    square = np.zeros((_DEGREE + 1, _DEGREE + 1, factors.shape[1]))
    square[_EXPONENTS] = factors
    across, down = (np.vander(values, _DEGREE + 1, increasing=True) for values in (x, y))
    return np.stack([down @ one.T @ across.T for one in square.transpose(2, 0, 1)], axis=-1).astype(np.float32)


def _gradient(departure: Float, sigma: float) -> Float:
    """Of brightness and, weighted double, of hue, which a shadow changes little."""
    bright = departure.mean(axis=2)
    total = np.zeros(bright.shape, np.float32)
    channels = [(bright, 1.0)] + [(departure[:, :, at] - bright, 2.0) for at in range(3)]
    for channel, weight in channels:
        blurred = cv2.GaussianBlur(channel, (0, 0), sigma)
        across = cv2.Sobel(blurred, cv2.CV_32F, 1, 0, scale=0.125)
        down = cv2.Sobel(blurred, cv2.CV_32F, 0, 1, scale=0.125)
        total += np.float32(weight**2) * (across**2 + down**2)
    return np.sqrt(total)
