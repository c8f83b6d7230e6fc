"""TOML text to values, with the line of every key.

tomllib gives the values; no TOML library gives the lines, so a concrete syntax
tree (tree-sitter with its TOML grammar) is walked for those.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from insertgen.errors import JobError
from insertgen.files.broken import explain
from insertgen.files.source import Path

__all__ = ["key_lines", "read_toml"]


def read_toml(text: str, file: str) -> tuple[dict[str, object], dict[Path, int]]:
    """Values, and the line (from 1) of every key path.

    Raises
    ------
    JobError
        Empty, or not TOML: names the line and, for common slips such as an inch
        mark without quotes, how to write it.
    """
    try:
        values: dict[str, object] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise JobError(explain(text, file, str(error), _first_error(text))) from None
    except RecursionError:
        raise JobError(f"{file}: brackets nested too deeply; a job needs no more than four levels") from None
    except ValueError:  # tomllib lets int() refuse numbers of thousands of digits
        raise JobError(f"{file}: there is a number with thousands of digits in it") from None
    if not values:
        raise JobError(f'{file}: the file is empty; "insertgen start" lists job files to begin with')
    return values, key_lines(text)


def key_lines(text: str) -> dict[Path, int]:
    """Line of each key path; positions in arrays of tables and in plain arrays count from 0.

    >>> key_lines('a = 1\\n[[t]]\\nb = [1,\\n2]\\n[[t]]\\nc.d = 3')[("t", 1, "c", "d")]
    6
    """
    return _Walk().document(_parse(text))


class _Walk:
    def __init__(self) -> None:
        self.lines: dict[Path, int] = {}
        self.lengths: dict[Path, int] = {}  # of arrays of tables so far

    def document(self, root: Node) -> dict[Path, int]:
        for node in root.named_children:
            if node.type == "pair":
                self.pair(node, ())
            elif node.type in ("table", "table_array_element"):
                self.table(node)
        return self.lines

    def table(self, node: Node) -> None:
        header = next(child for child in node.named_children if child.type.endswith("key"))
        path: Path = ()
        keys = _keys(header)
        for at, key in enumerate(keys):
            path = (*path, key)
            self.note(path, node)
            last = at == len(keys) - 1
            if last and node.type == "table_array_element":
                self.lengths[path] = self.lengths.get(path, 0) + 1
            if path in self.lengths:
                path = (*path, self.lengths[path] - 1)
                self.note(path, node)
        for child in node.named_children:
            if child.type == "pair":
                self.pair(child, path)

    def pair(self, node: Node, base: Path) -> None:
        key, value = (child for child in node.named_children if child.type not in ("comment", "ERROR"))
        path = base
        for word in _keys(key):
            path = (*path, word)
            self.note(path, key)
        self.value(value, path)

    def value(self, node: Node, path: Path) -> None:
        inner = [child for child in node.named_children if child.type not in ("comment", "ERROR")]
        if node.type == "array":
            for at, child in enumerate(inner):
                self.note((*path, at), child)
                self.value(child, (*path, at))
        elif node.type == "inline_table":
            for child in inner:
                self.pair(child, path)

    def note(self, path: Path, node: Node) -> None:
        self.lines.setdefault(path, node.start_point[0] + 1)


def _keys(node: Node) -> list[str]:
    return list(_words(node))


def _words(node: Node) -> Iterator[str]:
    # the grammar nests a dotted key to the left: a.b.c is (a.b).c
    if node.type == "dotted_key":
        for child in node.named_children:
            yield from _words(child)
    else:
        text = (node.text or b"").decode()
        yield next(iter(tomllib.loads(f"{text} = 0"))) if node.type == "quoted_key" else text


def _parse(text: str) -> Node:
    return Parser(Language(tree_sitter_toml.language())).parse(text.encode()).root_node


def _first_error(text: str) -> int | None:
    """Line of the first thing the syntax tree could not make sense of."""
    stack = [_parse(text)]
    while stack:
        node = stack.pop()
        if node.is_error or node.is_missing:
            return node.start_point[0] + 1
        stack.extend(reversed(node.children))
    return None
