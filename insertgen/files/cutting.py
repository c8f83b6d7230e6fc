"""What the shop cuts with and from: ``[cutting]`` and ``[stock.*]``."""

from __future__ import annotations

from collections.abc import Mapping

from insertgen.errors import UnitError
from insertgen.files.source import Path, nearest
from insertgen.files.table import Table, shown
from insertgen.model.job import Cutter, Cutting, DrillSize, Stock, Template
from insertgen.rules import drill_sizes
from insertgen.units import format_inch, format_length, format_mm, parse_length

__all__ = [
    "MACHINES", "SETTINGS", "machine", "read_cutting", "read_settings", "read_stock",
    "refuse_small_stock", "stack_of",
]  # fmt: skip

MACHINES = ("router", "laser", "hand")

#: Lengths that may stand in ``[cutting]`` or in a tray, the tray's winning.
SETTINGS = ("clearance", "least_gap", "slack", "web", "margin", "floor", "play", "finger_room", "lining", "shift")

_EXAMPLE = '{ with = "router", cutter = { diameter = "1/4 in" } }'


def read_cutting(job: Table) -> tuple[Table, Cutting]:
    """The ``[cutting]`` table and what it says.

    A shop that works by hand or with a laser may leave the cutter out (diameter
    0): then it saws and drills, and pockets are refused when the items are resolved.

    Raises
    ------
    JobError
        A router without its cutter's diameter, a drill that is no size, a
        template whose bush the cutter does not go through.
    """
    table = job.table("cutting", _EXAMPLE)
    table.only("with", "cutter", "drills", "bed", "template", *SETTINGS)
    name = machine(table)
    return table, Cutting(
        name,
        _cutter(table, name),
        _drills(table),
        table.maybe_pair("bed", "the bed's two sides"),
        _template(table) if table.has("template") else None,
    )


def machine(table: Table) -> str:
    """What ``with`` says."""
    return table.word("with", MACHINES)


def _template(cutting: Table) -> Template:
    table = cutting.table("template", '{ guide = "bush", diameter = "5/8 in", cutter = "1/4 in", thickness = "1/4 in" }')
    table.only("guide", "diameter", "cutter", "reach", "thickness")
    guide, diameter, cutter = table.word("guide", ("bush", "bearing")), table.length("diameter"), table.length("cutter")
    if guide == "bush" and cutter >= diameter:
        raise table.fault(
            "cutter", f"{format_length(cutter)} does not go through a bush of {format_length(diameter)}; diameter is the bush's outside"
        )
    return Template(guide, diameter, Cutter(cutter, table.maybe_length("reach")), table.length("thickness"))


def _cutter(table: Table, name: str) -> Cutter:
    if name != "router" and not table.has("cutter"):
        return Cutter(0.0)
    cutter = table.table("cutter", '{ diameter = "1/4 in", reach = "1 in" }').only("diameter", "reach")
    if not cutter.has("diameter"):
        raise cutter.fault(
            None, '"diameter" is missing; inside corners depend on it: write cutter = { diameter = "1/4 in" }'
        )
    return Cutter(cutter.length("diameter"), cutter.maybe_length("reach"))


def _drills(table: Table) -> tuple[DrillSize, ...]:
    if not table.has("drills"):
        return drill_sizes()
    drills = [
        _drill(table, (*table.at("drills"), at), value)
        for at, value in enumerate(table.elements("drills", 'of sizes, as in ["1/4 in", "#7", "F", "6.5 mm"]'))
    ]
    return tuple(dict.fromkeys(drills))


def _drill(table: Table, path: Path, value: object) -> DrillSize:
    """A drill by its name in the table (17/64 in, #7, F), or by any length."""
    known = drill_sizes()
    if isinstance(value, str):
        name = value.strip()
        for drill in known:
            if drill.name.casefold() == name.casefold():
                return drill
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise table.source.fault(path, f"{shown(value)} is not a drill size; write one like {_DRILLS}")
    try:
        diameter = parse_length(value, unit=table.source.unit)
    except (UnitError, OverflowError):
        raise table.source.fault(
            path, f"{shown(value)} is not a drill size; write one like {_DRILLS}"
        ) from None
    inches = (isinstance(value, str) and "mm" not in value and "cm" not in value) or table.source.unit == "in"
    same = [drill for drill in known if abs(drill.diameter - diameter) < 1e-6]
    for drill in same:
        if drill.name.endswith(" in") == inches:
            return drill
    return DrillSize(_drill_name(diameter, inches), diameter)


_DRILLS = '"1/4 in", "#7", "F" or "6.5 mm"'


def _drill_name(diameter: float, inches: bool) -> str:
    exact = inches and abs(parse_length(f"{format_inch(diameter)} in", zero=True) - diameter) < 1e-6
    return f"{format_inch(diameter)} in" if exact else f"{format_mm(diameter, 4)} mm"


def read_settings(table: Table) -> dict[str, float]:
    """The settings that stand in this table; zero may be."""
    return {key: table.length(key, zero=True) for key in SETTINGS if table.has(key)}


def read_stock(job: Table) -> Mapping[str, Stock]:
    """Every ``[stock.NAME]`` by its name."""
    tables = job.table("stock", '{ mdf = { thickness = "18 mm" } }')
    return {name: _stock(tables.table(name, '{ thickness = "18 mm" }'), name) for name in tables.values}


def _stock(table: Table, name: str) -> Stock:
    table.only("thickness", "size", "kerf")
    kerf = table.length("kerf", zero=True) if table.has("kerf") else 0.0
    return Stock(name, table.length("thickness"), table.maybe_pair("size", "length and width of the sheet"), kerf)


def stack_of(tray: Table, stock: Mapping[str, Stock]) -> tuple[Stock, ...]:
    """The sheets a tray's ``stack`` names, top first."""
    names = tray.elements("stack", "of the names of stock, top first")
    if not names:
        raise tray.fault("stack", f"is empty; {nearest('', stock)}")
    sheets = []
    for at, name in enumerate(names):
        if not isinstance(name, str) or name not in stock:
            raise tray.source.fault(
                (*tray.at("stack"), at),
                f"there is no [stock.*] called {shown(name)}; {nearest(str(name), stock)}",
            )
        sheets.append(stock[name])
    return tuple(sheets)


def refuse_small_stock(tray: Table, stack: tuple[Stock, ...], blank: tuple[float, float]) -> None:
    """Refuse a sheet that the blank cannot be sawn from, turned either way."""
    for at, sheet in enumerate(stack):
        if sheet.size is None:
            continue
        if min(sheet.size) < min(blank) - 1e-6 or max(sheet.size) < max(blank) - 1e-6:
            size, wanted = (" x ".join(format_length(side) for side in pair) for pair in (sheet.size, blank))
            raise tray.source.fault(
                (*tray.at("stack"), at),
                f'stock "{sheet.name}" is {size}, smaller than the blank of {wanted}; use a larger sheet',
            )
