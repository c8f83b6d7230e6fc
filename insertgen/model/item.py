"""One thing of a tray: as the job asks for it, and with everything resolved."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from insertgen.model.figures import Outline, Point, Pose
from insertgen.model.shape import PostKind, Shape, Store

__all__ = ["Dowel", "Facing", "Item", "PostSeat", "Step", "Turn", "Wanted"]


class Turn(StrEnum):
    """Which turns the layout may give an item."""

    ANY = "any"
    QUARTER = "quarter"
    HALF = "half"
    FIXED = "fixed"


class Facing(StrEnum):
    """Which way an item's +x end points, its right end as in the shape file."""

    LEFT = "left"
    RIGHT = "right"
    FRONT = "front"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class Wanted:
    """One ``[[tray.item]]`` or ``[[item]]`` of a job as read; None: not said there. ``where`` is "file, line N"."""

    shape: Shape
    where: str
    count: int = 1
    label: str | None = None
    store: Store | None = None
    depth: float | None = None
    clearance: float | None = None
    slack: float | None = None
    least_gap: float | None = None
    turn: Turn | None = None
    pinned: Pose | None = None
    mirror: bool = False
    grips: tuple[Point, ...] | None = None  # as of a shape
    beside: str | None = None  # name or label of another item of the tray that this one is kept by
    group: str | None = None  # what it is kept together with
    front: bool = False  # to be at the front
    face: Facing | None = None  # which way its +x end is to point


@dataclass(frozen=True, slots=True)
class Dowel:
    """A peg or post: ``name`` as sold (1/4 in, 6 mm), ``length`` to cut it to."""

    name: str
    diameter: float
    length: float


@dataclass(frozen=True, slots=True)
class Step:
    """What goes down to ``depth`` from the face: all parts of an item that reach at least as deep, as one outline.

    Steps of an item are nested: the first is the whole of what is below the
    face, each further one goes deeper and lies within the one before.
    """

    outline: Outline
    depth: float
    through: bool


@dataclass(frozen=True, slots=True)
class PostSeat:
    """A post resolved: ``bore`` is the diameter its bore must at least have, ``stock`` what stands in it."""

    at: Point  # shape frame
    kind: PostKind
    bore: float
    depth: float
    through: bool
    stock: Dowel


@dataclass(frozen=True, slots=True)
class Item:
    """A thing to be stored, all settings resolved (item over shape over tray over cutting over rules).

    ``id`` is "tray-slug/NN"; ``tag`` is NN, the number shown on every drawing.
    ``outline`` is the plan outline of what goes into the seat (a bit's shank, a
    collet's large end, a ring's peg), in the shape frame; ``room`` the plan
    outline of what stands above the face (a bit's head, a ring); for a pocketed
    thing it is the outline itself. ``depth`` is how deep the seat is asked to
    be, from the face: the whole stack for a through-cut, 0 for a thing that
    only stands or lies between posts; it may be more than the stack allows.
    ``bore`` is the diameter a round bore must at least have, None where the seat
    is no bore. ``top`` is how far the seated item stands above the face, None if
    its height is unknown. ``steps`` are what has to go through the face at each
    depth, empty where the seat is a bore, posts or nothing at all; the first
    step's outline is ``outline``. ``grips`` None: recesses for two fingers are due,
    where the program decides; empty: none are.
    """

    id: str
    tag: str
    name: str
    label: str
    size: str  # as shown in legends: "215 x 34 mm", "1/2 in shank, 35 mm head"
    shape: Shape
    store: Store
    outline: Outline
    room: Outline
    room_gap: float  # free space asked between this room and its neighbours' rooms
    height: float | None
    top: float | None
    depth: float
    through: bool
    clearance: float  # as asked, the lining included, expected error not yet added
    expected_error: float  # of a traced outline; 0 for typed sizes
    slack: float
    least_gap: float
    turn: Turn
    bore: float | None = None
    use: str | None = None  # of the bore: shank | collet | peg
    peg: Dowel | None = None
    pinned: Pose | None = None
    mirror: bool = False
    steps: tuple[Step, ...] = ()
    posts: tuple[PostSeat, ...] = ()
    grips: tuple[Point, ...] | None = ()
    beside: str | None = None  # id of the item of this tray that it is kept by
    group: str | None = None  # all of a tray with the same are kept together
    front: bool = False  # asked to be at the front
    face: Facing | None = None  # which way its +x end is asked to point
    hang: float = 0.0  # how far it reaches below the insert and the tray's base
    asked_depth: float | None = None  # where a laser cannot cut the depth asked for: what was asked
    where: str = ""  # "job.toml, line 12", for messages

    @property
    def on_face(self) -> bool:
        """Whether it lies or stands on the face, so that no other seat may be cut under it."""
        return self.store in (Store.STAND, Store.POSTS)
