"""How deep an item sits, and how far it stands above the face."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.errors import JobError
from insertgen.model import Collet, Disc, Rectangle, RingPile, Shank, Shape, Store, Tray
from insertgen.rules import (
    COLLET_DEPTH_SHARE,
    PEG_GRIP,
    POCKET_DEPTH_LEAST,
    POCKET_DEPTH_SHARE,
    POCKET_DEPTH_UNKNOWN,
)
from insertgen.units import format_mm

__all__ = ["SeatDepth", "height_of", "seat_depth", "top_above_face"]

_SAME = 1e-6  # mm: depths nearer than this are one depth


@dataclass(frozen=True, slots=True)
class SeatDepth:
    depth: float
    through: bool


def height_of(shape: Shape) -> float | None:
    """Overall height of a thing as stored, None if it is not known."""
    if shape.height is not None:
        return shape.height
    match shape.solid:
        case Disc() | Rectangle():
            return shape.solid.height
        case Shank():
            known = shape.solid.reach is not None and shape.solid.head_height is not None
            return (shape.solid.reach or 0.0) + (shape.solid.head_height or 0.0) if known else None
        case Collet():
            return shape.solid.length
        case RingPile():
            return shape.solid.pile * shape.solid.thickness
        case tuple():
            tops = [part.top for part in shape.solid]
            known_tops = [top for top in tops if top is not None]
            return max(known_tops) if known_tops and len(known_tops) == len(tops) else None
        case _:
            return None


def seat_depth(shape: Shape, store: Store, asked: float | None, tray: Tray, where: str) -> SeatDepth:
    """Depth from the face; asked for, it is taken as asked, even if the stack is too thin.

    Raises
    ------
    JobError
        A depth asked for a seat that has none of its own; a stack with nothing
        above its floor.
    """
    if store in (Store.THROUGH, Store.STAND):
        if asked is not None:
            raise JobError(
                f'{where}: depth = {format_mm(asked)} mm goes not with store = "{store}", which has no depth of its '
                "own; leave depth out"
            )
        return SeatDepth(tray.thickness, True) if store is Store.THROUGH else SeatDepth(0.0, False)
    depth = asked if asked is not None else _default(shape, store, tray, where)
    # never silently through: only where no floor is asked for
    return SeatDepth(depth, tray.floor == 0 and abs(depth - tray.thickness) < _SAME)


def _default(shape: Shape, store: Store, tray: Tray, where: str) -> float:
    most = tray.thickness - tray.floor
    if most < _SAME:
        raise JobError(
            f"{where}: the stack of {format_mm(tray.thickness)} mm leaves nothing above a floor of "
            f'{format_mm(tray.floor)} mm; use a thicker stack, a smaller floor, or store = "through"'
        )
    if isinstance(shape.solid, Collet):
        return min(COLLET_DEPTH_SHARE * shape.solid.length, most)
    if isinstance(shape.solid, (Shank, RingPile)):
        return most
    height = height_of(shape)
    if height is None:
        return min(POCKET_DEPTH_UNKNOWN, most)
    return min(max(POCKET_DEPTH_LEAST, POCKET_DEPTH_SHARE * height), height, most)


def top_above_face(shape: Shape, store: Store, depth: float) -> float | None:
    """How far the seated thing stands above the face, None if its height is not known; never below 0."""
    if isinstance(shape.solid, RingPile) and store is Store.PEG:
        return shape.solid.pile * shape.solid.thickness + PEG_GRIP
    if isinstance(shape.solid, Shank) and store is Store.BORE:
        return _bit_above_face(shape, shape.solid, depth)
    height = height_of(shape)
    return None if height is None else max(height - depth, 0.0)


def _bit_above_face(shape: Shape, bit: Shank, depth: float) -> float | None:
    if bit.reach is not None and bit.head_height is not None:
        return max(bit.reach - depth, 0.0) + bit.head_height
    return None if shape.height is None else max(shape.height - depth, 0.0)
