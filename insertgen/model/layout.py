"""Where each item lies, what was left out, and which wish was not met."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from insertgen.model.figures import Pose
from insertgen.model.job import Blank

__all__ = ["Layout", "LeftOut", "LeftOutReason", "Placement", "Unmet", "Wish"]


@dataclass(frozen=True, slots=True)
class Placement:
    id: str
    name: str
    shape: str
    pose: Pose
    pinned: bool


class LeftOutReason(StrEnum):
    NO_ROOM = "no-room"
    TOO_BIG = "too-big"
    TOO_TALL = "too-tall"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What has no place. ``short``: so many mm are missing at the best place found, against ``others``; None: not looked for."""

    id: str
    why: LeftOutReason
    short: float | None = None
    others: tuple[str, ...] = ()  # ids, or "wall", or "keep-out: why"


class Wish(StrEnum):
    """What a job may ask of a layout and not get."""

    BESIDE = "beside"
    FACE = "face"
    FRONT = "front"
    GROUP = "group"
    KEEP = "keep"  # its place of last time, with --keep-layout


@dataclass(frozen=True, slots=True)
class Unmet:
    """A wish that the layout does not meet; ``others`` are in the way, or what it was to be kept by."""

    id: str
    wish: Wish
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything stands in a tray.

    ``shared`` are the numbers, from 1 and counts expanded, of the job's own
    ``[[item]]``s that this tray took; they are numbered after its own.
    ``would_hold`` is the smallest blank found that holds all, where not all fit.
    """

    tray: str
    seed: int
    rounds: int
    stopped_by_time: bool
    blank: Blank
    placements: tuple[Placement, ...]
    left_out: tuple[LeftOut, ...]
    unmet: tuple[Unmet, ...] = ()
    shared: tuple[int, ...] = ()
    would_hold: Blank | None = None
