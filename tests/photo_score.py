"""How far a traced outline lies from the true one: boundary distances both ways after the best rigid move.

Nothing but place and turn is fitted: no scale, no mirror. Distances by shapely, nearest points and least
squares by scipy, so that no line of the package judges itself.
"""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import shapely
from scipy.optimize import least_squares
from scipy.spatial import cKDTree

from insertgen.model.figures import Outline

LEAST_HOLE = 20.0  # mm2: smaller holes are left out on both sides
_STARTS = 36  # turns tried
_COARSE, _FINE = 2.0, 0.7  # mm between points of the boundary


@dataclass(frozen=True)
class Score:
    """Boundary distances and what is wrong with length and width, mm.

    ``holes_right``: as many holes as in truth, each of which one found covers by more than half of both together.
    """

    mean: float
    p95: float
    worst: float
    length_off: float
    width_off: float
    holes_right: bool = True


def facts_of(folder: Path) -> dict[str, Any]:
    facts: dict[str, Any] = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    return facts


def true_outline(facts: dict[str, Any]) -> shapely.Polygon:
    figure = shapely.geometry.shape(facts["outline"])
    assert isinstance(figure, shapely.Polygon)
    return figure


def polygon(outline: Outline) -> shapely.Polygon:
    return shapely.Polygon(outline.outer, outline.holes)


def sides(figure: shapely.Polygon) -> tuple[float, float]:
    """Length and width of the least rectangle."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(figure))
    first, second = math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])
    return max(first, second), min(first, second)


def score(traced: shapely.Polygon, true: shapely.Polygon) -> Score:
    """Traced against true, after the rigid move that makes the squared distances least."""
    traced, true = _with_large_holes(traced), _with_large_holes(true)
    moved = _moved(traced, _best_move(traced, true))
    there = shapely.distance(shapely.points(_along(moved, _FINE)), true.boundary)
    back = shapely.distance(shapely.points(_along(true, _FINE)), moved.boundary)
    every = np.concatenate([there, back])
    (length, width), (true_length, true_width) = sides(traced), sides(true)
    return Score(
        float(there.mean() + back.mean()) / 2, float(np.percentile(every, 95)), float(every.max()),
        length - true_length, width - true_width, _same_holes(moved, true),
    )  # fmt: skip


def _same_holes(moved: shapely.Polygon, true: shapely.Polygon) -> bool:
    mine, theirs = ([shapely.Polygon(ring) for ring in figure.interiors] for figure in (moved, true))
    return len(mine) == len(theirs) and all(
        max(hole.intersection(other).area / hole.union(other).area for other in mine) > 0.5 for hole in theirs
    )


def polygon_of_mask(mask: np.ndarray) -> shapely.Polygon:
    """The largest piece of a mask in pixels, centres at integers: where it, interpolated, is a half (cv2.findContours at 4 x)."""
    fine = cv2.resize(mask.astype(np.float32), None, fx=4, fy=4, interpolation=cv2.INTER_LINEAR) > 0.5
    rings, tree = cv2.findContours(fine.astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    outer = max((at for at in range(len(rings)) if tree[0][at][3] < 0), key=lambda at: cv2.contourArea(rings[at]))
    holes = [at for at in range(len(rings)) if tree[0][at][3] == outer and len(rings[at]) > 3]
    return shapely.Polygon(_shrunk(rings[outer]), [_shrunk(rings[at]) for at in holes])


def _shrunk(ring: np.ndarray) -> np.ndarray:
    return np.asarray((ring[:, 0].astype(float) + 0.5) / 4 - 0.5)


def pixels_off(rings: tuple[np.ndarray, ...], mask: np.ndarray) -> tuple[float, float]:
    """Mean and 95th percentile of the boundary's distance from the mask's, both ways, px; nothing is moved."""
    true, traced = polygon_of_mask(mask), shapely.Polygon(rings[0], rings[1:])
    least = 60.0
    true, traced = (
        shapely.Polygon(figure.exterior, [hole for hole in figure.interiors if shapely.Polygon(hole).area >= least])
        for figure in (true, traced)
    )
    there = shapely.distance(shapely.points(_along(traced, 1.0)), true.boundary)
    back = shapely.distance(shapely.points(_along(true, 1.0)), traced.boundary)
    return float(there.mean() + back.mean()) / 2, float(np.percentile(np.concatenate([there, back]), 95))


def _best_move(traced: shapely.Polygon, true: shapely.Polygon) -> np.ndarray:
    """Turn and shift: rough from many turns by nearest points, then by exact distances from the best three."""
    mine, theirs = _along(traced, _COARSE), _along(true, _COARSE)
    middle = shapely.get_coordinates(traced.centroid)[0]
    shift = shapely.get_coordinates(true.centroid)[0] - middle
    tree = cKDTree(theirs)

    def rough(v: np.ndarray) -> np.ndarray:
        here = _turned(mine, v, middle)
        return _equal_weight(tree.query(here)[0], cKDTree(here).query(theirs)[0])

    def exact(v: np.ndarray) -> np.ndarray:
        there = shapely.distance(shapely.points(_turned(mine, v, middle)), true.boundary)
        back = shapely.distance(shapely.points(_turned_back(theirs, v, middle)), traced.boundary)
        return _equal_weight(there, back)

    starts = [np.array([turn, *shift]) for turn in np.linspace(0, 2 * math.pi, _STARTS, endpoint=False)]
    starts.sort(key=lambda v: float((rough(v) ** 2).sum()))
    near = [least_squares(rough, v, x_scale=[0.01, 1, 1], diff_step=1e-4, max_nfev=25) for v in starts[:6]]
    near.sort(key=lambda fit: float(fit.cost))
    fits = [least_squares(exact, fit.x, x_scale=[0.01, 1, 1], diff_step=1e-6, max_nfev=30) for fit in near[:2]]
    return np.asarray(min(fits, key=lambda fit: float(fit.cost)).x)


def _equal_weight(there: np.ndarray, back: np.ndarray) -> np.ndarray:
    return np.concatenate([there / math.sqrt(len(there)), back / math.sqrt(len(back))])


def _turned(points: np.ndarray, v: np.ndarray, middle: np.ndarray) -> np.ndarray:
    c, s = math.cos(v[0]), math.sin(v[0])
    return np.asarray((points - middle) @ np.array([[c, s], [-s, c]]) + middle + v[1:])


def _turned_back(points: np.ndarray, v: np.ndarray, middle: np.ndarray) -> np.ndarray:
    c, s = math.cos(v[0]), math.sin(v[0])
    return np.asarray((points - middle - v[1:]) @ np.array([[c, -s], [s, c]]) + middle)


def _moved(figure: shapely.Polygon, v: np.ndarray) -> shapely.Polygon:
    middle = shapely.get_coordinates(figure.centroid)[0]
    moved = shapely.transform(figure, lambda points: _turned(points, v, middle))
    assert isinstance(moved, shapely.Polygon)
    return moved


def _along(figure: shapely.Polygon, step: float) -> np.ndarray:
    rings = [figure.exterior, *figure.interiors]
    counts = [max(8, math.ceil(ring.length / step)) for ring in rings]
    spaced = [
        shapely.line_interpolate_point(ring, np.arange(count) / count, normalized=True)
        for ring, count in zip(rings, counts, strict=True)
    ]
    return np.vstack([shapely.get_coordinates(points) for points in spaced])


def _with_large_holes(figure: shapely.Polygon) -> shapely.Polygon:
    return shapely.Polygon(figure.exterior, [hole for hole in figure.interiors if shapely.Polygon(hole).area >= LEAST_HOLE])
