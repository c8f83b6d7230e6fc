"""Rings drawn onto edges: parts thinner than the reach, against shapely's own distances to the shape that was drawn."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from insertgen.photo.boundary import Boundary, inside_of, pixels_of
from insertgen.photo.brink import Brink
from insertgen.photo.contour import snap
from insertgen.photo.load import Photo
from insertgen.photo.profiles import Departures
from insertgen.photo.surface import look_at_bench

WIDTH, HEIGHT = 1200, 900


def drawn(item: shapely.Polygon) -> tuple[Photo, np.ndarray]:
    """A dark shape on a pale bench with a little noise, and the distance of each pixel from its edge (inside positive)."""
    x, y = np.meshgrid(np.arange(WIDTH), np.arange(HEIGHT))
    places = shapely.points(x, y)
    away = shapely.distance(item.boundary, places) * np.where(shapely.contains(item, places), 1, -1)
    cover = np.clip(away + 0.5, 0, 1)[..., None]
    light = 0.75 * (1 - cover) + np.array([0.2, 0.22, 0.3]) * cover
    light = light + 0.01 * np.random.default_rng(1).standard_normal(light.shape)
    return Photo("drawn.png", "", np.round(255 * np.clip(light, 0, 1)).astype(np.uint8), None), away


def points_of(ring: shapely.LinearRing) -> np.ndarray:
    return np.array(ring.segmentize(1.0).coords)[:-1]


@pytest.mark.parametrize("off", [0.0, 1.0])
@pytest.mark.parametrize("thick", [2.5, 3.0, 4.0, 8.0])
def test_both_sides_of_a_thin_part_stay_apart(thick: float, off: float) -> None:
    """Closed form: a bar at a block, begun ``off`` px too far out; each side to 1 px, the width in the mean to half a pixel a side."""
    bar = shapely.box(500, 440 - thick / 2, 800, 440 + thick / 2)
    item = shapely.box(300, 300, 500, 600) | bar
    photo, away = drawn(item)
    surface = look_at_bench(photo, [])
    odds = np.asarray(np.clip(2 * away, -6, 6), np.float32)
    rough = points_of(item.buffer(off, join_style="mitre").exterior)
    seen = Departures(photo.rgb, surface, odds, rough, 1.0)
    brink = Brink(np.asarray(np.clip(2 * away, -5, 5), np.float32), np.zeros(2), 1.0)
    found = shapely.Polygon(snap(photo.rgb, rough, seen, 1.0, brink, inside_of(Boundary(rough, ()))).ring)
    middle = shapely.box(520, 400, 780, 480)  # without its ends
    assert found.is_valid
    assert found.intersection(middle).area == pytest.approx(bar.intersection(middle).area, abs=1.0 * 260)
    assert shapely.hausdorff_distance(found.exterior.intersection(middle), item.exterior.intersection(middle)) < 1.0


def test_what_lies_inside_is_known_to_the_pixel() -> None:
    """A square with a hole in it, and places beyond the window."""
    outer, hole = (points_of(shapely.box(*box).exterior) for box in ((100, 50, 180, 130), (120, 70, 150, 90)))
    inside = inside_of(Boundary(outer, (hole,)))
    assert inside.at(np.array([[110.0, 60.0], [135.0, 80.0], [90.0, 60.0], [400.0, 60.0], [110.0, -40.0]])).tolist() == [True, False, False, False, False]


@pytest.mark.parametrize("unit", [0.25, 1.0, 2.0])
def test_pixels_of_rings_have_their_area(unit: float) -> None:
    """An ellipse's, too large by some half a pixel of its length (Ramanujan 1914): a pixel that the ring touches counts."""
    ring = points_of(shapely.affinity.scale(shapely.Point(60, 50).buffer(1, 64), 40, 25).exterior)
    grid = pixels_of(Boundary(ring, ()), (int(110 / unit), int(130 / unit)), np.zeros(2), unit)
    a, b = 40.0, 25.0
    length = np.pi * (3 * (a + b) - np.sqrt((3 * a + b) * (a + 3 * b)))
    more = float(grid.sum()) * unit**2 - np.pi * a * b
    assert -0.1 * unit * length < more < 0.6 * unit * length
