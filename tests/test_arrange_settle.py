"""Things a little too near, pushed apart; those held, and those that were right, left alone."""

from __future__ import annotations

from insertgen.arrange.body import bodies
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.polish import polish
from insertgen.arrange.settle import Placed, faults, settle, settle_if_near, without_offenders
from insertgen.model.figures import Pose
from insertgen.model.job import Tray
from insertgen.model.seat import Seat
from tests.arrange_values import keep_out, pocket, posed, rectangle, round_outline, tray

SPACING = Spacing(6.0, 8.0)


def put(where: Tray, *stood: tuple[Seat, Pose]) -> Placed:
    made = bodies(tuple(seat for seat, _ in stood), where.blank, where.margin)
    return list(zip(made, (pose for _, pose in stood), strict=True))


def gap(placed: Placed) -> float:
    (one, at), (other, there) = placed
    return float(posed(one.seat.item.room, at).distance(posed(other.seat.item.room, there)))


TOO_NEAR = (
    (pocket(1, round_outline(60)), Pose(120.0, 125.0)),
    (pocket(2, round_outline(60)), Pose(184.0, 125.0)),  # gap 4, web 6
)


def test_pushed_apart_until_the_web_is_left() -> None:
    where = tray()
    settled = settle(put(where, *TOO_NEAR), frozenset(), where, SPACING)
    assert settled is not None
    assert faults(settled, frozenset(), where, SPACING) == []
    assert gap(settled) >= 6.0 - 1e-6


def test_what_is_held_stays() -> None:
    where = tray()
    settled = settle(put(where, *TOO_NEAR), frozenset({"test-tray/01"}), where, SPACING)
    assert settled is not None
    assert settled[0][1] == Pose(120.0, 125.0)
    assert gap(settled) >= 6.0 - 1e-6


def test_what_is_right_already_is_left_alone() -> None:
    where = tray()
    right = put(where, TOO_NEAR[0], (TOO_NEAR[1][0], Pose(190.0, 125.0)))
    assert settle(right, frozenset(), where, SPACING) == right


def test_off_a_keep_out() -> None:
    where = tray(350, 250, keep_out(0, 100, 88, 50))
    settled = settle(put(where, TOO_NEAR[0]), frozenset(), where, SPACING)  # 2 from it, where 6 are asked
    assert settled is not None
    assert settled[0][1].x >= 88 + 6 + 30 - 1e-6


def test_walls_are_never_crossed() -> None:
    where = tray(142, 250)  # two discs of 60 and a web of 6 are 126 wide, just what the margins leave
    start = put(where, (TOO_NEAR[0][0], Pose(20.0, 125.0)), (TOO_NEAR[1][0], Pose(110.0, 125.0)))
    moved = polish(start, frozenset(), (), SPACING, 2.0)
    assert all(38 - 1e-9 <= pose.x <= 104 + 1e-9 for _, pose in moved)


def test_where_nothing_helps_it_says_so_and_the_small_one_goes() -> None:
    """A square of 150 held in a tray of 180 leaves nowhere a disc of 60 could go."""
    where = tray(180, 180)
    both = put(where, (pocket(1, rectangle(150, 150)), Pose(90, 90)), (TOO_NEAR[1][0], Pose(120, 90)))
    held = frozenset({"test-tray/01"})
    assert settle(both, held, where, SPACING) is None
    kept, dropped = without_offenders(both, held, where, SPACING)
    assert [body.id for body, _ in kept] == ["test-tray/01"]
    assert [body.id for body in dropped] == ["test-tray/02"]


def test_a_short_push_is_enough_where_little_is_missing() -> None:
    where = tray()
    settled = settle_if_near(put(where, *TOO_NEAR), frozenset(), where, SPACING)
    assert settled is not None
    assert faults(settled, frozenset(), where, SPACING) == []


def test_given_up_early_where_much_is_missing() -> None:
    where = tray(180, 180)
    both = put(where, (pocket(1, rectangle(150, 150)), Pose(90, 90)), (TOO_NEAR[1][0], Pose(120, 90)))
    assert settle_if_near(both, frozenset({"test-tray/01"}), where, SPACING) is None
