"""Layer names: what is done there and how deep, in one table.

Names are legal in every drawing interchange release: capitals, digits, "-" and
"_", at most 31 characters. Depths are mm from the sheet's top face.
"""

from __future__ import annotations

import re

from insertgen.model import Operation
from insertgen.units import format_mm

__all__ = ["layer_name", "parse_layer"]

_THROUGH = {
    Operation.EDGE: "EDGE",
    Operation.OUTSIDE: "OUTSIDE_THROUGH",
    Operation.THROUGH: "THROUGH",
    Operation.SLOT: "SLOT_THROUGH",
    Operation.BORE: "BORE_THROUGH",
}
_DEEP = {Operation.POCKET: "POCKET", Operation.BORE: "BORE"}
_OPERATION = {name: operation for operation, name in _THROUGH.items()}
_PATTERN = re.compile(r"(POCKET|BORE)_(\d+)(?:-(\d+))?MM")


def layer_name(operation: Operation, depth: float, *, through: bool) -> str:
    """
    >>> layer_name(Operation.POCKET, 12.5, through=False), layer_name(Operation.BORE, 30, through=True)
    ('POCKET_12-5MM', 'BORE_THROUGH')
    """
    if through or operation not in _DEEP:
        return _THROUGH[operation]
    return f"{_DEEP[operation]}_{format_mm(depth).replace('.', '-')}MM"


def parse_layer(name: str) -> tuple[Operation, float | None] | None:
    """Operation and depth (None: right through) of a layer name; None if it is no name of ours.

    >>> parse_layer("BORE_30MM"), parse_layer("THROUGH"), parse_layer("0") is None
    ((<Operation.BORE: 'bore'>, 30.0), (<Operation.THROUGH: 'through'>, None), True)
    """
    if operation := _OPERATION.get(name):
        return operation, None
    match = _PATTERN.fullmatch(name)
    if match is None:
        return None
    depth = float(f"{match[2]}.{match[3] or 0}")
    return Operation(match[1].lower()), depth
