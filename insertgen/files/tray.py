"""One ``[[tray]]`` of a job, its settings resolved."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from insertgen import rules
from insertgen.errors import JobError
from insertgen.files.cutting import SETTINGS, machine, read_settings, refuse_small_stock, stack_of
from insertgen.files.names import slug
from insertgen.files.table import Table
from insertgen.files.wanted import read_wanted
from insertgen.model.job import Blank, Cutting, KeepOut, Stock, Tray
from insertgen.model.shape import Shape
from insertgen.units import format_length

__all__ = ["read_tray"]

_KEYS = (
    "name", "inside", "wall_height", "headroom", "room_below", "stack", "base", "assembly", "edge", "with", "lift_out",
    "keep_out", "item", *SETTINGS,
)  # fmt: skip

_DEFAULTS = {
    "clearance": rules.CLEARANCE,
    "least_gap": rules.LEAST_GAP,
    "slack": rules.SLACK,
    "web": rules.WEB,
    "margin": rules.MARGIN,
    "floor": rules.FLOOR,
    "play": rules.PLAY,
    "finger_room": rules.FINGER_ROOM,
    "lining": 0.0,
    "shift": rules.SHIFT,
}

#: Folders that a build writes beside those of the trays.
_TAKEN = ("source",)


def read_tray(
    table: Table,
    cutting: Cutting,
    cutting_settings: Mapping[str, float],
    stock: Mapping[str, Stock],
    find_shape: Callable[[str], Shape],
) -> Tray:
    """A tray of a job; ``items`` is left empty.

    Raises
    ------
    JobError, NotYetError, ShapeNotFoundError
        Naming file, line, key, value and rule.
    """
    table.only(*_KEYS)
    name, folder = _name(table)
    inside = table.pair("inside", "width and front to back of the tray inside")
    settings = {**_DEFAULTS, **cutting_settings, **read_settings(table)}
    blank = _blank(table, inside, settings["play"])
    stack = stack_of(table, stock)
    refuse_small_stock(table, stack, (blank.width, blank.depth))
    tray_cutting = _cutting(table, cutting)
    return Tray(
        name=name,
        slug=folder,
        inside=inside,
        blank=blank,
        stack=stack,
        glued_first=_glued_first(table, stack, tray_cutting),
        edge_sawn=not table.has("edge") or table.word("edge", ("sawn", "cut")) == "sawn",
        cutting=tray_cutting,
        clearance=settings["clearance"],
        least_gap=settings["least_gap"],
        slack=settings["slack"],
        web=settings["web"],
        margin=settings["margin"],
        floor=settings["floor"],
        play=settings["play"],
        finger_room=settings["finger_room"],
        wall_height=table.maybe_length("wall_height"),
        headroom=table.maybe_length("headroom"),
        lining=settings["lining"],
        shift=settings["shift"],
        lift_out=table.maybe_length("lift_out"),
        base=_base(table, stock),
        room_below=table.maybe_length("room_below", zero=True),
        keep_out=tuple(_keep_out(each, blank) for each in table.tables("keep_out")),
        wanted=tuple(read_wanted(each, blank, find_shape) for each in table.tables("item")),
    )


def _name(table: Table) -> tuple[str, str]:
    name = table.text("name")
    try:
        folder = slug(name)
    except JobError as error:
        raise table.fault("name", str(error)) from None
    if folder in _TAKEN:
        raise table.fault(
            "name", f'"{name}" is the name of a folder that every build writes; call the tray otherwise'
        )
    return name, folder


def _blank(table: Table, inside: tuple[float, float], play: float) -> Blank:
    width, depth = (round(side - 2 * play, 9) for side in inside)
    if width <= 0 or depth <= 0:
        raise table.fault(
            "inside",
            f"{' x '.join(format_length(side) for side in inside)} less a play of {format_length(play)} "
            "on each side leaves nothing; check the units",
        )
    return Blank(width, depth)


def _base(table: Table, stock: Mapping[str, Stock]) -> Stock | None:
    """The board under the insert that slides in the grooves, by the name of its stock."""
    if not table.has("base"):
        return None
    return stock[table.word("base", stock)]


def _glued_first(table: Table, stack: tuple[Stock, ...], cutting: Cutting) -> bool:
    assembly = table.word("assembly", ("glue-first", "cut-first")) if table.has("assembly") else "glue-first"
    if cutting.machine == "laser":  # each sheet is cut by itself, whatever is glued when
        if table.has("assembly") and assembly == "glue-first" and len(stack) > 1:
            raise table.fault("assembly", 'a laser cuts no glued block; write assembly = "cut-first"')
        return False
    if assembly == "cut-first" and len(stack) > 1 and cutting.template is not None:
        raise table.fault(
            "assembly",
            "a router template is followed through the whole stack, and sheets cut first are routed one by one; write "
            'assembly = "glue-first", or take [cutting.template] out',
        )
    return assembly == "glue-first"


def _cutting(table: Table, cutting: Cutting) -> Cutting:
    if not table.has("with"):
        return _without_router(cutting)
    name = machine(table)
    if name == "router" and cutting.cutter.diameter == 0:
        raise table.fault(
            "with", 'a router needs its cutter: write cutter = { diameter = "1/4 in" } under [cutting]'
        )
    return _without_router(replace(cutting, machine=name))


def _without_router(cutting: Cutting) -> Cutting:
    """A laser needs no router template."""
    return replace(cutting, template=None) if cutting.machine == "laser" else cutting


def _keep_out(table: Table, blank: Blank) -> KeepOut:
    table.only("at", "size", "why")
    at = table.pair("at", "its front left corner on the blank", zero=True)
    if at[0] >= blank.width or at[1] >= blank.depth:
        raise table.fault(
            "at",
            f"{' , '.join(format_length(side) for side in at)} is off the blank of "
            f"{format_length(blank.width)} x {format_length(blank.depth)}",
        )
    why = table.maybe_text("why")
    return KeepOut(at, table.pair("size", "its two sides"), "keep out" if why is None else why)
