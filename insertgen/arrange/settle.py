"""From what the raster proposed to what is proved: push apart, round, judge, drop what still collides."""

from __future__ import annotations

from collections import Counter

from insertgen.arrange.body import Body
from insertgen.arrange.feasible import Conflict, Spacing, pair_conflicts, stand, wall_conflicts
from insertgen.arrange.polish import polish
from insertgen.model import Pose, Tray

__all__ = ["Placed", "faults", "fits_beside", "settle", "without_offenders"]

Placed = list[tuple[Body, Pose]]

#: Asked on top of every gap when things are pushed apart; the second try for what tables and samples missed.
MORE = (0.08, 0.4)


def faults(placed: Placed, frozen: frozenset[str], tray: Tray, spacing: Spacing) -> list[Conflict]:
    """Conflicts, less those that nobody may change: frozen things with each other, the walls and the keep-outs."""
    stood = [stand(body.footprint, pose) for body, pose in placed]
    found: list[Conflict] = []
    for index, one in enumerate(stood):
        if one.id not in frozen:
            found += wall_conflicts(one, tray.blank, tray.keep_out, spacing)
        for other in stood[index + 1 :]:
            if one.id not in frozen or other.id not in frozen:
                found += pair_conflicts(one, other, spacing)
    return found


def fits_beside(placed: Placed, body: Body, pose: Pose, tray: Tray, spacing: Spacing) -> bool:
    """Whether one more may lie there."""
    one = stand(body.footprint, pose)
    if wall_conflicts(one, tray.blank, tray.keep_out, spacing):
        return False
    return not any(pair_conflicts(one, stand(other.footprint, at), spacing) for other, at in placed)


def settle(placed: Placed, frozen: frozenset[str], tray: Tray, spacing: Spacing) -> Placed | None:
    """The same things, moved as little as needed until proved; None if that did not work."""
    tried = _keeping(placed, frozen, spacing)
    if not faults(tried, frozen, tray, spacing):
        return tried
    for more in MORE:
        tried = _keeping(polish(placed, frozen, tray.keep_out, spacing, more), frozen, spacing)
        if not faults(tried, frozen, tray, spacing):
            return tried
    return None


def without_offenders(
    placed: Placed, frozen: frozenset[str], tray: Tray, spacing: Spacing
) -> tuple[Placed, list[Body]]:
    """Pushed apart as far as it goes, then rid of those in most conflicts, small ones first."""
    kept = _keeping(polish(placed, frozen, tray.keep_out, spacing, MORE[0]), frozen, spacing)
    dropped: list[Body] = []
    found = faults(kept, frozen, tray, spacing)
    while found:
        counts = Counter(name for conflict in found for name in {conflict.id, conflict.other} - frozen)
        loose = [body for body, _ in kept if counts[body.id]]
        worst = min(loose, key=lambda body: (-counts[body.id], body.area, body.id))
        kept = [(body, pose) for body, pose in kept if body is not worst]
        dropped.append(worst)
        found = [conflict for conflict in found if worst.id not in (conflict.id, conflict.other)]
    return kept, dropped


def _keeping(placed: Placed, frozen: frozenset[str], spacing: Spacing) -> Placed:
    return [(body, pose if body.id in frozen else _rounded(body, pose, spacing.extra)) for body, pose in placed]


def _rounded(body: Body, pose: Pose, extra: float) -> Pose:
    window = body.windows[int(pose.angle_deg)]
    values = []
    for value, (low, high) in zip((pose.x, pose.y), window, strict=True):
        low, high = low + extra, max(low + extra, high - extra)
        near = round(value, 2)
        inward = (near, near + 0.01, near - 0.01)
        fine = [round(v, 2) for v in inward if low - 1e-6 <= round(v, 2) <= high + 1e-6]
        # as wide as the blank itself: no hundredth lies between the walls, so it takes more digits
        values.append(fine[0] if fine else round(min(max(value, low), high), 6))
    return Pose(values[0] + 0.0, values[1] + 0.0, pose.angle_deg, pose.mirror)
