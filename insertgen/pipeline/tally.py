"""The figures of one tray for ``report.json``, measured on the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from insertgen.files.report import CutReport, LayerReport, SeatReport, SheetReport, TrayReport
from insertgen.geometry.arcs import least_inside_radius
from insertgen.geometry.distance import gap_between, gap_inside
from insertgen.geometry.region import Region, area, bounds, box, from_path, union
from insertgen.model import Circle, Drawing, Entity, Layer, Layout, Operation, Seat, SheetDrawing

__all__ = ["tray_report"]


def tray_report(drawing: Drawing, seats: Sequence[Seat], layout: Layout) -> TrayReport:
    cuts = _cut_regions(drawing)
    blank = drawing.blank
    sheet_region = box(0, 0, blank.width, blank.depth)
    webs = [gap_between(a, b).distance for (_, a), (_, b) in combinations(cuts.items(), 2)]
    margins = [gap_inside(region, sheet_region).distance for region in cuts.values()]
    placed = {placement.id for placement in layout.placements}
    return TrayReport(
        name=drawing.tray.name,
        blank=blank,
        least_web=min(webs, default=None),
        least_margin=min(margins, default=None),
        fill=area(union(cuts.values())) / (blank.width * blank.depth),
        sheets=tuple(_sheet(sheet) for sheet in drawing.sheets),
        seats=tuple(_seat(seat, drawing) for seat in seats if seat.item.id in placed),
    )


def _cut_regions(drawing: Drawing) -> dict[str, Region]:
    """The plan of all cuts of each placement."""
    paths: dict[str, list[Region]] = {}
    for _, _, entity in _entities(drawing):
        if entity.placement is not None:
            paths.setdefault(entity.placement, []).append(from_path(entity.path))
    return {placement: union(regions) for placement, regions in paths.items()}


def _entities(drawing: Drawing) -> list[tuple[SheetDrawing, Layer, Entity]]:
    return [(sheet, layer, entity) for sheet in drawing.sheets for layer in sheet.layers for entity in layer.entities]


def _sheet(sheet: SheetDrawing) -> SheetReport:
    layers = tuple(
        LayerReport(
            name=layer.name,
            operation=layer.operation,
            depth=layer.depth,
            through=layer.through,
            count=len(layer.entities),
            least_inside_radius=_least_radius(layer),
        )
        for layer in sheet.layers
    )
    return SheetReport(f"sheet-{sheet.number}.dxf", sheet.stock, sheet.thickness, layers)


def _least_radius(layer: Layer) -> float | None:
    if layer.operation in (Operation.EDGE, Operation.OUTSIDE):
        return None
    radii = [
        entity.path.diameter / 2 if isinstance(entity.path, Circle) else least_inside_radius(entity.path)
        for entity in layer.entities
    ]
    return min((radius for radius in radii if radius is not None), default=None)


def _seat(seat: Seat, drawing: Drawing) -> SeatReport:
    return SeatReport(
        placement=seat.item.id,
        clearance=seat.clearance,
        expected_error=seat.item.expected_error,
        least_gap=seat.least_gap,
        unreached_area=seat.unreached_area,
        cuts=tuple(
            _cut(sheet, layer, entity)
            for sheet, layer, entity in _entities(drawing)
            if entity.placement == seat.item.id
        ),
    )


def _cut(sheet: SheetDrawing, layer: Layer, entity: Entity) -> CutReport:
    path = entity.path
    if isinstance(path, Circle):
        return CutReport(sheet.number, layer.name, "circle", path.centre, path.diameter, layer.depth, layer.through)
    x0, y0, x1, y1 = bounds(from_path(path))
    at = (x0 + x1) / 2, (y0 + y1) / 2
    return CutReport(sheet.number, layer.name, "contour", at, None, layer.depth, layer.through)
