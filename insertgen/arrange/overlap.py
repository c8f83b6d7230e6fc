"""How much things overlap that lie anywhere, and where one of them would overlap the others least.

On a raster: every thing is an image, the root of how deep a node lies in it,
grown by half of what it keeps off. The product of two images, summed, grows
with the square of how far two things are pushed into each other.
All places of one at once by Fourier transform (cross-correlation theorem).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from insertgen.arrange.body import Body, Field
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.raster import nodes, reach, sample
from insertgen.arrange.settle import Placed
from insertgen.model.figures import Pose
from insertgen.model.job import Blank, KeepOut

__all__ = ["Overlap"]

Floats = NDArray[np.float32]

NODES = 10_000
FINEST, COARSEST = 1.0, 6.0
FORWARD = 0.05  # what a millimetre back from the front counts
CACHE = 48_000_000  # bytes of kernels kept


class Overlap:
    """Images of all things where they lie: the loose first, then what is fixed, then the keep-outs.

    ``weights[i, j]`` is what the overlap of a loose i with j counts when i is moved.
    """

    def __init__(
        self, blank: Blank, keep_out: tuple[KeepOut, ...], spacing: Spacing, loose: Placed, fixed: Placed
    ) -> None:
        self.blank, self.spacing = blank, spacing
        self.step = min(COARSEST, max(FINEST, math.sqrt(blank.width * blank.depth / NODES)))
        self.xs = np.arange(0.0, blank.width + self.step, self.step)
        self.ys = np.arange(0.0, blank.depth + self.step, self.step)
        every = [body for body, _ in (*loose, *fixed)]
        self._on_face = any(body.on_face for body in every)
        plain = not self._on_face and all(body.room_inside and body.gap <= spacing.web for body in every)
        self.kinds = (True,) if plain else (True, False)  # openings; and rooms
        most = max([spacing.web, *(body.gap for body in every)]) + spacing.extra
        extra = math.ceil((most / 2 + 2 * self.step) / self.step) + 1
        self.shape = (
            int(fft.next_fast_len(len(self.ys) + extra, real=True)),
            int(fft.next_fast_len(len(self.xs) + extra, real=True)),
        )
        self.placed: Placed = list(loose)
        count = len(loose) + len(fixed) + len(keep_out)
        self._images = np.zeros((count, len(self.kinds) * self.shape[0] * self.shape[1]), dtype=np.float32)
        self.weights = np.ones((len(loose), count), dtype=np.float32)
        for number, (body, pose) in enumerate((*loose, *fixed)):
            self._images[number] = self._stamp(body, pose).ravel()
        for number, rect in enumerate(keep_out, start=len(loose) + len(fixed)):
            self._images[number] = self._stamp_rect(rect).ravel()
        for number in range(len(loose)):
            self.weights[number, number] = 0.0
        self._pairs = np.zeros((len(loose), count))
        for number in range(len(loose)):
            self._meet(number)
        self._kernels: dict[tuple[int, int], NDArray[np.complex64]] = {}
        self._most = max(8, CACHE // (len(self.kinds) * self.shape[0] * (self.shape[1] // 2 + 1) * 8))

    def pairs(self) -> NDArray[np.float64]:
        """Overlaps of every loose thing with all there is; 0 with itself."""
        return self._pairs.copy()

    def of(self, number: int) -> float:
        """What a loose thing's overlaps count where it lies, on the same terms as `best`."""
        body, pose = self.placed[number]
        back = FORWARD * pose.y if body.front else 0.0
        return back + float((self.weights[number] * self._pairs[number]).sum())

    def move(self, number: int, pose: Pose) -> None:
        """Lay a loose thing elsewhere."""
        body = self.placed[number][0]
        self.placed[number] = body, pose
        self._images[number] = self._stamp(body, pose).ravel()
        self._meet(number)

    def best(self, number: int, turns: Sequence[int]) -> tuple[float, Pose]:
        """Where a loose thing's overlaps count least, by nodes; and what they count.

        To what is to be at the front every step back counts like a little overlap.
        """
        body, mirror = self.placed[number][0], self.placed[number][1].mirror
        field = np.einsum("j,jk->k", self.weights[number], self._images).reshape(len(self.kinds), *self.shape)
        spectrum = fft.rfft2(field, workers=1)
        best: tuple[float, Pose] | None = None
        for turn in turns:
            cost = fft.irfft2((self._kernel(body, turn) * spectrum).sum(axis=0), self.shape, workers=1)
            (x0, x1), (y0, y1) = body.window(turn, self.spacing.inset)
            half = self.step / 2
            c0, c1 = nodes(x0 - half, x1 + half, self.step, len(self.xs))
            r0, r1 = nodes(y0 - half, y1 + half, self.step, len(self.ys))
            if c0 >= c1 or r0 >= r1:
                continue
            seen = cost[r0:r1, c0:c1]
            if body.front:
                seen = seen + FORWARD * self.ys[r0:r1, None].astype(np.float32)
            seen = np.round(seen, 3)
            row, column = divmod(int(seen.argmin()), c1 - c0)
            value = float(seen[row, column])
            if best is None or value < best[0]:
                x, y = float(self.xs[c0 + column]), float(self.ys[r0 + row])
                best = value, Pose(min(max(x, x0), x1), min(max(y, y0), y1), float(turn), mirror)
        return best or (math.inf, self.placed[number][1])

    @property
    def covered(self) -> float:
        """The area of all openings, or rooms, as grown here, over that of the raster less what is fixed; the larger."""
        layers = self._images.reshape(len(self._images), len(self.kinds), *self.shape) > 0
        count, worst = len(self.placed), 0.0
        for number, opening in enumerate(self.kinds):
            edge = self.spacing.margin - self.spacing.web / 2 if opening else 0.0
            ways = ((self.xs, self.blank.width), (self.ys, self.blank.depth))
            columns, rows = (int(((at >= edge) & (at <= size - edge)).sum()) for at, size in ways)
            free = columns * rows - int(layers[count:, number].any(axis=0).sum())
            worst = max(worst, int(layers[:count, number].sum()) / max(1, free))
        return worst

    # ---- images ----------------------------------------------------------------------------

    def _figures(self, body: Body, opening: bool) -> list[Field]:
        """What of a thing counts among openings, or among rooms; what is on the face keeps off openings too."""
        if opening:
            return [body.opening] if body.opening is not None else []
        both = self._on_face and body.opening is not None and body.opening is not body.room
        return [body.room, body.opening] if both and body.opening is not None else [body.room]

    def _figure_share(self, body: Body, opening: bool) -> float:
        return ((self.spacing.web if opening else body.gap) + self.spacing.extra) / 2

    def _meet(self, number: int) -> None:
        """Work out anew what a loose thing overlaps; without threads, which would add up in another order each time."""
        row = np.einsum("jk,k->j", self._images, self._images[number]).astype(np.float64)
        row[number] = 0.0
        self._pairs[number] = row
        self._pairs[:, number] = row[: len(self.placed)]

    def _stamp(self, body: Body, pose: Pose) -> Floats:
        layers = np.zeros((len(self.kinds), *self.shape), dtype=np.float32)
        for layer, opening in zip(layers, self.kinds, strict=True):
            share = self._figure_share(body, opening)
            for figure in self._figures(body, opening):
                x0, y0, x1, y1 = reach(figure, pose.angle_deg, share + self.step)
                c0, c1 = np.searchsorted(self.xs, (pose.x + x0, pose.x + x1))
                r0, r1 = np.searchsorted(self.ys, (pose.y + y0, pose.y + y1))
                if c0 < c1 and r0 < r1:
                    distance = sample(figure, pose.angle_deg, self.xs[c0:c1] - pose.x, self.ys[r0:r1] - pose.y)
                    np.maximum(layer[r0:r1, c0:c1], _depth(share - distance), out=layer[r0:r1, c0:c1])
        return layers

    def _stamp_rect(self, rect: KeepOut) -> Floats:
        """A keep-out: openings keep the web from it, and bring half of that themselves."""
        layers = np.zeros((len(self.kinds), *self.shape), dtype=np.float32)
        dx = np.maximum(rect.at[0] - self.xs, self.xs - rect.at[0] - rect.size[0])
        dy = np.maximum(rect.at[1] - self.ys, self.ys - rect.at[1] - rect.size[1])
        outside = np.hypot(np.maximum(dx, 0)[None, :], np.maximum(dy, 0)[:, None])
        distance = outside + np.minimum(np.maximum(dx[None, :], dy[:, None]), 0.0)
        for layer, opening in zip(layers, self.kinds, strict=True):
            share = ((self.spacing.web if opening else 0.0) + self.spacing.extra) / 2
            layer[: len(self.ys), : len(self.xs)] = _depth(share - distance)
        return layers

    def _kernel(self, body: Body, turn: int) -> NDArray[np.complex64]:
        """Conjugate spectra of a thing's image about its origin, wrapped round; those used last are kept."""
        key = body.key, turn
        found = self._kernels.pop(key, None)
        if found is None:
            image = np.zeros((len(self.kinds), *self.shape), dtype=np.float32)
            for layer, opening in zip(image, self.kinds, strict=True):
                share = self._figure_share(body, opening)
                for figure in self._figures(body, opening):
                    x0, y0, x1, y1 = reach(figure, turn, share + self.step)
                    columns = np.arange(math.floor(x0 / self.step), math.ceil(x1 / self.step) + 1)
                    rows = np.arange(math.floor(y0 / self.step), math.ceil(y1 / self.step) + 1)
                    depth = _depth(share - sample(figure, turn, (columns * self.step).astype(np.float64), (rows * self.step).astype(np.float64)))
                    at = np.ix_(rows % self.shape[0], columns % self.shape[1])
                    layer[at] = np.maximum(layer[at], depth)
            found = np.conj(fft.rfft2(image, workers=1)).astype(np.complex64)
            if len(self._kernels) >= self._most:
                del self._kernels[next(iter(self._kernels))]
        self._kernels[key] = found
        return found


def _depth(inside: NDArray[np.float64]) -> Floats:
    return np.sqrt(np.maximum(inside, 0.0)).astype(np.float32)
