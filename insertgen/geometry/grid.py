"""Which points of a grid, or of a list, lie in a region; where a box fits among the cells of a grid."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray

from insertgen.geometry.region import Region
from insertgen.model.figures import Point

__all__ = ["box_fits", "cells_inside", "points_inside"]


def points_inside(region: Region, points: list[Point]) -> list[bool]:
    """
    >>> from insertgen.geometry.region import box
    >>> points_inside(box(0, 0, 2, 2), [(1.0, 1.0), (3.0, 1.0)])
    [True, False]
    """
    shapely.prepare(region)
    xs, ys = np.array(points, dtype=float).reshape(-1, 2).T
    return [bool(inside) for inside in shapely.contains_xy(region, xs, ys)]


def cells_inside(region: Region, corner: Point, cell: float, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Of ``shape`` (rows, columns) square cells from ``corner`` on, the rows up along y: those whose middle lies in a region.

    >>> from insertgen.geometry.region import box
    >>> cells_inside(box(0, 0, 2, 1), (0.0, 0.0), 1.0, (2, 3)).tolist()
    [[True, True, False], [False, False, False]]
    """
    rows, columns = shape
    xs = corner[0] + (np.arange(columns) + 0.5) * cell
    ys = corner[1] + (np.arange(rows) + 0.5) * cell
    shapely.prepare(region)
    across, up = np.meshgrid(xs, ys)
    inside: NDArray[np.bool_] = shapely.contains_xy(region, across.ravel(), up.ravel()).reshape(shape)
    return inside


def box_fits(free: NDArray[np.bool_], rows: int, columns: int) -> NDArray[np.bool_]:
    """For each cell, whether all cells of a box that has it as its lower left one are free.

    By a table of sums (Crow 1984). The result is smaller than ``free`` by the box less one cell; empty if it is too large.

    >>> box_fits(np.array([[True, True, False], [True, True, True]]), 2, 2).tolist()
    [[True, False]]
    """
    height, width = free.shape
    if rows > height or columns > width:
        return np.zeros((0, 0), dtype=bool)
    sums = np.zeros((height + 1, width + 1), dtype=np.int64)
    sums[1:, 1:] = (~free).cumsum(axis=0).cumsum(axis=1)
    taken = sums[rows:, columns:] - sums[:-rows, columns:] - sums[rows:, :-columns] + sums[:-rows, :-columns]
    fits: NDArray[np.bool_] = taken == 0
    return fits
