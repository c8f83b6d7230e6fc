"""Which way an item faces: only where that means something and its turns allow it."""

from __future__ import annotations

from insertgen.errors import JobError
from insertgen.model.item import Facing, Turn, Wanted

__all__ = ["facing_of"]

#: Round things look the same whichever way they face.
_LONG = ("outline", "rectangle", "slot")

_TURNS = {
    Turn.FIXED: (Facing.RIGHT,),
    Turn.HALF: (Facing.RIGHT, Facing.LEFT),
    Turn.QUARTER: tuple(Facing),
    Turn.ANY: tuple(Facing),
}


def facing_of(wanted: Wanted, kind: str) -> Facing | None:
    """The way asked for.

    Raises
    ------
    JobError
        Asked of a round thing, or not among the turns the item may have.
    """
    face = wanted.face
    if face is None:
        return None
    if kind not in _LONG:
        raise JobError(f'{wanted.where}: face = "{face}" goes with things that have a right end, not with a {kind}; leave it out')
    known = _TURNS[wanted.turn or Turn.QUARTER]
    if wanted.mirror and wanted.turn is Turn.FIXED:
        known = (Facing.LEFT,)  # mirrored, its right end lies at the left
    if face not in known:
        ways = " or ".join(f'"{each}"' for each in known)
        raise JobError(
            f'{wanted.where}: face = "{face}" cannot be with turn = "{wanted.turn}", which lets it face {ways} only; leave one of the two out'
        )
    return face
