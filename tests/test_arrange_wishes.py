"""Groups, fronts and facings: judged here by shapely alone, and met by the layouts made."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import pytest
from shapely.geometry import LineString, box
from shapely.ops import nearest_points

from insertgen.arrange.arrange import arrange
from insertgen.arrange.wishes import unmet_wishes
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Facing, Item
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Placement, Unmet, Wish
from insertgen.model.seat import Seat
from tests.arrange_values import bit, faults, pocket, posed, rectangle, round_outline, tray
from tests.bench.arrange_bench import problem
from tests.bench.arrange_bench import tray as bench_tray

AMPLE = 600.0
HANDLE = Outline(((-60, -10), (60, -10), (60, 10), (-20, 10), (-20, 25), (-60, 25)))  # its +x end is the thin one


def _parted_groups(seats: tuple[Seat, ...], layout: Layout) -> set[str]:
    """Groups in which the members that others do not part fall into several clusters.

    Two members hang together if nothing else crosses the shortest way between
    them; a group is whole if all hang together, by whatever chain.
    """
    rooms = {one.id: posed(_item(seats, one.id).room, one.pose) for one in layout.placements}
    groups: dict[str, list[str]] = {}
    for name in rooms:
        if (group := _item(seats, name).group) is not None:
            groups.setdefault(group, []).append(name)
    found = set()
    for group, members in groups.items():
        cluster = {name: {name} for name in members}
        for a, b in combinations(members, 2):
            way = LineString(nearest_points(rooms[a], rooms[b]))
            if not any(rooms[other].intersection(way).length > 0.01 for other in rooms if other not in members):
                joined = cluster[a] | cluster[b]
                cluster |= dict.fromkeys(joined, joined)
        if len(cluster[members[0]]) < len(members):
            found.add(group)
    return found


def _item(seats: tuple[Seat, ...], name: str) -> Item:
    return next(seat.item for seat in seats if seat.item.id == name)


def _wishing(seats: tuple[Seat, ...], **wishes: dict[int, object]) -> tuple[Seat, ...]:
    """Item settings by the seat's place."""
    return tuple(
        replace(seat, item=replace(seat.item, **{key: values[n] for key, values in wishes.items() if n in values}))
        for n, seat in enumerate(seats)
    )


@pytest.mark.parametrize("seed", [0, 1, 2])
def test_three_groups_of_tool_like_things_stay_together(seed: int) -> None:
    seats = _wishing(problem(45, seed), group={n: "abc"[n % 3] for n in range(9)})
    layout = arrange(bench_tray(), seats, seed=seed, seconds=AMPLE)
    assert layout.left_out == ()
    assert faults(bench_tray(), seats, layout) == []
    assert layout.unmet == ()
    assert _parted_groups(seats, layout) == set()


def test_ungrouped_the_same_things_do_not_lie_so() -> None:
    """Without the wish at least one of the three would be parted: the judge can fail."""
    parted = []
    for seed in (0, 1, 2):
        seats = problem(45, seed)
        layout = arrange(bench_tray(), seats, seed=seed, seconds=AMPLE, even=False)
        parted += _parted_groups(_wishing(seats, group={n: "abc"[n % 3] for n in range(9)}), layout)
    assert parted


def test_what_is_asked_to_the_front_has_nothing_before_it() -> None:
    seats = _wishing(problem(45, 1), front={4: True, 7: True})
    layout = arrange(bench_tray(), seats, seed=1, seconds=AMPLE)
    assert layout.unmet == ()
    rooms = {one.id: posed(_item(seats, one.id).room, one.pose) for one in layout.placements}
    for name in (seats[4].item.id, seats[7].item.id):
        x0, y0, x1, _ = rooms[name].bounds
        before = box(x0, 0, x1, y0)
        assert not any(before.covers(room) or (room.bounds[3] <= y0 and room.intersects(before)) for room in rooms.values())


def test_heavy_things_go_to_the_front_unasked() -> None:
    seats = tuple(pocket(n, rectangle(100 + n, 60)) for n in range(1, 7))
    heavy = seats[4]
    item = replace(heavy.item, shape=replace(heavy.item.shape, weight_kg=2.5))
    seats = (*seats[:4], replace(heavy, item=item), seats[5])
    layout = arrange(tray(), seats, seconds=AMPLE)
    front = min(layout.placements, key=lambda one: one.pose.y)
    assert next(one for one in layout.placements if one.id == item.id).pose.y <= front.pose.y + 25


@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize(("face", "way"), [("left", (-1, 0)), ("right", (1, 0)), ("front", (0, -1)), ("back", (0, 1))])
def test_the_right_end_points_where_it_was_asked_to(face: str, way: tuple[int, int], mirror: bool) -> None:
    """The item's thin end, at +x of its shape, is carried by the pose: p' = R M p."""
    seats = tuple(pocket(n, HANDLE, mirror=mirror, face=Facing(face)) for n in (1, 2, 3))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert layout.unmet == ()
    for one in layout.placements:
        x = -1.0 if one.pose.mirror else 1.0
        angle = math.radians(one.pose.angle_deg)
        assert (x * math.cos(angle), x * math.sin(angle)) == pytest.approx(way, abs=1e-9)


def test_facing_gives_way_to_room_and_is_said() -> None:
    """234 free from front to back, 334 across: what is 300 long cannot face the back."""
    seats = (pocket(1, rectangle(300, 40), face=Facing.BACK), pocket(2, rectangle(300, 40), face=Facing.LEFT))
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert layout.unmet == (Unmet("test-tray/01", Wish.FACE),)
    assert layout.placements[1].pose.angle_deg == 180


def test_groups_that_cannot_stay_together_are_said() -> None:
    """A pinned bar from wall to wall between two pinned members."""
    seats = (
        pocket(1, rectangle(40, 40), group="g", pinned=Pose(60, 60)),
        pocket(2, rectangle(330, 30), pinned=Pose(175, 125)),
        pocket(3, rectangle(40, 40), group="g", pinned=Pose(60, 190)),
        pocket(4, rectangle(40, 40), group="g"),
    )
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert layout.left_out == ()
    (one,) = layout.unmet
    assert (one.wish, one.others[1:]) == (Wish.GROUP, ("test-tray/02",))
    assert _parted_groups(seats, layout) == {"g"}


def _at(seats: tuple[Seat, ...], *poses: Pose) -> list[Placement]:
    return [Placement(seat.item.id, "", "", pose, False) for seat, pose in zip(seats, poses, strict=True)]


def test_who_stands_before_a_front_is_named() -> None:
    seats = (pocket(1, rectangle(40, 20), front=True), pocket(2, rectangle(40, 20)), pocket(3, rectangle(40, 20), front=True))
    beside, before = Pose(150, 20), Pose(75, 20)  # 55 to 95 across: over the first's 30 to 70
    assert unmet_wishes(seats, _at(seats, Pose(50, 60), beside, Pose(50, 20))) == ()
    assert unmet_wishes(seats, _at(seats, Pose(50, 60), before, Pose(250, 20))) == (
        Unmet("test-tray/01", Wish.FRONT, ("test-tray/02",)),
    )


def test_beside_is_a_hand_breadth_and_nothing_between() -> None:
    seats = (pocket(1, rectangle(40, 20)), pocket(2, rectangle(40, 20), beside="test-tray/01"), pocket(3, rectangle(10, 20)))
    far = Pose(300, 200)
    assert unmet_wishes(seats, _at(seats, Pose(50, 50), Pose(149, 50), far)) == ()  # 59 apart
    assert unmet_wishes(seats, _at(seats, Pose(50, 50), Pose(151, 50), far)) == (
        Unmet("test-tray/02", Wish.BESIDE, ("test-tray/01",)),
    )
    assert unmet_wishes(seats, _at(seats, Pose(50, 50), Pose(140, 50), Pose(95, 50))) == (
        Unmet("test-tray/02", Wish.BESIDE, ("test-tray/01", "test-tray/03")),
    )


def test_a_rack_puts_groups_side_by_side_and_fronts_in_front() -> None:
    seats = tuple(bit(n, top=30.0 + n, group="xy"[n % 2], front=n == 12) for n in range(1, 13))
    layout = arrange(tray(300, 220), seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert _parted_groups(seats, layout) == set()
    front = min(one.pose.y for one in layout.placements)
    assert layout.placements[11].pose.y == front  # the tallest of all would stand behind otherwise


def test_wishes_do_not_leave_anything_out() -> None:
    """As many discs as fit in one row of two, all of one group but one."""
    seats = tuple(pocket(n, round_outline(150), group="g" if n != 2 else None, front=n == 1) for n in (1, 2))
    where: Tray = tray()
    assert arrange(where, seats, seconds=AMPLE).left_out == ()
