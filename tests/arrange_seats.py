"""Seats and trays for the tests of full trays and full racks."""

from __future__ import annotations

import math

from insertgen.geometry.region import disc, to_outlines
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Item, Turn
from insertgen.model.job import Blank, Cutter, Cutting, KeepOut, Stock, Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.seat import Seat
from insertgen.model.shape import Part, Shank, Shape, Solid, Store


def tray_of(
    width: float,
    depth: float,
    *,
    web: float = 6.0,
    margin: float = 8.0,
    keep_out: tuple[KeepOut, ...] = (),
    headroom: float | None = None,
) -> Tray:
    return Tray(
        name="test tray",
        slug="t",
        inside=(width + 1, depth + 1),
        blank=Blank(width, depth),
        stack=(Stock("mdf", 18.0),),
        glued_first=True,
        edge_sawn=True,
        cutting=Cutting("router", Cutter(6.35), ()),
        web=web,
        margin=margin,
        floor=3.0,
        play=0.5,
        finger_room=20.0,
        clearance=1.0,
        slack=0.35,
        least_gap=0.1,
        headroom=headroom,
        keep_out=keep_out,
    )


def box_outline(width: float, depth: float) -> Outline:
    x, y = width / 2, depth / 2
    return Outline(((-x, -y), (x, -y), (x, y), (-x, y)))


def round_outline(diameter: float) -> Outline:
    return to_outlines(disc((0.0, 0.0), diameter))[0]


#: An L, 60 x 40, its corner at the front left; no turn or mirror image looks like it.
ELL = Outline(((-30.0, -20.0), (30.0, -20.0), (30.0, -5.0), (-10.0, -5.0), (-10.0, 20.0), (-30.0, 20.0)))


def seat_of(
    number: int,
    opening: Outline | None,
    room: Outline | None = None,
    *,
    gap: float = 0.0,
    turn: Turn = Turn.QUARTER,
    store: Store = Store.POCKET,
    top: float | None = None,
    pinned: Pose | None = None,
    mirror: bool = False,
    solid: Solid | None = None,
) -> Seat:
    room = room or opening
    assert room is not None
    tag = f"{number:02d}"
    item = Item(
        id=f"t/{tag}",
        tag=tag,
        name=f"thing {tag}",
        label=tag,
        size="",
        shape=Shape(f"thing {tag}", solid or (Part(room),)),
        store=store,
        outline=opening or room,
        room=room,
        room_gap=gap,
        height=None,
        top=top,
        depth=8.0,
        through=False,
        clearance=0.0,
        expected_error=0.0,
        slack=0.35,
        least_gap=0.1,
        turn=turn,
        pinned=pinned,
        mirror=mirror,
    )
    return Seat(item, (), (opening,) if opening else (), 0.0, None, None)


def bit_of(
    number: int, shank: float, head: float, top: float | None, *, gap: float = 12.0, pinned: Pose | None = None
) -> Seat:
    solid = Shank(shank, head, top, 30.0)
    return seat_of(
        number, round_outline(shank + 0.4), round_outline(head), gap=gap, turn=Turn.FIXED, store=Store.BORE, top=top,
        solid=solid, pinned=pinned,
    )  # fmt: skip


def layout_of(tray: Tray, *poses: tuple[Seat, Pose]) -> Layout:
    placements = tuple(Placement(seat.item.id, seat.item.name, "", pose, False) for seat, pose in poses)
    return Layout(tray.slug, 0, 0, False, tray.blank, placements, ())


def lopsided(length: float, width: float, bite: float) -> Outline:
    """A hand tool's outline, more or less: a body with a handle off one side."""
    x, y = length / 2, width / 2
    inner = -x + bite * length
    return Outline(((-x, -y), (x, -y), (x, -y * 0.2), (inner, 0.0), (inner * 0.9, y), (-x, y * 0.8)))


def distance(a: Pose, b: Pose) -> float:
    return math.hypot(a.x - b.x, a.y - b.y)
