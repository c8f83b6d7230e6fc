"""Where a text may stand without covering a line or another text: a raster of what is taken.

The raster is in the drawing's frame (mm, y up); pages and pictures use the same one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from insertgen.geometry.arcs import flatten
from insertgen.model.figures import Circle, Contour, Point, Ring

__all__ = ["Ground", "Mask", "in_window", "ring_of"]

Mask = NDArray[np.bool_]

#: Of many places side by side every so-manieth is tried for a clear line to its target.
_SIGHT_STEP = 10


@lru_cache(maxsize=4096)  # every page of a tray asks for the same rings again
def ring_of(path: Contour | Circle, tolerance: float = 0.01) -> Ring:
    """Points along a contour or circle, chords no further off than ``tolerance``."""
    if isinstance(path, Contour):
        return flatten(path, tolerance)
    (x, y), radius = path.centre, path.diameter / 2
    return flatten(Contour(((x + radius, y, 1.0), (x - radius, y, 1.0))), tolerance)


def in_window(ring: Sequence[Point], window: tuple[float, float, float, float], more: float = 2.0) -> bool:
    """Whether some of a ring's box is in a window, or ``more`` mm beyond.

    >>> in_window(((0, 0), (4, 3)), (5, 0, 9, 9)), in_window(((0, 0), (2, 3)), (5, 0, 9, 9))
    (True, False)
    """
    xs, ys = zip(*ring, strict=True)
    x0, y0, x1, y1 = window
    return bool(min(xs) <= x1 + more and max(xs) >= x0 - more and min(ys) <= y1 + more and max(ys) >= y0 - more)


class Ground:
    """A window of the drawing, cell by cell; ``taken`` grows as lines and texts are set down.

    ``faint`` are lines that a text should not cross but may.
    """

    def __init__(self, window: tuple[float, float, float, float], cell: float = 0.5) -> None:
        self.window = window
        self.cell = cell
        x0, y0, x1, y1 = window
        self.shape = max(1, round((y1 - y0) / cell)), max(1, round((x1 - x0) / cell))
        self.taken: Mask = np.zeros(self.shape, dtype=bool)
        self.faint: Mask = np.zeros(self.shape, dtype=bool)

    def meets(self, ring: Sequence[Point], more: float = 2.0) -> bool:
        """Whether some of a ring's box is in the window, or ``more`` mm beyond."""
        return in_window(ring, self.window, more)

    def inside(self, ring: Sequence[Point]) -> Mask:
        """Cells inside a ring."""
        found: Mask = np.zeros(self.shape, dtype=bool)
        part, cells, picture = self._part(ring)
        if picture is not None:
            ImageDraw.Draw(picture).polygon(cells, fill=1)
            found[part] = np.array(picture, dtype=bool)
        return found

    def take_line(self, ring: Sequence[Point], *, closed: bool = True, faint: bool = False) -> None:
        part, cells, picture = self._part(ring)
        if picture is not None:
            ImageDraw.Draw(picture).line([*cells, cells[0]] if closed else cells, fill=1, width=2)
            kind = self.faint if faint else self.taken
            kind[part] |= np.array(picture, dtype=bool)

    def _part(self, ring: Sequence[Point]) -> tuple[tuple[slice, slice], list[tuple[float, float]], Image.Image | None]:
        """The cells round a ring, the ring in cells of that part, and an empty picture of it; None if the ring is beyond."""
        cells = self._cells(ring)
        xs, ys = zip(*cells, strict=True)
        left, right = max(0, math.floor(min(xs)) - 3), min(self.shape[1], math.ceil(max(xs)) + 4)
        low, high = max(0, math.floor(min(ys)) - 3), min(self.shape[0], math.ceil(max(ys)) + 4)
        part = slice(low, high), slice(left, right)
        if right <= left or high <= low:
            return part, cells, None
        return part, [(x - left, y - low) for x, y in cells], Image.new("1", (right - left, high - low))

    def take_box(self, x0: float, y0: float, x1: float, y1: float) -> None:
        (left, low), (right, high) = self._cell((x0, y0)), self._cell((x1, y1))
        rows = slice(max(0, math.floor(low)), max(0, math.ceil(high)))
        self.taken[rows, max(0, math.floor(left)) : max(0, math.ceil(right))] = True

    def spot(self, width: float, height: float, near: Point, *, within: Mask | None = None,
             reach: float = math.inf, over_faint: bool = False, sight: tuple[Point, Mask] | None = None
             ) -> Point | None:  # fmt: skip
        """Middle of the free box of this size nearest to ``near``; None if there is none within ``reach``.

        ``sight``: a point that must be seen from the box's middle, and the cells that hide it.
        """
        rows, columns = math.ceil(height / self.cell), math.ceil(width / self.cell)
        first_row, first_column, last_row, last_column = self._searched(rows, columns, near, within, reach)
        if last_row - first_row < rows or last_column - first_column < columns:
            return None
        part = slice(first_row, last_row), slice(first_column, last_column)
        bad = self.taken[part] if over_faint else self.taken[part] | self.faint[part]
        bad = bad if within is None else bad | ~within[part]
        total = np.zeros((bad.shape[0] + 1, bad.shape[1] + 1), dtype=np.int64)
        total[1:, 1:] = bad.cumsum(axis=0).cumsum(axis=1)
        sums = total[rows:, columns:] - total[:-rows, columns:] - total[rows:, :-columns] + total[:-rows, :-columns]
        low, left = np.nonzero(sums == 0)
        x = self.window[0] + (first_column + left + columns / 2) * self.cell
        y = self.window[1] + (first_row + low + rows / 2) * self.cell
        away = np.round(np.hypot(x - near[0], y - near[1]), 6)
        near_enough = np.nonzero(away <= reach)[0]
        order = near_enough[np.argsort(away[near_enough], kind="stable")]
        for best in order if sight is None else order[::_SIGHT_STEP]:
            middle = float(x[best]), float(y[best])
            if sight is None or self._seen(middle, *sight):
                return middle
        return None

    def _searched(self, rows: int, columns: int, near: Point, within: Mask | None, reach: float
                  ) -> tuple[int, int, int, int]:  # fmt: skip
        """First row and column and the ones after the last that a box may touch: a small part is soon searched."""
        first_row, first_column, (last_row, last_column) = 0, 0, self.shape
        if math.isfinite(reach):
            column, row = self._cell(near)
            out = reach / self.cell
            first_row = max(first_row, math.floor(row - out - rows / 2) - 1)
            last_row = min(last_row, math.ceil(row + out + rows / 2) + 1)
            first_column = max(first_column, math.floor(column - out - columns / 2) - 1)
            last_column = min(last_column, math.ceil(column + out + columns / 2) + 1)
        if within is not None:
            own_rows, own_columns = np.nonzero(within.any(axis=1))[0], np.nonzero(within.any(axis=0))[0]
            if len(own_rows) == 0:
                return 0, 0, 0, 0
            first_row, last_row = max(first_row, int(own_rows[0])), min(last_row, int(own_rows[-1]) + 1)
            first_column = max(first_column, int(own_columns[0]))
            last_column = min(last_column, int(own_columns[-1]) + 1)
        return first_row, first_column, last_row, last_column

    def _seen(self, start: Point, end: Point, hidden: Mask) -> bool:
        steps = max(2, math.ceil(math.dist(start, end) / self.cell))
        (c0, r0), (c1, r1) = self._cell(start), self._cell(end)
        columns = np.clip(np.linspace(c0, c1, steps).astype(int), 0, self.shape[1] - 1)
        rows = np.clip(np.linspace(r0, r1, steps).astype(int), 0, self.shape[0] - 1)
        return not hidden[rows, columns].any()

    def _cell(self, point: Point) -> tuple[float, float]:
        return (point[0] - self.window[0]) / self.cell, (point[1] - self.window[1]) / self.cell

    def _cells(self, ring: Sequence[Point]) -> list[tuple[float, float]]:
        # Pillow speaks of pixel middles: the cell (0, 0) is the pixel whose middle is 0.5, 0.5 of ours
        return [(x - 0.5, y - 0.5) for x, y in map(self._cell, ring)]
