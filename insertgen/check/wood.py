"""What the outer contour leaves of the blank where seats are sawn out of it: is it all the wood that is due, and thick enough?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from insertgen.check.case import Case
from insertgen.check.contours import OUTSIDE_WITHIN
from insertgen.check.rooms import WITHIN, Rooms, midway
from insertgen.check.say import mm, named, spot
from insertgen.geometry.distance import farthest, gap_between
from insertgen.geometry.offset import grown, opened
from insertgen.geometry.open_edge import opened_to_edges
from insertgen.geometry.region import Region, area, box, common, is_empty, minus, overlaps, pieces, union
from insertgen.model.figures import Point
from insertgen.model.finding import Finding

__all__ = ["Wood", "judge_wood", "wood_of"]

#: How far beyond the wall due a sawn seat may reach without a word, as pockets may.
BEYOND = 0.2
#: A piece of wood taken away, or left, is meant if it is thicker than this, and larger than so many mm2.
THICK, LARGE = 0.2, 2.0
#: A square corner's tip is this share of the web further out than the opening by half the web goes; and rounding.
TIP, SPARE = (math.sqrt(2) - 1) / 2, 0.3


@dataclass(frozen=True, slots=True)
class Wood:
    """What is left of the blank, what was taken out of it, and for which seats (their plan within what was taken)."""

    left: Region
    taken: Region
    seats: dict[str, Region]


def wood_of(case: Case) -> Wood | None:
    """None where no seat is sawn out of the outer contour, or it cannot be taken at its word."""
    edges = case.matched.edges
    if not case.corners or not edges or not all(edge.sound for edge in edges):
        return None
    left = union(edge.region for edge in edges)
    taken = minus(box(0, 0, case.blank.width, case.blank.depth), left)
    return Wood(left, taken, {key: common(taken, _due(case, key)) for key in case.corners})


def _due(case: Case, key: str) -> Region:
    """What a corner seat may take of the blank: its opening, drawn out to the edges that it lies by."""
    one, cutting = case.corners[key], case.tray.cutting
    # the machine's cutter may go into corners for relief, and widen what is too narrow for it
    beyond = cutting.pocket_cutter.diameter if cutting.machine == "router" or cutting.template else BEYOND
    return opened_to_edges(grown(one.wall, beyond), case.blank, case.tray.margin + beyond)


def judge_wood(case: Case, wood: Wood, rooms: Rooms) -> Iterator[Finding]:
    yield from _outside(case)
    yield from _unasked(case, wood)
    yield from _thin(case, wood)
    yield from _webs(case, wood, rooms)


def _outside(case: Case) -> Iterator[Finding]:
    blank = box(0, 0, case.blank.width, case.blank.depth)
    for edge in case.matched.edges:
        over = minus(edge.region, blank)
        if is_empty(over):
            continue
        away = farthest(over, blank)
        if away.distance > OUTSIDE_WITHIN:
            text = f"the outer contour leaves the blank by {mm(away.distance)} at {spot(away.at)}"
            yield case.found("outside-blank", text, "draw it within the blank", edge, away.at, away.distance, 0.0)


def _unasked(case: Case, wood: Wood) -> Iterator[Finding]:
    """Wood that is gone where no seat is."""
    blank, web = box(0, 0, case.blank.width, case.blank.depth), case.tray.web
    whole = minus(blank, union(_due(case, key) for key in case.corners))
    # a tongue may be trimmed down to its root, which lies up to half the web further in than the opening goes
    slivers = union(grown(piece, web / 2) for piece, _ in _tongues(whole, opened(whole, web / 2), web))
    gone = opened(minus(minus(wood.taken, minus(blank, whole)), slivers), THICK / 2)
    for piece in pieces(gone):
        if area(piece) > LARGE:
            at = farthest(piece, wood.left).at
            text = f"{area(piece):.0f} mm2 of wood are cut out of the blank at {spot(at)}, where no item asks for it"
            edge = case.matched.edges[0]
            yield case.found("cut-extra", text, "build the job again, or add its item to the job", edge, at, area(piece), 0.0)


def _thin(case: Case, wood: Wood) -> Iterator[Finding]:
    """Tongues of wood thinner than the web, between seats that run out to the edge; necks, without which it would fall apart."""
    web, edge = case.tray.web, case.matched.edges[0]
    sound = opened(wood.left, web / 2 - WITHIN)
    for piece, out in _tongues(wood.left, sound, web):
        at = _tip(piece, sound)
        joins = sum(1 for part in pieces(sound) if gap_between(part, piece).distance < WITHIN)
        if joins > 1:
            text = f"a neck of wood at {spot(at)} is thinner than the web of {mm(web)}, and holds the insert together"
            yield case.found("web-thin", text, "move the seats beside it apart, or ask for a thinner web", edge, at, None, web)
        else:
            text = (
                f"a tongue of wood at {spot(at)}, {mm(out)} long beyond what is as thick as the web of {mm(web)}, "
                "will break off"
            )
            yield case.found("sliver", text, "saw it off with the seats beside it", edge, at, out, web)


def _tongues(wood: Region, sound: Region, web: float) -> list[tuple[Region, float]]:
    """Pieces of wood that reach further out than rounding a square corner by half the web leaves off; and how far."""
    loose = [piece for piece in pieces(minus(wood, sound)) if area(piece) > LARGE]
    outs = [(piece, web if is_empty(sound) else farthest(piece, sound).distance) for piece in loose]
    return [(piece, out) for piece, out in outs if out > TIP * web + SPARE]


def _tip(piece: Region, sound: Region) -> Point:
    if is_empty(sound):
        return farthest(piece, box(-1.0, -1.0, -0.5, -0.5)).at
    return farthest(piece, sound).at


def _webs(case: Case, wood: Wood, rooms: Rooms) -> Iterator[Finding]:
    """Between corner seats and all other cuts."""
    web, blank = case.tray.web, box(0, 0, case.blank.width, case.blank.depth)
    for path in case.sound_cuts().values():
        owner = case.matched.owner[path.number]
        if owner is None or not overlaps(path.region, blank):
            continue
        near = [(gap_between(path.region, region), key) for key, region in wood.seats.items() if not is_empty(region)]
        if not near:
            continue
        gap, key = min(near, key=lambda each: each[0].distance)
        if gap.distance < web - WITHIN and not rooms.crowded(owner[0], key):
            at = midway(gap)
            text = (
                f"{mm(gap.distance)} of wood between {case.whose(path)} and the corner seat of "
                f"{named(case.corners[key].item)} at {spot(at)}; at least {mm(web)} is asked"
            )
            remedy = "move one of them, or ask for a thinner web"
            yield case.found("web-thin", text, remedy, path, at, gap.distance, web, others=(key,))
