"""Blanks set out on the sheets of stock they are sawn from, where the job says how large those are.

By guillotine cuts (Jylanki 2010, "A thousand ways to pack the bin", sections 2.2
and 3): a blank goes into the corner of a free rectangle, and one cut from edge to
edge parts what is left of it in two; so all can be sawn by such cuts. Blanks
may be turned.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product

from insertgen.model.drawing import Drawing
from insertgen.model.figures import Point
from insertgen.model.job import Stock

__all__ = ["SAW", "Piece", "SetOut", "StockSheet", "blanks_of", "set_out"]

#: What a saw takes between two blanks. Common practice, no source.
SAW = 4.0

#: Waste that is left beyond the way of a machine's cutter round a blank. Common practice, no source.
WASTE = 3.0

_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Piece:
    """A blank to be sawn, or with ``beside`` of stock round it for the machine that cuts it out.

    ``at`` is its front left corner on the stock sheet, ``width`` and ``depth`` as it lies there.
    """

    name: str
    width: float
    depth: float
    beside: float = 0.0
    at: Point = (0.0, 0.0)
    turned: bool = False


@dataclass(frozen=True, slots=True)
class StockSheet:
    """One sheet of stock, width to the right, and what is sawn from it; ``number`` from 1 within its stock."""

    stock: Stock
    number: int
    pieces: tuple[Piece, ...]

    @property
    def used(self) -> float:
        """The share of it that becomes blanks."""
        assert self.stock.size is not None
        return sum(piece.width * piece.depth for piece in self.pieces) / (self.stock.size[0] * self.stock.size[1])


@dataclass(frozen=True, slots=True)
class SetOut:
    sheets: tuple[StockSheet, ...]
    left: tuple[tuple[Stock, Piece], ...]  # what goes on no sheet of its stock


def set_out(drawings: Sequence[Drawing]) -> SetOut:
    """The blanks of all trays on as few sheets as the rows make of them; stock of unknown size is left out."""
    by_stock: dict[Stock, list[Piece]] = {}
    for stock, piece in blanks_of(drawings):
        if stock.size is not None:
            by_stock.setdefault(replace(stock, kerf=0.0), []).append(piece)
    sheets: list[StockSheet] = []
    left: list[tuple[Stock, Piece]] = []
    for stock, pieces in by_stock.items():
        assert stock.size is not None
        fitting = [piece for piece in pieces if any(_fits(one, stock.size) for one in _ways(piece))]
        left += [(stock, piece) for piece in pieces if piece not in fitting]
        sheets += [StockSheet(stock, number, tuple(each)) for number, each in enumerate(_best(fitting, stock.size), 1)]
    return SetOut(tuple(sheets), tuple(left))


def blanks_of(drawings: Sequence[Drawing]) -> Iterator[tuple[Stock, Piece]]:
    """Every sheet of every stack, as what has to be sawn or cut out for it."""
    for drawing in drawings:
        tray, blank = drawing.tray, drawing.blank
        cutter = tray.cutting.cutter.diameter if tray.cutting.machine == "router" else 0.0
        for number, stock in enumerate(tray.stack, 1):
            way = stock.kerf if tray.cutting.machine == "laser" else cutter
            name = tray.name if len(tray.stack) == 1 else f"{tray.name}, sheet {number}"
            yield stock, Piece(name, blank.width, blank.depth, 0.0 if tray.edge_sawn else way + WASTE)


def _ways(piece: Piece) -> tuple[Piece, Piece]:
    return piece, replace(piece, width=piece.depth, depth=piece.width, turned=not piece.turned)


def _fits(piece: Piece, size: Point) -> bool:
    return piece.width + 2 * piece.beside <= size[0] + _SAME and piece.depth + 2 * piece.beside <= size[1] + _SAME


Free = tuple[float, float, float, float]  # left, front, width, depth of what is left of a sheet
Splits = Callable[[float, float, Piece], bool]  # of what a blank leaves to the right and behind: whether the first cut goes across

_ORDERS: tuple[Callable[[Piece], float], ...] = (
    lambda piece: piece.width * piece.depth,
    lambda piece: max(piece.width, piece.depth),
    lambda piece: min(piece.width, piece.depth),
)
_SPLITS: tuple[Splits, ...] = (
    lambda right, behind, _: right < behind,
    lambda right, behind, _: right >= behind,
    lambda right, behind, piece: right * piece.depth < behind * piece.width,
    lambda *_: True,
    lambda *_: False,
)
#: Which way a blank lies rather than another: true counts for less.
_LIES: tuple[Callable[[Piece], bool], ...] = (
    lambda _: True,
    lambda piece: piece.width >= piece.depth,
    lambda piece: piece.width <= piece.depth,
)


def _best(pieces: Sequence[Piece], size: Point) -> list[list[Piece]]:
    """The fewest sheets of some orders and ways to part what is left; of like ones that which takes least of the last sheet."""
    if not pieces:
        return []
    tried = []
    for order, split, lie in product(_ORDERS, _SPLITS, _LIES):
        ordered = sorted(pieces, key=lambda piece: (-order(piece), -piece.width, piece.name))
        tried.append(_on_sheets(ordered, size, split, lie))
    return min(tried, key=lambda sheets: (len(sheets), _taken(sheets[-1])))


def _taken(pieces: Sequence[Piece]) -> float:
    return max(piece.at[0] + piece.width for piece in pieces) * max(piece.at[1] + piece.depth for piece in pieces)


def _on_sheets(pieces: Iterable[Piece], size: Point, split: Splits, lie: Callable[[Piece], bool]) -> list[list[Piece]]:
    """Each blank on the first sheet with room, where it leaves least to one side."""
    free: list[list[Free]] = []
    laid: list[list[Piece]] = []
    for piece in pieces:
        sheet = next((number for number, rests in enumerate(free) if _offers(piece, rests)), len(free))
        if sheet == len(free):
            # half a saw cut more all round: at the sheet's own edge there is none
            free.append([(-SAW / 2, -SAW / 2, size[0] + SAW, size[1] + SAW)])
            laid.append([])
        _, at, one = min(_offers(piece, free[sheet]), key=lambda offer: (not lie(offer[2]), *offer[:2]))
        rest = free[sheet].pop(at)
        around = one.beside + SAW / 2
        laid[sheet].append(replace(one, at=(rest[0] + around, rest[1] + around)))
        free[sheet] += _parted(rest, one, split)
    return laid


def _offers(piece: Piece, rests: Sequence[Free]) -> list[tuple[tuple[float, float, bool], int, Piece]]:
    """The rectangles in which a blank has room, one way or turned, with what is left to either side."""
    found = []
    for at, (_, _, width, depth) in enumerate(rests):
        for one in _ways(piece):
            right, behind = width - _wide(one), depth - _deep(one)
            if min(right, behind) >= -_SAME:
                found.append(((min(right, behind), max(right, behind), one.turned), at, one))
    return found


def _parted(rest: Free, piece: Piece, split: Splits) -> list[Free]:
    left, front, width, depth = rest
    wide, deep = _wide(piece), _deep(piece)
    right, behind = width - wide, depth - deep
    if split(right, behind, piece):  # across the whole, behind the blank
        parts = [(left + wide, front, right, deep), (left, front + deep, width, behind)]
    else:
        parts = [(left + wide, front, right, depth), (left, front + deep, wide, behind)]
    return [part for part in parts if min(part[2:]) > SAW]


def _wide(piece: Piece) -> float:
    return piece.width + 2 * piece.beside + SAW


def _deep(piece: Piece) -> float:
    return piece.depth + 2 * piece.beside + SAW
