"""How wide a figure is along lines across it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from insertgen.model.figures import Point, Ring

__all__ = ["chords"]


def chords(ring: Ring, lines: Sequence[tuple[Point, float]]) -> list[tuple[Point, Point] | None]:
    """For each line through a point the two ends of the stretch inside a ring that holds the point.

    Parameters
    ----------
    ring : Ring
        Outer ring of a figure.
    lines : sequence of (point, angle in degrees)

    Returns
    -------
    list of pairs of Point, or None
        The end against the direction of the angle first; None: the point lies outside.

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
    normals = np.column_stack([-ways[:, 1], ways[:, 0]])
    off = normals @ points.T - (normals * through).sum(axis=1)[:, None]
    along = ways @ points.T - (ways * through).sum(axis=1)[:, None]
    next_off = np.roll(off, -1, axis=1)
    crosses = (off > 0) != (next_off > 0)
    with np.errstate(divide="ignore", invalid="ignore"):  # where a side runs along the line it does not cross it
        met = np.where(crosses, along + off / (off - next_off) * (np.roll(along, -1, axis=1) - along), np.nan)
    ahead = crosses & (met > 0)
    inside = ahead.sum(axis=1) % 2 == 1
    low = np.where(inside, np.where(crosses & (met <= 0), met, -np.inf).max(axis=1), 0.0)
    high = np.where(inside, np.where(ahead, met, np.inf).min(axis=1), 0.0)
    starts, ends = through + low[:, None] * ways, through + high[:, None] * ways
    return [(_point(starts[k]), _point(ends[k])) if inside[k] else None for k in range(len(lines))]


def _point(at: np.ndarray) -> Point:
    return float(at[0]) + 0.0, float(at[1]) + 0.0
