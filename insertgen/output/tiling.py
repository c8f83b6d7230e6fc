"""How a blank is cut up into pages."""

from __future__ import annotations

import math
from dataclasses import dataclass

from insertgen.model import Blank, Point
from insertgen.output.page import BARS, BOTTOM, MARGIN, paper_size

__all__ = ["HEADER", "OVERLAP", "Tile", "Tiling", "plan_tiles", "registration_marks", "row_name"]

#: How much of the drawing two neighbouring pages share.
OVERLAP = 10.0

#: Room for the lines of text at the top of a page.
HEADER = 12.0

#: Registration marks along a seam are at most this far apart, and this far from its ends.
_MARKS_APART, _MARKS_IN = 90.0, 15.0

_OFF_BARS = 4.0


@dataclass(frozen=True, slots=True)
class Tile:
    """One page; ``window`` is the part of the blank on it: least x, least y, greatest x, greatest y."""

    row: int
    column: int
    window: tuple[float, float, float, float]

    @property
    def name(self) -> str:
        return f"{row_name(self.row)}{self.column + 1}"


@dataclass(frozen=True, slots=True)
class Tiling:
    """Rows from the front, columns from the left; ``origin`` is where a window's corner stands on the page."""

    page: tuple[float, float]
    origin: Point
    rows: int
    columns: int
    tiles: tuple[Tile, ...]


def row_name(row: int) -> str:
    """
    >>> row_name(0), row_name(25), row_name(26)
    ('A', 'Z', 'AA')
    """
    letters = ""
    row += 1
    while row:
        row, digit = divmod(row - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


def plan_tiles(blank: Blank, paper: str) -> Tiling:
    """Upright or lying pages, whichever are fewer; the blank is shared out evenly between them.

    >>> tiling = plan_tiles(Blank(300, 150), "a4")
    >>> tiling.rows, tiling.columns, tiling.page
    (1, 2, (210.0, 297.0))
    """
    width, height = paper_size(paper)
    upright, lying = _tiling(blank, (width, height)), _tiling(blank, (height, width))
    return upright if len(upright.tiles) <= len(lying.tiles) else lying


def _tiling(blank: Blank, page: tuple[float, float]) -> Tiling:
    corner = MARGIN + BARS, BOTTOM + BARS
    room = page[0] - MARGIN - corner[0], page[1] - MARGIN - HEADER - corner[1]
    columns, rows = _shares(blank.width, room[0]), _shares(blank.depth, room[1])
    tiles = tuple(
        Tile(row, column, (x0, y0, x1, y1))
        for row, (y0, y1) in enumerate(rows)
        for column, (x0, x1) in enumerate(columns)
    )
    # off the check bars where there is room to spare
    spare = room[0] - (columns[0][1] - columns[0][0]), room[1] - (rows[0][1] - rows[0][0])
    origin = corner[0] + min(_OFF_BARS, spare[0] / 2), corner[1] + min(_OFF_BARS, spare[1] / 2)
    return Tiling(page, origin, len(rows), len(columns), tiles)


def _shares(length: float, room: float) -> list[tuple[float, float]]:
    if length <= room:
        return [(0.0, length)]
    count = math.ceil((length - OVERLAP) / (room - OVERLAP) - 1e-9)
    step = (length - OVERLAP) / count
    return [(k * step, k * step + step + OVERLAP) for k in range(count)]


def registration_marks(tiling: Tiling, tile: Tile) -> list[Point]:
    """Middles of the marks on a tile, blank frame: on the middle lines of the bands it shares."""
    x0, y0, x1, y1 = tile.window
    across = ([x0 + OVERLAP / 2] if tile.column else []) + (
        [x1 - OVERLAP / 2] if tile.column + 1 < tiling.columns else []
    )
    up = ([y0 + OVERLAP / 2] if tile.row else []) + ([y1 - OVERLAP / 2] if tile.row + 1 < tiling.rows else [])
    return [(x, y) for x in across for y in _along(y0, y1)] + [(x, y) for y in up for x in _along(x0, x1)]


def _along(first: float, last: float) -> list[float]:
    inset = min(_MARKS_IN, (last - first) / 4)
    count = max(1, math.ceil((last - first - 2 * inset) / _MARKS_APART))
    return [first + inset + (last - first - 2 * inset) * k / count for k in range(count + 1)]
