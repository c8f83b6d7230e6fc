"""Typed sizes: the six primitives, as they stand in a shape file or in a job."""

from __future__ import annotations

from insertgen.files.table import Table
from insertgen.files.toml_text import inline, length
from insertgen.model.shape import Collet, Disc, Rectangle, RingPile, Shank, Slot, Solid
from insertgen.rules import ColletSize, collet_series
from insertgen.units import format_mm

__all__ = ["PRIMITIVES", "primitive_line", "read_primitive"]

#: What can be typed instead of an outline, with an example of each.
PRIMITIVES = {
    "disc": '{ diameter = "125 mm", height = "20 mm" }',
    "rectangle": '{ length = "120 mm", width = "60 mm", height = "30 mm" }',
    "slot": '{ length = "100 mm", width = "12 mm" }',
    "shank": '{ diameter = "1/4 in", head = "20 mm", reach = "32 mm" }',
    "collet": '{ series = "ER20", bore = "1/4 in" }',
    "ring": '{ bore = "8 mm", diameter = "22 mm", thickness = "7 mm", pile = 2 }',
}


def read_primitive(table: Table, key: str) -> Solid:
    """The primitive that stands under ``key``, one of `PRIMITIVES`.

    Raises
    ------
    JobError
        A size missing, impossible, or at odds with another.
    """
    inner = table.table(key, PRIMITIVES[key])
    return {
        "disc": _disc,
        "rectangle": _rectangle,
        "slot": _slot,
        "shank": _shank,
        "collet": _collet,
        "ring": _ring,
    }[key](inner)


def _disc(table: Table) -> Solid:
    table.only("diameter", "height")
    return Disc(table.length("diameter"), table.maybe_length("height"))


def _rectangle(table: Table) -> Solid:
    table.only("length", "width", "height")
    return Rectangle(table.length("length"), table.length("width"), table.maybe_length("height"))


def _slot(table: Table) -> Solid:
    table.only("length", "width")
    slot = Slot(table.length("length"), table.length("width"))
    if slot.length < slot.width:
        raise table.fault(
            "length",
            f"{_mm(slot.length)} is less than the width, {_mm(slot.width)}; length is the longer, overall",
        )
    return slot


def _shank(table: Table) -> Solid:
    table.only("diameter", "head", "head_height", "reach")
    return Shank(
        table.length("diameter"),
        table.length("head"),
        table.maybe_length("head_height"),
        table.maybe_length("reach"),
    )


def _collet(table: Table) -> Solid:
    table.only("series", "bore", "large", "small", "length")
    if table.has("series"):
        return _collet_of_series(table)
    bore, large, small = table.length("bore"), table.length("large"), table.maybe_length("small")
    if bore >= large:
        raise table.fault("bore", f"{_mm(bore)} does not go into a large end of {_mm(large)}")
    if small is not None and not bore < small <= large:
        raise table.fault(
            "small", f"{_mm(small)} must be over the bore, {_mm(bore)}, and at most the large end, {_mm(large)}"
        )
    return Collet(bore, large, small, table.length("length"))


def _collet_of_series(table: Table) -> Solid:
    table.only("series", "bore")
    size = _series(table)
    bore = table.length("bore")
    if not size.clamp_min - 1e-6 <= bore <= size.clamp_max + 1e-6:
        raise table.fault(
            "bore",
            f"{_mm(bore)} is no bore of an {size.series} collet; they clamp "
            f"{_mm(size.clamp_min)} to {_mm(size.clamp_max)}",
        )
    return Collet(bore, size.large, None, size.length, size.series)


def _series(table: Table) -> ColletSize:
    name, known = table.text("series"), collet_series()
    size = known.get(name.upper().replace(" ", "").replace("-", ""))
    if size is None:
        listed = ", ".join(known)  # no nearest one: between numbers that would be a guess
        raise table.fault(
            "series", f'unknown collet series "{name}"; known: {listed}; or type large, small and length'
        )
    return size


def _ring(table: Table) -> Solid:
    table.only("bore", "diameter", "thickness", "pile")
    ring = RingPile(
        table.length("bore"),
        table.length("diameter"),
        table.length("thickness"),
        table.whole("pile", 1, most=100),
    )
    if ring.bore >= ring.diameter:
        raise table.fault("bore", f"{_mm(ring.bore)} is not less than the outer diameter, {_mm(ring.diameter)}")
    return ring


def _mm(value: float) -> str:
    return f"{format_mm(value)} mm"


def primitive_line(solid: Solid) -> str:
    """A primitive as a line of a shape file; "" for an outline."""
    fields: dict[str, str | None]
    match solid:
        case Disc():
            key, fields = "disc", {"diameter": length(solid.diameter), "height": length(solid.height)}
        case Rectangle():
            key = "rectangle"
            fields = {
                "length": length(solid.length), "width": length(solid.width), "height": length(solid.height),
            }  # fmt: skip
        case Slot():
            key, fields = "slot", {"length": length(solid.length), "width": length(solid.width)}
        case Shank():
            key = "shank"
            fields = {
                "diameter": length(solid.diameter), "head": length(solid.head),
                "head_height": length(solid.head_height), "reach": length(solid.reach),
            }  # fmt: skip
        case Collet():
            key, fields = "collet", _collet_fields(solid)
        case RingPile():
            key = "ring"
            fields = {
                "bore": length(solid.bore), "diameter": length(solid.diameter),
                "thickness": length(solid.thickness), "pile": str(solid.pile),
            }  # fmt: skip
        case _:
            return ""
    return f"{key} = {inline(fields)}"


def _collet_fields(collet: Collet) -> dict[str, str | None]:
    if collet.series is not None:
        return {"series": f'"{collet.series}"', "bore": length(collet.bore)}
    return {
        "bore": length(collet.bore),
        "large": length(collet.large),
        "small": length(collet.small),
        "length": length(collet.length),
    }
