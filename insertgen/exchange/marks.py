"""What is marked on a sheet beside its cuts: engraved labels, tabs, hold-down places; in a drawing file of its own."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.exchange.dxf import MM, DxfStyle, write_paths
from insertgen.model.figures import Circle, Contour, Point

__all__ = ["HOLD", "TAB", "TEXT", "MarkLayer", "Marks", "write_marks"]

TEXT, TAB, HOLD = "MARK_TEXT", "MARK_TAB", "MARK_HOLD"


@dataclass(frozen=True, slots=True)
class MarkLayer:
    """``lines`` are open runs of points."""

    name: str
    lines: tuple[tuple[Point, ...], ...] = ()
    circles: tuple[Circle, ...] = ()


@dataclass(frozen=True, slots=True)
class Marks:
    """The marks of one sheet, blank frame.

    ``edge`` is the blank with the name of its layer, by which the marks are laid over the sheet's cuts.
    ``said`` is what a user should know: a label that found no place, signs the font lacks.
    """

    number: int
    edge: tuple[str, Contour]
    layers: tuple[MarkLayer, ...]
    said: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Of its file, less the suffix."""
        return f"marks-{self.number}"


def write_marks(marks: Marks, style: DxfStyle = MM) -> bytes:
    """The DXF file of a sheet's marks: lines as open polylines, circles, and the blank closed."""
    name, blank = marks.edge
    edge: tuple[str, list[tuple[Contour | Circle, bool]]] = (name, [(blank, True)])
    return write_paths([*((layer.name, _paths(layer)) for layer in marks.layers), edge], style)


def _paths(layer: MarkLayer) -> list[tuple[Contour | Circle, bool]]:
    lines = [(Contour(tuple((x, y, 0.0) for x, y in line)), False) for line in layer.lines]
    return [*lines, *((circle, True) for circle in layer.circles)]
