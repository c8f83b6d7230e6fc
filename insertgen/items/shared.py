"""What a tray holds with what it took of the job's own ``[[item]]``s."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from insertgen.model.item import Wanted
from insertgen.model.job import Tray

__all__ = ["singles", "with_shared"]


def singles(wanted: Sequence[Wanted]) -> tuple[Wanted, ...]:
    """Each by itself, counts expanded; the first is number 1 of ``Layout.shared``."""
    return tuple(replace(one, count=1) for one in wanted for _ in range(one.count))


def with_shared(tray: Tray, each: Sequence[Wanted], numbers: Sequence[int]) -> Tray:
    """The tray with the numbered ones after its own; items are left as they were.

    Raises
    ------
    IndexError
        A number that there is not.
    """
    if any(not 1 <= number <= len(each) for number in numbers):
        raise IndexError(f"there are {len(each)} shared items")
    return replace(tray, wanted=(*tray.wanted, *(each[number - 1] for number in numbers)))
