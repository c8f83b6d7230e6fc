"""Which tables of sizes there are, what is in their columns, and their rows.

A table is ``insertgen/tables/<name>.csv``. A cell holds a length as the trade
sells it ("3/8 in", "22 mm"; a bare number is mm) or words; every row names its
source. A row is ``seen`` only if all its figures were seen in that source;
with one figure from memory the row is from memory, and its note says which.

Examples
--------
>>> row = read_table("bearings").rows[2]
>>> row.cells["name"], row.cells["bore"], row.lengths["diameter"], row.seen
('608', '8 mm', 22.0, True)
"""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

from insertgen.errors import InsertgenError
from insertgen.units import MM_PER_INCH, format_mm, parse_length

__all__ = ["Column", "Kind", "Row", "SizeNotFoundError", "Table", "read_table", "table_names"]


class SizeNotFoundError(InsertgenError, LookupError):
    """No table of that name, or no row that holds the words."""


class Kind(StrEnum):
    """What the cells of a column are. A difference is a length that is no size of the thing."""

    WORDS = "words"
    LENGTH = "length"
    DIFFERENCE = "difference"


Lengths = Mapping[str, float | None]
Rule = Callable[[Lengths], float | None]


@dataclass(frozen=True, slots=True)
class Column:
    """``derive`` works a column out from the others of its row; without it the CSV holds it."""

    name: str
    about: str
    kind: Kind = Kind.LENGTH
    derive: Rule | None = None
    inches: bool = False  # a derived length told as 0.2656 in


@dataclass(frozen=True, slots=True)
class Row:
    """One thing of a table.

    ``cells`` holds texts by column, a length fit to be typed in a job ("3/8 in"),
    "" where nothing is known; ``lengths`` the same in mm, None for words and
    empty cells.
    """

    cells: Mapping[str, str]
    lengths: Lengths
    source: str
    seen: bool
    note: str


@dataclass(frozen=True, slots=True)
class Table:
    """``use`` says how a row goes into a job."""

    name: str
    about: str
    use: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...] = ()


def _less(larger: str, smaller: str) -> Rule:
    def rule(row: Lengths) -> float | None:
        a, b = row[larger], row[smaller]
        return None if a is None or b is None else a - b

    return rule


def _corners(flats: str) -> Rule:
    """Sharp corners of a regular hexagon: flats times 2/sqrt(3)."""

    def rule(row: Lengths) -> float | None:
        across = row[flats]
        return None if across is None else across * 2 / math.sqrt(3)

    return rule


def _words(name: str, about: str) -> Column:
    return Column(name, about, Kind.WORDS)


_ALL = (
    Table(
        "shanks",
        "shanks of bits, and the bore each drops into",
        'shank = { diameter = "1/4 in", head = "20 mm", reach = "32 mm" }; build picks the bore from your drills, slack = "0.5 mm" asks for more',
        (
            Column("shank", "shank diameter"),
            Column("bore", "bore in the wood"),
            Column("slack", "bore less shank, on the diameter", Kind.DIFFERENCE, _less("bore", "shank")),
        ),
    ),
    Table(
        "collets",
        "ER collets by series: large end, length, what they clamp",
        'collet = { series = "ER20", bore = "1/4 in" }; it stands in a bore for its large end; the seat\'s nominal size is too small for that',
        (
            _words("series", "as marked on the collet"),
            Column("large", "diameter of the large end"),
            Column("length", "overall length"),
            Column("seat", "nominal diameter of the seat in the holder"),
            Column("clamp_min", "least shank it clamps"),
            Column("clamp_max", "largest shank it clamps"),
        ),
    ),
    Table(
        "drills",
        "drills: fraction, number, letter, metric, flat-bottomed",
        'drills = ["1/4 in", "17/64 in", "#7", "F", "6.5 mm"] under [cutting]: those you own (in a shell put #7 in quotes)',
        (
            _words("name", "as stamped on the drill"),
            _words("kind", "fraction, number, letter, metric, flat-bottom"),
            Column("mm", "diameter"),
            Column("inch", "diameter", derive=lambda row: row["mm"], inches=True),
        ),
    ),
    Table(
        "bearings",
        "ball bearings, metric and inch: bore, outside, width",
        'ring = { bore = "8 mm", diameter = "22 mm", thickness = "7 mm", pile = 2 }',
        (
            _words("name", "designation, without the letters for seals"),
            Column("bore", "inner diameter"),
            Column("diameter", "outer diameter"),
            Column("thickness", "width of the rings"),
            _words("closure", "where open and shielded ones differ in width"),
        ),
    ),
    Table(
        "hex-keys",
        "hexagon keys, metric and inch: arms, and corners for the slot",
        'slot = { length = "85 mm", width = "6 mm" } for the long arm; the width must clear the corners',
        (
            Column("key", "size, across the flats"),
            Column("corners", "across sharp corners", derive=_corners("key")),
            Column("short_arm", "short arm, outside"),
            Column("long_arm", "long arm, outside, standard (inch: short series)"),
            Column("long_arm_long", "long arm of the long series"),
            Column("long_arm_extra", "long arm of the extra long series"),
        ),
    ),
    Table(
        "across-flats",
        "hexagon bolt heads and their spanners: flats and corners by thread",
        "flats is what the spanner is marked with; a bore that takes the head must clear the corners",
        (
            _words("thread", "thread of the bolt"),
            Column("flats", "across flats; metric: ISO"),
            Column("corners", "across sharp corners", derive=_corners("flats")),
            Column("flats_din", "across flats of older DIN heads"),
            Column("corners_din", "across sharp corners, DIN", derive=_corners("flats_din")),
        ),
    ),
    Table(
        "discs",
        "abrasive discs and saw blades: what they are sold as, and what they measure",
        'disc = { diameter = "125 mm", height = "20 mm" }; height is the pile\'s; over a peg: ring = { bore = ..., diameter = ..., thickness = ... }',
        (
            _words("name", "what it is"),
            Column("sold_as", "size it is sold as"),
            Column("diameter", "size it has"),
            Column("differs", "sold size less real size", Kind.DIFFERENCE, _less("sold_as", "diameter")),
            Column("bore", "hole in the middle"),
        ),
    ),
    Table(
        "batteries",
        "batteries and cells: largest and least sizes",
        'disc = { diameter = "14.5 mm", height = "50.5 mm" } standing up; terminals clear of metal',
        (
            _words("name", "usual name"),
            _words("code", "standard code"),
            Column("diameter", "largest diameter"),
            Column("diameter_least", "least diameter"),
            Column("height", "largest height"),
            Column("height_least", "least height"),
            Column("length", "length in plan, if not round"),
            Column("width", "width in plan, if not round"),
        ),
    ),
    Table(
        "fingers",
        "fingers and hands: what a finger recess or the room between heads must take",
        'finger_room = "20 mm" in a tray; of 100 people 5, 50 and 95 are smaller than the columns say',
        (
            _words("name", "what is measured"),
            Column("men_5", "men, 5 in 100 are smaller"),
            Column("men_50", "men, half are smaller"),
            Column("men_95", "men, 95 in 100 are smaller"),
            Column("women_5", "women, 5 in 100 are smaller"),
            Column("women_50", "women, half are smaller"),
            Column("women_95", "women, 95 in 100 are smaller"),
        ),
    ),
)  # fmt: skip


def table_names() -> tuple[str, ...]:
    """Names of the tables, in the order in which they are listed."""
    return tuple(table.name for table in _ALL)


@cache
def read_table(name: str) -> Table:
    """The table called ``name`` with its rows, in the order of its file.

    Raises
    ------
    SizeNotFoundError
        No table of that name.
    """
    plan = next((table for table in _ALL if table.name == name), None)
    if plan is None:
        raise SizeNotFoundError(f'there is no table "{name}"; there are: {", ".join(table_names())}')
    text = (files("insertgen") / "tables" / f"{name}.csv").read_text(encoding="utf-8")
    rows = tuple(_row(plan, cells) for cells in csv.DictReader(text.splitlines()))
    return Table(plan.name, plan.about, plan.use, plan.columns, rows)


def _row(table: Table, raw: Mapping[str, str]) -> Row:
    cells: dict[str, str] = {}
    lengths: dict[str, float | None] = {}
    for column in table.columns:
        if column.derive is None:
            told = raw[column.name]
            if column.kind is not Kind.WORDS and re.fullmatch(r"[\d.]+", told):
                told = f"{format_mm(float(told), 6)} mm"
            cells[column.name] = told
            lengths[column.name] = parse_length(told) if told and column.kind is not Kind.WORDS else None
    for column in table.columns:
        if column.derive is not None:
            found = lengths[column.name] = column.derive(lengths)
            cells[column.name] = "" if found is None else _told(found, column)
    return Row(cells, lengths, raw["source"], raw["seen_or_memory"] == "seen", raw["note"])


def _told(length: float, column: Column) -> str:
    if column.inches:
        return f"{length / float(MM_PER_INCH):.4f} in"
    return f"{format_mm(length, 3)} mm"
