"""Shape files: one item on disk, to a `Shape` and back."""

from __future__ import annotations

from pathlib import PurePath

from insertgen.files.fingers import grips_text, read_grips
from insertgen.files.names import slug
from insertgen.files.outlines import off_centre, parts_text, read_parts, shifted
from insertgen.files.posts import posts_text, read_posts
from insertgen.files.primitives import PRIMITIVES, primitive_line, read_primitive
from insertgen.files.source import Source
from insertgen.files.table import Table
from insertgen.files.toml import read_toml
from insertgen.files.toml_text import length, quoted
from insertgen.files.traced import read_traced, traced_text
from insertgen.model.figures import Point
from insertgen.model.shape import Disc, Part, Rectangle, Shape, Solid, Store

__all__ = ["read_shape", "read_store", "write_shape"]

_KEYS = (
    "format", "name", "label", "height", "weight", "store", "depth", "clearance", "slack", "least_gap", "grips",
    "grip", "post", "part", "traced", *PRIMITIVES,
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
    table.only(*_KEYS)
    name = table.text("name")
    try:
        slug(name)
    except ValueError as error:
        raise table.fault("name", str(error)) from None
    solid, off = _solid(table)
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
        posts=read_posts(table, off),
        grips=read_grips(table, off),
        traced=read_traced(table.table("traced", "{ ... }")) if table.has("traced") else None,
        source=PurePath(file).stem,
    )
    _agree(table, shape)
    return shape


def _solid(table: Table) -> tuple[Solid, Point]:
    """What the thing is, and where the origin of the shape frame was found in the file's."""
    given = [key for key in (*PRIMITIVES, "part") if table.has(key)]
    if not given:
        raise table.fault(
            None, f"there is neither a [[part]] with an outline nor one of {', '.join(PRIMITIVES)}; write one"
        )
    if len(given) > 1:
        raise table.fault(given[1], f'"{given[0]}" is there too; a shape is one of them')
    if given[0] != "part":
        return read_primitive(table, given[0]), (0.0, 0.0)
    parts: tuple[Part, ...] = read_parts(table)
    off = off_centre(parts)
    return shifted(parts, off), off


def read_store(table: Table) -> Store | None:
    """How the thing is stored, None if ``table`` does not say."""
    return table.maybe_word("store", Store)


def _agree(table: Table, shape: Shape) -> None:
    if (
        isinstance(shape.solid, (Disc, Rectangle))
        and shape.solid.height is not None
        and shape.height is not None
    ):
        raise table.fault("height", "the primitive gives a height too; say it once")
    if shape.posts and shape.store is not Store.POSTS:
        raise table.fault("post", 'goes only with store = "posts"; write that, or leave the posts out')
    if shape.depth is not None and shape.store in (Store.THROUGH, Store.STAND, Store.CORNER, Store.POSTS):
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
    if shape.grips == ():
        lines.append("grips = 0")
    if not isinstance(shape.solid, tuple):
        lines.append(primitive_line(shape.solid))
    lines += grips_text(shape.grips or ())
    lines += posts_text(shape.posts)
    if isinstance(shape.solid, tuple):
        lines += parts_text(shape.solid)
    if shape.traced is not None:
        lines += traced_text(shape.traced)
    return "\n".join(lines) + "\n"
