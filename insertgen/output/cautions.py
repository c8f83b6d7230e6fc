"""Which cautions a tray calls for, and their texts."""

from __future__ import annotations

from insertgen.errors import OutputError
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.shape import PostKind, Shank, Store
from insertgen.rules import CAUTION_TAIL, CAUTIONS

__all__ = ["caution_text", "cautions_for"]

_DUSTY = ("mdf", "hdf", "hardboard")
_CELLS = ("battery", "cordless")

#: Known weights in a tray, together, at which "load" is said. Common practice, no source.
HEAVY_KG = 2.0


def cautions_for(tray: Tray) -> tuple[str, ...]:
    """Codes of `insertgen.rules.CAUTIONS` that apply to a tray whose items are resolved, in that table's order."""
    items, cutting = tray.items, tray.cutting
    stocks = (*tray.stack, *((tray.base,) if tray.base else ()))
    applies = {
        "always": True,
        "mdf-dust": any(word in stock.name.casefold() for stock in stocks for word in _DUSTY),
        "router-loose": cutting.machine == "router" or cutting.template is not None,
        "laser-fume": cutting.machine == "laser",
        "slot-table": any(item.store is Store.SLOT for item in items),
        "bore": any(item.bore is not None or item.store in (Store.SLOT, Store.POSTS) for item in items),
        "saw": cutting.machine == "hand" and any(_sawn(item) for item in items),
        "knife-up": any(isinstance(item.shape.solid, Shank) and item.store is Store.BORE for item in items),
        "nail": any(post.kind is not PostKind.DOWEL for item in items for post in item.posts),
        "battery": any(_has_cells(item) for item in items),
        "load": sum(item.shape.weight_kg or 0.0 for item in items) > HEAVY_KG or any(item.hang > 0 for item in items),
    }
    return tuple(code for code in CAUTIONS if applies.get(code, False))


def caution_text(code: str) -> str:
    """The fixed text of a caution, the tail included.

    Raises
    ------
    OutputError
        A code that is not in the table.

    >>> caution_text("bore").endswith("local rules come first.")
    True
    """
    if code not in CAUTIONS:
        raise OutputError(f'caution "{code}" is unknown; the codes are {", ".join(CAUTIONS)}')
    return f"{CAUTIONS[code]} {CAUTION_TAIL}"


def _sawn(item: Item) -> bool:
    """Whether a shop without a machine saws the seat out: a slot is bored and routed instead."""
    return item.store is Store.CORNER or (item.through and item.store in (Store.POCKET, Store.THROUGH))


def _has_cells(item: Item) -> bool:
    said = f"{item.name} {item.label}".casefold()
    return any(word in said for word in _CELLS)
