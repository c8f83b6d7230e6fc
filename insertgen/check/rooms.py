"""Is there room enough between the things that stand on the face, and do they keep to the tray?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from insertgen.check.say import found, mm, named, spot
from insertgen.check.seated import Seated
from insertgen.geometry.distance import Gap, farthest, gap_between, gap_inside
from insertgen.geometry.region import Region, bounds, box, common, overlaps
from insertgen.model.figures import Point
from insertgen.model.finding import Finding
from insertgen.model.job import KeepOut, Tray
from insertgen.model.shape import Store

__all__ = ["WITHIN", "Rooms", "area_of", "judge_rooms", "midway"]

WITHIN = 0.02


@dataclass(frozen=True, slots=True)
class Rooms:
    """The items of a tray, and the plan of all that is cut for each of them in any sheet."""

    tray: Tray
    file: str
    seated: Mapping[str, Seated]
    cuts: Mapping[str, Region]

    def taken(self, key: str, beside: Seated) -> Region:
        """What may not be taken twice: the room above the face; where a thing lies on it, the cut under it too."""
        room = self.seated[key].room
        return room.union(self.cuts[key]) if beside.item.on_face and key in self.cuts else room

    def crowded(self, first: str, second: str) -> bool:
        """Of what is no item (a registration dowel is flush with the face) never."""
        return first in self.seated and second in self.seated and _together(self, first, second) is not None


def judge_rooms(rooms: Rooms) -> Iterator[Finding]:
    for first, second in combinations(rooms.seated, 2):
        crowded = _together(rooms, first, second)
        if crowded:
            yield crowded
    for key in rooms.seated:
        yield from _at_keep_outs(rooms, key)
        yield from _in_tray(rooms, key)


def _together(rooms: Rooms, first: str, second: str) -> Finding | None:
    """Two things that take the same room, or stand nearer than fingers need."""
    one, other = rooms.seated[first], rooms.seated[second]
    asked = max(one.item.room_gap, other.item.room_gap)
    a, b = rooms.taken(first, other), rooms.taken(second, one)
    if _far_apart(a, b, asked):
        return None
    if overlaps(a, b, least=1e-3):
        gap, at = 0.0, _middle_of_common(a, b)
        text = f"{named(one.item)} and {named(other.item)} take the same room at {spot(at)}"
    else:
        between = gap_between(one.room, other.room)  # fingers reach over a cut
        gap, at = between.distance, midway(between)
        if gap >= asked - WITHIN:
            return None
        text = f"{mm(gap)} between {named(one.item)} and {named(other.item)} at {spot(at)}; fingers need {mm(asked)}"
    return found(
        "overlap", text, "move one of them, or leave one out",
        tray=rooms.tray, file=rooms.file, placement=first, at=at, figure=gap, limit=asked, others=(second,),
    )  # fmt: skip


def _far_apart(a: Region, b: Region, asked: float) -> bool:
    """By their boxes alone."""
    (a0, b0, a1, b1), (c0, d0, c1, d1) = bounds(a), bounds(b)
    return max(c0 - a1, a0 - c1, d0 - b1, b0 - d1) > asked


def _at_keep_outs(rooms: Rooms, key: str) -> Iterator[Finding]:
    one = rooms.seated[key]
    taken = one.room.union(rooms.cuts[key]) if key in rooms.cuts else one.room
    for keep_out in rooms.tray.keep_out:
        area = area_of(keep_out)
        if overlaps(taken, area, least=1e-3):
            at = _middle_of_common(taken, area)
            text = f"{named(one.item)} stands on the keep-out ({keep_out.why}) at {spot(at)}"
            yield found(
                "overlap", text, "move it away from the keep-out", tray=rooms.tray, file=rooms.file,
                placement=key, at=at, figure=0.0, limit=0.0,
            )  # fmt: skip


def _in_tray(rooms: Rooms, key: str) -> Iterator[Finding]:
    """Over the blank's edge is the tray's wall; a corner seat's own wall is that, a play further out."""
    one, tray = rooms.seated[key], rooms.tray
    play = tray.play if one.item.store is Store.CORNER else 0.0
    gap = gap_inside(one.room, box(-play, -play, tray.blank.width + play, tray.blank.depth + play))
    if gap.distance < -WITHIN:
        text = (
            f"{named(one.item)} reaches {mm(play - gap.distance)} over the edge of the blank at {spot(gap.at)}, "
            "into the tray's wall"
        )
        yield found(
            "overlap", text, "move it in", tray=tray, file=rooms.file, placement=key, at=gap.at,
            figure=play - gap.distance, limit=play,
        )  # fmt: skip


def area_of(keep_out: KeepOut) -> Region:
    (x, y), (width, depth) = keep_out.at, keep_out.size
    return box(x, y, x + width, y + depth)


def _middle_of_common(a: Region, b: Region) -> Point:
    shared = common(a, b)
    x0, y0, x1, y1 = bounds(shared)
    middle = (x0 + x1) / 2, (y0 + y1) / 2
    # of a crescent the middle lies outside: then the nearest point of it
    return farthest(box(middle[0], middle[1], middle[0] + 1e-6, middle[1] + 1e-6), shared).to


def midway(gap: Gap) -> Point:
    return (gap.at[0] + gap.to[0]) / 2, (gap.at[1] + gap.to[1]) / 2
