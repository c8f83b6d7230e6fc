"""What is stored, as its shape file says it: a solid or its parts, and how it may be held."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from insertgen.model.figures import Outline, Point

__all__ = ["Collet", "Disc", "Part", "Post", "PostKind", "Rectangle", "RingPile", "Shank", "Shape", "Slot", "Solid", "Store", "Traced"]  # fmt: skip


class Store(StrEnum):
    """How an item is held."""

    POCKET = "pocket"
    THROUGH = "through"
    BORE = "bore"
    SLOT = "slot"
    CORNER = "corner"
    PEG = "peg"
    POSTS = "posts"
    STAND = "stand"


class PostKind(StrEnum):
    """What stands in a bore beside an item: glued wood, pressed steel, or a nail."""

    DOWEL = "dowel"
    PIN = "pin"
    NAIL = "nail"


@dataclass(frozen=True, slots=True)
class Post:
    """A post asked for beside an item that lies on the face; ``at`` in the shape frame."""

    at: Point
    diameter: float
    kind: PostKind = PostKind.DOWEL


@dataclass(frozen=True, slots=True)
class Part:
    """A height band of an item with an outline of its own, ``bottom`` to ``top`` above its lowest point."""

    outline: Outline
    bottom: float = 0.0
    top: float | None = None


@dataclass(frozen=True, slots=True)
class Disc:
    diameter: float
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Rectangle:
    """``length`` along x, ``width`` along y."""

    length: float
    width: float
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Slot:
    """A straight opening with round ends; ``length`` overall, along x."""

    length: float
    width: float


@dataclass(frozen=True, slots=True)
class Shank:
    """A bit that stands in a bore: shank ``diameter``, ``reach`` below the head, ``head`` diameter."""

    diameter: float
    head: float
    head_height: float | None = None
    reach: float | None = None


@dataclass(frozen=True, slots=True)
class Collet:
    """A tapered collet, stood in a bore by its large end; ``bore`` is what it clamps (its label)."""

    bore: float
    large: float
    small: float | None
    length: float
    series: str | None = None


@dataclass(frozen=True, slots=True)
class RingPile:
    """Bearings, washers, wheels on a peg; ``pile`` of them, one above the other."""

    bore: float
    diameter: float
    thickness: float
    pile: int = 1


Solid = tuple[Part, ...] | Disc | Rectangle | Slot | Shank | Collet | RingPile


@dataclass(frozen=True, slots=True)
class Traced:
    """Where a traced outline came from; written by ``trace``."""

    photos: tuple[tuple[str, str], ...]  # (file name, sha256)
    square: float
    squares_used: int
    mm_per_pixel: float
    tilt_deg: float
    expected_error: float
    camera_height: float | None = None
    edge_height: float | None = None
    warnings: tuple[str, ...] = ()
    underside: bool = False  # photographed turned over, the outline mirrored back


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape file, or one primitive typed in a job."""

    name: str
    solid: Solid
    label: str | None = None  # shown on drawings; None: the name
    height: float | None = None  # overall, as stored
    weight_kg: float | None = None
    store: Store | None = None  # None: by kind
    depth: float | None = None
    clearance: float | None = None
    slack: float | None = None
    least_gap: float | None = None
    posts: tuple[Post, ...] = ()  # for store = "posts"; empty: the program decides
    grips: tuple[Point, ...] | None = None  # where fingers go; None: the program decides; empty: nowhere
    traced: Traced | None = None
    source: str = ""  # slug of the shape file; "" when typed inline
