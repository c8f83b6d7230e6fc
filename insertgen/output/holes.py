"""The drill-hole schedule: a row a bore, measured from the front and left edges, never chained."""

from __future__ import annotations

import csv
import io

from insertgen.model.drawing import Drawing, Hole
from insertgen.model.job import Tray
from insertgen.units import format_inch

__all__ = ["COLUMNS", "holes_csv"]

COLUMNS = (
    "tag", "tray", "sheet", "label", "use", "x", "y", "x_in", "y_in", "diameter", "drill", "wanted", "slack",
    "depth", "through", "when", "note",
)  # fmt: skip


def holes_csv(drawing: Drawing) -> str:
    """Schedule of all bores in tag order; mm to 0.01, inch fractions to 1/64.

    ``slack`` is diameter less wanted: how much looser than asked the bore comes out.
    ``drill`` is the drill's name, or what else makes the hole: "milled", "laser", "none" where no drill owned by hand will do.
    """
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(COLUMNS)
    for hole in sorted(drawing.holes, key=_order):
        table.writerow(_row(drawing.tray, hole))
    return text.getvalue()


#: What makes a hole that no drill is named for.
_ELSE = {"laser": "laser", "hand": "none"}


def _row(tray: Tray, hole: Hole) -> tuple[str, ...]:
    (x, y), bore = hole.at, hole.bore
    drill = bore.drill.name if bore.drill else _ELSE.get(tray.cutting.machine, "milled")
    return (
        hole.tag, tray.name, str(hole.sheet), hole.label, bore.use, _mm(x), _mm(y), format_inch(x), format_inch(y),
        _mm(bore.diameter), drill, _mm(bore.wanted),
        _mm(bore.diameter - bore.wanted), _mm(hole.depth), "yes" if hole.through else "no", hole.when, bore.note,
    )  # fmt: skip


def _order(hole: Hole) -> tuple[bool, int, str, int, float, float]:
    number = hole.tag.isdecimal()
    return (not number, int(hole.tag) if number else 0, hole.tag, hole.sheet, hole.at[1], hole.at[0])


def _mm(length: float) -> str:
    text = f"{length:.2f}"
    return "0.00" if text == "-0.00" else text
