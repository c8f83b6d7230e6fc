"""Where on a raster could it go? Proposals only: a node here or there is too near by part of a step.

Two layers of blocked nodes, one for openings and one for rooms; a seat's nodes
are slid over both at once by Fourier transform (cross-correlation theorem).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from insertgen.arrange.body import Body, Field
from insertgen.arrange.feasible import Bounds, Spacing
from insertgen.model.figures import Pose
from insertgen.model.job import Blank, KeepOut

__all__ = ["Raster", "Spot", "nodes", "reach", "sample"]

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

NODES = 40_000
FINEST, COARSEST = 0.5, 3.0
CACHE = 64_000_000  # bytes of kernels kept
AWAY = 0.1  # what a millimetre from the corner counts against one that a group's box grows

#: How the blocked nodes are kept: for openings, or for rooms of this gap, on the face or not.
LayerKey = tuple[str, float, bool]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the raster and its cost."""

    cost: float
    x: float
    y: float
    angle: int


class Raster:
    """The tray as a search round sees it: `clear`, then `block` what is placed and ask for `spots`.

    ``careful`` is the share of a step's diagonal by which everything is grown:
    at 1 nothing proposed is ever too near, at 0 about half of it is, a little.
    """

    def __init__(self, blank: Blank, keep_out: tuple[KeepOut, ...], spacing: Spacing, careful: float) -> None:
        self.blank, self.spacing, self.keep_out = blank, spacing, keep_out
        self.step = min(COARSEST, max(FINEST, math.sqrt(blank.width * blank.depth / NODES)))
        self.grow = careful * self.step * math.sqrt(2)
        self.xs = np.arange(0.0, blank.width + self.step, self.step)
        self.ys = np.arange(0.0, blank.depth + self.step, self.step)
        reach = (spacing.web + spacing.extra + self.grow) / 2 + 2 * self.step
        extra = math.ceil(reach / self.step) + 1
        self.shape = (
            int(fft.next_fast_len(len(self.ys) + extra, real=True)),
            int(fft.next_fast_len(len(self.xs) + extra, real=True)),
        )
        self._kernels: dict[tuple[int, int, bool], NDArray[np.complex64]] = {}
        self._most = max(8, CACHE // (self.shape[0] * (self.shape[1] // 2 + 1) * 8))
        self._turned: dict[tuple[int, int, bool], tuple[Floats, int, int]] = {}
        self._layers: dict[LayerKey, Mask] = {}
        self._placed: list[tuple[Body, Pose]] = []

    def clear(self) -> None:
        """Take everything off; only the keep-outs stay."""
        self._layers, self._placed = {}, []

    def block(self, body: Body, pose: Pose) -> None:
        """Put a body down."""
        self._placed.append((body, pose))
        for key in list(self._layers):
            self._stamp(self._layers[key], key, body, pose)

    def spot(
        self, body: Body, weights: tuple[float, float], turns: tuple[int, ...], near: Bounds | None = None
    ) -> Spot | None:
        """The cheapest place over these turns; cost is ``weights`` times how far right and back it goes.

        A negative weight measures from the right or the back instead. Where it is
        to be ``near`` a box, how much less far counts than how much the box, drawn
        round both, grows.
        """
        opens = self._spectrum(("opening", 0.0, False)) if body.opening is not None else None
        look_at_room = not self._room_follows(body)
        rooms = self._spectrum(("room", body.gap, body.on_face)) if look_at_room else None
        best: Spot | None = None
        for angle in turns:
            total = np.zeros((self.shape[0], self.shape[1] // 2 + 1), dtype=np.complex64)
            if opens is not None:
                total += self._kernel(body, angle, True) * opens
            if rooms is not None:
                total += self._kernel(body, angle, False) * rooms
            hits = fft.irfft2(total, self.shape, workers=1)
            found = self._cheapest(body, angle, hits, weights, near)
            if found is not None and (best is None or found.cost < best.cost - 1e-9):
                best = found
        return best

    # ---- layers --------------------------------------------------------------------------

    def _room_follows(self, body: Body) -> bool:
        """Whether openings apart already mean rooms apart, against all that is placed."""
        web = self.spacing.web
        return (
            body.room_inside
            and body.gap <= web
            and all(other.room_inside and other.gap <= web for other, _ in self._placed)
        )

    def _spectrum(self, key: LayerKey) -> NDArray[np.complex64]:
        if key not in self._layers:
            layer = np.zeros(self.shape, dtype=bool)
            self._stamp_keep_out(layer, key)
            for body, pose in self._placed:
                self._stamp(layer, key, body, pose)
            self._layers[key] = layer
        return np.asarray(fft.rfft2(self._layers[key].astype(np.float32), workers=1), dtype=np.complex64)

    def _stamp_keep_out(self, layer: Mask, key: LayerKey) -> None:
        kind = key[0]
        need = (self.spacing.web if kind == "opening" else 0.0) + self.spacing.extra
        far = need + self.grow - (self._opening_share() if kind == "opening" else self._room_share())
        for rect in self.keep_out:
            dx = np.maximum(rect.at[0] - self.xs, self.xs - rect.at[0] - rect.size[0])
            dy = np.maximum(rect.at[1] - self.ys, self.ys - rect.at[1] - rect.size[1])
            outside = np.hypot(np.maximum(dx, 0)[None, :], np.maximum(dy, 0)[:, None])
            layer[: len(self.ys), : len(self.xs)] |= outside < max(far, 1e-9)

    def _stamp(self, layer: Mask, key: LayerKey, body: Body, pose: Pose) -> None:
        kind, gap, on_face = key
        extra, grow = self.spacing.extra, self.grow
        if kind == "opening":
            share = self._opening_share()
            if body.opening is not None:
                self._stamp_field(layer, body, pose, True, self.spacing.web + extra + grow - share)
            if body.on_face:
                self._stamp_field(layer, body, pose, False, extra + grow - share)
            return
        share = self._room_share()
        self._stamp_field(layer, body, pose, False, max(gap, body.gap) + extra + grow - share)
        if (on_face or body.on_face) and body.opening is not None:
            self._stamp_field(layer, body, pose, True, extra + grow - share)

    def _stamp_field(self, layer: Mask, body: Body, pose: Pose, opening: bool, far: float) -> None:
        """Block all nodes nearer than ``far`` to a figure at its pose, wherever that is."""
        figure = body.opening if opening else body.room
        assert figure is not None
        x0, y0, x1, y1 = reach(figure, pose.angle_deg, max(far, 0.0) + self.step)
        c0, c1 = np.searchsorted(self.xs, (pose.x + x0, pose.x + x1))
        r0, r1 = np.searchsorted(self.ys, (pose.y + y0, pose.y + y1))
        if c0 >= c1 or r0 >= r1:
            return
        distance = sample(figure, pose.angle_deg, self.xs[c0:c1] - pose.x, self.ys[r0:r1] - pose.y)
        layer[r0:r1, c0:c1] |= distance < far

    def _opening_share(self) -> float:
        """How much of the distance asked between openings the sliding figure itself is grown by."""
        return (self.spacing.web + self.spacing.extra + self.grow) / 2

    def _room_share(self) -> float:
        return self.grow / 2

    # ---- sliding figures -----------------------------------------------------------------

    def _kernel(self, body: Body, angle: int, opening: bool) -> NDArray[np.complex64]:
        """A figure's nodes at one turn, those used last kept for the next time."""
        key = body.key, angle, opening
        found = self._kernels.pop(key, None)
        if found is None:
            figure = body.opening if opening else body.room
            assert figure is not None
            found = self._image(figure, angle, self._opening_share() if opening else self._room_share())
            if len(self._kernels) >= self._most:
                del self._kernels[next(iter(self._kernels))]
        self._kernels[key] = found
        return found

    def _image(self, figure: Field, angle: int, grown: float) -> NDArray[np.complex64]:
        """Conjugate spectrum of a figure's nodes about its origin, wrapped round."""
        x0, y0, x1, y1 = reach(figure, angle, grown + self.step)
        columns = np.arange(math.floor(x0 / self.step), math.ceil(x1 / self.step) + 1)
        rows = np.arange(math.floor(y0 / self.step), math.ceil(y1 / self.step) + 1)
        mask = (
            sample(
                figure, angle, (columns * self.step).astype(np.float64), (rows * self.step).astype(np.float64)
            )
            <= grown
        )
        image = np.zeros(self.shape, dtype=np.float32)
        hit_rows, hit_columns = np.nonzero(mask)
        image[rows[hit_rows] % self.shape[0], columns[hit_columns] % self.shape[1]] = 1.0
        return np.conj(np.asarray(fft.rfft2(image, workers=1), dtype=np.complex64))

    def _cheapest(
        self, body: Body, angle: int, hits: NDArray[np.float32], weights: tuple[float, float], near: Bounds | None
    ) -> Spot | None:
        (x0, x1), (y0, y1) = body.window(angle, self.spacing.inset)
        half = self.step / 2
        c0, c1 = nodes(x0 - half, x1 + half, self.step, len(self.xs))
        r0, r1 = nodes(y0 - half, y1 + half, self.step, len(self.ys))
        free_rows, free_columns = np.nonzero(hits[r0:r1, c0:c1] < 0.5)
        if not len(free_rows):
            return None
        x = np.clip(self.xs[free_columns + c0], x0, max(x0, x1))
        y = np.clip(self.ys[free_rows + r0], y0, max(y0, y1))
        left, front, right, back = reach(body.extent, angle, 0.0)
        cost = weights[0] * (x + right) if weights[0] >= 0 else -weights[0] * (self.blank.width - x - left)
        cost = cost + (
            weights[1] * (y + back) if weights[1] >= 0 else -weights[1] * (self.blank.depth - y - front)
        )
        if near is not None:
            wide = np.maximum(x + right, near[2]) - np.minimum(x + left, near[0])
            deep = np.maximum(y + back, near[3]) - np.minimum(y + front, near[1])
            cost = wide + deep + AWAY * cost
        pick = int(np.argmin(np.round(cost, 6)))
        return Spot(float(cost[pick]), float(x[pick]), float(y[pick]), angle)


def nodes(low: float, high: float, step: float, count: int) -> tuple[int, int]:
    return max(0, math.ceil(low / step - 1e-9)), min(count, math.floor(high / step + 1e-9) + 1)


def reach(figure: Field, angle_deg: float, more: float) -> tuple[float, float, float, float]:
    """Bounds of a turned figure about its origin, and ``more`` on every side."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    x = figure.samples[:, 0] * cos - figure.samples[:, 1] * sin
    y = figure.samples[:, 0] * sin + figure.samples[:, 1] * cos
    return float(x.min() - more), float(y.min() - more), float(x.max() + more), float(y.max() + more)


def sample(figure: Field, angle_deg: float, xs: Floats, ys: Floats) -> Floats:
    """Distances to a turned figure on a grid about its origin."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    x, y = xs[None, :], ys[:, None]
    u = (cos * x + sin * y - figure.origin[0]) / figure.step
    v = (cos * y - sin * x - figure.origin[1]) / figure.step
    rows, columns = figure.table.shape
    over = np.hypot(u - np.clip(u, 0, columns - 1), v - np.clip(v, 0, rows - 1)) * figure.step
    return np.asarray(ndimage.map_coordinates(figure.table, [v, u], order=1, mode="nearest")) + over
