"""Holes in the item through which the bench is seen: ring ends, slots, handles."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from insertgen.photo.light import Float
from insertgen.photo.load import Bool
from insertgen.photo.surface import Surface

__all__ = ["doubted_openings", "find_openings"]

_RIM = 2  # working px of edge between hole and item
_HUE = 0.02  # log light: medians of many pixels of one surface agree better than that
_TINT = 0.1  # of the hue of the item round the hole, which it throws on the bench in there
_MOST_TINT = 0.1
_DARKER, _BRIGHTER = 0.15, 0.05  # log light, beyond the range of the bench just outside the item
# a cell that the networks too take for bench may be the part of a hole that a shadow falls in
_BENCH_ODDS = -1.0  # mean log odds
_ITEM_ODDS = 4.0  # mean log odds: of what they surely take for the item, only the bench's very hue is a hole
_SHADED, _MORE_HUE = 0.6, 1.5  # log light darker, and times the hue otherwise allowed
_SURE_ODDS = -2.5  # mean log odds: bench by all voices, whatever falls on it
_UNSURE_ODDS = -0.5  # mean log odds: may be bench, though nothing else says so
_CAP = 5.0
_EDGE_SHARE = 0.5  # of the hole's rim that must be a clear edge
_MOST_OF_BODY = 0.4
_PARTLY, _FOUND = 0.1, 0.5  # of a hole by the voices that is one by edges: part of it, all of it


def find_openings(surface: Surface, body: Bool, least: float, odds: Float) -> Bool:
    """Pixels of the holes in a filled region; only what is clearly bench.

    A cell is what edges fence off inside the item. It is a hole if it has the hue and
    the brightness (shade allowed) of the bench around the item and a clear edge all
    round; darker and further off in hue, if the networks say it is bench. What they are sure of is a hole,
    though the edges of a shadow cut it up. A wrong hole costs more than a missed one.

    Parameters
    ----------
    surface : Surface
    body : bool array, h x w
        The item, holes filled.
    least : float
        Smallest hole, working px.
    odds : float32 array, h x w
        Log odds (item / bench).
    """
    kernel = np.ones((3, 3), np.uint8)
    inner = cv2.erode(body.astype(np.uint8), kernel, iterations=_RIM) > 0
    near = cv2.dilate(body.astype(np.uint8), kernel, iterations=12) > 0
    gap = cv2.dilate(body.astype(np.uint8), kernel, iterations=3) > 0
    around = near & ~gap & ~surface.paper
    bright, hues = _split(surface.departure)
    if around.sum() < 50:
        return np.zeros_like(body)
    limit = _clear_edge(surface, around)
    count, label, stats, _ = cv2.connectedComponentsWithStats(
        (inner & (surface.edge < limit)).astype(np.uint8), connectivity=4
    )
    low, high = np.percentile(bright[around], [5, 95])
    bench_hue = np.median(hues[around], axis=0)
    holes = np.zeros_like(body)
    for at in range(1, count):
        cell = np.asarray(label == at)
        if not 0.3 * least <= stats[at, cv2.CC_STAT_AREA] < _MOST_OF_BODY * body.sum():
            continue
        said = float(np.clip(odds[cell], -_CAP, _CAP).mean())
        learnt = said < _BENCH_ODDS
        if not low - (_SHADED if learnt else _DARKER) < float(np.median(bright[cell])) < high + _BRIGHTER:
            continue
        grown = cv2.dilate(cell.astype(np.uint8), kernel, iterations=_RIM) > 0
        rim = (cv2.dilate(cell.astype(np.uint8), kernel, iterations=6) > 0) & body & ~grown
        tint = np.percentile(np.abs(hues[rim] - bench_hue).max(axis=1), 80) if rim.any() else 0.0
        most = _HUE if said > _ITEM_ODDS else _MOST_TINT
        allowed = (_MORE_HUE if learnt else 1.0) * np.clip(_TINT * tint, _HUE, most)
        if np.abs(np.median(hues[cell], axis=0) - bench_hue).max() > allowed:
            continue
        if _fenced(surface.edge, cell, limit) > _EDGE_SHARE:
            holes |= grown
    joined = np.asarray(cv2.morphologyEx(holes.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8)), np.uint8)
    holes = _large(joined, least)
    return np.asarray((holes | _sure(inner, holes, odds, least)) & inner)


def doubted_openings(body: Bool, holes: Bool, odds: Float, least: float) -> Bool:
    """The places in the item that may be holes, by the voices, but were not found to be."""
    inner = cv2.erode(body.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=_RIM) > 0
    label, area = _by_voices(inner, holes, odds, least, _UNSURE_ODDS)
    return np.asarray((area > 0)[label])


def _sure(inner: Bool, holes: Bool, odds: Float, least: float) -> Bool:
    """What all voices together are sure is bench, where no hole was found."""
    label, area = _by_voices(inner, holes, odds, least, _SURE_ODDS)
    return np.asarray((area > 0)[label])


def _by_voices(inner: Bool, holes: Bool, odds: Float, least: float, most: float) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Labels of what is likelier bench, and the area of those that may be holes: 0 of one whose mean odds exceed ``most`` or that is found already."""
    _, label, stats, _ = cv2.connectedComponentsWithStats((inner & (odds < 0)).astype(np.uint8), connectivity=4)
    area = np.asarray(stats[:, cv2.CC_STAT_AREA])
    mean, found = (np.bincount(label.ravel(), values.ravel(), len(area)) / area for values in (np.clip(odds, -_CAP, _CAP), holes))
    low = mean < np.where(found > _PARTLY, _BENCH_ODDS, most)
    good = low & (area >= least) & (area < _MOST_OF_BODY * inner.sum()) & (found < _FOUND)
    good[0] = False
    return np.asarray(label, np.int32), np.asarray(np.where(good, area, 0), np.int32)


def _large(holes: NDArray[np.uint8], least: float) -> Bool:
    _, label, stats, _ = cv2.connectedComponentsWithStats(holes, connectivity=4)
    large = stats[:, cv2.CC_STAT_AREA] >= least
    large[0] = False
    return np.asarray(large[label])


def _split(departure: Float) -> tuple[Float, Float]:
    bright = departure.mean(axis=2)
    return bright, np.stack([departure[:, :, 0] - bright, departure[:, :, 2] - bright], axis=-1)


def _clear_edge(surface: Surface, around: Bool) -> float:
    return max(2.0 * float(np.percentile(surface.edge[around], 75)), 0.03)


def _fenced(edge: Float, cell: Bool, limit: float) -> float:
    """Share of the cell's rim next to a clear edge."""
    kernel = np.ones((3, 3), np.uint8)
    rim = (cv2.dilate(cell.astype(np.uint8), kernel) > 0) & ~cell
    strongest = cv2.dilate(edge, np.ones((5, 5), np.uint8))
    return float((strongest[rim] > 1.5 * limit).mean())
