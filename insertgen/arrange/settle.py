"""From what the raster proposed to what is proved: push apart, round, judge, drop what still collides."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence, Set

from insertgen.arrange.body import Body
from insertgen.arrange.feasible import Conflict, Spacing, Stood, pair_conflicts, stand, wall_conflicts
from insertgen.arrange.polish import polish
from insertgen.model.figures import Pose
from insertgen.model.job import Tray

__all__ = ["Placed", "conflicts", "faults", "settle", "settle_if_near", "without_offenders"]

Placed = list[tuple[Body, Pose]]

#: Asked on top of every gap when things are pushed apart; the second try for what tables and samples missed.
MORE = (0.08, 0.4)
SHORT = 25  # steps of a short push
NEAR = 2.0  # mm missing at most after it, for a longer one


def faults(placed: Placed, frozen: frozenset[str], tray: Tray, spacing: Spacing) -> list[Conflict]:
    """Conflicts, less those that nobody may change: frozen things with each other, the walls and the keep-outs."""
    return conflicts([stand(body.footprint, pose) for body, pose in placed], frozen, tray, spacing)


def conflicts(stood: Sequence[Stood], frozen: Set[str], tray: Tray, spacing: Spacing) -> list[Conflict]:
    """The same of seats as they stand."""
    found: list[Conflict] = []
    for index, one in enumerate(stood):
        if one.id not in frozen:
            found += wall_conflicts(one, tray, spacing)
        for other in stood[index + 1 :]:
            if one.id not in frozen or other.id not in frozen:
                found += pair_conflicts(one, other, spacing)
    return found


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


def settle_if_near(placed: Placed, frozen: frozenset[str], tray: Tray, spacing: Spacing) -> Placed | None:
    """As `settle`, but given up early where a short push leaves much missing: for many tries."""
    tried = polish(placed, frozen, tray.keep_out, spacing, MORE[0], iterations=SHORT)
    found = faults(_keeping(tried, frozen, spacing), frozen, tray, spacing)
    if max((one.shortfall for one in found), default=0.0) > NEAR:
        return None
    return settle(tried, frozen, tray, spacing)


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
    return [(body, pose if body.id in frozen else _rounded(body, pose, spacing.inset)) for body, pose in placed]


def _rounded(body: Body, pose: Pose, inset: float) -> Pose:
    """To hundredths, as poses are written, and inside the walls: what is proved is what is cut."""
    angle = int(pose.angle_deg)
    inner, outer = body.window(angle, inset), body.windows[angle]
    values = []
    for value, (least, most), (low, high) in zip((pose.x, pose.y), inner, outer, strict=True):
        value = min(max(value, least), most)
        near = (round(value, 2), round(value + 0.005, 2), round(value - 0.005, 2))
        fine = [v for v in near if low - 1e-6 <= v <= high + 1e-6]
        # as wide as the blank itself: no hundredth lies between the walls, so it takes more digits
        values.append(fine[0] if fine else round(value, 6))
    return Pose(values[0] + 0.0, values[1] + 0.0, pose.angle_deg, pose.mirror)
