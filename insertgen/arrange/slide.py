"""From a node of the raster to where a thing really touches: slid by less than a step, by exact geometry."""

from __future__ import annotations

from insertgen.arrange.body import Body
from insertgen.arrange.feasible import Bounds, Spacing, Stood, pair_conflicts, stand, wall_conflicts
from insertgen.model.figures import Pose
from insertgen.model.job import Tray

__all__ = ["may_stand", "slid"]

PARTS = 4  # of a step, tried both ways where the node itself will not do
HALVINGS = 4


def may_stand(one: Stood, stood: list[Stood], tray: Tray, spacing: Spacing) -> bool:
    """Whether one more seat may lie beside those that lie already."""
    if wall_conflicts(one, tray, spacing):
        return False
    return not any(pair_conflicts(one, other, spacing) for other in stood)


def slid(
    body: Body, pose: Pose, stood: list[Stood], tray: Tray, spacing: Spacing, weights: tuple[float, float], step: float
) -> Pose:  # fmt: skip
    """The pose moved towards its corner until it touches; as it was if nothing near it may stand."""
    here = stand(body.footprint, pose)
    near_by = [other for other in stood if not _far_off(here, other, spacing, 2 * step)]

    (x0, x1), (y0, y1) = body.window(int(pose.angle_deg), spacing.inset)

    def free(at: Pose) -> bool:
        if not (x0 - 1e-9 <= at.x <= x1 + 1e-9 and y0 - 1e-9 <= at.y <= y1 + 1e-9):
            return False
        return may_stand(stand(body.footprint, at), near_by, tray, spacing)

    first = 0 if abs(weights[0]) >= abs(weights[1]) else 1
    for axis in (first, 1 - first):
        towards = -1.0 if weights[axis] >= 0 else 1.0
        if not free(pose):
            tries = [_moved(pose, axis, -towards * step * part / PARTS) for part in range(1, PARTS + 1)]
            pose = next((one for one in tries if free(one)), pose)
            if pose not in tries:
                continue
        near, far = 0.0, step
        for _ in range(HALVINGS):
            middle = (near + far) / 2
            if free(_moved(pose, axis, towards * middle)):
                near = middle
            else:
                far = middle
        pose = _moved(pose, axis, towards * near)
    return pose


def _far_off(one: Stood, other: Stood, spacing: Spacing, more: float) -> bool:
    """Whether two seats are so far apart that moving by ``more`` changes nothing between them."""
    need = max(spacing.web, one.room_gap, other.room_gap) + spacing.extra + more
    a = _whole(one)
    b = _whole(other)
    return max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3]) > need


def _whole(one: Stood) -> Bounds:
    x0, y0, x1, y1 = one.room_bounds
    left, front, right, back = one.opening_bounds or one.room_bounds
    return min(x0, left), min(y0, front), max(x1, right), max(y1, back)


def _moved(pose: Pose, axis: int, by: float) -> Pose:
    return Pose(
        pose.x + (by if axis == 0 else 0.0), pose.y + (by if axis == 1 else 0.0), pose.angle_deg, pose.mirror
    )
