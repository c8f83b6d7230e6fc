"""``insertgen sizes``: tables of sizes to fill in a job from."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from itertools import zip_longest
from typing import TYPE_CHECKING

import click

from insertgen.cli.options import say, write_json
from insertgen.units import format_mm

if TYPE_CHECKING:
    from insertgen.sizes.tables import Column, Row, Table

__all__ = ["sizes"]

FROM_MEMORY = "*"
WIDTH = 100


@click.command()
@click.argument("words", metavar="[TABLE] [WORDS]", nargs=-1)
@click.option("--json", "as_json", is_flag=True, help="Write the rows (without TABLE and WORDS: the tables) as JSON.")
def sizes(words: tuple[str, ...], as_json: bool) -> None:
    """List the tables of sizes, show one, or search.

    All WORDS must be in a row, in any order. A size finds what has it in either unit: 6.75 mm
    finds the 17/64 in drill. A fraction without a unit is inches, another number mm. Without
    TABLE all tables are searched.

    \b
    Example:
      insertgen sizes                      which tables there are
      insertgen sizes bearings             all of one
      insertgen sizes bearings 608
      insertgen sizes drills 17/64
      insertgen sizes 1/4 in shank
    """
    from insertgen.sizes.search import not_found, search, split_table
    from insertgen.sizes.tables import read_table, table_names

    if not words:
        tables = [read_table(name) for name in table_names()]
        if as_json:
            write_json([_table_json(table) for table in tables])
        else:
            click.echo("\n".join(_list_lines(tables)))
            say("show one: insertgen sizes bearings; search: insertgen sizes bearings 608")
        return
    table, rest = split_table(words)
    wanted = (table,) if table else tuple(read_table(name) for name in table_names())
    found = search(wanted, " ".join(rest)) if rest else tuple((one, one.rows) for one in wanted)
    if not found:
        raise not_found(rest, table)
    if as_json:
        write_json([_row_json(one, row) for one, rows in found for row in rows])
    else:
        click.echo("\n\n".join("\n".join(_table_lines(one, rows)) for one, rows in found))


def _table_json(table: Table) -> dict[str, object]:
    return {
        "name": table.name,
        "about": table.about,
        "use": table.use,
        "rows": len(table.rows),
        "columns": [{"name": column.name, "kind": column.kind.value, "about": column.about} for column in table.columns],
    }


def _row_json(table: Table, row: Row) -> dict[str, object]:
    return {
        "table": table.name,
        "columns": {name: text or None for name, text in row.cells.items()},
        "mm": {name: round(length, 6) for name, length in row.lengths.items() if length is not None},
        "source": row.source,
        "seen": row.seen,
        "note": row.note,
    }


def _list_lines(tables: Sequence[Table]) -> list[str]:
    return _aligned([[table.name, f"{len(table.rows)} rows", table.about] for table in tables])


def _table_lines(table: Table, rows: Sequence[Row]) -> Iterator[str]:
    """A table for a terminal: heading, how it goes into a job, rows, what the marks mean, sources, notes."""
    columns = [column for column in table.columns if any(row.cells[column.name] for row in rows)]
    sources = _numbered(row.source for row in rows)
    notes = {note: _letter(place) for note, place in _numbered(row.note for row in rows if row.note).items()}
    cells = [["", *(column.name.replace("_", " ") for column in columns), "source", "note" if notes else ""]]
    for row in rows:
        mark = "" if row.seen else FROM_MEMORY
        told = (_cell(column, row) for column in columns)
        cells.append([mark, *told, f"[{sources[row.source] + 1}]", f"({notes[row.note]})" if row.note else ""])
    yield f"{table.name}: {table.about}"
    yield from _wrapped("in a job: ", table.use)
    yield ""
    yield from _aligned(cells)
    yield ""
    meant = [f"{column.name.replace('_', ' ')} = {column.about}" for column in columns if column.about != column.name]
    yield from _wrapped("", f"lengths in mm; {'; '.join(meant)}")
    if not all(row.seen for row in rows):
        yield f"{FROM_MEMORY} from memory, not seen in the source: measure before you cut"
    for source, place in sources.items():
        yield from _wrapped(f"[{place + 1}] ", source)
    for note, letter in notes.items():
        yield from _wrapped(f"({letter}) ", note)


def _wrapped(head: str, text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head), break_on_hyphens=False)


def _cell(column: Column, row: Row) -> str:
    """Millimetres, and in brackets how it is sold if that is in inches."""
    text, length = row.cells[column.name], row.lengths[column.name]
    if length is None or column.inches:
        return text
    mm = format_mm(length, 3)
    return mm if text.endswith("mm") else f"{mm} ({text})"


def _aligned(lines: Sequence[Sequence[str]]) -> list[str]:
    widths = [max(map(len, column)) for column in zip_longest(*lines, fillvalue="")]
    return ["  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip() for line in lines]


def _numbered(texts: Iterable[str]) -> dict[str, int]:
    """Each text once, with its place in order of appearance."""
    return {text: place for place, text in enumerate(dict.fromkeys(texts))}


def _letter(place: int) -> str:
    """a, b, ... z, aa, ab, ...

    >>> _letter(0), _letter(25), _letter(26)
    ('a', 'z', 'aa')
    """
    head, last = divmod(place, 26)
    return (_letter(head - 1) if head else "") + chr(ord("a") + last)
