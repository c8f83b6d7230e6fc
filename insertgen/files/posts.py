"""The posts of a shape file: what stands beside an item that lies on the face."""

from __future__ import annotations

from insertgen.files.table import Table
from insertgen.files.toml_text import length
from insertgen.model.figures import Point
from insertgen.model.shape import Post, PostKind
from insertgen.units import format_mm

__all__ = ["posts_text", "read_posts"]


def read_posts(table: Table, off: Point) -> tuple[Post, ...]:
    """The ``[[post]]`` tables of a shape; ``off`` is taken from their places.

    Raises
    ------
    JobError
        A place or diameter missing, an unknown kind.
    """
    return tuple(_post(each, off) for each in table.tables("post"))


def _post(table: Table, off: Point) -> Post:
    table.only("at", "diameter", "kind")
    x, y = table.point(table.at("at"), table.need("at", "[12, 0]"))
    kind = table.maybe_word("kind", PostKind) or PostKind.DOWEL
    return Post((round(x - off[0], 6), round(y - off[1], 6)), table.length("diameter"), kind)


def posts_text(posts: tuple[Post, ...]) -> list[str]:
    """Lines of a shape file."""
    lines = []
    for post in posts:
        (x, y) = post.at
        lines += ["", "[[post]]", f"at = [{format_mm(x, 6)}, {format_mm(y, 6)}]"]
        lines += [f"diameter = {length(post.diameter)}", f'kind = "{post.kind}"']
    return lines
