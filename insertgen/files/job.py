"""Job files: text to a `Job`, trays with their settings resolved and items as wanted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from insertgen.files.cutting import read_cutting, read_settings, read_stock
from insertgen.files.layers import read_layers
from insertgen.files.source import Source
from insertgen.files.table import Table
from insertgen.files.toml import read_toml
from insertgen.files.tray import read_tray
from insertgen.files.wanted import read_wanted
from insertgen.model.item import Wanted
from insertgen.model.job import Job, Tray
from insertgen.model.shape import Shape

__all__ = ["read_job"]

_LATER = {
    "cabinet": "give every tray its inside = [width, depth]",
}


def read_job(text: str, file: str, find_shape: Callable[[str], Shape]) -> Job:
    """The job a file describes; ``file`` is its name, for messages.

    Trays have ``wanted`` filled and ``items`` empty; what any tray may take
    (``[[item]]``) is in the job's own ``wanted``. Bare numbers are in
    ``units``; without that key every length needs its unit. Settings: tray over
    cutting over the defaults of the rules.

    Raises
    ------
    JobError
        Naming file, line, key, value and rule.
    ShapeNotFoundError
        From ``find_shape``, with file and line put before it.
    NotYetError
        What the format knows and this version does not do.
    """
    values, lines = read_toml(text, file)
    table = Table(Source(file, lines), (), values)
    table.format()
    table.only("format", "name", "units", "cutting", "stock", "layers", "tray", "item", later=_LATER)
    unit = table.word("units", ("mm", "in")) if table.has("units") else None
    table = Table(Source(file, lines, unit), (), values)
    name = table.text("name")
    cutting_table, cutting = read_cutting(table)
    settings = read_settings(cutting_table)
    stock, names = read_stock(table), read_layers(table)
    tables = table.tables("tray")
    if not tables:
        raise table.fault(None, "there is no tray; write one as [[tray]]")
    read = (read_tray(each, cutting, settings, stock, find_shape) for each in tables)
    trays = tuple(replace(tray, layer_names=names) for tray in read)
    _refuse_twins(tables, trays)
    shared = tuple(read_wanted(each, None, find_shape) for each in table.tables("item"))
    return Job(name, unit or "mm", trays, _shapes(trays, shared), shared)


def _refuse_twins(tables: tuple[Table, ...], trays: tuple[Tray, ...]) -> None:
    seen: dict[str, Table] = {}
    for table, tray in zip(tables, trays, strict=True):
        if tray.slug in seen:
            first = seen[tray.slug]
            raise table.fault(
                "name",
                f'"{tray.name}" would share the folder {tray.slug}/ with the tray at {first.where()}; rename one',
            )
        seen[tray.slug] = table


def _shapes(trays: tuple[Tray, ...], shared: tuple[Wanted, ...]) -> tuple[Shape, ...]:
    """Shape files used, each once, in job order, those of the job's own items last."""
    used: dict[str, Shape] = {}
    for wanted in (*(wanted for tray in trays for wanted in tray.wanted), *shared):
        if wanted.shape.source:
            used.setdefault(wanted.shape.source, wanted.shape)
    return tuple(used.values())
