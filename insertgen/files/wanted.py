"""What a tray is to hold: its ``[[tray.item]]`` tables, and the job's ``[[item]]``s that any tray may take."""

from __future__ import annotations

from collections.abc import Callable

from insertgen.errors import JobError, ShapeNotFoundError
from insertgen.files.fingers import read_grips
from insertgen.files.names import slug
from insertgen.files.posts import read_posts
from insertgen.files.primitives import PRIMITIVES, read_primitive
from insertgen.files.shape import read_store
from insertgen.files.table import Table
from insertgen.model.figures import Pose
from insertgen.model.item import Facing, Turn, Wanted
from insertgen.model.job import Blank
from insertgen.model.shape import Shape
from insertgen.units import format_length

__all__ = ["read_wanted"]

_KEYS = (
    "shape", "name", "count", "turn", "at", "label", "store", "depth", "mirror", "clearance", "slack", "least_gap",
    "grips", "grip", "post", "beside", "group", "front", "face", *PRIMITIVES,
)  # fmt: skip


def read_wanted(table: Table, blank: Blank | None, find_shape: Callable[[str], Shape]) -> Wanted:
    """One item table of a tray; ``blank`` None: of the job itself, which pins nothing.

    Raises
    ------
    JobError, NotYetError, ShapeNotFoundError
        Naming file, line, key, value and rule.
    """
    table.only(*_KEYS)
    count = table.whole("count", 1)
    mirror = table.flag("mirror", default=False)
    pinned = _pinned(table, blank, mirror)
    if pinned is not None and count > 1:
        raise table.fault(
            "count", f"is {count}, but at pins the item to one place; write a [[tray.item]] for each"
        )
    for key in ("front", "face"):
        if pinned is not None and table.has(key):
            raise table.fault(key, "asks for a place or a turn, but at pins the item to one; leave one of the two out")
    return Wanted(
        shape=_shape(table, find_shape),
        where=table.where(),
        count=count,
        label=table.maybe_text("label"),
        store=read_store(table),
        depth=table.maybe_length("depth"),
        clearance=table.maybe_length("clearance", zero=True),
        slack=table.maybe_length("slack", zero=True),
        least_gap=table.maybe_length("least_gap", zero=True),
        turn=table.maybe_word("turn", Turn),
        pinned=pinned,
        mirror=mirror,
        grips=read_grips(table),
        beside=table.maybe_text("beside"),
        group=table.maybe_text("group"),
        front=table.flag("front", default=False),
        face=table.maybe_word("face", Facing),
    )


def _shape(table: Table, find_shape: Callable[[str], Shape]) -> Shape:
    given = [key for key in ("shape", *PRIMITIVES) if table.has(key)]
    if not given:
        raise table.fault(
            None, f'write shape = "..." for a shape file, or one of {", ".join(PRIMITIVES)} and a name'
        )
    if len(given) > 1:
        raise table.fault(given[1], f'"{given[0]}" is there too; an item is one of them')
    if given[0] != "shape":
        return Shape(_name(table), read_primitive(table, given[0]), posts=read_posts(table, (0.0, 0.0)))
    if table.has("post"):
        raise table.fault("post", "stands in the shape file, not here; write it there")
    if table.has("name"):
        raise table.fault("name", "the name comes from the shape file; use label for what drawings show")
    name = table.text("shape")
    try:
        return find_shape(name)
    except ShapeNotFoundError as error:
        raise ShapeNotFoundError(table.source.say(table.at("shape"), str(error))) from None


def _name(table: Table) -> str:
    name = table.text("name")
    try:
        slug(name)
    except JobError as error:
        raise table.fault("name", str(error)) from None
    return name


def _pinned(table: Table, blank: Blank | None, mirror: bool) -> Pose | None:
    if not table.has("at"):
        return None
    if blank is None:
        raise table.fault("at", "pins the item to a place in a tray; write it as [[tray.item]] under that tray")
    at = table.table("at", "{ x = 3, y = 4, angle = 90 }").only("x", "y", "angle")
    x, y = at.length("x", negative=True), at.length("y", negative=True)
    for key, value, side in (("x", x, blank.width), ("y", y, blank.depth)):
        if not 0 <= value <= side:
            raise at.fault(
                key,
                f"{format_length(value)} puts the middle of the item off the blank, which is 0 to {format_length(side)}",
            )
    return Pose(x, y, at.number("angle", 0.0, least=-360, most=360), mirror)
