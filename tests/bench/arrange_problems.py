"""Invented trays to be filled, as dense as asked.

Density is the area of the items grown by half a web over the area of the usable
tray, less keep-outs, grown likewise.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from insertgen.geometry.offset import grown
from insertgen.geometry.region import area, bounds, from_outline
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Item, Turn
from insertgen.model.job import Blank, Cutter, Cutting, KeepOut, Stock, Tray
from insertgen.model.seat import Seat
from insertgen.model.shape import Part, Shape, Store

WIDTH, DEPTH, WEB, MARGIN = 450.0, 350.0, 6.0, 10.0


def tray(width: float = WIDTH, depth: float = DEPTH, *, keep_out: tuple[KeepOut, ...] = ()) -> Tray:
    """An invented tray."""
    return Tray(
        name="bench", slug="bench", inside=(width + 1, depth + 1), blank=Blank(width, depth),
        stack=(Stock("mdf", 18.0),), glued_first=False, edge_sawn=True,
        cutting=Cutting("router", Cutter(6.35), ()), web=WEB, margin=MARGIN, floor=3.0, play=0.5,
        finger_room=20.0, clearance=1.0, slack=0.35, least_gap=0.1, keep_out=keep_out,
    )  # fmt: skip


def usable(tray: Tray) -> float:
    """Area that openings grown by half a web may take; keep-outs take theirs grown likewise."""
    web, margin = tray.web, tray.margin
    whole = (tray.blank.width - 2 * margin + web) * (tray.blank.depth - 2 * margin + web)
    return whole - sum((rect.size[0] + web) * (rect.size[1] + web) for rect in tray.keep_out)


def seat(number: int, outline: Outline, turn: Turn = Turn.QUARTER, pinned: Pose | None = None) -> Seat:
    """A pocket that is exactly its item's outline."""
    tag = f"{number:03d}"
    item = Item(
        id=f"bench/{tag}", tag=tag, name=f"thing {tag}", label=tag, size="",
        shape=Shape(f"thing {tag}", (Part(outline),)), store=Store.POCKET, outline=outline, room=outline,
        room_gap=0.0, height=None, top=None, depth=8.0, through=False, clearance=0.0, expected_error=0.0,
        slack=0.35, least_gap=0.1, turn=turn, pinned=pinned,
    )  # fmt: skip
    return Seat(item, (), (outline,), 0.0, None, None)


def tool_like(rng: np.random.Generator) -> list[tuple[float, float]]:
    """A hand tool's outline, unit sized: a body with a handle, a wrench, an oval, or a stepped bar."""
    kind, a, b = int(rng.integers(4)), float(rng.uniform(0.25, 0.6)), float(rng.uniform(0.35, 0.7))
    if kind == 0:  # body and a handle to one side
        return [(0, 0), (1, 0), (1, a * 0.55), (b + 0.08, a * 0.6), (b, a), (0.03, a * 0.9)]
    if kind == 1:  # two jaws and a shaft
        w = a * 0.7
        return [
            (0, 0), (0.18, 0.1 * w), (0.25, 0.33 * w), (0.78, 0.36 * w), (0.84, 0), (1, 0), (1, w), (0.84, w),
            (0.78, 0.64 * w), (0.25, 0.67 * w), (0.18, 0.9 * w), (0, w),
        ]  # fmt: skip
    if kind == 2:  # an oval body with a hose end
        t = np.linspace(0.15 * math.pi, 1.85 * math.pi, 40)
        oval = [(0.45 - 0.45 * math.cos(s + math.pi), a * math.sin(s) * 0.8) for s in t]
        return [*oval, (1.0, -a * 0.25), (1.0, a * 0.25)]
    return [
        (0, 0),
        (1, 0),
        (1, a * 0.4),
        (b, a * 0.4),
        (b, a * 0.8),
        (b * 0.4, a * 0.8),
        (b * 0.35, a * 0.5),
        (0, a * 0.5),
    ]


def problem(level: float, seed: int, count: int = 12, where: Tray | None = None) -> tuple[Seat, ...]:
    """Things of many sizes, scaled together until they are as dense as asked."""
    rng = np.random.default_rng([seed, int(level), count])
    shapes = [np.array(tool_like(rng)) * float(rng.uniform(0.55, 1.5)) for _ in range(count)]
    room = usable(where or tray())

    def density(scale: float) -> float:
        return sum(area(grown(from_outline(_outline(shape, scale)), WEB / 2)) for shape in shapes) / room

    low, high = 1.0, 400.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if density(middle) < level / 100 else (low, middle)
    return tuple(seat(number + 1, _outline(shape, low)) for number, shape in enumerate(shapes))


def pinned_problem(level: float, seed: int) -> tuple[Tray, tuple[Seat, ...]]:
    """Twelve things; the second and fifth largest pinned into opposite corners, two keep-outs of 30 x 30 in the others."""
    where = tray(keep_out=(_keep_out(WIDTH - 60, 30), _keep_out(30, DEPTH - 60)))
    seats = problem(level, seed, where=where)
    by_area = sorted(range(len(seats)), key=lambda k: -area(from_outline(seats[k].item.outline)))
    made = list(seats)
    for k, back in ((by_area[1], False), (by_area[4], True)):
        x0, y0, x1, y1 = bounds(from_outline(seats[k].item.outline))
        at = (WIDTH - MARGIN - x1, DEPTH - MARGIN - y1) if back else (MARGIN - x0, MARGIN - y0)
        made[k] = replace(seats[k], item=replace(seats[k].item, pinned=Pose(*at, 0.0)))
    return where, tuple(made)


def _keep_out(x: float, y: float) -> KeepOut:
    return KeepOut((x, y), (30.0, 30.0), "a screw")


def _outline(points: np.ndarray, scale: float) -> Outline:
    region = from_outline(Outline(tuple(map(tuple, (points * scale).tolist()))))
    x0, y0, x1, y1 = bounds(region)
    moved = points * scale - ((x0 + x1) / 2, (y0 + y1) / 2)
    return Outline(tuple((float(x), float(y)) for x, y in moved))
