"""Which item another one is kept beside: spare bearings by their bit."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import replace

from insertgen.errors import JobError
from insertgen.model.item import Item

__all__ = ["with_partners"]


def with_partners(items: Sequence[Item], wishes: Sequence[str | None]) -> list[Item]:
    """The items with the ids of those they are kept beside.

    Parameters
    ----------
    wishes : sequence of str or None
        For each item the name, label or shape of another item of the tray. Of
        several alike the first goes with the first, the second with the second.

    Raises
    ------
    JobError
        No other item of that name, or one that is itself kept beside another.
    """
    found: list[Item] = []
    taken: dict[str, int] = {}
    for item, wish in zip(items, wishes, strict=True):
        if wish is None:
            found.append(item)
            continue
        partners = [number for number, other in enumerate(items) if other.id != item.id and _is(other, wish)]
        if not partners:
            raise JobError(_unknown(item, wish, items))
        number = taken.get(wish, 0)
        taken[wish] = number + 1
        partner = partners[number % len(partners)]
        if wishes[partner] is not None:
            raise JobError(
                f'{item.where}: beside = "{wish}", which is itself kept beside "{wishes[partner]}"; name that one'
            )
        found.append(replace(item, beside=items[partner].id))
    return found


def _is(item: Item, wish: str) -> bool:
    names = (item.name, item.label, item.shape.source)
    return wish.casefold() in (name.casefold() for name in names if name)


def _unknown(item: Item, wish: str, items: Sequence[Item]) -> str:
    names = sorted({other.name for other in items if other.id != item.id})
    near = difflib.get_close_matches(wish, names, n=1, cutoff=0.4)
    hint = f'; do you mean "{near[0]}"?' if near else f"; there are {', '.join(names) or 'no others'}"
    return f'{item.where}: beside = "{wish}": no other item of this tray has that name or label{hint}'
