"""Shape files: one item on disk, to a `Shape` and back."""

from __future__ import annotations

from pathlib import PurePath

from insertgen.errors import NotYetError
from insertgen.files.names import slug
from insertgen.files.outlines import parts_text, read_parts
from insertgen.files.primitives import PRIMITIVES, primitive_line, read_primitive
from insertgen.files.source import Source
from insertgen.files.table import Table
from insertgen.files.toml import read_toml
from insertgen.files.toml_text import length, quoted
from insertgen.files.traced import read_traced, traced_text
from insertgen.model import Disc, Rectangle, Shape, Solid, Store

__all__ = ["LATER_STORES", "read_shape", "read_store", "refuse_grips", "write_shape"]

#: Ways of storing that the format knows and later versions do.
LATER_STORES = {
    Store.SLOT: 'use store = "through"',
    Store.CORNER: 'use store = "pocket" and pin the item with at = { x = ..., y = ... }',
    Store.POSTS: 'use store = "pocket"',
}

_LATER = {"post": 'leave it out and use store = "pocket"', "grip": "leave it out; no finger recesses are cut"}
_KEYS = (
    "format", "name", "label", "height", "weight", "store", "depth", "clearance", "slack", "least_gap", "grips",
    "part", "traced", *PRIMITIVES,
)  # fmt: skip


def read_shape(text: str, file: str) -> Shape:
    """The shape a file describes; ``file`` is its name, for messages and as its source.

    Bare numbers are mm. An outline not centred on the origin is moved there.

    Raises
    ------
    JobError
        Naming file, line, key, value and rule.
    NotYetError
        What the format knows and this version does not do.
    """
    values, lines = read_toml(text, file)
    table = Table(Source(file, lines, "mm"), (), values)
    table.format()
    table.only(*_KEYS, later=_LATER)
    refuse_grips(table)
    name = table.text("name")
    try:
        slug(name)
    except ValueError as error:
        raise table.fault("name", str(error)) from None
    solid = _solid(table)
    shape = Shape(
        name=name,
        solid=solid,
        label=table.maybe_text("label"),
        height=table.maybe_length("height"),
        weight_kg=table.number("weight", least=0, most=1000) if table.has("weight") else None,
        store=read_store(table),
        depth=table.maybe_length("depth"),
        clearance=table.maybe_length("clearance", zero=True),
        slack=table.maybe_length("slack", zero=True),
        least_gap=table.maybe_length("least_gap", zero=True),
        traced=read_traced(table.table("traced", "{ ... }")) if table.has("traced") else None,
        source=PurePath(file).stem,
    )
    _agree(table, shape)
    return shape


def _solid(table: Table) -> Solid:
    given = [key for key in (*PRIMITIVES, "part") if table.has(key)]
    if not given:
        raise table.fault(
            None, f"there is neither a [[part]] with an outline nor one of {', '.join(PRIMITIVES)}; write one"
        )
    if len(given) > 1:
        raise table.fault(given[1], f'"{given[0]}" is there too; a shape is one of them')
    return read_parts(table) if given[0] == "part" else read_primitive(table, given[0])


def read_store(table: Table) -> Store | None:
    """How the thing is stored, None if ``table`` does not say."""
    store = table.maybe_word("store", Store)
    if store in LATER_STORES:
        raise table.not_yet("store", f'"{store}" is for later; {LATER_STORES[store]}')
    return store


def refuse_grips(table: Table) -> None:
    """``grips = 0`` is what this version does; any other number is for later."""
    if table.has("grips") and table.whole("grips", least=0):
        raise NotYetError(
            table.source.say(
                table.at("grips"), "this version cuts no finger recesses yet; write grips = 0 or leave it out"
            )
        )


def _agree(table: Table, shape: Shape) -> None:
    if (
        isinstance(shape.solid, (Disc, Rectangle))
        and shape.solid.height is not None
        and shape.height is not None
    ):
        raise table.fault("height", "the primitive gives a height too; say it once")
    if shape.depth is not None and shape.store in (Store.THROUGH, Store.STAND):
        raise table.fault(
            "depth", f'goes not with store = "{shape.store}", which has no depth of its own; leave it out'
        )


def write_shape(shape: Shape) -> str:
    """A shape file, points to 0.01 mm; `read_shape` gives the shape back."""
    title = "".join(sign if sign.isprintable() else " " for sign in shape.name)
    lines = [f"# {title}: one thing to be stored. Bare numbers are millimetres; seen from straight above."]
    fields = {
        "format": "1",
        "name": quoted(shape.name),
        "label": None if shape.label is None else quoted(shape.label),
        "height": length(shape.height),
        "weight": None if shape.weight_kg is None else repr(float(shape.weight_kg)),
        "store": None if shape.store is None else quoted(str(shape.store)),
        "depth": length(shape.depth),
        "clearance": length(shape.clearance),
        "slack": length(shape.slack),
        "least_gap": length(shape.least_gap),
    }
    lines += [f"{key} = {value}" for key, value in fields.items() if value is not None]
    if isinstance(shape.solid, tuple):
        lines += parts_text(shape.solid)
    else:
        lines.append(primitive_line(shape.solid))
    if shape.traced is not None:
        lines += traced_text(shape.traced)
    return "\n".join(lines) + "\n"
