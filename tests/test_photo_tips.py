"""Points seen close: of blades drawn as log odds and cut short, against the blade that was drawn (shapely)."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from insertgen.photo.boundary import Boundary, signed_area
from insertgen.photo.brink import Brink
from insertgen.photo.tips import with_tips

LOW = np.array([40.0, 25.0])
HANDLE = shapely.box(70.0, 80.0, 110.0, 160.0)
LEAST = 20.0


def blade(wide: float, unit: float = 1.0) -> shapely.Polygon:
    """From the handle to a point 120 px away."""
    return shapely.Polygon([(100, 120 - wide * unit / 2), (100, 120 + wide * unit / 2), (110 + 120 * unit, 120)])


def seen(item: shapely.Geometry, unit: float = 1.0, most: float = 5.0) -> Brink:
    """Log odds by the distance from the item's edge, 1.5 a px, as of a window of a photo."""
    x, y = np.meshgrid(np.arange(320), np.arange(220))
    places = shapely.points((x + 0.5) * unit - 0.5 + LOW[0], (y + 0.5) * unit - 0.5 + LOW[1])
    away = shapely.distance(item.boundary, places) * np.where(shapely.contains(item, places), 1, -1)
    return Brink(np.clip(1.5 * away / unit, -5, most).astype(np.float32), LOW, unit)


def ring_of(shape: shapely.Polygon) -> np.ndarray:
    return np.array(shape.exterior.segmentize(1.0).coords)[:-1]


@pytest.mark.parametrize("unit", [1.0, 1.5])
@pytest.mark.parametrize("wide", [8.0, 14.0])
@pytest.mark.parametrize("short", [8.0, 25.0])
def test_a_point_cut_short_is_joined(short: float, wide: float, unit: float) -> None:
    """It ends where the blade is a pixel wide, or later; the rest is as drawn."""
    true = HANDLE | blade(wide, unit)
    tip = true.bounds[2]
    cut = true.difference(shapely.box(tip - short * unit, 0, 999, 999))
    found = with_tips(Boundary(ring_of(cut), ()), seen(true, unit), LEAST)
    assert tip - 130 * unit / wide < float(found.outer[:, 0].max()) < tip + 1
    assert abs(signed_area(found.outer)) == pytest.approx(true.area, rel=0.02)
    left = found.outer[found.outer[:, 0] < 105]
    assert float(shapely.distance(shapely.points(left), true.exterior).max()) < 0.05


def test_a_point_that_is_bench_by_a_little_is_joined_too() -> None:
    """Where the network's log odds are -1 along the middle: no other voice knows the last 20 px either."""
    true = HANDLE | blade(10.0)
    brink = seen(true)
    x, y = np.meshgrid(np.arange(320) + LOW[0], np.arange(220) + LOW[1])
    odds = np.where(x > 200, np.minimum(brink.odds, -1.0 - 1.5 * np.abs(y - 120)), brink.odds).astype(np.float32)
    cut = true.difference(shapely.box(205, 0, 999, 999))
    found = with_tips(Boundary(ring_of(cut), ()), Brink(odds, LOW, 1.0), LEAST)
    assert float(found.outer[:, 0].max()) > 225


@pytest.mark.parametrize(
    "other",
    [
        shapely.box(85.0, 158.0, 87.0, 200.0), shapely.LineString([(160, 118), (200, 80)]).buffer(1.5), shapely.box(60.0, 100.0, 72.0, 140.0),
        shapely.box(236.0, 100.0, 238.0, 140.0), shapely.LineString([(228, 120), (228, 160)]).buffer(1.5),
    ],
    ids=["a line from the handle", "a line from the blade's side", "a broad part", "a line before the point", "a line across the point"],
)  # fmt: skip
def test_what_does_not_go_on_from_a_thin_end_is_left(other: shapely.Polygon) -> None:
    item = HANDLE | blade(12.0)
    before = Boundary(ring_of(item), ())
    assert with_tips(before, seen(item | other), LEAST) is before


def test_a_spike_at_a_broad_part_is_no_point() -> None:
    """The first 10 px of a line were taken for the handle's: thin there, but broad right behind."""
    line = shapely.box(88.0, 158.0, 90.0, 200.0)
    before = Boundary(ring_of(HANDLE | line.intersection(shapely.box(0, 0, 999, 170))), ())
    assert with_tips(before, seen(HANDLE | line), LEAST) is before


def test_holes_stay() -> None:
    true = (HANDLE | blade(10.0)) - shapely.Point(90, 120).buffer(8.0)
    cut = true.difference(shapely.box(205, 0, 999, 999))
    found = with_tips(Boundary(ring_of(cut), (np.array(true.interiors[0].segmentize(1.0).coords)[:-1],)), seen(true), LEAST)
    assert len(found.holes) == 1
    assert abs(signed_area(found.holes[0])) == pytest.approx(shapely.Polygon(true.interiors[0]).area, rel=0.01)
