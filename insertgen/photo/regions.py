"""The item's pixels as one region: colours, enclosure and edges weighed against each other.

Minimises ``sum w |grad u| + sum f u`` over u in [0, 1], whose rounded minimum is
the best region (Chan, Esedoglu, Nikolova 2006), by the primal-dual method of
Chambolle and Pock (2011).
"""

from __future__ import annotations

import cv2
import numpy as np

from insertgen.photo.colours import palette
from insertgen.photo.enclosure import locate
from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.surface import Surface

__all__ = ["find_region", "least_boundary"]

_ROUNDS = 4  # colours learnt, region found, colours learnt again
_COLOUR_CAP = 4.0
_SHADE_CAP = 0.0  # a colour that shade on the bench explains speaks for no item
_SHADE_LIKELY = 1e-4
_SMOOTH = 2.5  # how much boundary a doubtful pixel is worth
_ITERATIONS = 120


def find_region(surface: Surface) -> tuple[Bool, Float]:
    """The item's pixels at working size (may be several pieces), and the evidence for it (> 0: item)."""
    enclosed, place = locate(surface)
    if not place.any():
        return place, enclosed
    window = _window(place)
    away = cv2.distanceTransform((~place).astype(np.uint8), cv2.DIST_L2, 5)
    level = float(np.median(enclosed[place]))
    inside = np.clip(np.log(np.maximum(enclosed, 1e-3) / (0.6 * level)), -1.0, 1.0)
    inside -= np.clip(away / 60.0, 0.0, 1.0).astype(np.float32)
    far = (away > 12) & ~surface.paper
    colours = palette(surface.departure, far)
    bench_share = colours.in_shadow(colours.shares(far))
    strong = max(float(np.percentile(surface.sharp[far], 97)), 0.01)
    weight = _SMOOTH / (1.0 + (surface.sharp / strong) ** 2)
    region = place & (enclosed > 0.6 * level)
    evidence = np.zeros_like(enclosed)
    for _ in range(_ROUNDS):
        item_share = colours.shares(region & ~surface.paper)
        colour = colours.log_ratio(item_share, bench_share)
        shade = colours.at(bench_share) > _SHADE_LIKELY
        evidence = np.clip(colour, -_COLOUR_CAP, np.where(shade, _SHADE_CAP, _COLOUR_CAP)) + 1.5 * inside
        evidence[surface.paper] = -4.0
        part = least_boundary(-evidence[window], weight[window], _ITERATIONS)
        region = np.zeros_like(place)
        region[window] = part > 0.5
        if not region.any():
            return region, evidence
    return region, evidence


def _window(place: Bool) -> tuple[slice, slice]:
    rows, columns = np.nonzero(place.any(axis=1))[0], np.nonzero(place.any(axis=0))[0]
    margin = 40 + max(len(rows), len(columns)) // 4
    return (
        slice(max(0, int(rows[0]) - margin), int(rows[-1]) + margin + 1),
        slice(max(0, int(columns[0]) - margin), int(columns[-1]) + margin + 1),
    )


def least_boundary(cost: Float, weight: Float, iterations: int) -> Float:
    """u in [0, 1] that minimises ``sum weight |grad u| + sum cost u``."""
    u = (cost < 0).astype(np.float32)
    bar = u.copy()
    px, py = np.zeros_like(u), np.zeros_like(u)
    tau = sigma = np.float32(1 / np.sqrt(8))  # tau sigma |grad|^2 <= 1, |grad|^2 = 8
    for _ in range(iterations):
        px[:, :-1] += sigma * (bar[:, 1:] - bar[:, :-1])
        py[:-1] += sigma * (bar[1:] - bar[:-1])
        length = np.sqrt(px * px + py * py)
        shrink = np.minimum(1.0, weight / np.maximum(length, 1e-9))
        px *= shrink
        py *= shrink
        pull = px.copy()
        pull[:, 1:] -= px[:, :-1]
        pull += py
        pull[1:] -= py[:-1]
        fresh = np.clip(u + tau * (pull - cost), 0.0, 1.0)
        bar = 2 * fresh - u
        u = fresh
    return u
