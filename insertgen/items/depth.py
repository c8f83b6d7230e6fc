"""How deep an item sits, and how far it stands above the face."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.errors import JobError
from insertgen.model.job import Tray
from insertgen.model.shape import Collet, Disc, Rectangle, RingPile, Shank, Shape, Store
from insertgen.rules import (
    COLLET_DEPTH_SHARE,
    PEG_GRIP,
    POCKET_DEPTH_LEAST,
    POCKET_DEPTH_SHARE,
    POCKET_DEPTH_UNKNOWN,
    POST_STAND,
)
from insertgen.units import format_mm

__all__ = ["DEPTHLESS", "SeatDepth", "height_of", "seat_depth", "top_above_face"]

#: Ways of storing that have no depth of their own.
DEPTHLESS = (Store.THROUGH, Store.STAND, Store.CORNER, Store.POSTS)

_SAME = 1e-6  # mm: depths nearer than this are one depth


@dataclass(frozen=True, slots=True)
class SeatDepth:
    """``asked`` is what was asked for, where that cannot be cut."""

    depth: float
    through: bool
    asked: float | None = None


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
    if store in DEPTHLESS:
        if asked is not None:
            raise JobError(
                f'{where}: depth = {format_mm(asked)} mm goes not with store = "{store}", which has no depth of its '
                "own; leave depth out"
            )
        return SeatDepth(tray.thickness, True) if store in (Store.THROUGH, Store.CORNER) else SeatDepth(0.0, False)
    if store is Store.SLOT:
        return SeatDepth(asked if asked is not None else _hanging(shape, where), True)
    depth = asked if asked is not None else _default(shape, store, tray, where)
    if tray.cutting.machine == "laser":
        return _snapped(depth, asked, tray, where)
    # never silently through: only where no floor is asked for
    return SeatDepth(depth, tray.floor == 0 and abs(depth - tray.thickness) < _SAME)


def _hanging(shape: Shape, where: str) -> float:
    """How far an item reaches through a slot: its second part rests on the face."""
    if isinstance(shape.solid, tuple) and len(shape.solid) > 1:
        return shape.solid[1].bottom
    raise JobError(
        f'{where}: "{shape.name}" goes through a slot, and how far is not known; write depth = how far it reaches '
        "below the face, or give its shape a second [[part]] that rests on the face"
    )


def _snapped(depth: float, asked: float | None, tray: Tray, where: str) -> SeatDepth:
    """A laser cuts right through a sheet or not at all: the nearest face that leaves the floor."""
    faces, at = [], 0.0
    for sheet in tray.stack:
        at += sheet.thickness
        faces.append(at)
    if len(faces) == 1:
        nearest, through = faces[0], True
    else:
        kept = [face for face in faces[:-1] if tray.thickness - face >= tray.floor - _SAME]
        if not kept:
            raise JobError(
                f"{where}: a laser cuts whole sheets, and no face of this stack leaves a floor of {format_mm(tray.floor)} mm "
                "under it; use a thicker sheet at the bottom, or a smaller floor"
            )
        nearest, through = min(kept, key=lambda face: (abs(face - depth), face)), False
    moved = asked is not None and abs(nearest - depth) > 0.01
    return SeatDepth(nearest, through, asked if moved else None)


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
    if store is Store.POSTS:
        height = height_of(shape)
        return None if height is None else max(height, POST_STAND)
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
