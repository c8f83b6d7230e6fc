"""Sheets to DXF bytes and back: lines and arcs as closed polylines, bores as CIRCLE.

R2000 or R12, millimetres or inches, blank frame, z 0. R12 has no way to say its
units in the file: `dxf_name` puts them in the file's name. The reader reports
what stands in the bytes, faults included; judging them is not its business.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from ezdxf import bbox, filemanagement
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.lldxf.const import DXFError

from insertgen.model.drawing import SheetDrawing
from insertgen.model.figures import Circle, Contour, Point
from insertgen.units import MM_PER_INCH

__all__ = [
    "MM", "R12", "RELEASES", "UNITS", "DxfContents", "DxfEntity", "DxfStyle", "dxf_name", "read_dxf", "units_in_name",
    "write_dxf", "write_paths",
]  # fmt: skip

RELEASES, UNITS = ("r2000", "r12"), ("mm", "in")

#: $INSUNITS, $MEASUREMENT and mm a unit. Source: the header variables of the DXF reference.
_CODES = {"mm": (4, 1, 1.0), "in": (1, 0, float(MM_PER_INCH))}
_RELEASE = {"r2000": "R2000", "r12": "R12"}

#: $ACADVER of R12.
R12 = "AC1009"


@dataclass(frozen=True, slots=True)
class DxfStyle:
    """How a drawing is written: one of `RELEASES` in one of `UNITS`. Layer names stay as they are."""

    release: str = "r2000"
    units: str = "mm"


MM = DxfStyle()


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


# ---- writing -----------------------------------------------------------------------------------


def dxf_name(name: str, style: DxfStyle = MM) -> str:
    """File name of a drawing; that of an R12 file says its units, for the file cannot.

    >>> dxf_name("sheet-1"), dxf_name("sheet-1", DxfStyle("r12", "in"))
    ('sheet-1.dxf', 'sheet-1-in.dxf')
    """
    return f"{name}-{style.units}.dxf" if style.release == "r12" else f"{name}.dxf"


def units_in_name(file: str) -> str | None:
    """The units that a file's name says.

    >>> units_in_name("sheet-1-in.dxf"), units_in_name("sheet-1.dxf")
    ('in', None)
    """
    return next((units for units in UNITS if file.endswith(f"-{units}.dxf")), None)


def write_dxf(sheet: SheetDrawing, style: DxfStyle = MM) -> bytes:
    """The DXF file of one sheet; the same sheet gives the same bytes."""
    layers = [(layer.name, [(entity.path, True) for entity in layer.entities]) for layer in sheet.layers]
    return write_paths(layers, style)


def write_paths(
    layers: Iterable[tuple[str, Iterable[tuple[Contour | Circle, bool]]]], style: DxfStyle = MM
) -> bytes:
    """A DXF file of paths by layer, each with whether it is closed; mm in, the style's units out."""
    with _fixed_metadata():
        return _document_bytes(layers, style)


def _document_bytes(layers: Iterable[tuple[str, Iterable[tuple[Contour | Circle, bool]]]], style: DxfStyle) -> bytes:
    insunits, measurement, unit = _CODES[style.units]
    r12 = style.release == "r12"
    doc = Drawing.new(_RELEASE[style.release])
    if not r12:
        doc.header["$INSUNITS"], doc.header["$MEASUREMENT"] = insunits, measurement
    space = doc.modelspace()
    for colour, (name, paths) in enumerate(layers, start=1):
        doc.layers.add(name, color=colour)
        for path, closed in paths:
            _add(space, path, closed, name, unit, r12=r12)
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


def _add(space: Any, path: Contour | Circle, closed: bool, layer: str, unit: float, *, r12: bool) -> None:
    attributes = {"layer": layer}
    if isinstance(path, Circle):
        x, y = path.centre
        space.add_circle((x / unit, y / unit), path.diameter / unit / 2, dxfattribs=attributes)
        return
    points = [(x / unit, y / unit, bulge) for x, y, bulge in path.vertices]
    add = space.add_polyline2d if r12 else space.add_lwpolyline
    add(points, format="xyb", close=closed, dxfattribs=attributes)


# ---- reading -----------------------------------------------------------------------------------


def read_dxf(data: bytes) -> DxfContents:
    """What stands in the bytes of a DXF file, in the file's own units.

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
        elif kind == "POLYLINE" and entity.is_2d_polyline:
            yield _old_polyline(entity, layer, upright)
        elif kind == "CIRCLE":
            x, y, z = entity.dxf.center
            circle = Circle((float(x), float(y)), 2 * float(entity.dxf.radius))
            yield DxfEntity(kind, layer, circle, True, upright and z == 0, circle.centre)
        else:
            yield DxfEntity(kind, layer, None, False, upright, _place(entity))


def _old_polyline(entity: Any, layer: str, upright: bool) -> DxfEntity:
    """A polyline as R12 has it, its corners entities of their own; curves put through them are no path of ours."""
    corners = [vertex.dxf for vertex in entity.vertices]
    vertices = tuple((float(at.location.x), float(at.location.y), float(at.get("bulge", 0.0))) for at in corners)
    high = any(at.location.z for at in corners) or any(entity.dxf.get("elevation", (0, 0, 0)))
    curved = entity.dxf.flags & (2 | 4)  # curve-fit, spline-fit
    path = None if curved else Contour(vertices)
    flat = upright and not high and not entity.has_width
    return DxfEntity("POLYLINE", layer, path, bool(entity.is_closed), flat, vertices[0][:2] if vertices else None)


def _place(entity: Any) -> Point | None:
    """Where an entity that is no path begins, or else the corner of the box round it."""
    for name in ("insert", "start", "location", "center", "vtx0", "defpoint"):
        if entity.dxf.hasattr(name):
            spot = entity.dxf.get(name)
            return float(spot[0]), float(spot[1])
    for name in ("fit_points", "control_points"):  # a curve goes through the first of both
        points = list(getattr(entity, name, ()))
        if points:
            return float(points[0][0]), float(points[0][1])
    around = bbox.extents([entity])
    return (float(around.extmin.x), float(around.extmin.y)) if around.has_data else None
