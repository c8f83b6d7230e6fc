"""By how much something does not fit, and against what: the best place found for it among what lies already.

For what was left out; a place is sought on a coarse net over all its turns,
then round about ever finer (compass search). Exact distances, so what is named
is really short there, but a better place may exist.
"""

from __future__ import annotations

from dataclasses import replace

from insertgen.arrange.body import Body
from insertgen.arrange.feasible import Conflict, Spacing, Stood, pair_conflicts, stand, wall_conflicts
from insertgen.arrange.settle import Placed
from insertgen.model.figures import Pose
from insertgen.model.job import Tray
from insertgen.model.layout import LeftOut

__all__ = ["with_shortfalls"]

NET = 7  # places each way
FINER = 5  # halvings of the net
MOST = 8  # things looked at; of equal ones only the first


def with_shortfalls(
    left: list[tuple[Body, LeftOut]], placed: Placed, tray: Tray, spacing: Spacing
) -> tuple[Placed, list[LeftOut]]:
    """What lies now, and what is left, with what each of the first few is short by, and against what.

    What is short by nothing there lies there now: a search that was stopped had not come to it.
    """
    placed, stood = list(placed), [stand(body.footprint, pose) for body, pose in placed]
    seen: dict[int, tuple[float, tuple[str, ...]]] = {}
    looked = 0
    result = []
    for body, one in left:
        if body.key not in seen and looked < MOST and body.windows and not body.corner:
            looked += 1
            short, pose = _least(body, stood, tray, spacing)
            if short <= 0.0:
                placed.append((body, pose))
                stood.append(stand(body.footprint, pose))
                continue
            against = _against(body, pose, stood, tray, spacing)
            seen[body.key] = short, tuple(dict.fromkeys(one.id if one.other == body.id else one.other for one in against))
        if body.key in seen:
            short, others = seen[body.key]
            one = replace(one, short=round(short, 2), others=others)
        result.append(one)
    return placed, result


def _least(body: Body, stood: list[Stood], tray: Tray, spacing: Spacing) -> tuple[float, Pose]:
    """The least of the worst shortfalls found, and where, in hundredths as poses are written."""

    def short(pose: Pose) -> float:
        return max((one.shortfall for one in _against(body, pose, stood, tray, spacing)), default=0.0)

    best: tuple[float, Pose, float] | None = None
    for turn in body.straight:
        (x0, x1), (y0, y1) = body.windows[turn]
        step = max(x1 - x0, y1 - y0) / (NET - 1)
        for row in range(NET):
            for column in range(NET):
                part = column / (NET - 1), row / (NET - 1)
                pose = Pose(x0 + (x1 - x0) * part[0], y0 + (y1 - y0) * part[1], float(turn), body.mirror)
                value = short(pose)
                if best is None or value < best[0] - 1e-9:
                    best = value, pose, step
    assert best is not None
    value, pose, step = best
    (x0, x1), (y0, y1) = body.windows[int(pose.angle_deg)]
    for _ in range(FINER):
        step /= 2
        for dx, dy in ((step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)):
            tried = replace(pose, x=min(max(pose.x + dx, x0), x1), y=min(max(pose.y + dy, y0), y1))
            found = short(tried)
            if found < value - 1e-9:
                value, pose = found, tried
    pose = replace(pose, x=round(pose.x, 2), y=round(pose.y, 2))
    return short(pose), pose


def _against(body: Body, pose: Pose, stood: list[Stood], tray: Tray, spacing: Spacing) -> list[Conflict]:
    one = stand(body.footprint, pose)
    return wall_conflicts(one, tray, spacing) + [found for other in stood for found in pair_conflicts(one, other, spacing)]
