"""What is kept beside what: a leader and its riders laid out as one body, and taken apart again at the end."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from insertgen.arrange.body import Body, Member, Window, field_of, window_of
from insertgen.arrange.feasible import Bounds, Footprint, Spacing, Stood, pair_conflicts, stand
from insertgen.arrange.settle import Placed
from insertgen.geometry.distance import gap_between
from insertgen.geometry.pose import move_point, move_region
from insertgen.geometry.region import Region, area, bounds, minus, to_outlines, union
from insertgen.model.figures import Pose
from insertgen.model.job import Tray

__all__ = ["compound", "expanded", "joined", "leaders", "near", "parted"]

AXES = ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))
COMPASS = tuple((math.cos(math.radians(22.5 * k)), math.sin(math.radians(22.5 * k))) for k in range(16))
RINGS = (0.0, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0)  # how much further off than it must be
SAME = 1e-6  # mm2 by which two turns of one figure may differ and still look alike


def leaders(bodies: list[Body], held: frozenset[str]) -> dict[str, str]:
    """For everything kept beside something else, the id of what it is kept by in the end.

    A chain is followed to its first thing, or to the first that is ``held`` (pinned,
    or a corner seat). Things that name each other in a ring keep by the one with the least id.
    """
    wish = {body.id: body.seat.item.beside for body in bodies}
    found: dict[str, str] = {}
    for name in wish:
        chain, at = [name], wish[name]
        while at is not None and at in wish and at not in chain:
            chain.append(at)
            at = None if at in held else wish[at]
        last = min(chain[chain.index(at) :]) if at in chain and at is not None else chain[-1]
        if name != last and name not in held:
            found[name] = last
    return found


def compound(
    leader: Body, riders: list[Body], tray: Tray, spacing: Spacing, key: int
) -> tuple[Body, list[Body]]:
    """The leader and as many riders as can lie by it as one body; and those that cannot."""
    whole, members, apart = leader, [_member(leader, Pose(0.0, 0.0, 0.0, leader.mirror))], []
    for rider in riders:
        for pose in _places(rider, members, spacing):
            longer = joined([*members, _member(rider, pose)], tray, key)
            if longer is not None:
                whole, members = longer, [*members, _member(rider, pose)]
                break
        else:
            apart.append(rider)
    return whole, apart


def expanded(placed: Placed) -> Placed:
    """Everything by itself again, at its own pose; equal things of a grid in their order, from the front left on."""
    result: Placed = []
    for body, pose in placed:
        poses = []
        for member in body.members:
            x, y = move_point((member.pose.x, member.pose.y), pose)
            angle = (pose.angle_deg if member.turns else 0.0) + member.pose.angle_deg
            poses.append(Pose(round(x, 6) + 0.0, round(y, 6) + 0.0, angle % 360, member.body.mirror))
        if body.columns:
            poses.sort(key=lambda one: (round(one.y, 2), one.x))
        result += zip((member.body for member in body.members), poses, strict=True)
        if not body.members:
            result.append((body, pose))
    return result


def parted(bodies: list[Body]) -> list[Body]:
    """Those laid out as one, each by itself."""
    return [one for body in bodies for one in ([member.body for member in body.members] or [body])]


def near(rider: Body, leader: Stood, may: Callable[[Stood], bool], spacing: Spacing) -> Pose | None:
    """A place that a rider ``may`` take, as near as can be to a leader that stands already; right of it first."""
    x0, y0, x1, y1 = bounds(leader.room)
    start = (x0 + x1) / 2, (y0 + y1) / 2
    ways = [(turn, way) for turn in rider.straight for way in (*AXES, *COMPASS)]
    tight = [(*one, _tight([leader], rider, one[0], start, one[1], spacing)) for one in ways]
    for more in RINGS:
        best: tuple[float, Pose] | None = None
        for turn, way, steps in tight:
            if steps is None:
                continue
            pose = _on_way(rider, turn, start, way, steps + round(100 * more))
            if not _inside(rider.windows[turn], pose):
                continue
            one = stand(rider.footprint, pose)
            gap = round(gap_between(one.room, leader.room).distance, 2)
            if (best is None or gap < best[0]) and may(one):
                best = gap, pose
        if best is not None:
            return best[1]
    return None


# ---- one body of several -----------------------------------------------------------------------


def _member(body: Body, pose: Pose) -> Member:
    return Member(body, pose, not _same_turned(body.footprint))


def joined(members: list[Member], tray: Tray, key: int) -> Body | None:
    """Several as one body; None: it fits the tray at no turn that all of them allow."""
    footprint = _footprint(members)
    windows = {}
    for turn in members[0].body.allowed:
        if all(_may_turn(member, turn) for member in members):
            window = window_of(
                stand(footprint, Pose(0.0, 0.0, float(turn))), tray.blank, tray.margin, tray.play
            )
            if window is not None:
                windows[turn] = window
    if not windows:
        return None
    figure = footprint.room if footprint.opening is None or footprint.on_face else footprint.opening
    x0, y0, x1, y1 = bounds(figure)
    return Body(
        seat=members[0].body.seat,
        key=key,
        footprint=footprint,
        opening=None if footprint.opening is None else field_of(to_outlines(footprint.opening)),
        room=field_of(to_outlines(footprint.room)),
        area=area(figure),
        span=max(x1 - x0, y1 - y0),
        allowed=tuple(windows),
        turns=tuple(windows),
        windows=windows,
        members=tuple(members),
    )


def _footprint(members: list[Member]) -> Footprint:
    """All openings and all rooms; the strictest of each one's rules holds for all."""
    stood = [stand(member.body.footprint, member.pose) for member in members]
    openings: list[Region] = [one.opening for one in stood if one.opening is not None]
    return Footprint(
        id=members[0].body.id,
        opening=union(openings) if openings else None,
        room=union(one.room for one in stood),
        room_gap=max(one.room_gap for one in stood),
        room_inside=all(one.room_inside for one in stood),
        on_face=any(one.on_face for one in stood),
    )


def _may_turn(member: Member, turn: int) -> bool:
    if not member.turns:
        return turn % 90 == 0
    return (turn + int(member.pose.angle_deg)) % 360 in member.body.allowed


def _same_turned(footprint: Footprint) -> bool:
    """Whether a quarter turn changes nothing, as of a disc."""
    quarter = Pose(0.0, 0.0, 90.0)
    for region in (footprint.opening, footprint.room):
        if region is not None:
            turned = move_region(region, quarter)
            if area(minus(region, turned)) + area(minus(turned, region)) > SAME:
                return False
    return True


# ---- where a rider may lie ---------------------------------------------------------------------


def _places(rider: Body, members: list[Member], spacing: Spacing) -> Iterator[Pose]:
    """Places by the leader, clear of all members: nearest first, then what makes the whole smallest."""
    stood = [stand(member.body.footprint, member.pose) for member in members]
    rack = rider.rack and all(member.body.rack for member in members)
    scored: list[tuple[float, float, int, Pose]] = []
    for turn in (0,) if _same_turned(rider.footprint) else rider.straight:
        for way in AXES[:2] if rack else AXES:
            for start in [(0.0, 0.0)] if rack else _starts(rider, turn, way, stood, spacing):
                steps = _tight(stood if rack else stood[:1], rider, turn, start, way, spacing)
                if steps is None:
                    continue
                pose = _on_way(rider, turn, start, way, steps)
                one = stand(rider.footprint, pose)
                if any(pair_conflicts(one, other, spacing) for other in stood[1:]):
                    continue
                gap = gap_between(one.room, stood[0].room).distance
                scored.append((round(gap, 1), round(_box_area([*stood, one]), 0), len(scored), pose))
    for *_, pose in sorted(scored, key=lambda one: one[:3]):
        yield pose


def _starts(
    rider: Body, turn: int, way: tuple[float, float], stood: list[Stood], spacing: Spacing
) -> list[tuple[float, float]]:
    """From where to move away from the leader: level with its middle, its ends, and just past every other rider."""
    axis = 1 if way[0] else 0
    mine = _around(stand(rider.footprint, Pose(0.0, 0.0, float(turn), rider.mirror)))
    boxes = [_around(one) for one in stood]
    low, high = boxes[0][axis], boxes[0][axis + 2]
    across = [(low + high) / 2 - (mine[axis] + mine[axis + 2]) / 2, low - mine[axis], high - mine[axis + 2]]
    for one, around in zip(stood[1:], boxes[1:], strict=True):
        need = max(spacing.web, one.room_gap, rider.gap)
        across += [around[axis + 2] + need - mine[axis], around[axis] - need - mine[axis + 2]]
    rounded = [
        math.ceil(value * 100 - 1e-6) / 100 if value >= 0 else math.floor(value * 100 + 1e-6) / 100
        for value in across
    ]
    return [(value, 0.0) if axis == 0 else (0.0, value) for value in rounded]


def _tight(
    stood: list[Stood],
    rider: Body,
    turn: int,
    start: tuple[float, float],
    way: tuple[float, float],
    spacing: Spacing,
) -> int | None:
    """How many hundredths on a way from ``start`` a rider must go to be clear of what stands."""

    def clear(steps: int) -> bool:
        one = stand(rider.footprint, _on_way(rider, turn, start, way, steps))
        return not any(pair_conflicts(one, other, spacing) for other in stood)

    boxes = [_around(one) for one in stood]
    reach = max(math.hypot(box[2] - box[0], box[3] - box[1]) for box in boxes)
    reach += max(math.hypot(box[0] - start[0], box[1] - start[1]) for box in boxes)
    gap = max([spacing.web, rider.gap, *(one.room_gap for one in stood)])
    low, high = 0, math.ceil(100 * (reach + 2 * rider.span + gap))
    if not clear(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if clear(middle) else (middle, high)
    return high


def _on_way(rider: Body, turn: int, start: tuple[float, float], way: tuple[float, float], steps: int) -> Pose:
    """The rider's pose so many hundredths on, to hundredths itself."""
    x, y = (round(begin + part * steps / 100, 2) + 0.0 for begin, part in zip(start, way, strict=True))
    return Pose(x, y, float(turn), rider.mirror)


def _inside(window: Window, pose: Pose) -> bool:
    (x0, x1), (y0, y1) = window
    return x0 - 1e-6 <= pose.x <= x1 + 1e-6 and y0 - 1e-6 <= pose.y <= y1 + 1e-6


def _box_area(stood: list[Stood]) -> float:
    boxes = [_around(one) for one in stood]
    width = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    return width * (max(box[3] for box in boxes) - min(box[1] for box in boxes))


def _around(one: Stood) -> Bounds:
    """Bounds of the opening and the room together."""
    (x0, y0, x1, y1), other = one.room_bounds, one.opening_bounds or one.room_bounds
    return min(x0, other[0]), min(y0, other[1]), max(x1, other[2]), max(y1, other[3])
