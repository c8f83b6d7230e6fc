"""Sheets to DXF bytes and back: lines and arcs as closed LWPOLYLINE, bores as CIRCLE.

R2000, millimetres, blank frame, z 0. The reader reports what stands in the
bytes, faults included; judging them is not its business.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from ezdxf import bbox, filemanagement
from ezdxf._options import options
from ezdxf.lldxf.const import DXFError

from insertgen.model import Circle, Contour, Point, SheetDrawing

__all__ = ["DxfContents", "DxfEntity", "read_dxf", "write_dxf"]

MILLIMETRES, METRIC = 4, 1


@dataclass(frozen=True, slots=True)
class DxfEntity:
    """One entity as read: ``path`` None if it is neither a polyline nor a circle.

    ``flat`` is False where it lies off z = 0, is seen from below (mirrored
    extrusion) or carries a width. ``closed`` holds for circles.
    """

    kind: str
    layer: str
    path: Contour | Circle | None
    closed: bool
    flat: bool
    at: Point | None


@dataclass(frozen=True, slots=True)
class DxfContents:
    version: str
    units: int | None
    measurement: int | None
    extents: tuple[float, float, float, float] | None  # as the header's bytes say
    entities: tuple[DxfEntity, ...]


def write_dxf(sheet: SheetDrawing) -> bytes:
    """The DXF file of one sheet; the same sheet gives the same bytes."""
    with _fixed_metadata():
        return _document_bytes(sheet)


def _document_bytes(sheet: SheetDrawing) -> bytes:
    doc = filemanagement.new("R2000", units=MILLIMETRES)
    doc.header["$MEASUREMENT"] = METRIC
    space = doc.modelspace()
    for colour, layer in enumerate(sheet.layers, start=1):
        doc.layers.add(layer.name, color=colour)
        for entity in layer.entities:
            _add(space, entity.path, layer.name)
    # both are needed: saving takes the extents from the space, not from the header
    around = bbox.extents(space)
    corners = _rounded(around.extmin), _rounded(around.extmax)
    doc.header["$EXTMIN"], doc.header["$EXTMAX"] = corners
    space.dxf.extmin, space.dxf.extmax = corners
    out = io.StringIO(newline="\n")
    doc.write(out)
    return out.getvalue().encode(doc.encoding)


def _rounded(corner: Any) -> tuple[float, float, float]:
    return round(corner.x, 6), round(corner.y, 6), 0.0


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    """Without the dates and random identifiers that ezdxf writes unless told otherwise."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _add(space: Any, path: Contour | Circle, layer: str) -> None:
    attributes = {"layer": layer}
    if isinstance(path, Circle):
        space.add_circle(path.centre, path.diameter / 2, dxfattribs=attributes)
    else:
        space.add_lwpolyline(path.vertices, format="xyb", close=True, dxfattribs=attributes)


def read_dxf(data: bytes) -> DxfContents:
    """What stands in the bytes of a DXF file.

    Raises
    ------
    ValueError
        The bytes are no DXF file; the caller says which file it was.
    """
    try:
        doc = filemanagement.read(io.StringIO(data.decode("utf-8", errors="surrogateescape"), newline=None))
    except (DXFError, OSError, ValueError, IndexError, KeyError) as error:
        raise ValueError(f"not a readable DXF file: {error}") from error
    header = doc.header
    return DxfContents(
        version=doc.dxfversion,
        units=header.get("$INSUNITS"),
        measurement=header.get("$MEASUREMENT"),
        extents=_header_extents(data),
        entities=tuple(_entities(doc.modelspace())),
    )


def _header_extents(data: bytes) -> tuple[float, float, float, float] | None:
    """From the bytes themselves: a reader may have put in its own."""
    lines = [line.strip() for line in data.decode("utf-8", errors="replace").splitlines()]
    corners: list[float] = []
    for name in ("$EXTMIN", "$EXTMAX"):
        try:
            at = lines.index(name)
            if (lines[at + 1], lines[at + 3]) != ("10", "20"):
                return None
            corners += [float(lines[at + 2]), float(lines[at + 4])]
        except (ValueError, IndexError):
            return None
    return corners[0], corners[1], corners[2], corners[3]


def _entities(space: Iterable[Any]) -> Iterable[DxfEntity]:
    for entity in space:
        kind, layer = entity.dxftype(), entity.dxf.layer
        upright = tuple(entity.dxf.get("extrusion", (0, 0, 1))) == (0, 0, 1)
        if kind == "LWPOLYLINE":
            vertices = tuple((float(x), float(y), float(b)) for x, y, b in entity.get_points("xyb"))
            flat = upright and not entity.dxf.get("elevation", 0) and not entity.has_width
            at = vertices[0][:2] if vertices else None
            yield DxfEntity(kind, layer, Contour(vertices), bool(entity.closed), flat, at)
        elif kind == "CIRCLE":
            x, y, z = entity.dxf.center
            circle = Circle((float(x), float(y)), 2 * float(entity.dxf.radius))
            yield DxfEntity(kind, layer, circle, True, upright and z == 0, circle.centre)
        else:
            yield DxfEntity(kind, layer, None, False, upright, _place(entity))


def _place(entity: Any) -> Point | None:
    for name in ("insert", "start", "location", "center"):
        if entity.dxf.hasattr(name):
            spot = entity.dxf.get(name)
            return float(spot[0]), float(spot[1])
    return None
