"""How high the edge that a photo shows stands above the bench, stretch by stretch, by the look of the item.

Of a wall the camera sees the foot where the wall looks towards it and the top where the wall looks away; of a round
handle the middle; of a plane with a high knob the low sole; and a chisel leans, its tip on the bench. What it is, the
picture tells: a convolutional network with skips between its levels (Ronneberger, Fischer, Brox 2015), learnt on rendered
scenes of invented tools whose meshes tell the height of every edge (by ``tests/bench/edge_train.py``), sees the item from
straight above, the camera's side below. By its form as a whole a few numbers more tell how it leans.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from insertgen.photo.camera import Array
from insertgen.photo.convolution import run
from insertgen.photo.corners import sample
from insertgen.photo.form import form_of
from insertgen.photo.light import Float, log_light

__all__ = ["LEAST_SPREAD", "SIDE", "EdgeHeight", "Pose", "View", "edge_heights", "planes_of", "view_of", "with_form"]

SIDE = 256  # px of the square that the network sees
_FILLED = 0.7  # of it that the item's longest extent fills
_DARK = 0.02  # added to the light, see `log_light`
_RISE = 16.0  # px: by this the parallax that the network sees is divided
_LEAST_TURN = 1e-3  # line of sight to the item's middle, mm a mm: below this straight above
_BAND = 3.0  # px: blur of the item whose slope tells which way its edge looks
_SMOOTH = 0.012  # of the length of a ring
#: Of the height: the network is never taken to be surer than that.
LEAST_SPREAD = 0.015


class Pose(Protocol):
    """What is asked of a camera: that of a rendered scene, to learn from, answers it too."""

    @property
    def foot(self) -> tuple[float, float]: ...
    @property
    def height(self) -> float: ...
    def cast(self, px: Array, height: float = 0.0) -> Array: ...
    def project(self, points: Array) -> Array: ...


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A square picture of the item from straight above, the plane at half its height true to scale.

    Attributes
    ----------
    matrix : array, 2 x 3
        Pixels of the view (centres at integers) from bench x, y, mm.
    plane, height : float
        The plane, and the item's overall height.
    """

    matrix: Array
    plane: float
    height: float

    @property
    def scale(self) -> float:
        """Pixels per mm."""
        return math.sqrt(abs(float(np.linalg.det(self.matrix[:, :2]))))

    def of_bench(self, points: Array) -> Array:
        return np.asarray(points @ self.matrix[:, :2].T + self.matrix[:, 2])

    def bench_of_pixels(self, side: int) -> Array:
        """Bench x, y (side * side, 2) of the pixels of a square about the view's middle, row by row."""
        rows, columns = np.mgrid[0:side, 0:side].astype(np.float64) - (side - SIDE) / 2
        away = np.stack([columns.ravel(), rows.ravel()], axis=1) - self.matrix[:, 2]
        return np.asarray(away @ np.linalg.inv(self.matrix[:, :2]).T)


def view_of(camera: Pose, outer: Array, height: float) -> View:
    """Of the item whose outer ring (n, 2) is in pixels; what is farther from the camera's foot comes up."""
    plane = height / 2
    ring = camera.cast(outer, plane)
    middle = (ring.min(axis=0) + ring.max(axis=0)) / 2
    away = (middle - np.array(camera.foot)) / (camera.height - plane)
    far = float(np.hypot(*away))
    along = away / far if far > _LEAST_TURN else np.array([0.0, 1.0])
    # rows grow downward, so "up" is minus the way out; x to the right of it keeps the picture unmirrored
    turn = np.array([[along[1], -along[0]], [-along[0], -along[1]]])
    extent = 2 * float(np.linalg.norm(ring - middle, axis=1).max())
    scale = _FILLED * SIDE / max(extent, 1e-6)
    return View(np.column_stack([scale * turn, (SIDE - 1) / 2 - scale * turn @ middle]), plane, height)


def planes_of(view: View, camera: Pose, rgb: NDArray[np.uint8], rings: Sequence[Array], side: int = SIDE) -> Float:
    """What the photo and the camera show of the item (7 x side x side).

    Log light less the bench's (3), the item, parallax by its whole height (x, y), that height.

    Parameters
    ----------
    rgb : uint8 array, H x W x 3
    rings : arrays, n x 2
        The outer ring and the holes, pixels.
    side : int
        More than SIDE: with more round it, to learn from.
    """
    bench, shift = view.bench_of_pixels(side), (side - SIDE) / 2
    px = camera.project(np.column_stack([bench, np.full(len(bench), view.plane)])).reshape(side, side, 2)
    tone = log_light(_seen(rgb, px), _DARK)
    drawn = [np.round(16 * (view.of_bench(camera.cast(ring, view.plane)) + shift)).astype(np.int32) for ring in rings]
    item = np.zeros((side, side), np.uint8)
    cv2.fillPoly(item, drawn, 255, cv2.LINE_AA, 4)
    tone = tone - np.median(tone[item == 0], axis=0)
    rise = (bench - np.array(camera.foot)) @ view.matrix[:, :2].T * (view.height / (camera.height - view.plane) / _RISE)
    tall = np.full((side, side, 1), view.height * view.scale / (_FILLED * SIDE))
    planes = np.concatenate([tone, item[..., None] / 255.0, rise.reshape(side, side, 2), tall], axis=2)
    return np.asarray(planes.transpose(2, 0, 1), np.float32)


def with_form(planes: Float) -> tuple[Float, Float]:
    """What the network sees: the planes of `planes_of` (7 x h x w) and three that follow from them; and features of the whole.

    Near the edge, how far the height moves it out of the item, plus where it looks away from the camera, minus where it
    looks towards it; then along the item and its breadth. Features: its stations, see `insertgen.photo.form.Form`.
    """
    soft = cv2.GaussianBlur(planes[3], (0, 0), _BAND)
    slope = np.stack([cv2.Sobel(soft, cv2.CV_32F, 1, 0), cv2.Sobel(soft, cv2.CV_32F, 0, 1)]) / 8
    outlook = -(planes[4:6] * slope).sum(axis=0) * np.float32(_BAND * math.sqrt(2 * math.pi))
    form = form_of(planes, float(planes[6, 0, 0]) * _FILLED * SIDE)
    return np.concatenate([planes, outlook[None], form.along[None], form.breadth[None]]), form.stations


def _seen(rgb: NDArray[np.uint8], px: Array) -> NDArray[np.uint8]:
    """The picture at pixels (h, w, 2), reduced first so that none is skipped."""
    corners, limit = px.reshape(-1, 2), np.array([rgb.shape[1], rgb.shape[0]])
    low = np.clip(np.floor(corners.min(axis=0)).astype(int) - 2, 0, limit - 1)
    high = np.clip(np.ceil(corners.max(axis=0)).astype(int) + 3, low + 1, limit)
    part = rgb[low[1] : high[1], low[0] : high[0]]
    middle = len(px) // 2
    apart = float(np.linalg.norm(px[middle, middle] - px[middle, middle - 1]))
    size = [max(1, round(side / max(apart, 1.0))) for side in part.shape[1::-1]]
    small = cv2.resize(part, size, interpolation=cv2.INTER_AREA)
    where = (px - low + 0.5) * (np.array(size) / np.array(part.shape[1::-1])) - 0.5
    x, y = (np.ascontiguousarray(where[..., at], np.float32) for at in (0, 1))
    return np.asarray(cv2.remap(small, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.uint8)


@dataclass(frozen=True, slots=True, eq=False)
class EdgeHeight:
    """Of the points of a ring, mm: where the edge stands, and by how much that is off in the mean."""

    height: Array
    spread: Array


def edge_heights(camera: Pose, rgb: NDArray[np.uint8], rings: tuple[Array, ...], height: float) -> tuple[EdgeHeight, ...]:
    """Of the outer ring and the holes (n, 2), pixels, of an item ``height`` mm tall."""
    view = view_of(camera, rings[0], height)
    answer = run("edge", *with_form(planes_of(view, camera, rgb, rings)))
    share, spread = 1 / (1 + np.exp(-answer)) + np.array([0.0, LEAST_SPREAD])[:, None, None]
    found = []
    for ring in rings:
        at = view.of_bench(camera.cast(ring, view.plane))
        smooth = max(_SMOOTH * len(ring), 1.0)
        told = [gaussian_filter1d(sample(plane.astype(np.float32), at), smooth, mode="wrap") for plane in (share, spread)]
        found.append(EdgeHeight(height * told[0], height * told[1]))
    return tuple(found)
