"""DXF bytes judged by readers we did not write: GDAL through pyogrio, and the bytes themselves."""

from __future__ import annotations

import math
from pathlib import Path

import pyogrio
import pyogrio.raw
import pytest
import shapely

from insertgen.exchange.dxf import read_dxf, write_dxf
from insertgen.exchange.layers import layer_name, parse_layer
from insertgen.geometry.arcs import fit_path, rectangle
from insertgen.geometry.offset import opened
from insertgen.geometry.region import area, box, from_path, to_outlines, union
from insertgen.model.drawing import Entity, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle, Contour


def pocket() -> Contour:
    region = opened(union([box(10, 10, 90, 40), box(10, 10, 40, 90)]), 3.2)
    fitted = fit_path(to_outlines(region)[0].outer, 0.01)
    assert isinstance(fitted, Contour)
    return fitted


def sheet() -> SheetDrawing:
    return SheetDrawing(
        1, "mdf", 18.0,
        (
            Layer("BORE_THROUGH", Operation.BORE, 18.0, True,
                  (Entity(Circle((120, 60), 6.7), "a/01"), Entity(Circle((150, 60), 13.1), "a/02"))),
            Layer("POCKET_12-5MM", Operation.POCKET, 12.5, False, (Entity(pocket(), "a/03"),)),
            Layer("EDGE", Operation.EDGE, 18.0, True, (Entity(rectangle(200, 120), None),)),
        ),
    )  # fmt: skip


@pytest.fixture
def gdal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]  # pyogrio has no types to name
    # GDAL draws arcs by chords of 4 degrees unless told otherwise
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.5", "DXF_CLOSED_LINE_AS_POLYGON": "TRUE"})
    file = tmp_path / "sheet-1.dxf"
    file.write_bytes(write_dxf(sheet()))
    meta, _, geometry, fields = pyogrio.raw.read(file)
    return dict(zip(meta["fields"], fields, strict=True)), shapely.from_wkb(geometry)


def test_gdal_reads_equal_areas_layers_and_circles(gdal) -> None:  # type: ignore[no-untyped-def]  # pyogrio has no types to name
    fields, shapes = gdal
    layers = list(fields["Layer"])
    assert sorted(layers) == ["BORE_THROUGH", "BORE_THROUGH", "EDGE", "POCKET_12-5MM"]
    read = {layer: shapely.polygons(shape.exterior if shape.geom_type == "Polygon" else shape.coords).area
            for layer, shape in zip(layers, shapes, strict=True)}  # fmt: skip
    assert read["POCKET_12-5MM"] == pytest.approx(area(from_path(pocket(), tolerance=1e-4)), rel=1e-4)
    assert read["EDGE"] == pytest.approx(200 * 120, rel=1e-9)
    circles = [shape for layer, shape in zip(layers, shapes, strict=True) if layer == "BORE_THROUGH"]
    areas = sorted(shapely.polygons(shapely.get_coordinates(shape)).area for shape in circles)
    assert areas == pytest.approx([math.pi * 3.35**2, math.pi * 6.55**2], rel=1e-4)


def test_units_and_extents_stand_in_the_bytes() -> None:
    lines = [line.strip() for line in write_dxf(sheet()).decode("ascii").splitlines()]
    for name, values in {"$INSUNITS": ["4"], "$MEASUREMENT": ["1"], "$EXTMIN": ["0.0", "0.0"], "$EXTMAX": ["200.0", "120.0"]}.items():
        at = lines.index(name)
        assert [lines[at + 2 + 2 * k] for k in range(len(values))] == values
    assert lines[lines.index("$ACADVER") + 2] == "AC1015"  # R2000


def test_same_sheet_same_bytes_and_back() -> None:
    data = write_dxf(sheet())
    assert data == write_dxf(sheet())
    contents = read_dxf(data)
    assert {entity.kind for entity in contents.entities} == {"CIRCLE", "LWPOLYLINE"}
    assert all(entity.closed and entity.flat for entity in contents.entities)
    written = {(layer.name, entity.path) for layer in sheet().layers for entity in layer.entities}
    assert {(entity.layer, entity.path) for entity in contents.entities} == written


@pytest.mark.parametrize("data", [b"", b"hello", b"\xff\xd8\xff\xe0", write_dxf(sheet())[:3000]])
def test_what_is_no_dxf_is_refused(data: bytes) -> None:
    with pytest.raises(ValueError, match="DXF"):
        read_dxf(data)


@pytest.mark.parametrize("depth", [0.5, 6, 12.5, 12.25, 30])
@pytest.mark.parametrize("operation", [Operation.POCKET, Operation.BORE])
def test_layer_names_round_trip_and_are_legal(operation: Operation, depth: float) -> None:
    name = layer_name(operation, depth, through=False)
    assert parse_layer(name) == (operation, depth)
    # R12 layer names: at most 31 of A-Z 0-9 $ - _
    assert len(name) <= 31
    assert set(name) <= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789$-_")


@pytest.mark.parametrize("name", ["0", "POCKET", "POCKET_MM", "pocket_12mm", "POCKET_12.5MM", "BORE_XMM", "Defpoints"])
def test_other_layer_names_are_not_ours(name: str) -> None:
    assert parse_layer(name) is None
