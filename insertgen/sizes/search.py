"""Rows of the tables that hold all of some words; a word may be a size.

Examples
--------
>>> from insertgen.sizes.tables import read_table
>>> drills = read_table("drills")
>>> def names(text):
...     return [row.cells["name"] for _, rows in search((drills,), text) for row in rows]
>>> names("17/64"), names("6.75 mm"), names("0.25 in"), names("number 7")
(['17/64 in'], ['17/64 in'], ['1/4 in', 'E'], ['#7'])
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from insertgen.errors import UnitError
from insertgen.sizes.tables import Column, Kind, Row, SizeNotFoundError, Table, read_table, table_names
from insertgen.units import parse_length

__all__ = ["SAME_SIZE", "not_found", "search", "split_table"]

#: Sizes that agree so nearly are one: catalogues print hundredths.
SAME_SIZE = 0.005

_MARKS = "(),;:"
LEAST_BEGINNING = 3  # letters that may stand for a whole word


@dataclass(frozen=True, slots=True)
class _Term:
    """A word, folded; ``mm`` if it can be a size, ``plain`` if it can be other than a size."""

    word: str
    mm: float | None
    plain: bool


def split_table(words: Sequence[str]) -> tuple[Table | None, tuple[str, ...]]:
    """The table that the first word or two name, and the words left; None: no table of that name.

    >>> table, rest = split_table(["hex", "keys", "5", "mm"])
    >>> table.name, rest
    ('hex-keys', ('5', 'mm'))
    """
    known = {name: name for name in table_names()} | {name.removesuffix("s"): name for name in table_names()}
    known["battery"] = "batteries"
    for count in (2, 1):
        name = "-".join(words[:count]).casefold().replace("_", "-")
        if len(words) >= count and name in known:
            return read_table(known[name]), tuple(words[count:])
    return None, tuple(words)


def search(tables: Iterable[Table], text: str) -> tuple[tuple[Table, tuple[Row, ...]], ...]:
    """Tables with the rows that hold all words of ``text``; tables without such a row are left out.

    Words are held against the cells and the table's name as whole words, case
    folded; sizes against sizes, to `SAME_SIZE`. Where that finds nothing,
    beginnings of words count too, and so do notes and sources. A number without
    a unit is mm, a fraction inches.
    """
    tables = tuple(tables)
    terms = _terms(text)
    for loosely in (False, True):
        found = ((table, tuple(row for row in table.rows if _holds(table, row, terms, loosely))) for table in tables)
        kept = tuple((table, rows) for table, rows in found if rows)
        if kept:
            return kept
    return ()


def _holds(table: Table, row: Row, terms: Sequence[_Term], loosely: bool) -> bool:
    told = [table.name.replace("-", " "), *row.cells.values()]
    sizes = [_size(row, column) for column in table.columns]
    if loosely:
        told += [row.note, row.source]
    words = {word for text in told for word in _plain_words(text)}
    return all(_meets(term, words, sizes, loosely) for term in terms)


def _size(row: Row, column: Column) -> float | None:
    """The size in a cell; that of the name 17/64 in, too."""
    if column.kind is Kind.WORDS:
        return _length(row.cells[column.name], bare=False)
    return row.lengths[column.name] if column.kind is Kind.LENGTH else None


def _meets(term: _Term, words: set[str], sizes: Iterable[float | None], loosely: bool) -> bool:
    if term.mm is not None and any(size is not None and abs(size - term.mm) <= SAME_SIZE + 1e-9 for size in sizes):
        return True
    if not term.plain:
        return False
    if loosely and term.word.isalpha() and len(term.word) >= LEAST_BEGINNING:
        return any(word.startswith(term.word) for word in words)
    return term.word in words


def _plain_words(text: str) -> set[str]:
    """Words as they stand and, of #7, the number too."""
    words = {word.strip(_MARKS) for word in text.casefold().split()}
    return words | {word.removeprefix("#") for word in words}


def _terms(text: str) -> tuple[_Term, ...]:
    """Words and sizes in what was typed: "6.75 mm" and "1 3/8" are one size each."""
    words, terms, at = [word.strip(_MARKS) for word in text.casefold().split()], [], 0
    while at < len(words):
        for count in (3, 2, 1):
            told = " ".join(words[at : at + count])
            mm = _length(told, bare=count == 1)
            if mm is not None or count == 1:
                terms.append(_Term(told, mm, plain=count == 1))
                at += count
                break
    return tuple(terms)


def _length(told: str, *, bare: bool) -> float | None:
    """Length in mm, None if it is none. A fraction without unit is inches; ``bare``: a number alone may be mm."""
    for unit in (None, "in" if "/" in told else "mm" if bare else None):
        try:
            return parse_length(told, unit=unit)
        except UnitError:
            continue
    return None


def not_found(words: Sequence[str], table: Table | None) -> SizeNotFoundError:
    """The error to raise where ``search`` found nothing; does not raise it."""
    told = " ".join(words)
    known = ", ".join(table_names())
    if table is None:
        near = difflib.get_close_matches(words[0].casefold(), table_names(), n=2, cutoff=0.6)
        hint = f"did you mean the table {' or '.join(near)}? " if near else ""
        return SizeNotFoundError(f'nothing in the tables of sizes for "{told}"; {hint}the tables: {known}')
    elsewhere = [other.name for other, _ in search(map(read_table, table_names()), told)]
    if elsewhere:
        return SizeNotFoundError(
            f'nothing for "{told}" in the table {table.name}; there is in: {", ".join(elsewhere)}'
        )
    called = [column.name for column in table.columns if column.kind is Kind.WORDS]
    names = {word.casefold(): word for row in table.rows for name in called for word in row.cells[name].split()}
    near = difflib.get_close_matches(words[0].casefold(), sorted(names), n=3, cutoff=0.6)
    hint = f"near to it: {', '.join(names[word] for word in near)}; " if near else ""
    return SizeNotFoundError(
        f'nothing for "{told}" in the table {table.name}; {hint}'
        f"the whole table: insertgen sizes {table.name}; other tables: {', '.join(n for n in table_names() if n != table.name)}"
    )
