"""SVG bytes read back by svgelements (PyPI), an independent reader; areas by Green's theorem on its points."""

from __future__ import annotations

import io
import math
import xml.etree.ElementTree as ElementTree

import pytest
import svgelements
from hypothesis import given
from hypothesis import strategies as st

from insertgen.exchange.svg import path_bounds, write_svg
from insertgen.geometry.region import area, from_path
from insertgen.model.drawing import Entity, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour
from tests.test_exchange import sheet

NAMESPACE = "{http://www.w3.org/2000/svg}"


def one(path: Contour | Circle, operation: Operation = Operation.POCKET) -> SheetDrawing:
    return SheetDrawing(1, "mdf", 18.0, (Layer("ANY", operation, 12.0, False, (Entity(path, "a/01"),)),))


def shapes(data: bytes) -> list[svgelements.Path]:
    """In mm: at 25.4 pixels an inch a pixel is one."""
    svg = svgelements.SVG.parse(io.BytesIO(data), ppi=25.4)
    return [svgelements.Path(each) for each in svg.elements() if isinstance(each, svgelements.Shape)]


def signed_area(path: svgelements.Path) -> float:
    points = [piece.point(k / 400) for piece in path if not isinstance(piece, svgelements.Move) for k in range(400)]
    return sum(a.x * b.y - b.x * a.y for a, b in zip(points, points[1:] + points[:1], strict=True)) / 2


def test_size_in_mm_and_view_box() -> None:
    root = ElementTree.fromstring(write_svg(sheet()))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("200mm", "120mm", "0 0 200 120")


def test_a_group_for_each_operation_named_in_words() -> None:
    root = ElementTree.fromstring(write_svg(sheet()))
    groups = [group for group in root.iter(f"{NAMESPACE}g") if group.get("id")]
    named = [(group.get("id"), group.findtext(f"{NAMESPACE}title")) for group in groups]
    assert named == [
        ("bore-through", "bore through"),
        ("pocket-12.5-mm-deep", "pocket 12.5 mm deep"),
        ("edge-of-the-blank-for-reference", "edge of the blank, for reference"),
    ]
    assert [len(group) - 1 for group in groups] == [2, 1, 1]


def test_black_lines_and_nothing_filled() -> None:
    (whole,) = ElementTree.fromstring(write_svg(sheet())).findall(f"{NAMESPACE}g")
    assert (whole.get("fill"), whole.get("stroke")) == ("none", "#000000")
    assert float(whole.get("stroke-width", "nan")) == pytest.approx(0.0254)  # 0.001 in


def test_read_back_areas_and_extents_are_those_drawn() -> None:
    drawn = [entity.path for layer in sheet().layers for entity in layer.entities]
    for path, read in zip(drawn, shapes(write_svg(sheet())), strict=True):
        exact = area(from_path(path, tolerance=1e-5)) if isinstance(path, Contour) else math.pi * path.diameter**2 / 4
        assert abs(signed_area(read)) == pytest.approx(exact, rel=1e-4)
        x0, y0, x1, y1 = path_bounds(path)
        assert read.bbox() == pytest.approx((x0, 120 - y1, x1, 120 - y0), abs=1e-3)  # the page's y runs down


@pytest.mark.parametrize("bulge", [1.0, -1.0, 0.3, -0.3])
def test_arcs_bend_the_way_they_were_drawn(bulge: float) -> None:
    # area of a triangle with a circular segment put on or taken off its base
    base, high = 40.0, 60.0
    turn = 4 * math.atan(abs(bulge))
    radius = base / (2 * math.sin(turn / 2))
    segment = radius**2 * (turn - math.sin(turn)) / 2 * (1 if bulge > 0 else -1)
    (read,) = shapes(write_svg(one(Contour(((0.0, 0.0, bulge), (base, 0.0, 0.0), (base / 2, high, 0.0))))))
    assert abs(signed_area(read)) == pytest.approx(base * high / 2 + segment, rel=1e-4)


def test_front_is_at_the_bottom_of_the_page() -> None:
    blank = Contour(((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 80.0, 0.0), (0.0, 80.0, 0.0)))
    layers = (
        Layer("A", Operation.BORE, 12.0, False, (Entity(Circle((10.0, 5.0), 6.0), "a/01"),)),
        Layer("EDGE", Operation.EDGE, 18.0, True, (Entity(blank, None),)),
    )
    bore, _ = shapes(write_svg(SheetDrawing(1, "mdf", 18.0, layers)))
    assert bore.bbox() == pytest.approx((7.0, 72.0, 13.0, 78.0), abs=1e-3)


def test_same_sheet_same_bytes_and_odd_names_are_kept_out_of_the_markup() -> None:
    assert write_svg(sheet()) == write_svg(sheet())
    odd = SheetDrawing(1, 'mdf & <ply> "18"', 18.0, sheet().layers)
    assert 'mdf & <ply> "18"' in (ElementTree.fromstring(write_svg(odd)).findtext(f"{NAMESPACE}title") or "")


lengths = st.floats(-500, 500).map(lambda value: round(value, 3))


@given(lengths, lengths, lengths, lengths, st.floats(-1, 1))
def test_bounds_hold_every_point_of_an_arc(x0: float, y0: float, x1: float, y1: float, bulge: float) -> None:
    path = Contour(((x0, y0, bulge), (x1, y1, 0.0)))
    if math.dist((x0, y0), (x1, y1)) < 0.1 or abs(bulge) < 1e-3:
        return
    left, low, right, high = path_bounds(path)
    turn = 4 * math.atan(bulge)
    # the arc by rotating its start about its centre (plane geometry, no code of ours)
    away = (1 - bulge**2) / (4 * bulge)
    cx, cy = (x0 + x1) / 2 - away * (y1 - y0), (y0 + y1) / 2 + away * (x1 - x0)
    points = []
    for k in range(721):
        sine, cosine = math.sin(turn * k / 720), math.cos(turn * k / 720)
        points.append((cx + (x0 - cx) * cosine - (y0 - cy) * sine, cy + (x0 - cx) * sine + (y0 - cy) * cosine))
    xs, ys = zip(*points, strict=True)
    spare = 1e-6 * (1 + abs(cx) + abs(cy))
    sag = math.hypot(x0 - cx, y0 - cy) * (1 - math.cos(turn / 1440)) + spare
    assert left <= min(xs) + spare
    assert low <= min(ys) + spare
    assert right >= max(xs) - spare
    assert high >= max(ys) - spare
    assert left == pytest.approx(min(xs), abs=sag)
    assert high == pytest.approx(max(ys), abs=sag)
