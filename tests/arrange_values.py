"""Seats and trays for the layout's tests, and a judge of layouts that shares nothing with the code it judges.

The judge poses outlines by shapely's affinity functions and measures with shapely alone;
the rules it holds are those of the trade words: web, margin, keep-out, finger room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from shapely import affinity
from shapely.geometry import Polygon, box

from insertgen.geometry.region import disc, to_outlines
from insertgen.model import KeepOut, Layout, Outline, Pose, Seat, Tray, Turn
from tests.build_values import pocket_item, shank_item, tray_of

NEAR = 2e-6  # mm; the rule itself allows 1e-6


def rectangle(length: float, width: float) -> Outline:
    x, y = length / 2, width / 2
    return Outline(((-x, -y), (x, -y), (x, y), (-x, y)))


def round_outline(diameter: float) -> Outline:
    """Corners on the circle, four of them on the axes."""
    return to_outlines(disc((0, 0), diameter))[0]


def pocket(number: int, outline: Outline, turn: Turn = Turn.QUARTER, **settings: object) -> Seat:
    """A seat whose opening is just its item's outline."""
    values = {"id": f"test-tray/{number:02d}", "tag": f"{number:02d}", "turn": turn} | settings
    return Seat(pocket_item(outline, **values), (), (outline,), 0.0, None, None)


def stander(number: int, outline: Outline, **settings: object) -> Seat:
    """An item that only stands."""
    return replace(pocket(number, outline, **settings), opening=())


def bit(number: int, *, bore: float = 6.75, head: float = 30.0, top: float = 40.0, **settings: object) -> Seat:
    """A bit in its bore, 15 mm asked round its head."""
    values = {"id": f"test-tray/{number:02d}", "tag": f"{number:02d}", "top": top} | settings
    return Seat(shank_item(bore, head=head, **values), (), (round_outline(bore),), 0.0, None, None)


def tray(width: float = 350.0, depth: float = 250.0, *keep_out: KeepOut, **settings: object) -> Tray:
    """Web 6, margin 8, 18 mm thick."""
    return replace(tray_of(width=width, depth=depth), keep_out=keep_out, **settings)  # type: ignore[arg-type]


def keep_out(x: float, y: float, width: float, depth: float) -> KeepOut:
    return KeepOut((x, y), (width, depth), "a screw")


def posed(outline: Outline, pose: Pose) -> Polygon:
    figure = Polygon(outline.outer, outline.holes)
    if pose.mirror:
        figure = affinity.scale(figure, -1, 1, origin=(0, 0))
    return affinity.translate(affinity.rotate(figure, pose.angle_deg, origin=(0, 0)), pose.x, pose.y)


def faults(tray: Tray, seats: Sequence[Seat], layout: Layout) -> list[str]:
    """Every rule a layout breaks, in words."""
    by_id = {seat.item.id: seat for seat in seats}
    poses = {one.id: one.pose for one in layout.placements}
    cuts = {i: posed(s.opening[0], poses[i]) for i, s in by_id.items() if i in poses and s.opening}
    rooms = {i: posed(by_id[i].item.room, pose) for i, pose in poses.items()}
    width, depth, margin = tray.blank.width, tray.blank.depth, tray.margin
    usable = box(margin, margin, width - margin, depth - margin).buffer(NEAR, join_style="mitre")
    blank = box(0, 0, width, depth).buffer(NEAR, join_style="mitre")
    found = [f"{i} nearer the edge than the margin" for i, cut in cuts.items() if not usable.covers(cut)]
    found += [f"{i} stands out of the blank" for i, room in rooms.items() if not blank.covers(room)]
    for rect in tray.keep_out:
        shut = box(*rect.at, rect.at[0] + rect.size[0], rect.at[1] + rect.size[1])
        found += [f"{i} too near a keep-out" for i, cut in cuts.items() if cut.distance(shut) < tray.web - NEAR]
        found += [f"{i} over a keep-out" for i, room in rooms.items() if _shared(room, shut)]
    for a, b in combinations(sorted(poses), 2):
        gap = max(by_id[a].item.room_gap, by_id[b].item.room_gap)
        if a in cuts and b in cuts and cuts[a].distance(cuts[b]) < tray.web - NEAR:
            found.append(f"{a} and {b}: web {cuts[a].distance(cuts[b])}")
        if rooms[a].distance(rooms[b]) < gap - NEAR or _shared(rooms[a], rooms[b]):
            found.append(f"{a} and {b}: rooms {rooms[a].distance(rooms[b])} apart, {gap} asked")
        if (a in cuts and _shared(cuts[a], rooms[b])) or (b in cuts and _shared(cuts[b], rooms[a])):
            found.append(f"{a} and {b}: one over the other's opening")
    return found


def _shared(a: Polygon, b: Polygon) -> bool:
    x0, y0, x1, y1 = a.intersection(b).bounds or (0.0, 0.0, 0.0, 0.0)
    return min(x1 - x0, y1 - y0) > NEAR
