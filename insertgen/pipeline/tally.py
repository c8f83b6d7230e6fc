"""The figures of one tray for ``report.json``, measured on the drawing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from insertgen.exchange.dxf import MM, DxfStyle, dxf_name
from insertgen.files.report import (
    CutReport,
    FenceReport,
    LayerReport,
    RoundedReport,
    SeatReport,
    SheetReport,
    TrayReport,
)
from insertgen.geometry.arcs import least_inside_radius
from insertgen.geometry.distance import Gap, gap_between, gap_inside
from insertgen.geometry.open_edge import opened_to_edges
from insertgen.geometry.pose import move_path, move_point
from insertgen.geometry.region import Region, area, bounds, box, from_outline, from_path, union, without_holes
from insertgen.model.drawing import Drawing, Entity, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle
from insertgen.model.layout import Layout
from insertgen.model.seat import Seat
from insertgen.model.shape import Store
from insertgen.output.report_page import Spot

__all__ = ["all_sheets", "spots_of", "tray_report"]


def tray_report(
    drawing: Drawing, seats: Sequence[Seat], layout: Layout, *, style: DxfStyle = MM, notes: tuple[str, ...] = ()
) -> TrayReport:
    """``style`` is how its drawing files were written, ``notes`` what is to be known of all its files."""
    closed = _cut_regions(drawing)
    cuts = closed | _open_regions(drawing, seats, layout)
    blank = drawing.blank
    sheet_region = box(0, 0, blank.width, blank.depth)
    web = _least_web(list(cuts.values()))
    margins = [gap_inside(region, sheet_region).distance for region in closed.values()]
    placed = {placement.id for placement in layout.placements}
    return TrayReport(
        name=drawing.tray.name,
        blank=blank,
        least_web=web.distance if web else None,
        least_margin=min(margins, default=None),
        fill=area(union(cuts.values())) / (blank.width * blank.depth),
        sheets=tuple(_sheet(sheet, style) for sheet in all_sheets(drawing)),
        seats=tuple(_seat(seat, drawing) for seat in seats if seat.item.id in placed),
        fences=tuple(
            FenceReport(fence.placement, fence.edge, fence.distance, fence.shift, fence.cutter) for fence in drawing.fences
        ),
        rounded=tuple(RoundedReport(one.placement, one.at, one.by) for one in drawing.rounded),
        notes=notes,
    )


def all_sheets(drawing: Drawing) -> tuple[SheetDrawing, ...]:
    """Everything that becomes a drawing file of its own: the stack's sheets, the base, the templates."""
    return (*drawing.sheets, *([drawing.base] if drawing.base else []), *drawing.templates)


def spots_of(drawing: Drawing, seats: Sequence[Seat], layout: Layout) -> tuple[Spot, ...]:
    """Where least web, margin and gap are, blank frame; what there is none of is left out."""
    closed = _cut_regions(drawing)
    cuts = closed | _open_regions(drawing, seats, layout)
    whole = box(0, 0, drawing.blank.width, drawing.blank.depth)
    named = (
        ("least web", [web] if (web := _least_web(list(cuts.values()))) else []),
        ("least margin", [gap_inside(region, whole) for region in closed.values()]),
        ("least gap", list(_gaps(seats, layout))),
    )
    least = ((what, min(found, key=lambda gap: gap.distance)) for what, found in named if found)
    return tuple(Spot(what, gap.distance, gap.at, gap.to) for what, gap in least)


def _least_web(cuts: Sequence[Region]) -> Gap | None:
    """The least gap of any two; measured only while the boxes round two are nearer than what was found."""
    boxes = np.array([bounds(cut) for cut in cuts]).reshape(-1, 4)
    i, j = np.triu_indices(len(cuts), 1)
    apart = np.maximum(np.maximum(boxes[i, :2] - boxes[j, 2:], boxes[j, :2] - boxes[i, 2:]), 0.0)
    least = np.hypot(apart[:, 0], apart[:, 1])
    best: Gap | None = None
    for pair in np.argsort(least, kind="stable"):
        if best is not None and least[pair] > best.distance:
            break
        gap = gap_between(cuts[i[pair]], cuts[j[pair]])
        if best is None or gap.distance < best.distance:
            best = gap
    return best


def _gaps(seats: Sequence[Seat], layout: Layout) -> Iterator[Gap]:
    """The least gap of every step of every seat, blank frame; a lift-out hole holds nothing."""
    poses = {placement.id: placement.pose for placement in layout.placements}
    for seat in seats:
        pose = poses.get(seat.item.id)
        if pose is None or seat.least_gap is None or not seat.clearance:
            continue
        for step, cut in zip(seat.item.steps, seat.cuts, strict=True):
            gap = gap_inside(without_holes(from_outline(step.outline)), from_path(cut.path))
            yield Gap(gap.distance, move_point(gap.at, pose), move_point(gap.to, pose))


def _open_regions(drawing: Drawing, seats: Sequence[Seat], layout: Layout) -> dict[str, Region]:
    """The plan of every seat that is sawn out of the blank's edge."""
    poses = {placement.id: placement.pose for placement in layout.placements}
    tray = drawing.tray
    return {
        seat.item.id: opened_to_edges(
            union(from_path(move_path(cut.path, poses[seat.item.id])) for cut in seat.cuts), tray.blank, tray.margin
        )
        for seat in seats
        if seat.item.store is Store.CORNER and seat.item.id in poses
    }


def _cut_regions(drawing: Drawing) -> dict[str, Region]:
    """The plan of all cuts of each placement."""
    paths: dict[str, list[Region]] = {}
    for _, _, entity in _entities(drawing):
        if entity.placement is not None:
            paths.setdefault(entity.placement, []).append(from_path(entity.path))
    return {placement: union(regions) for placement, regions in paths.items()}


def _entities(drawing: Drawing) -> list[tuple[SheetDrawing, Layer, Entity]]:
    return [(sheet, layer, entity) for sheet in drawing.sheets for layer in sheet.layers for entity in layer.entities]


def _sheet(sheet: SheetDrawing, style: DxfStyle) -> SheetReport:
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
    return SheetReport(dxf_name(sheet.name, style), sheet.stock, sheet.thickness, layers, style.units)


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
            _cut(sheet, layer, entity, drawing)
            for sheet, layer, entity in _entities(drawing)
            if entity.placement == seat.item.id
        ),
        extra_area=seat.extra_area,
        hang=seat.item.hang,
        asked_depth=seat.item.asked_depth,
    )


def _cut(sheet: SheetDrawing, layer: Layer, entity: Entity, drawing: Drawing) -> CutReport:
    path, passes = entity.path, _passes(layer, drawing)
    if isinstance(path, Circle):
        return CutReport(sheet.number, layer.name, "circle", path.centre, path.diameter, layer.depth, layer.through, passes)
    x0, y0, x1, y1 = bounds(from_path(path))
    at = (x0 + x1) / 2, (y0 + y1) / 2
    return CutReport(sheet.number, layer.name, "contour", at, None, layer.depth, layer.through, passes)


def _passes(layer: Layer, drawing: Drawing) -> int | None:
    """How often the router goes round, one cutter diameter deeper each time; a common practice, no source."""
    cutting = drawing.tray.cutting
    sawn = cutting.machine == "hand" and layer.through and cutting.template is None
    if cutting.machine == "laser" or sawn or layer.operation is Operation.BORE or cutting.pocket_cutter.diameter <= 0:
        return None
    return max(1, math.ceil(layer.depth / cutting.pocket_cutter.diameter - 1e-6))
