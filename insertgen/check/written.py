"""What stands in a sheet's file: each path with the operation its layer names, the region it encloses, its faults."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from insertgen.check.lines import ring_of
from insertgen.exchange.dxf import R12, DxfContents, DxfEntity, read_dxf, units_in_name
from insertgen.exchange.layers import HOUSE, parse_layer
from insertgen.geometry.region import Region, empty, fault, from_outline
from insertgen.model.drawing import Operation
from insertgen.model.figures import Circle, Contour, Outline, Point, Ring
from insertgen.model.job import LayerNames
from insertgen.units import MM_PER_INCH

__all__ = ["INCHES", "Sheet", "Written", "read_sheet"]

#: What $INSUNITS says of a file in inches.
INCHES = 1

#: A bulge is written with some 16 digits; a half circle's 1 may come back a little larger.
BULGE_MOST = 1 + 1e-6

#: Nothing of a blank lies further from its corner: 10 m, the longest length that a job may name.
FARTHEST = 10_000.0


@dataclass(frozen=True, slots=True, eq=False)
class Written:
    """One contour or circle of a file.

    ``operation`` None: the layer's name says nothing. ``depth`` None: right
    through. ``crossing`` is where the contour crosses itself. ``odd`` says why
    no toolpath comes of it, with its place.
    """

    number: int
    file: str
    layer: str
    path: Contour | Circle
    closed: bool
    operation: Operation | None
    depth: float | None
    ring: Ring
    region: Region
    crossing: Point | None
    odd: tuple[str, Point] | None

    @property
    def sound(self) -> bool:
        """Whether its shape can be taken at its word; if not, only that is reported, not what follows from it."""
        return self.closed and self.crossing is None and self.odd is None

    @property
    def middle(self) -> Point:
        if isinstance(self.path, Circle):
            return self.path.centre
        xs, ys = zip(*self.ring, strict=True)
        return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file as read, in mm whatever its unit; ``others`` are the entities that are neither contour nor circle, or have no points."""

    file: str
    contents: DxfContents
    paths: tuple[Written, ...]
    others: tuple[DxfEntity, ...]
    span: tuple[float, float, float, float] | None  # least x and y, greatest x and y of all paths


def read_sheet(file: str, data: bytes, names: LayerNames = HOUSE) -> Sheet:
    """
    Parameters
    ----------
    names : LayerNames
        What the job calls its layers.

    Raises
    ------
    ValueError
        The bytes are no DXF file.
    """
    contents = _in_mm(read_dxf(data), file)
    paths, others = [], []
    for number, entity in enumerate(contents.entities):
        if entity.path is None or not _has_points(entity.path):
            others.append(entity)
        else:
            paths.append(_written(number, file, entity, entity.path, names))
    return Sheet(file, contents, tuple(paths), tuple(others), _span(paths))


def _in_mm(contents: DxfContents, file: str) -> DxfContents:
    """A file that says it is in inches: in its header, or if it is of R12, which has no place for that, in its name."""
    inches = units_in_name(file) == "in" if contents.version == R12 else contents.units == INCHES
    if not inches:
        return contents
    unit = float(MM_PER_INCH)
    entities = tuple(
        replace(
            entity,
            path=None if entity.path is None else _scaled(entity.path, unit),
            at=None if entity.at is None else (entity.at[0] * unit, entity.at[1] * unit),
        )
        for entity in contents.entities
    )
    extents = contents.extents
    if extents is not None:
        extents = extents[0] * unit, extents[1] * unit, extents[2] * unit, extents[3] * unit
    return replace(contents, extents=extents, entities=entities)


def _scaled(path: Contour | Circle, by: float) -> Contour | Circle:
    if isinstance(path, Circle):
        return Circle((path.centre[0] * by, path.centre[1] * by), path.diameter * by)
    return Contour(tuple((x * by, y * by, bulge) for x, y, bulge in path.vertices))


def _span(paths: Sequence[Written]) -> tuple[float, float, float, float] | None:
    points = [point for path in paths for point in path.ring]
    if not points:
        return None
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _has_points(path: Contour | Circle) -> bool:
    """Whether it has a size, and lies where a blank can be: what does not would take all memory to measure."""
    if isinstance(path, Circle):
        return path.diameter > 0 and all(abs(value) <= FARTHEST for value in (*path.centre, path.diameter))
    return len(path.vertices) > 1 and all(
        abs(x) <= FARTHEST and abs(y) <= FARTHEST and math.isfinite(bulge) for x, y, bulge in path.vertices
    )


def _written(number: int, file: str, entity: DxfEntity, path: Contour | Circle, names: LayerNames) -> Written:
    named = parse_layer(entity.layer, names)
    ring = ring_of(path)
    odd = _odd(entity, path, ring)
    crossing = _crossing(path, ring) if entity.closed and odd is None else None
    region = from_outline(Outline(ring)) if len(ring) > 2 else empty()
    operation, depth = named or (None, None)
    return Written(number, file, entity.layer, path, entity.closed, operation, depth, ring, region, crossing, odd)


def _odd(entity: DxfEntity, path: Contour | Circle, ring: Ring) -> tuple[str, Point] | None:
    if not entity.flat:
        return "does not lie flat on z = 0, is seen from below, or has a width", ring[0]
    if isinstance(path, Circle):
        return None
    for x, y, bulge in path.vertices:
        if abs(bulge) > BULGE_MOST:
            return f"has an arc of more than a half circle (bulge {bulge:.3g}), which other programs read wrongly", (x, y)
    if len(ring) < 3 and entity.closed:
        return "goes to and fro on one line and encloses nothing", ring[0]
    return None


def _crossing(path: Contour | Circle, ring: Ring) -> Point | None:
    if isinstance(path, Circle):
        return None
    why = fault(Outline(ring))
    if why is None:
        return None
    place = re.search(r" at (\S+) (\S+)$", why)
    return (float(place[1]), float(place[2])) if place else ring[0]
