"""Where corner seats go: each to a corner of its own, else along an edge; proved before anything else is placed.

The corners are searched twice: with the web between every two openings, and
with openings that run together or leave a tongue to be sawn away. What places
most counts, then what stands in corners, then the web.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from insertgen.arrange.body import Body, field_of
from insertgen.arrange.budget import Budget
from insertgen.arrange.feasible import (
    Spacing,
    Stood,
    pair_conflicts,
    stand,
    stand_in,
    wall_conflicts,
    web_conflicts,
    wood_pieces,
)
from insertgen.arrange.settle import Placed
from insertgen.geometry.pose import move_outline, move_point, move_region
from insertgen.geometry.region import area, minus, to_outlines
from insertgen.model.figures import Pose
from insertgen.model.job import Tray

__all__ = ["corner_places"]

#: In the order tried: whether at the right, whether at the back.
CORNERS = ((False, False), (True, False), (True, True), (False, True))
#: In the order tried: along which axis it is held, whether at its far end.
EDGES = ((0, False), (0, True), (1, True), (1, False))
STEP = 4.0  # along an edge
HALVINGS = 8
CHECKS = 400  # seats tried in corners, before the best so far is taken
AT_LEAST = 16  # even where no time is left
SAME = 1e-6  # mm2 by which two turns of one figure may differ and still look alike


def corner_places(
    tray: Tray, spacing: Spacing, pinned: Placed, corners: list[Body], budget: Budget
) -> tuple[Placed, list[Body]]:
    """What is pinned and the corner seats, largest first, at their places; and those that found none.

    Every corner seat among them, pinned or not, is opened to its edges: its
    body is good for that pose only.
    """
    order = sorted(corners, key=lambda body: (-round(body.area, 3), body.id))
    fixed = [stand_in(tray, body.footprint, pose) for body, pose in pinned]
    held = [(_opened(body, pose, one), pose) for (body, pose), one in zip(pinned, fixed, strict=True)]
    if not order:
        return held, []
    best: _Found | None = None
    for strict in (True, False):
        if best is not None and (best.full or budget.spent()):
            break
        budget.rounds += 1
        found = _Search(tray, spacing, fixed, strict, budget).found(order)
        if best is None or found.worth > best.worth:
            best = found
    assert best is not None
    names = {one.body.id for one in best.taken}
    budget.say(f"corner seats: {best.in_corners} in corners, {len(names) - best.in_corners} along edges")
    held += [(_opened(one.body, one.pose, one.stood), one.pose) for one in best.taken]
    return held, [body for body in order if body.id not in names]


def _opened(body: Body, pose: Pose, stood: Stood) -> Body:
    """The body of a corner seat as it stands: its opening drawn out to the edges. Any other as it is."""
    if not body.corner or stood.opening is None:
        return (
            replace(body, opening=None, footprint=replace(body.footprint, opening=None))
            if body.corner
            else body
        )
    back = move_region(stood.opening, _inverse(pose))
    flip = Pose(0.0, 0.0, 0.0, pose.mirror)
    figure = field_of(tuple(move_outline(piece, flip) for piece in to_outlines(back)))
    footprint = replace(body.footprint, opening=back, room_inside=stood.room_inside)
    return replace(body, opening=figure, footprint=footprint)


@dataclass(frozen=True, slots=True)
class _Taken:
    body: Body
    pose: Pose
    stood: Stood
    corner: int


@dataclass(frozen=True, slots=True)
class _Found:
    taken: list[_Taken]
    in_corners: int
    strict: bool
    wanted: int

    @property
    def full(self) -> bool:
        """Nothing better is possible."""
        return len(self.taken) == self.wanted and self.in_corners == min(self.wanted, len(CORNERS))

    @property
    def worth(self) -> tuple[int, int, bool]:
        return len(self.taken), self.in_corners, self.strict


class _Search:
    """One search, with the web between corner seats or without."""

    def __init__(self, tray: Tray, spacing: Spacing, fixed: list[Stood], strict: bool, budget: Budget) -> None:
        self.tray, self.spacing, self.fixed = tray, spacing, fixed
        self.strict, self.budget = strict, budget
        self.checks, self.most = 0, 0
        self.best: list[_Taken] = []
        self._stood: dict[tuple[int, Pose], Stood] = {}
        # pins may have parted the wood already: then it is not for others to mend
        held = [one for one in fixed if one.held is not None]
        pieces = len(wood_pieces(held, tray)) if held else 1
        self.whole = pieces == 1

    def found(self, order: list[Body]) -> _Found:
        """As many in corners as can be, the rest along the edges."""
        self.most = min(len(order), len(CORNERS))
        self._visit(order, [])
        taken = list(self.best)
        in_corners = len(taken)
        names = {one.body.id for one in taken}
        for body in order:
            if body.id not in names and not self.budget.spent():
                spot = self._along_edges(body, taken)
                if spot is not None:
                    taken.append(spot)
        return _Found(taken, in_corners, self.strict, len(order))

    # ---- corners -------------------------------------------------------------------------

    def _visit(self, order: list[Body], taken: list[_Taken]) -> bool:
        """Depth first; True: there is nothing more to be had."""
        if len(taken) > len(self.best):
            self.best = list(taken)
        if (
            len(self.best) == self.most
            or self.checks >= CHECKS
            or (self.checks >= AT_LEAST and self.budget.spent())
        ):
            return True
        if not order or len(taken) + len(order) <= len(self.best):
            return False
        body, rest = order[0], order[1:]
        for one in self._in_corners(body, taken):
            if self._visit(rest, [*taken, one]):
                return True
        # nor will one that is equal to it find what this one did not
        return self._visit([other for other in rest if other.key != body.key], taken)

    def _in_corners(self, body: Body, taken: list[_Taken]) -> Iterator[_Taken]:
        closed = {other.corner for other in taken}
        for number, (right, back) in enumerate(CORNERS):
            if number in closed:
                continue
            tried: list[Stood] = []
            for turn in body.turns:
                xs, ys = body.windows[turn]
                poses = [
                    Pose(_at_end(xs, right, n), _at_end(ys, back, n), float(turn), body.mirror) for n in (2, 6)
                ]
                for pose in dict.fromkeys(poses):
                    bare = stand(body.footprint, pose)
                    if any(_alike(bare, other) for other in tried):
                        continue
                    tried.append(bare)
                    if self._may(body, pose, taken):
                        yield _Taken(body, pose, self._stand(body, pose), number)

    # ---- edges ---------------------------------------------------------------------------

    def _along_edges(self, body: Body, taken: list[_Taken]) -> _Taken | None:
        askew = tuple(turn for turn in body.turns if turn not in body.straight)
        for turns in (body.straight, askew):
            for axis, far in EDGES:
                for turn in turns:
                    pose = self._along(body, turn, axis, far, taken)
                    if pose is not None:
                        return _Taken(body, pose, self._stand(body, pose), -1)
        return None

    def _along(self, body: Body, turn: int, axis: int, far: bool, taken: list[_Taken]) -> Pose | None:
        """The first place along one edge, from the left or the front."""
        held = _at_end(body.windows[turn][axis], far, 2)
        low, high = body.windows[turn][1 - axis]
        last: float | None = None
        for number in range(math.ceil((high - low) / STEP) + 1):
            at = min(low + number * STEP, high)
            pose = self._edge_pose(body, turn, axis, held, at)
            if self._may(body, pose, taken):
                return self._nearer(body, pose, axis, last, taken)
            last = at
        return None

    def _edge_pose(self, body: Body, turn: int, axis: int, held: float, at: float) -> Pose:
        along = _at_end((at, body.windows[turn][1 - axis][1]), False, 2)
        x, y = (held, along) if axis == 0 else (along, held)
        return Pose(x, y, float(turn), body.mirror)

    def _nearer(self, body: Body, pose: Pose, axis: int, last: float | None, taken: list[_Taken]) -> Pose:
        """Slid back towards where it could not be."""
        if last is None:
            return pose
        far, held, turn = (
            (pose.y, pose.x, int(pose.angle_deg)) if axis == 0 else (pose.x, pose.y, int(pose.angle_deg))
        )
        for _ in range(HALVINGS):
            tried = self._edge_pose(body, turn, axis, held, (last + far) / 2)
            if self._may(body, tried, taken):
                pose, far = tried, (last + far) / 2
            else:
                last = (last + far) / 2
        return pose

    # ---- judging -------------------------------------------------------------------------

    def _may(self, body: Body, pose: Pose, taken: list[_Taken]) -> bool:
        """Whether a seat may be there: first by what it is before it is opened, which costs little."""
        self.checks += 1
        others = self._others(taken)
        bare = stand(body.footprint, pose)
        if any(pair_conflicts(bare, other, self.spacing) for other in others):
            return False
        one = self._stand(body, pose)
        if wall_conflicts(one, self.tray, self.spacing):
            return False
        for other in others:
            if pair_conflicts(one, other, self.spacing):
                return False
            if self.strict and web_conflicts(one, other, self.spacing):
                return False
        return not self.whole or len(wood_pieces([*others, one], self.tray)) == 1

    def _others(self, taken: list[_Taken]) -> list[Stood]:
        return [*self.fixed, *(one.stood for one in taken)]

    def _stand(self, body: Body, pose: Pose) -> Stood:
        key = body.key, pose
        if key not in self._stood:
            self._stood[key] = stand_in(self.tray, body.footprint, pose)
        return replace(self._stood[key], id=body.id)


def _at_end(span: tuple[float, float], far: bool, digits: int) -> float:
    """An end of a span, in from it to the next hundredth as poses are written; to the digit if there is none."""
    low, high = span
    if digits == 2:
        scaled = math.floor(high * 100 + 1e-4) / 100 if far else math.ceil(low * 100 - 1e-4) / 100
        if low - 1e-6 <= scaled <= high + 1e-6:
            return scaled + 0.0
    return round(high if far else low, 6) + 0.0


def _alike(one: Stood, other: Stood) -> bool:
    """Whether two turns of a seat in the same corner are the same, as a disc's are."""
    pairs = [(one.room, other.room), (one.opening, other.opening)]
    if one.held is not None and other.held is not None:
        pairs.append((one.held.item, other.held.item))
    return all(a is None or b is None or area(minus(a, b)) + area(minus(b, a)) < SAME for a, b in pairs)


def _inverse(pose: Pose) -> Pose:
    """From the blank's frame back to the shape's: p = M R(-angle) (p' - t), and M R(-a) = R(a) M."""
    angle = pose.angle_deg if pose.mirror else -pose.angle_deg
    x, y = move_point((pose.x, pose.y), Pose(0.0, 0.0, angle, pose.mirror))
    return Pose(-x, -y, angle, pose.mirror)
