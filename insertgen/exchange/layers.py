"""Layer names: what is done there and how deep, in one table that a job may override.

Names are legal in every drawing interchange release: capitals, digits, "-" and
"_", at most 31 characters (R12 symbol names). Depths are mm from the sheet's top
face, in files in inches too: a layer has one name in every file, report and finding.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields
from itertools import combinations

from insertgen.model.drawing import Layer, Operation
from insertgen.model.job import LayerNames
from insertgen.units import format_mm

__all__ = ["DEEP", "HOUSE", "faults_of", "layer_name", "layer_words", "parse_layer"]

HOUSE = LayerNames()

#: The names that hold the depth.
DEEP = ("pocket", "bore")

_DEPTH = "{depth}"
_DIGITS = r"(\d+)(?:-(\d+))?"
_LEGAL = re.compile(r"[A-Z0-9_-]+")
_MOST = 31
_WIDEST = "9999-99"

#: Layers that every drawing program makes by itself, and those of the marks.
_TAKEN = re.compile(r"0|DEFPOINTS|MARK_.*")

_OPERATION = {
    "edge": Operation.EDGE,
    "outside": Operation.OUTSIDE,
    "through": Operation.THROUGH,
    "slot": Operation.SLOT,
    "pocket": Operation.POCKET,
    "bore": Operation.BORE,
    "bore_through": Operation.BORE,
}


def layer_name(operation: Operation, depth: float, *, through: bool, names: LayerNames = HOUSE) -> str:
    """
    >>> layer_name(Operation.POCKET, 12.5, through=False), layer_name(Operation.BORE, 30, through=True)
    ('POCKET_12-5MM', 'BORE_THROUGH')
    """
    if operation is Operation.BORE and through:
        return names.bore_through
    if operation is Operation.POCKET and through:
        return names.through
    pattern: str = getattr(names, operation.value)
    return pattern.replace(_DEPTH, format_mm(depth).replace(".", "-"))


def parse_layer(name: str, names: LayerNames = HOUSE) -> tuple[Operation, float | None] | None:
    """Operation and depth (None: right through) of a layer name; None if it is no name of the table.

    >>> parse_layer("BORE_30MM"), parse_layer("THROUGH"), parse_layer("0") is None
    ((<Operation.BORE: 'bore'>, 30.0), (<Operation.THROUGH: 'through'>, None), True)
    """
    for key, operation in _OPERATION.items():
        match = _matcher(getattr(names, key)).fullmatch(name)
        if match is not None:
            return operation, float(f"{match[1]}.{match[2] or 0}") if match.groups() else None
    return None


def layer_words(layer: Layer) -> str:
    """What is done on a layer, in words: "pocket 12 mm deep"."""
    if layer.operation is Operation.EDGE:
        return "edge of the blank, for reference"
    if layer.operation is Operation.OUTSIDE:
        return "outside, cut through last"
    kind = "cut" if layer.operation is Operation.THROUGH else str(layer.operation)
    return f"{kind} through" if layer.through else f"{kind} {format_mm(layer.depth)} mm deep"


def faults_of(names: LayerNames) -> Iterator[tuple[str, str]]:
    """What is wrong with a table of names: the key, and why its name will not do."""
    values = {field.name: str(getattr(names, field.name)) for field in fields(names)}
    for key, name in values.items():
        filled = name.replace(_DEPTH, _WIDEST)
        if key in DEEP and name.count(_DEPTH) != 1:
            yield key, f'"{name}" must hold {_DEPTH} once, or two depths would share a layer; write it like "{getattr(HOUSE, key)}"'
        elif key not in DEEP and _DEPTH in name:
            yield key, f'"{name}" holds {_DEPTH}; what is not cut to a depth has none: take it out'
        elif not _LEGAL.fullmatch(filled):
            yield key, f'"{name}" is no layer name that every program reads; use capitals, digits, - and _ only'
        elif len(filled) > _MOST:
            yield key, f'"{name}" is {len(filled)} characters long with its depth filled in; at most {_MOST} may be'
        elif _TAKEN.fullmatch(filled):
            yield key, f'"{name}" is a layer that drawing programs, or the marks, have already; take another'
    for (one, first), (other, second) in combinations(values.items(), 2):
        if _may_be_equal(first, second):
            own = second != getattr(HOUSE, other)  # the one that the job named, if it did not name both
            key, name, twin, like = (other, second, one, first) if own else (one, first, other, second)
            yield key, f'"{name}" may be the same layer as {twin} = "{like}"; give each operation a name of its own'


def _matcher(pattern: str) -> re.Pattern[str]:
    before, deep, after = pattern.partition(_DEPTH)
    return re.compile(re.escape(before) + (_DIGITS if deep else "") + re.escape(after))


def _may_be_equal(one: str, other: str) -> bool:
    """Whether some depths fill two patterns to the same name, or nearly: digits and "-" beside a depth are taken for its own."""
    if _DEPTH not in one or _DEPTH not in other:
        plain, pattern = (one, other) if _DEPTH not in one else (other, one)
        return _matcher(pattern).fullmatch(plain) is not None
    (before, _, after), (ahead, _, behind) = one.partition(_DEPTH), other.partition(_DEPTH)
    heads = sorted((before, ahead), key=len)
    tails = sorted((after, behind), key=len)
    if not heads[1].startswith(heads[0]) or not tails[1].endswith(tails[0]):
        return False
    rest = heads[1][len(heads[0]) :] + tails[1][: len(tails[1]) - len(tails[0])]
    return all(sign.isdigit() or sign == "-" for sign in rest)
