"""What a beam leaves of a drawing: it takes half its kerf on either side of every line it follows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from insertgen.check.lines import ring_of
from insertgen.check.written import Sheet, Written
from insertgen.geometry.offset import grown, shrunk
from insertgen.geometry.region import is_empty, to_outlines
from insertgen.model.drawing import Operation
from insertgen.model.figures import Circle

__all__ = ["left_by_beam"]


def left_by_beam(sheet: Sheet, kerf: float, is_outside: Callable[[Written], bool]) -> Sheet:
    """The sheet with every opening grown, and every outside shrunk, by half the kerf.

    The edge for reference (layer EDGE) is not cut, and stays as it is.
    """
    if kerf <= 0:
        return sheet
    paths = tuple(_left(path, kerf / 2, outside=is_outside(path)) for path in sheet.paths)
    return replace(sheet, paths=paths)


def _left(path: Written, half: float, *, outside: bool) -> Written:
    if not path.sound or path.operation is Operation.EDGE or is_empty(path.region):
        return path
    if isinstance(path.path, Circle) and not outside:
        circle = Circle(path.path.centre, path.path.diameter + 2 * half)
        return replace(path, path=circle, ring=ring_of(circle), region=grown(path.region, half))
    region = shrunk(path.region, half) if outside else grown(path.region, half)
    if is_empty(region):
        return path
    return replace(path, ring=to_outlines(region)[0].outer, region=region)
