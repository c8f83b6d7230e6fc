"""What an item looks like from straight above: in its seat, and above the face."""

from __future__ import annotations

import math

from insertgen.model.figures import Outline, Ring
from insertgen.model.shape import Collet, Disc, Rectangle, RingPile, Shank, Slot, Solid, Store

__all__ = ["disc_outline", "kind_of", "plan_outlines", "ring_points"]

#: Points on a circle; a multiple of four, so that the bounding box is exact.
POINTS = 256


def kind_of(solid: Solid) -> str:
    """The word for a solid: outline, disc, rectangle, slot, shank, collet or ring.

    >>> kind_of(Disc(30.0)), kind_of(())
    ('disc', 'outline')
    """
    kinds = {
        Disc: "disc", Rectangle: "rectangle", Slot: "slot", Shank: "shank", Collet: "collet", RingPile: "ring",
    }  # fmt: skip
    return next((kind for type_, kind in kinds.items() if isinstance(solid, type_)), "outline")


def plan_outlines(solid: Solid, store: Store, peg: float | None = None) -> tuple[Outline, Outline]:
    """What goes into the seat, and what takes room above the face; shape frame.

    Parameters
    ----------
    peg : float, optional
        Diameter of the dowel, needed for a ring stored on one.

    Returns
    -------
    (seated, room)
        The same for things that are as wide in their seat as above it, and for
        things that only stand.
    """
    match solid:
        case Shank():
            # a bit may cut narrower than its shank is: it takes the room of the wider
            room = disc_outline(max(solid.head, solid.diameter))
            seated = disc_outline(solid.diameter)
        case RingPile():
            room = disc_outline(solid.diameter)
            seated = room if peg is None else disc_outline(peg)
        case Collet():
            seated = room = disc_outline(solid.large)
        case Disc():
            seated = room = disc_outline(solid.diameter)
        case Rectangle():
            seated = room = _rectangle(solid.length, solid.width)
        case Slot():
            seated = room = _slot(solid.length, solid.width)
        case _:
            seated = room = solid[0].outline
    return (room, room) if store is Store.STAND else (seated, room)


def disc_outline(diameter: float) -> Outline:
    """A disc at the origin, as a ring of 256 points on the circle."""
    return Outline(ring_points((0.0, 0.0), diameter / 2, 0.0, 360.0, POINTS, closed=True))


def ring_points(
    centre: tuple[float, float],
    radius: float,
    start_deg: float,
    sweep_deg: float,
    steps: int,
    *,
    closed: bool = False,
) -> Ring:
    """Points of an arc, its last one included unless it is ``closed``."""
    count = steps if closed else steps + 1
    angles = (start_deg + sweep_deg * at / steps for at in range(count))
    return tuple((centre[0] + radius * _cos(angle), centre[1] + radius * _cos(angle - 90)) for angle in angles)


def _cos(angle_deg: float) -> float:
    """Exact at whole quarter turns, where floating point is not."""
    quarter, rest = divmod(angle_deg, 90.0)
    if rest == 0:
        return (1.0, 0.0, -1.0, 0.0)[int(quarter) % 4]
    return math.cos(math.radians(angle_deg))


def _rectangle(length: float, width: float) -> Outline:
    x, y = length / 2, width / 2
    return Outline(((-x, -y), (x, -y), (x, y), (-x, y)))


def _slot(length: float, width: float) -> Outline:
    half = (length - width) / 2
    if half <= 0:
        return disc_outline(width)
    right = ring_points((half, 0.0), width / 2, -90.0, 180.0, POINTS // 2)
    left = ring_points((-half, 0.0), width / 2, 90.0, 180.0, POINTS // 2)
    return Outline(right + left)
