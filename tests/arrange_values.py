"""Seats and trays for the layout's tests, and a judge of layouts that shares nothing with the code it judges.

The judge poses outlines by shapely's affinity functions and measures with shapely alone;
the rules it holds are those of the trade words: web, margin, keep-out, finger room;
and for corner seats: the tray's wall, wood in one piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from shapely import affinity, union_all
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from insertgen.geometry.region import disc, to_outlines
from insertgen.model.figures import Outline, Point, Pose
from insertgen.model.item import Dowel, PostSeat, Turn
from insertgen.model.job import KeepOut, Tray
from insertgen.model.layout import Layout
from insertgen.model.seat import Seat
from insertgen.model.shape import PostKind, Store
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


def corner(
    number: int, outline: Outline, turn: Turn = Turn.QUARTER, *, clearance: float = 1.0, **settings: object
) -> Seat:
    """A seat sawn out of the blank's corner: the outline grown by its clearance."""
    seat = pocket(number, outline, turn, clearance=clearance, through=True, **settings)
    grown = Polygon(outline.outer).buffer(clearance, quad_segs=64)
    ring = tuple((float(x), float(y)) for x, y in grown.exterior.coords[:-1])
    item = replace(seat.item, store=Store.CORNER)
    return replace(seat, item=item, opening=(Outline(ring),), clearance=clearance)


def on_posts(number: int, outline: Outline, *at: Point, bore: float = 6.4, **settings: object) -> Seat:
    """An item that lies on the face between posts: their bores are its opening, all of it is its room."""
    seat = pocket(number, outline, **settings)
    post = PostSeat((0.0, 0.0), PostKind.DOWEL, bore, 12.0, False, Dowel("1/4 in", 6.35, 32.0))
    bores = [Polygon(round_outline(bore).outer) for _ in at]
    moved = [affinity.translate(one, x, y) for one, (x, y) in zip(bores, at, strict=True)]
    # a hull about item and posts: one piece, and never less than both
    hull = union_all([Polygon(outline.outer), *moved]).convex_hull
    room = Outline(tuple((float(x), float(y)) for x, y in hull.exterior.coords[:-1]))
    item = replace(
        seat.item, store=Store.POSTS, room=room, posts=tuple(replace(post, at=one) for one in at), depth=0.0
    )
    openings = tuple(Outline(tuple(one.exterior.coords[:-1])) for one in moved)
    return replace(seat, item=item, opening=openings)


def tray(width: float = 350.0, depth: float = 250.0, *keep_out: KeepOut, **settings: object) -> Tray:
    """Web 6, margin 8, 18 mm thick."""
    return replace(tray_of(width=width, depth=depth), keep_out=keep_out, **settings)  # type: ignore[arg-type]  # any field of a tray, of its own type


def keep_out(x: float, y: float, width: float, depth: float) -> KeepOut:
    return KeepOut((x, y), (width, depth), "a screw")


def posed(outline: Outline, pose: Pose) -> Polygon:
    figure = Polygon(outline.outer, outline.holes)
    if pose.mirror:
        figure = affinity.scale(figure, -1, 1, origin=(0, 0))
    return affinity.translate(affinity.rotate(figure, pose.angle_deg, origin=(0, 0)), pose.x, pose.y)


def whole(outlines: Sequence[Outline], pose: Pose) -> BaseGeometry:
    return union_all([posed(outline, pose) for outline in outlines])


def sawn(seat: Seat, pose: Pose, tray: Tray) -> BaseGeometry:
    """What a corner seat takes out of the blank: its opening drawn out to each edge nearer than the margin.

    What a convex figure passes over on a straight way is the hull of its first and last place.
    """
    opening = whole(seat.opening, pose)
    assert opening.convex_hull.difference(opening).area < 1e-6, "corner seats of these tests are convex"
    width, depth = tray.blank.width, tray.blank.depth
    x0, y0, x1, y1 = opening.bounds
    far = 2 * (width + depth)
    ways = {(-far, 0): x0, (0, -far): y0, (far, 0): width - x1, (0, far): depth - y1}
    for (dx, dy), gap in ways.items():
        if gap < tray.margin - 1e-9:
            opening = union_all([opening, affinity.translate(opening, dx, dy)]).convex_hull
    return opening.intersection(box(0, 0, width, depth))


def faults(tray: Tray, seats: Sequence[Seat], layout: Layout) -> list[str]:
    """Every rule a layout breaks, in words."""
    by_id = {seat.item.id: seat for seat in seats}
    poses = {one.id: one.pose for one in layout.placements}
    corners = {i for i in poses if by_id[i].item.store is Store.CORNER}
    cuts = {
        i: sawn(s, poses[i], tray) if i in corners else whole(s.opening, poses[i])
        for i, s in by_id.items()
        if i in poses and s.opening
    }
    rooms = {i: posed(by_id[i].item.room, pose) for i, pose in poses.items()}
    width, depth, margin = tray.blank.width, tray.blank.depth, tray.margin
    usable = box(margin, margin, width - margin, depth - margin).buffer(NEAR, join_style="mitre")
    blank = box(0, 0, width, depth).buffer(NEAR, join_style="mitre")
    inside = blank.buffer(tray.play, join_style="mitre")
    found = [
        f"{i} nearer the edge than the margin"
        for i, cut in cuts.items()
        if i not in corners and not usable.covers(cut)
    ]
    found += [
        f"{i} stands out of the blank or tray"
        for i, room in rooms.items()
        if not (inside if i in corners else blank).covers(room)
    ]
    for i in corners:
        wall = inside.buffer(-by_id[i].clearance, join_style="mitre")
        if not wall.covers(posed(by_id[i].item.outline, poses[i])):
            found.append(f"{i} nearer the tray's wall than its clearance")
    if corners and _wood_pieces(blank.buffer(-NEAR), [cuts[i] for i in sorted(corners)], tray.web) != 1:
        found.append("the wood falls apart")
    for rect in tray.keep_out:
        shut = box(*rect.at, rect.at[0] + rect.size[0], rect.at[1] + rect.size[1])
        found += [f"{i} too near a keep-out" for i, cut in cuts.items() if cut.distance(shut) < tray.web - NEAR]
        found += [f"{i} over a keep-out" for i, room in rooms.items() if _shared(room, shut)]
    for a, b in combinations(sorted(poses), 2):
        one, other = by_id[a].item, by_id[b].item
        gap = max(one.room_gap, other.room_gap)
        both = a in corners and b in corners
        if both:
            gap = max(gap, by_id[a].clearance + by_id[b].clearance)
        elif a in cuts and b in cuts and cuts[a].distance(cuts[b]) < tray.web - NEAR:
            found.append(f"{a} and {b}: web {cuts[a].distance(cuts[b])}")
        if rooms[a].distance(rooms[b]) < gap - NEAR or _shared(rooms[a], rooms[b]):
            found.append(f"{a} and {b}: rooms {rooms[a].distance(rooms[b])} apart, {gap} asked")
        if (a in cuts and _shared(cuts[a], rooms[b])) or (b in cuts and _shared(cuts[b], rooms[a])):
            found.append(f"{a} and {b}: one over the other's opening")
    return found


def _wood_pieces(blank: Polygon, cuts: Sequence[BaseGeometry], web: float) -> int:
    """How many pieces of wood as wide as the web are left."""
    sound = blank.difference(union_all(cuts)).buffer(-web / 2).buffer(web / 2)
    return len([part for part in getattr(sound, "geoms", [sound]) if part.area > 1])


def _shared(a: BaseGeometry, b: BaseGeometry) -> bool:
    shared = a.intersection(b)
    if shared.is_empty:
        return False
    x0, y0, x1, y1 = shared.bounds
    return min(x1 - x0, y1 - y0) > NEAR
