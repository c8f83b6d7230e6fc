"""How a blank is cut up into pages."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from insertgen.model.figures import Point, Ring
from insertgen.model.job import Blank
from insertgen.output.page import BARS, BOTTOM, MARGIN
from insertgen.output.papers import ONE, TRUE, paper_size, print_scale, refuse_longer

__all__ = ["HEADER", "LEAST_OVERLAP", "OVERLAP", "Tile", "Tiling", "plan_tiles", "registration_marks", "row_name", "tiles_with"]

#: How much of the drawing two neighbouring pages share.
OVERLAP = 10.0

#: The least of it, where that saves a row or column of pages: registration marks are 8 mm wide.
LEAST_OVERLAP = 8.0

#: Room for the lines of text at the top of a page.
HEADER = 12.0

#: Registration marks along a seam are at most this far apart, and this far from its ends.
_MARKS_APART, _MARKS_IN = 90.0, 15.0

_OFF_BARS = 4.0

#: What the header and the check bars of one large page take, however small the blank.
_LEAST_PAGE = 210.0


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
    """Rows from the front, columns from the left; ``origin`` is where a window's corner stands on the page.

    ``page`` and ``origin`` are mm as printed; ``scale`` is how much larger the
    page is drawn along its bottom and its left edge. ``lying``: the paper is
    turned, so that its long side is at the bottom. Neighbours share ``overlap``,
    across and up.
    """

    page: tuple[float, float]
    origin: Point
    rows: int
    columns: int
    tiles: tuple[Tile, ...]
    overlap: Point = (OVERLAP, OVERLAP)
    scale: Point = (1.0, 1.0)
    lying: bool = False

    @property
    def axes(self) -> tuple[str, str]:
        """Names of the bottom and the left edge: x is the paper's short side, whichever way it lies."""
        return ("y", "x") if self.lying else ("x", "y")


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


def plan_tiles(blank: Blank, paper: str, printed: Point = TRUE) -> Tiling:
    """Upright or lying pages, whichever are fewer; the blank is shared out evenly between them.

    Parameters
    ----------
    paper : str
        One that `paper_size` knows, or "one": one page as large as the blank asks for.
    printed : (float, float)
        What the bars of 100 mm measure as printed, along the short and the long side of the paper.

    Raises
    ------
    InsertgenError
        A paper or a measure that cannot be; a blank too large for one page.

    Examples
    --------
    >>> tiling = plan_tiles(Blank(300, 150), "a4")
    >>> tiling.rows, tiling.columns, tiling.page
    (1, 2, (210.0, 297.0))
    >>> plan_tiles(Blank(300, 150), "one").page
    (336.4, 210.0)
    """
    across, up = print_scale(printed)
    if paper == ONE:
        return _one_page(blank, (across, up))
    short, long = paper_size(paper)
    upright = _tiling(blank, (short / across, long / up), (across, up))
    lying = replace(_tiling(blank, (long / up, short / across), (up, across)), lying=True)
    return upright if len(upright.tiles) <= len(lying.tiles) else lying


def _one_page(blank: Blank, scale: Point) -> Tiling:
    beside, beyond = BARS + 2 * (MARGIN + _OFF_BARS), BOTTOM + BARS + 2 * _OFF_BARS + HEADER + MARGIN
    page = max(blank.width + beside, _LEAST_PAGE), max(blank.depth + beyond, _LEAST_PAGE)
    for side, much in zip(page, scale, strict=True):
        refuse_longer(side * much, "the one page for this blank")
    return _tiling(blank, page, scale)


def _tiling(blank: Blank, page: tuple[float, float], scale: Point) -> Tiling:
    corner = MARGIN + BARS, BOTTOM + BARS
    room = page[0] - MARGIN - corner[0], page[1] - MARGIN - HEADER - corner[1]
    columns, across = _shares(blank.width, room[0])
    rows, up = _shares(blank.depth, room[1])
    tiles = tuple(
        Tile(row, column, (x0, y0, x1, y1))
        for row, (y0, y1) in enumerate(rows)
        for column, (x0, x1) in enumerate(columns)
    )
    # off the check bars where there is room to spare
    spare = room[0] - (columns[0][1] - columns[0][0]), room[1] - (rows[0][1] - rows[0][0])
    origin = corner[0] + min(_OFF_BARS, spare[0] / 2), corner[1] + min(_OFF_BARS, spare[1] / 2)
    return Tiling(page, origin, len(rows), len(columns), tiles, (across, up), scale)


def _shares(length: float, room: float) -> tuple[list[tuple[float, float]], float]:
    """From where to where each page goes, and how much neighbours share."""
    if length <= room:
        return [(0.0, length)], OVERLAP
    counts = [math.ceil((length - shared) / (room - shared) - 1e-9) for shared in (OVERLAP, LEAST_OVERLAP)]
    count = min(counts)
    # as much of the usual overlap as the pages have room for
    shared = min(OVERLAP, (count * room - length) / (count - 1))
    step = (length - shared) / count
    return [(k * step, k * step + step + shared) for k in range(count)], shared


def tiles_with(tiling: Tiling, rings: Sequence[Ring]) -> tuple[Tile, ...]:
    """Tiles from the reference corner to the last row and column that any ring is seen on; the rest shows nothing."""
    seen = [tile for tile in tiling.tiles if any(_touches(ring, tile.window) for ring in rings)]
    rows, columns = max((tile.row for tile in seen), default=0), max((tile.column for tile in seen), default=0)
    return tuple(tile for tile in tiling.tiles if tile.row <= rows and tile.column <= columns)


def _touches(ring: Ring, window: tuple[float, float, float, float]) -> bool:
    """Whether the bounds of a ring meet a window."""
    xs, ys = zip(*ring, strict=True)
    return bool(max(xs) >= window[0] and min(xs) <= window[2] and max(ys) >= window[1] and min(ys) <= window[3])


def registration_marks(tiling: Tiling, tile: Tile) -> list[Point]:
    """Middles of the marks on a tile, blank frame: on the middle lines of the bands it shares."""
    x0, y0, x1, y1 = tile.window
    side, front = tiling.overlap[0] / 2, tiling.overlap[1] / 2
    across = ([x0 + side] if tile.column else []) + ([x1 - side] if tile.column + 1 < tiling.columns else [])
    up = ([y0 + front] if tile.row else []) + ([y1 - front] if tile.row + 1 < tiling.rows else [])
    return [(x, y) for x in across for y in _along(y0, y1)] + [(x, y) for y in up for x in _along(x0, x1)]


def _along(first: float, last: float) -> list[float]:
    inset = min(_MARKS_IN, (last - first) / 4)
    count = max(1, math.ceil((last - first - 2 * inset) / _MARKS_APART))
    return [first + inset + (last - first - 2 * inset) * k / count for k in range(count + 1)]
