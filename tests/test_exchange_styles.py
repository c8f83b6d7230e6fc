"""R12 and inches, judged by GDAL (pyogrio), by dxf-parser (PyPI, no line shared with ezdxf or GDAL), and in the bytes."""

from __future__ import annotations

import math
from itertools import product
from pathlib import Path
from typing import Any

import pyogrio
import pyogrio.raw
import pytest
import shapely
from dxf_parser import parse

from insertgen.exchange.dxf import RELEASES, UNITS, DxfStyle, dxf_name, read_dxf, units_in_name, write_dxf
from insertgen.geometry.region import area, from_path
from insertgen.model.figures import Circle, Contour
from tests.test_exchange import pocket, sheet

STYLES = [DxfStyle(release, unit) for release, unit in product(RELEASES, UNITS)]
INCH = 25.4  # mm; international yard and pound agreement of 1959


def unit_of(style: DxfStyle) -> float:
    return INCH if style.units == "in" else 1.0


def tags(data: bytes) -> list[tuple[str, str]]:
    """Group codes and values, two lines each (DXF reference, ASCII files)."""
    lines = [line.strip() for line in data.decode("ascii").splitlines()]
    return list(zip(lines[::2], lines[1::2], strict=True))


def header_of(data: bytes) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    name = ""
    for code, value in tags(data):
        if (code, value) == ("0", "ENDSEC"):
            break
        if code == "9":
            name = value
            found[name] = []
        elif name:
            found[name].append(value)
    return found


def gdal_areas(tmp_path: Path, data: bytes) -> dict[str, list[float]]:
    """Areas by layer as GDAL reads them; it draws arcs by chords of 4 degrees unless told otherwise."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.5", "DXF_CLOSED_LINE_AS_POLYGON": "TRUE"})
    file = tmp_path / "any.dxf"
    file.write_bytes(data)
    meta, _, geometry, fields = pyogrio.raw.read(file)
    layers = dict(zip(meta["fields"], fields, strict=True))["Layer"]
    found: dict[str, list[float]] = {}
    for layer, shape in zip(layers, shapely.from_wkb(geometry), strict=True):
        found.setdefault(layer, []).append(shapely.polygons(shapely.get_coordinates(shape)).area)
    return {layer: sorted(areas) for layer, areas in found.items()}


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_gdal_reads_the_same_areas_whatever_the_style(tmp_path: Path, style: DxfStyle) -> None:
    found = gdal_areas(tmp_path, write_dxf(sheet(), style))
    square = unit_of(style) ** 2
    assert set(found) == {"BORE_THROUGH", "POCKET_12-5MM", "EDGE"}
    assert found["EDGE"] == pytest.approx([200 * 120 / square], rel=1e-9)
    assert found["POCKET_12-5MM"] == pytest.approx([area(from_path(pocket(), tolerance=1e-4)) / square], rel=1e-4)
    assert found["BORE_THROUGH"] == pytest.approx([math.pi * 3.35**2 / square, math.pi * 6.55**2 / square], rel=1e-4)


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_header_bytes_say_release_units_and_extents(style: DxfStyle) -> None:
    header = header_of(write_dxf(sheet(), style))
    assert header["$ACADVER"] == [{"r2000": "AC1015", "r12": "AC1009"}[style.release]]
    # DXF reference: $INSUNITS 1 inches, 4 millimetres; $MEASUREMENT 0 English, 1 metric; R12 has neither
    units = {"mm": (["4"], ["1"]), "in": (["1"], ["0"])}[style.units] if style.release == "r2000" else (None, None)
    assert (header.get("$INSUNITS"), header.get("$MEASUREMENT")) == units
    corners = [float(value) for name in ("$EXTMIN", "$EXTMAX") for value in header[name][:2]]
    assert corners == pytest.approx([0, 0, 200 / unit_of(style), 120 / unit_of(style)], abs=1e-6)


def test_r12_holds_only_what_r12_knows() -> None:
    data = write_dxf(sheet(), DxfStyle("r12"))
    kinds = {value for code, value in tags(data) if code == "0"}
    assert "LWPOLYLINE" not in kinds
    assert {"POLYLINE", "VERTEX", "SEQEND", "CIRCLE"} <= kinds
    entities = tags(data)[[value for _, value in tags(data)].index("ENTITIES") :]
    closed = [entities[at + 1 :] for at, tag in enumerate(entities) if tag == ("0", "POLYLINE")]
    for following in closed:  # group 70, bit 1: closed
        assert next(int(value) for code, value in following if code == "70") & 1


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_same_style_same_bytes_and_read_back(style: DxfStyle) -> None:
    data = write_dxf(sheet(), style)
    assert data == write_dxf(sheet(), style)
    contents, unit = read_dxf(data), unit_of(style)
    drawn = [(layer.name, entity.path) for layer in sheet().layers for entity in layer.entities]
    assert len(contents.entities) == len(drawn)
    for (layer, path), read in zip(drawn, contents.entities, strict=True):
        assert (read.layer, read.closed, read.flat) == (layer, True, True)
        if isinstance(path, Circle):
            assert isinstance(read.path, Circle)
            assert [*read.path.centre, read.path.diameter] == pytest.approx([v / unit for v in (*path.centre, path.diameter)])
        else:
            assert isinstance(read.path, Contour)
            for (x, y, bulge), vertex in zip(path.vertices, read.path.vertices, strict=True):
                assert vertex == pytest.approx((x / unit, y / unit, bulge))


@pytest.mark.parametrize("unit", UNITS)
def test_a_reader_of_another_family_sees_the_same(unit: str) -> None:
    """Of R2000 only: release 0.1.0 of that reader drops the vertices of every POLYLINE."""
    style = DxfStyle("r2000", unit)
    drawing: dict[str, Any] = parse(write_dxf(sheet(), style))
    assert (drawing["header"]["$INSUNITS"], drawing["header"]["$MEASUREMENT"]) == {"mm": (4, 1), "in": (1, 0)}[unit]
    seen = [(one["type"], one["layer"]) for one in drawing["entities"]]
    assert seen == [
        ("CIRCLE", "BORE_THROUGH"), ("CIRCLE", "BORE_THROUGH"), ("LWPOLYLINE", "POCKET_12-5MM"), ("LWPOLYLINE", "EDGE"),
    ]  # fmt: skip
    assert all(one["shape"] for one in drawing["entities"] if one["type"] == "LWPOLYLINE")  # closed
    square = unit_of(style) ** 2
    found = [_area(one["vertices"]) * square for one in drawing["entities"] if one["type"] == "LWPOLYLINE"]
    assert found == pytest.approx([area(from_path(pocket(), tolerance=1e-4)), 200 * 120], rel=1e-4)


def _area(vertices: list[dict[str, float]]) -> float:
    """Polygon and circular segments: r^2 (t - sin t) / 2 over each chord, t = 4 atan(bulge)."""
    total = 0.0
    for start, end in zip(vertices, vertices[1:] + vertices[:1], strict=True):
        total += (start["x"] * end["y"] - end["x"] * start["y"]) / 2
        if bulge := start.get("bulge", 0.0):
            turn = 4 * math.atan(bulge)
            radius = math.hypot(end["x"] - start["x"], end["y"] - start["y"]) / (2 * math.sin(abs(turn) / 2))
            total += radius**2 * (turn - math.sin(turn)) / 2
    return abs(total)


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_a_file_of_r12_says_its_unit_in_its_name_and_no_other_does(style: DxfStyle) -> None:
    name = dxf_name("template-2", style)
    assert units_in_name(name) == (style.units if style.release == "r12" else None)
    assert name.startswith("template-2")
    assert name.endswith(".dxf")


def test_a_polyline_with_a_curve_through_it_is_no_contour() -> None:
    # group 70, bits 2 and 4: curve-fit and spline-fit vertices added (DXF reference, POLYLINE)
    text = write_dxf(sheet(), DxfStyle("r12")).decode()
    at = text.index("POLYLINE", text.index("ENTITIES"))
    flag = text.index(" 70\n1\n", at)
    curved = text[:flag] + " 70\n5\n" + text[flag + len(" 70\n1\n") :]
    first = next(one for one in read_dxf(curved.encode()).entities if one.kind == "POLYLINE")
    assert first.path is None
