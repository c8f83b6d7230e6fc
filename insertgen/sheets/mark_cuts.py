"""What marks have to keep clear of: the wood of a sheet, and what is cut in it."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.geometry.region import Region, box, common, from_path, minus, union
from insertgen.model.drawing import Drawing, Layer, Operation, SheetDrawing

__all__ = ["SheetCuts", "sheet_cuts"]

_RIM = (Operation.EDGE, Operation.OUTSIDE)


@dataclass(frozen=True, slots=True, eq=False)
class SheetCuts:
    """A sheet as regions: ``rim`` is what is left of the blank's own shape, ``cuts`` all that is cut in it."""

    drawing: Drawing
    sheet: SheetDrawing
    rim: Region
    cuts: Region
    by_placement: dict[str, tuple[tuple[Layer, Region], ...]]

    @property
    def wood(self) -> Region:
        return minus(self.rim, self.cuts)

    @property
    def cut_out(self) -> bool:
        """Whether the machine cuts round the blank, so that there is waste beyond it."""
        return any(layer.operation is Operation.OUTSIDE for layer in self.sheet.layers)


def sheet_cuts(drawing: Drawing, sheet: SheetDrawing) -> SheetCuts:
    found: dict[str, list[tuple[Layer, Region]]] = {}
    rims = []
    for layer in sheet.layers:
        for entity in layer.entities:
            region = from_path(entity.path, tolerance=0.02)
            if layer.operation in _RIM:
                rims.append(region)
            elif entity.placement is not None:
                found.setdefault(entity.placement, []).append((layer, region))
    blank = box(0, 0, drawing.blank.width, drawing.blank.depth)
    cuts = union(region for pairs in found.values() for _, region in pairs)
    return SheetCuts(
        drawing, sheet, common(union(rims), blank), cuts, {key: tuple(pairs) for key, pairs in found.items()}
    )
