"""The item's pixels as one region, edges, enclosure and colours weighed against each other.

Minimises ``sum w |grad u| + sum f u`` over u in [0, 1], whose rounded minimum is
the best region (Chan, Esedoglu, Nikolova 2006), by the primal-dual method of
Chambolle and Pock (2011).
"""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.colours import palette
from insertgen.photo.enclosure import LEAST_EDGE, enclosure, levels
from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.surface import Surface

__all__ = ["LeastBoundary", "region_by_colour"]

_ROUNDS = 3  # colours learnt, region found, colours learnt again
_ITERATIONS = 100
_CORE = 0.6  # of the usual enclosure of the place: what is enclosed less may be shade
_ENCLOSED = 1.5  # weight of enclosure against colour
_COLOUR_CAP = 4.0
_SHADE_CAP = 0.0  # a colour that shade on the bench explains speaks for no item
_SHADE_LIKELY = 1e-4
_CLEAR_SHARE = 0.3  # of the item must be of colours no shade explains, to go by those alone
_SMOOTH = 2.5  # how much boundary a doubtful pixel is worth


def region_by_colour(surface: Surface) -> Bool:
    """The item's pixels at working size (may be several pieces, or none)."""
    enclosed, place = _place(surface)
    if not place.any():
        return place
    window = _window(place)
    away = cv2.distanceTransform((~place).astype(np.uint8), cv2.DIST_L2, 5)
    level = float(np.median(enclosed[place]))
    inside = np.clip(np.log(np.maximum(enclosed, 1e-3) / (_CORE * level)), -1.0, 1.0)
    inside = inside - np.clip(away / 60.0, 0.0, 1.0)
    far = (away > 12) & ~surface.paper
    colours = palette(surface.departure, far)
    bench_share = colours.in_shadow(colours.shares(far))
    shade = colours.at(bench_share) > _SHADE_LIKELY
    strong = max(float(np.percentile(surface.sharp[far], 97)), 0.01)
    weight = _SMOOTH / (1.0 + (surface.sharp / strong) ** 2)
    region = np.asarray(place & (enclosed > _CORE * level) & ~surface.paper)
    solver = LeastBoundary(weight[window])
    for turn in range(_ROUNDS):
        clear = region & ~shade
        item_share = colours.shares(region)
        if clear.sum() > _CLEAR_SHARE * region.sum():  # else all of it may be of the bench's hue, only darker
            item_share = 0.5 * item_share + 0.5 * colours.shares(clear)
        colour = colours.log_ratio(item_share, bench_share)
        evidence = np.clip(colour, -_COLOUR_CAP, np.where(shade, _SHADE_CAP, _COLOUR_CAP)) + _ENCLOSED * inside
        evidence[surface.paper] = -4.0
        cost = np.asarray(-evidence[window], np.float32)
        region = np.zeros_like(place)
        region[window] = solver.solve(cost, _ITERATIONS if turn == 0 else _ITERATIONS // 2) > 0.5
        if not region.any():
            break
    return region


def _place(surface: Surface) -> tuple[Float, Bool]:
    """Enclosure in units of the bench's strong edges, and the piece with most of it."""
    bench = surface.edge[~surface.paper]
    # a bench without noise, as drawn, has no edges at all
    strong = max(float(np.percentile(bench, 97)), 2.5 * float(np.percentile(bench, 50)), LEAST_EDGE)
    enclosed = enclosure(surface.edge, levels(surface.edge, surface.paper)) / np.float32(strong)
    core = np.maximum(np.log(np.maximum(enclosed, 1e-6)), 0.0)
    # edges count as enclosed by themselves; what a disc does not fit in is an edge, not a thing
    thick = cv2.morphologyEx(core, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5)))
    count, label = cv2.connectedComponents((thick > 0).astype(np.uint8))
    mass = np.bincount(label.ravel(), weights=thick.ravel(), minlength=count)
    mass[0] = 0.0
    place = np.asarray(label == int(np.argmax(mass))) if count > 1 else np.zeros(core.shape, bool)
    return np.asarray(enclosed, np.float32), place


def _window(place: Bool) -> tuple[slice, slice]:
    rows, columns = np.nonzero(place.any(axis=1))[0], np.nonzero(place.any(axis=0))[0]
    margin = 30 + max(len(rows), len(columns)) // 6
    return (
        slice(max(0, int(rows[0]) - margin), int(rows[-1]) + margin + 1),
        slice(max(0, int(columns[0]) - margin), int(columns[-1]) + margin + 1),
    )


class LeastBoundary:
    """u in [0, 1] that minimises ``sum weight |grad u| + sum cost u``; starts where it last stopped."""

    def __init__(self, weight: Float) -> None:
        self._weight = weight
        self._u: Float | None = None
        self._px, self._py = np.zeros_like(weight), np.zeros_like(weight)

    def solve(self, cost: Float, iterations: int) -> Float:
        u = (cost < 0).astype(np.float32) if self._u is None else self._u
        bar = u.copy()
        px, py = self._px, self._py
        step = np.float32(1 / np.sqrt(8))  # both steps: step^2 |grad|^2 <= 1, |grad|^2 = 8
        for _ in range(iterations):
            px[:, :-1] += step * (bar[:, 1:] - bar[:, :-1])
            py[:-1] += step * (bar[1:] - bar[:-1])
            shrink = np.minimum(1.0, self._weight / np.maximum(cv2.magnitude(px, py), np.float32(1e-9)))
            px *= shrink
            py *= shrink
            pull = px + py
            pull[:, 1:] -= px[:, :-1]
            pull[1:] -= py[:-1]
            fresh = np.clip(u + step * (pull - cost), 0.0, 1.0)
            bar = 2 * fresh - u
            u = fresh
        self._u = u
        return u
