"""Wires seen close: areas and holes against shapely's own, of shapes drawn as log odds."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from insertgen.photo.boundary import Boundary, signed_area
from insertgen.photo.brink import Brink
from insertgen.photo.wires import with_wires

LOW = np.array([40.0, 25.0])
DISC = shapely.Point(130.0, 120.0).buffer(60.0, 64)
BOW = shapely.Point(205.0, 120.0).buffer(24.0, 64).exterior.buffer(2.0)  # a loop that begins and ends at the disc


def seen(item: shapely.Geometry, unit: float = 1.0) -> Brink:
    """Log odds by the distance from the item's edge, 1 a px, as of a window of a photo."""
    x, y = np.meshgrid(np.arange(260), np.arange(220))
    places = shapely.points((x + 0.5) * unit - 0.5 + LOW[0], (y + 0.5) * unit - 0.5 + LOW[1])
    away = shapely.distance(item.boundary, places) * np.where(shapely.contains(item, places), 1, -1)
    return Brink(np.clip(1.5 * away / unit, -5, 5).astype(np.float32), LOW, unit)


def ring_of(shape: shapely.Polygon) -> np.ndarray:
    return np.array(shape.exterior.segmentize(1.0).coords)[:-1]


def disc_alone() -> Boundary:
    return Boundary(ring_of(DISC), ())


@pytest.mark.parametrize("unit", [1.0, 1.5])
def test_a_bow_of_wire_closes_a_hole(unit: float) -> None:
    """Outer area to 1 %, the hole's to 5 %: a wire of 4 px is drawn from pixels."""
    wired = shapely.affinity.scale(BOW, unit, unit, origin=(DISC.bounds[2], 120.0))
    true = DISC | wired
    found = with_wires(disc_alone(), seen(true, unit), 20.0)
    assert len(found.holes) == 1
    assert abs(signed_area(found.outer)) == pytest.approx(shapely.Polygon(true.exterior).area, rel=0.01)
    assert abs(signed_area(found.holes[0])) == pytest.approx(shapely.Polygon(true.interiors[0]).area, rel=0.05)


def test_the_ring_elsewhere_stays_where_it_was_drawn() -> None:
    found = with_wires(disc_alone(), seen(DISC | BOW), 20.0)
    left = found.outer[found.outer[:, 0] < 150]
    assert float(np.abs(np.linalg.norm(left - [130, 120], axis=1) - 60).max()) < 0.05


@pytest.mark.parametrize(
    "other",
    [
        shapely.box(185.0, 100.0, 230.0, 140.0), shapely.box(215.0, 60.0, 219.0, 190.0), shapely.box(186.0, 118.0, 197.0, 121.0),
        shapely.box(186.0, 118.0, 240.0, 121.0), shapely.LineString([(90.0, 50.0), (230.0, 160.0)]).buffer(1.5),
    ],
    ids=["a broad part", "a line beside it", "a burr", "a line that ends at nothing", "a line that runs under it"],
)  # fmt: skip
def test_what_is_no_wire_of_the_item_is_left(other: shapely.Polygon) -> None:
    before = disc_alone()
    assert with_wires(before, seen(DISC | other), 20.0) is before


def test_a_line_under_two_parts_is_no_wire() -> None:
    """Straight from one part to the other."""
    horseshoe = DISC - shapely.box(110.0, 100.0, 200.0, 160.0)
    before = Boundary(ring_of(horseshoe), ())
    assert with_wires(before, seen(horseshoe | shapely.box(158.0, 90.0, 161.0, 170.0)), 20.0) is before


def test_a_hole_too_small_is_filled() -> None:
    found = with_wires(disc_alone(), seen(DISC | BOW), 2000.0)
    assert not found.holes


def test_a_hole_of_the_item_is_kept() -> None:
    hole = shapely.Point(120.0, 120.0).buffer(20.0, 32)
    found = with_wires(Boundary(ring_of(DISC), (ring_of(hole),)), seen((DISC - hole) | BOW), 20.0)
    assert sorted(len(ring) > 100 for ring in found.holes) == [True, True]
