"""How well photos are traced: ``python tests/bench/trace_bench.py DIR`` for every photo with a truth.json under DIR.

A line a photo: squares used, mean / 95th percentile / worst boundary distance (mm, both ways, after the best rigid
move), the same with the exact mask as silhouette, their ratio, length and width error, expected against measured
error, seconds, peak megabytes. Then a line a band. Nothing is fitted to the truth but place and turn.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import statistics
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
from scipy.optimize import least_squares
from scipy.spatial import cKDTree
from shapely.geometry import shape

from insertgen.errors import PhotoError
from insertgen.photo.load import load_photo, load_silhouette
from insertgen.photo.trace import Trace, trace_photo

LEAST_HOLE = 20.0  # mm2: smaller holes are left out on both sides
STEP = 1.0  # mm between points on the boundaries


@dataclass(frozen=True)
class Score:
    mean: float
    p95: float
    worst: float
    length_off: float
    width_off: float


def boundary_points(figure: shapely.Polygon) -> np.ndarray:
    rings = [figure.exterior, *figure.interiors]
    spaced = [shapely.line_interpolate_point(ring, np.arange(0, ring.length, STEP)) for ring in rings]
    return np.vstack([shapely.get_coordinates(points) for points in spaced])


def with_large_holes(figure: shapely.Polygon) -> shapely.Polygon:
    return shapely.Polygon(figure.exterior, [hole for hole in figure.interiors if shapely.Polygon(hole).area >= LEAST_HOLE])


def sides(figure: shapely.Polygon) -> tuple[float, float]:
    corners = shapely.get_coordinates(figure.minimum_rotated_rectangle)
    first, second = math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])
    return max(first, second), min(first, second)


def score(traced: shapely.Polygon, true: shapely.Polygon) -> Score:
    traced, true = with_large_holes(traced), with_large_holes(true)
    mine, theirs = boundary_points(traced), boundary_points(true)
    middle = mine.mean(axis=0)

    def moved(v: np.ndarray) -> np.ndarray:
        c, s = math.cos(v[0]), math.sin(v[0])
        return (mine - middle) @ np.array([[c, s], [-s, c]]) + middle + v[1:]

    def both_ways(v: np.ndarray) -> np.ndarray:
        here = moved(v)
        there, back = cKDTree(theirs).query(here)[0], cKDTree(here).query(theirs)[0]
        return np.concatenate([there / math.sqrt(len(there)), back / math.sqrt(len(back))])

    shift = theirs.mean(axis=0) - middle
    starts = [np.array([turn, *shift]) for turn in np.linspace(0, 2 * math.pi, 36, endpoint=False)]
    starts.sort(key=lambda v: float((both_ways(v) ** 2).sum()))
    fits = [least_squares(both_ways, v, x_scale=[0.01, 1, 1], diff_step=1e-5, max_nfev=40) for v in starts[:3]]
    best = min(fits, key=lambda fit: fit.cost).x
    turned = shapely.transform(traced, lambda points: _move(points, best, middle))
    there = shapely.distance(shapely.points(moved(best)), true.boundary)
    back = shapely.distance(shapely.points(theirs), turned.boundary)
    every = np.concatenate([there, back])
    (length, width), (true_length, true_width) = sides(traced), sides(true)
    return Score(
        float((there.mean() + back.mean()) / 2), float(np.percentile(every, 95)), float(every.max()),
        length - true_length, width - true_width,
    )  # fmt: skip


def _move(points: np.ndarray, v: np.ndarray, middle: np.ndarray) -> np.ndarray:
    c, s = math.cos(v[0]), math.sin(v[0])
    return (points - middle) @ np.array([[c, s], [-s, c]]) + middle + v[1:]


def polygon(traced: Trace) -> shapely.Polygon:
    return shapely.Polygon(traced.outline.outer, traced.outline.holes)


def judge(folder: Path, facts: dict, shot: dict) -> tuple[Score | None, Score | None, bool]:  # type: ignore[type-arg]
    """One photo: what was traced, the same by the exact mask, and whether it was flagged or refused."""
    photo = load_photo((folder / shot["file"]).read_bytes(), shot["file"])
    true, height = shape(facts["outline"]), facts["tool"]["height_mm"]
    mask = load_silhouette((folder / shot["toolmask"]).read_bytes(), shot["toolmask"], photo)
    exact = trace_photo(photo, square=facts["side_mm"], height=height, silhouette=mask)
    by_mask = score(polygon(exact), true)
    head = f"{folder.name[:18]:18} {facts['band']}"
    start = time.perf_counter()
    try:
        traced = trace_photo(photo, square=facts["side_mm"], height=height)
    except PhotoError as error:
        print(f"{head}  refused: {error}")
        return None, by_mask, True
    seconds = time.perf_counter() - start
    found = score(polygon(traced), true)
    flagged = any("check the outline" in warning for warning in traced.warnings)
    used = sum(fit.used for fit in traced.squares)
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{head} {used} squares  {found.mean:6.2f} {found.p95:6.2f} {found.worst:6.2f}  mask {by_mask.mean:5.2f} "
        f"{by_mask.p95:5.2f} {by_mask.worst:5.2f}  ratio {found.mean / by_mask.mean:5.1f}  length {found.length_off:+6.2f} "
        f"width {found.width_off:+6.2f}  expected {traced.expected_error:5.2f} measured {found.p95:5.2f}  "
        f"{seconds:4.1f} s {megabytes:4.0f} MB{'  flagged' if flagged else ''}",
        flush=True,
    )
    return found, by_mask, flagged


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--only", default="", help="scenes whose folder name holds this")
    arguments = parser.parse_args()
    bands: dict[str, list[tuple[Score | None, Score | None, bool]]] = {}
    for file in sorted(arguments.folder.rglob("truth.json")):
        if arguments.only not in file.parent.name:
            continue
        facts = json.loads(file.read_text(encoding="utf-8"))
        for shot in facts["photos"][:1]:  # several photos of one scene show the same item
            bands.setdefault(facts["band"], []).append(judge(file.parent, facts, shot))
    for band, results in sorted(bands.items()):
        found = [result[0] for result in results if result[0] is not None]
        masks = [result[1] for result in results if result[1] is not None]
        unflagged = sum(result[0] is not None and result[0].mean > 3 and not result[2] for result in results)
        print(
            f"band {band}: {len(results)} photos, {len(results) - len(found)} refused, {sum(r[2] for r in results)} flagged; "
            f"median mean {statistics.median(s.mean for s in found) if found else math.nan:.2f}, "
            f"median p95 {statistics.median(s.p95 for s in found) if found else math.nan:.2f}, "
            f"by mask {statistics.median(s.mean for s in masks):.2f} / {statistics.median(s.p95 for s in masks):.2f}; "
            f"mean over 3 mm: {sum(s.mean > 3 for s in found)}, of them unflagged {unflagged}"
        )


if __name__ == "__main__":
    main()
