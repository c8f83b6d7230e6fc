"""Where fingers go: ``grips = 0`` and the ``[[grip]]`` tables."""

from __future__ import annotations

from insertgen.files.table import Table
from insertgen.model.figures import Point
from insertgen.units import format_mm

__all__ = ["grips_text", "read_grips"]


def read_grips(table: Table, off: Point = (0.0, 0.0)) -> tuple[Point, ...] | None:
    """Where an item is gripped, in the shape frame; empty: nowhere, None: the program decides.

    Raises
    ------
    JobError
        ``grips`` other than 0, or beside ``[[grip]]``; a place missing.
    """
    grips = table.tables("grip")
    if table.has("grips"):
        if isinstance(table.values["grips"], bool) or table.values["grips"] != 0:
            raise table.fault("grips", "can only be 0, for no finger recess; write [[grip]] with at = [x, y] for each that you want")
        if grips:
            raise table.fault("grips", "is 0, and there is a [[grip]] all the same; leave one of them out")
        return ()
    points = []
    for each in grips:
        each.only("at")
        x, y = each.point(each.at("at"), each.need("at", "[12, 0]"))
        points.append((round(x - off[0], 6), round(y - off[1], 6)))
    return tuple(points) or None


def grips_text(grips: tuple[Point, ...]) -> list[str]:
    """Lines of a shape file."""
    lines = []
    for x, y in grips:
        lines += ["", "[[grip]]", f"at = [{format_mm(x, 6)}, {format_mm(y, 6)}]"]
    return lines
