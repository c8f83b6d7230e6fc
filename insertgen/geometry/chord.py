"""How wide a figure is along lines across it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from insertgen.model import Point, Ring

__all__ = ["chords"]


def chords(ring: Ring, lines: Sequence[tuple[Point, float]]) -> list[tuple[Point, Point] | None]:
    """For each line the two ends of the stretch inside a ring that is nearest the line's point.

    Parameters
    ----------
    ring : Ring
        Outer ring of a figure.
    lines : sequence of (point, angle in degrees)
        Where the point lies outside the figure, the nearest stretch counts.

    Returns
    -------
    list of pairs of Point, or None
        The end against the direction of the angle first; None: the line misses the figure.

    Examples
    --------
    >>> chords(((0.0, 0.0), (10.0, 0.0), (10.0, 4.0), (0.0, 4.0)), [((3.0, 1.0), 90.0), ((3.0, 9.0), 0.0)])
    [((3.0, 0.0), (3.0, 4.0)), None]
    """
    points = np.asarray(ring, dtype=float)
    through = np.array([point for point, _ in lines])
    turns = np.radians([angle_deg for _, angle_deg in lines])
    ways = np.round(np.column_stack([np.cos(turns), np.sin(turns)]), 15)
    # distance of every point from every line, and how far along it
    off = ways[:, :1] * points[:, 1] - ways[:, 1:] * points[:, 0] - (ways[:, 0] * through[:, 1] - ways[:, 1] * through[:, 0])[:, None]
    along = ways @ points.T - (ways * through).sum(axis=1)[:, None]
    crosses = (off > 0) != (np.roll(off, -1, axis=1) > 0)
    return [_stretch(off[k], along[k], crosses[k], through[k], ways[k]) for k in range(len(lines))]


def _stretch(
    off: np.ndarray, along: np.ndarray, crosses: np.ndarray, through: np.ndarray, way: np.ndarray
) -> tuple[Point, Point] | None:
    before = np.nonzero(crosses)[0]
    if not len(before):
        return None
    after = (before + 1) % len(off)
    share = off[before] / (off[before] - off[after])
    ends = np.sort(along[before] + share * (along[after] - along[before])).reshape(-1, 2)
    # 0 is at the line's point: inside the stretch, or so far from it
    away = np.maximum(np.maximum(ends[:, 0], -ends[:, 1]), 0.0)
    low, high = (through + reach * way for reach in ends[int(np.argmin(away))])
    return (float(low[0]) + 0.0, float(low[1]) + 0.0), (float(high[0]) + 0.0, float(high[1]) + 0.0)
