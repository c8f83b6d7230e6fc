"""JSON text to a table that is read key by key, and numbers as they are written."""

from __future__ import annotations

import json

from insertgen.errors import JobError
from insertgen.files.source import Source
from insertgen.files.table import Table

__all__ = ["maybe_point", "point", "read_json", "rounded"]

#: Decimals of every number in a JSON file: a tenth of a micrometre.
PLACES = 4


def rounded(value: float) -> float:
    """To 1e-4, never -0.0, always a float.

    >>> rounded(-0.00001), rounded(12)
    (0.0, 12.0)
    """
    return round(float(value), PLACES) + 0.0


def read_json(text: str, file: str) -> Table:
    """The object a JSON file holds; bare numbers are mm.

    Raises
    ------
    JobError
        Empty, no JSON, or no object.
    """
    if not text.strip():
        raise JobError(f"{file}: the file is empty; build again")
    try:
        values = json.loads(text)
    except json.JSONDecodeError as error:
        raise JobError(f"{file}, line {error.lineno}: {error.msg}; the file is damaged, build again") from None
    except (RecursionError, ValueError):
        raise JobError(
            f"{file}: brackets nested too deeply or a number too long; the file is damaged"
        ) from None
    if not isinstance(values, dict):
        raise JobError(f"{file}: holds no object; this is some other file")
    return Table(Source(file, None, "mm"), (), values)


def point(table: Table, key: str) -> tuple[float, float]:
    return table.point(table.at(key), table.need(key, "[0, 0]"))


def maybe_point(table: Table, key: str) -> tuple[float, float] | None:
    return None if table.values.get(key) is None else point(table, key)
