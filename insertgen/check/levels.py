"""Which drawings are due for a tray, and what must be in each."""

from __future__ import annotations

from collections.abc import Mapping

from insertgen.check.case import Level
from insertgen.check.due import Due, DueKey, in_base, in_sheet, in_whole_sheet
from insertgen.check.match import EdgeDue
from insertgen.check.seated import Seated
from insertgen.model.drawing import Operation
from insertgen.model.job import Tray
from insertgen.model.shape import Store

__all__ = ["levels_of"]


def levels_of(tray: Tray, seated: Mapping[str, Seated], dues: Mapping[DueKey, Due]) -> list[Level]:
    """The block or the sheets of the stack, top first; then the tray's base, if anything goes through it."""
    opened = any(one.item.store is Store.CORNER for one in seated.values())
    operation = Operation.EDGE if tray.edge_sawn and not opened else Operation.OUTSIDE
    edge = EdgeDue(tray.blank, operation, opened)
    laser = tray.cutting.machine == "laser"
    if tray.one_block:
        kerf = tray.stack[0].kerf if laser else 0.0
        levels = [Level("sheet-1.dxf", 1, tray.thickness, edge, dues, kerf)]
    else:
        levels, lower = [], 0.0
        for number, stock in enumerate(tray.stack, 1):
            upper, lower = lower, lower + stock.thickness
            cut = in_whole_sheet(dues, lower, tray.thickness) if laser else in_sheet(dues, upper, lower, tray)
            levels.append(Level(f"sheet-{number}.dxf", number, stock.thickness, edge, cut, stock.kerf if laser else 0.0))
    through = in_base(dues)
    if tray.base is not None and through:
        base = EdgeDue(tray.blank, Operation.EDGE)
        levels.append(Level("base.dxf", len(levels) + 1, tray.base.thickness, base, through, is_base=True))
    return levels
