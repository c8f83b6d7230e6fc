"""Things on the face, with posts or without, and slots: distances known by hand, layouts judged by shapely."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString

from insertgen.arrange.arrange import arrange
from insertgen.arrange.body import bodies
from insertgen.arrange.feasible import WALL, conflicts
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Turn
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.seat import Seat
from insertgen.model.shape import Store
from tests.arrange_values import (
    bit,
    faults,
    keep_out,
    on_posts,
    pocket,
    posed,
    rectangle,
    round_outline,
    stander,
    tray,
)

AMPLE = 600.0

#: A wrench of 120 x 16 between two posts, whose bores of 6.4 are centred 66 to its left and right.
WRENCH = on_posts(1, rectangle(120, 16), (-66, 0), (66, 0))


def slot(number: int, length: float, width: float, turn: Turn = Turn.QUARTER) -> Seat:
    """A through-cut with round ends."""
    half = (length - width) / 2
    ring = LineString([(-half, 0), (half, 0)]).buffer(width / 2, quad_segs=32).exterior.coords[:-1]
    seat = pocket(number, Outline(tuple((float(x), float(y)) for x, y in ring)), turn, through=True)
    return replace(seat, item=replace(seat.item, store=Store.SLOT))


def judged(where: Tray, *stood: tuple[Seat, Pose]) -> list[tuple[str, float]]:
    placements = tuple(Placement(seat.item.id, "", "", pose, False) for seat, pose in stood)
    layout = Layout(where.slug, 0, 1, False, where.blank, placements, ())
    seats = [seat for seat, _ in stood]
    found = [(one.other, one.shortfall) for one in conflicts(where, seats, layout)]
    assert bool(found) == bool(faults(where, seats, layout))
    return found


@pytest.mark.parametrize(
    ("y", "shortfall"),
    [
        (28.0, None),  # the wrench's edge at 8, the pocket's at 8
        (27.5, 0.5),  # over it
        (60.0, None),
    ],
)
def test_no_pocket_under_what_lies_on_the_face(y: float, shortfall: float | None) -> None:
    """A pocket of 40 x 40 beside the middle of a wrench asks for no web: the wrench has no wall there."""
    found = judged(tray(), (WRENCH, Pose(175, 60)), (pocket(2, rectangle(40, 40)), Pose(175, 60 + y)))
    if shortfall is None:
        assert found == []
    else:
        assert max(short for _, short in found) == pytest.approx(shortfall, abs=1e-6)


@pytest.mark.parametrize(("y", "shortfall"), [(29.2, None), (28.2, 1.0), (25.0, 4.2)])
def test_web_between_a_post_and_a_pocket(y: float, shortfall: float | None) -> None:
    """Beside a post: bore 3.2, web 6, half the pocket 20."""
    found = judged(tray(), (WRENCH, Pose(175, 60)), (pocket(2, rectangle(20, 40)), Pose(175 + 66, 60 + y)))
    if shortfall is None:
        assert found == []
    else:
        assert max(short for _, short in found) == pytest.approx(shortfall, abs=1e-6)


def test_web_between_posts_and_margin_of_posts() -> None:
    """Two wrenches end to end: posts 6.4 + 6 apart. At the wall: 66 + 3.2 + 8 from the edge."""
    other = on_posts(2, rectangle(120, 16), (-66, 0), (66, 0))
    assert judged(tray(), (WRENCH, Pose(77.2, 60)), (other, Pose(77.2 + 132 + 12.4, 60))) == []
    found = judged(tray(), (WRENCH, Pose(77.2, 60)), (other, Pose(77.2 + 132 + 11.4, 60)))
    assert max(short for _, short in found) == pytest.approx(1.0, abs=1e-6)
    assert judged(tray(), (WRENCH, Pose(76.2, 60))) == [(WALL, pytest.approx(1.0, abs=1e-6))]
    # the wrench itself may lie in the margin: 8 is half its width
    assert judged(tray(), (replace(WRENCH, opening=()), Pose(100, 8))) == []


def test_no_head_over_a_post() -> None:
    """Finger room from the wrench's room, 15 from its edge at 8 and half the head of 30."""
    assert judged(tray(), (WRENCH, Pose(175, 60)), (bit(2), Pose(175, 60 + 38))) == []
    found = judged(tray(), (WRENCH, Pose(175, 60)), (bit(2), Pose(175, 60 + 37)))
    assert [short for _, short in found] == [pytest.approx(1.0, abs=1e-6)]


def test_a_stander_is_not_over_what_only_has_posts() -> None:
    found = judged(tray(), (WRENCH, Pose(175, 60)), (stander(2, rectangle(40, 40)), Pose(175, 60 + 26)))
    assert [short for _, short in found] == [pytest.approx(2.0, abs=1e-6)]


@pytest.mark.parametrize(("y", "shortfall"), [(28.0, None), (26.5, 1.5), (18.5, 9.5)])
def test_nothing_on_the_face_lies_over_a_finger_recess(y: float, shortfall: float | None) -> None:
    """An opening of 30 x 40 about an item of 30 x 20: the wrench's edge is at 8, the opening's 20 before its middle."""
    recessed = pocket(2, rectangle(30, 40))
    recessed = replace(recessed, item=replace(recessed.item, room=rectangle(30, 20)))
    for on_face in (WRENCH, stander(1, rectangle(120, 16))):
        found = judged(tray(), (on_face, Pose(175, 60)), (recessed, Pose(175, 60 + y)))
        assert [short for _, short in found] == (
            [] if shortfall is None else [pytest.approx(shortfall, abs=1e-6)]
        )


def test_a_wide_room_of_a_pocketed_thing_does_not_hang_over_a_post() -> None:
    """Its room reaches 20 beyond its opening: on the wrench's posts it would not go down."""
    wide = pocket(2, rectangle(40, 40))
    wide = replace(wide, item=replace(wide.item, room=rectangle(80, 80)))
    assert judged(tray(), (WRENCH, Pose(175, 60)), (wide, Pose(175, 60 + 48))) == []
    assert judged(tray(), (WRENCH, Pose(175, 60)), (wide, Pose(175, 60 + 47))) != []


def test_windows_of_a_thing_on_posts() -> None:
    """Its posts keep the margin (66 + 3.2 + 8), its sides only the edge (8)."""
    ((x0, x1), (y0, y1)) = bodies((WRENCH,), tray().blank, 8.0)[0].windows[0]
    # across, the posts of 3.2 and the margin of 8 say more than half the wrench
    assert (x0, x1, y0, y1) == pytest.approx((77.2, 350 - 77.2, 11.2, 250 - 11.2), abs=1e-3)


def test_wrenches_share_a_tray_with_pockets() -> None:
    seats = (
        *(on_posts(n, rectangle(120, 16), (-66, 0), (66, 0)) for n in (1, 2, 3)),
        pocket(4, rectangle(90, 60)),
        stander(5, rectangle(60, 50)),
        slot(6, 150, 8),
        bit(7),
    )
    layout = arrange(tray(), seats, seconds=AMPLE)
    assert layout.left_out == ()
    assert faults(tray(), seats, layout) == []


def test_a_full_tray_of_wrenches() -> None:
    """Side by side in a blank of 200 x 106: posts keep the margin and a web, which the wrenches of 16 need not.

    In a row: bores 6.4 wide and 6 apart are 12.4, wrenches 16 wide touch at 16. 8 + 3.2 to the first one's
    middle, 16 each on: (106 - 2 x 11.2) / 16 = 5.2, so six.
    """
    where = tray(200, 106)
    seats = tuple(on_posts(n, rectangle(120, 16), (-66, 0), (66, 0), turn=Turn.FIXED) for n in range(1, 8))
    layout = arrange(where, seats, seconds=AMPLE)
    assert len(layout.placements) == 6
    assert faults(where, seats, layout) == []


def test_slots_turn_by_quarters() -> None:
    """A slot of 300 fits a blank of 100 x 330 only along it; two of 8 wide and a web of 6 and margins: 38 of 100."""
    where = tray(100, 330)
    seats = (slot(1, 300, 8), slot(2, 300, 8))
    layout = arrange(where, seats, seconds=AMPLE)
    assert [one.pose.angle_deg % 180 for one in layout.placements] == [90, 90]
    assert faults(where, seats, layout) == []
    first, second = (posed(s.item.outline, one.pose) for s, one in zip(seats, layout.placements, strict=True))
    assert first.distance(second) >= 6 - 1e-6


sizes = st.integers(20, 110).map(float)
kinds = st.sampled_from(["posts", "stand", "pocket", "slot", "bit"])


@settings(max_examples=4, deadline=None, derandomize=True)
@given(things=st.lists(st.tuples(kinds, sizes, sizes), min_size=1, max_size=5), blocked=st.booleans())
def test_every_layout_is_sound(things: list[tuple[str, float, float]], blocked: bool) -> None:
    where = tray(280, 220, *([keep_out(120, 80, 30, 30)] if blocked else []))
    made = {
        "posts": lambda n, a, b: on_posts(
            n, rectangle(a, b), (-a / 2 - 4, 0), (a / 2 + 4, b / 4), (0, b / 2 + 4)
        ),
        "stand": lambda n, a, b: stander(n, rectangle(a, b)),
        "pocket": lambda n, a, b: pocket(n, round_outline(a)),
        "slot": lambda n, a, b: slot(n, max(a, b) + 1, min(a, b) / 2),
        "bit": lambda n, a, b: bit(n, head=a / 2),
    }
    seats = tuple(made[kind](n, a, b) for n, (kind, a, b) in enumerate(things, 1))
    layout = arrange(where, seats, seconds=AMPLE)
    assert len(layout.placements) + len(layout.left_out) == len(seats)
    assert faults(where, seats, layout) == []
    assert conflicts(where, seats, layout) == []
