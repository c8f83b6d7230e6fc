"""Has every item a place, under the headroom, on a blank that the machine can take?"""

from __future__ import annotations

import math
from collections.abc import Iterator

from insertgen.check.depths import judge_too_deep
from insertgen.check.say import found, mm, named, spot
from insertgen.check.seated import Seated
from insertgen.model.figures import Pose
from insertgen.model.finding import Finding
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, LeftOutReason
from insertgen.rules import LARGE_ERROR

__all__ = ["judge_places", "judge_seated"]

POSE_WITHIN = 0.01  # mm, degrees: the layout is written to less

_LEFT_OUT = {
    LeftOutReason.NO_ROOM: ("there is no room left for it", "give the tray more room, or put it in another tray"),
    LeftOutReason.TOO_BIG: ("it is larger than the tray at every turn it may have", "give it a larger tray, or allow more turns"),
    LeftOutReason.TOO_TALL: ("it stands higher than the headroom", "sink it deeper, lay it down, or give the tray more headroom"),
}
_UNTRIED = (
    "the search was stopped before it had found a place for it, which does not say that there is none",
    "build again with a longer --time",
)


def judge_places(tray: Tray, layout: Layout) -> Iterator[Finding]:
    items = {item.id: item for item in tray.items}
    placed = [placement.id for placement in layout.placements]
    left = {one.id: one for one in layout.left_out}
    for key, item in items.items():
        if key in left:
            cause = left[key].why
            untried = layout.stopped_by_time and cause is LeftOutReason.NO_ROOM and left[key].short is None
            why, remedy = _UNTRIED if untried else _LEFT_OUT[cause]
            text = f"{named(item)}{_measured(tray, item, cause)} was left out: {why}"
            yield found("left-out", text, remedy, tray=tray, file="layout.json", placement=key)
        elif key not in placed:
            text = f"{named(item)} has no place in the layout"
            yield found("cut-missing", text, "build the job again", tray=tray, file="layout.json", placement=key)
    for key in dict.fromkeys(placed):
        if key not in items or placed.count(key) > 1:
            text = f"the layout places {key}, " + ("which the job does not know" if key not in items else "more than once")
            yield found("cut-extra", text, "build the job again", tray=tray, file="layout.json", placement=key)
    yield from _edited(tray, layout)
    yield from _bed(tray)


def _edited(tray: Tray, layout: Layout) -> Iterator[Finding]:
    """Poses that the job does not ask for: what it mirrors and pins is its to say, so the layout was edited."""
    items, remedy = {item.id: item for item in tray.items}, "change the job instead, and build it again"
    for placement in layout.placements:
        item, pose = items.get(placement.id), placement.pose
        if item is None:
            continue
        pin = item.pinned
        mirrored = item.mirror or (pin is not None and pin.mirror)
        if pose.mirror is not mirrored and item.bore is None:  # a round bore is its own mirror image
            said = ("mirrors", "does not") if pose.mirror else ("does not mirror", "does")
            text = f"layout.json {said[0]} {named(item)}, the job {said[1]}"
        elif pin is not None and _unlike(pin, pose):
            text = (
                f"the job pins {named(item)} at {spot((pin.x, pin.y))}, turned by {pin.angle_deg:g} degrees; "
                f"layout.json has it at {spot((pose.x, pose.y))}, turned by {pose.angle_deg:g}"
            )
        else:
            continue
        yield found(
            "file-changed", text, remedy, tray=tray, file="layout.json", placement=placement.id, at=(pose.x, pose.y)
        )


def _unlike(pin: Pose, pose: Pose) -> bool:
    turn = (pin.angle_deg - pose.angle_deg + 180) % 360 - 180
    return math.dist((pin.x, pin.y), (pose.x, pose.y)) > POSE_WITHIN or abs(turn) > POSE_WITHIN


def _measured(tray: Tray, item: Item, why: LeftOutReason) -> str:
    """The figures that a reason rests on."""
    if why is LeftOutReason.TOO_TALL and tray.headroom is not None and item.top is not None:
        return f" ({mm(tray.thickness + item.top)} above the base, headroom {mm(tray.headroom)})"
    if why is LeftOutReason.TOO_BIG:
        return f" ({item.size}; the blank is {mm(tray.blank.width)} by {mm(tray.blank.depth)}, the margin {mm(tray.margin)})"
    return ""


def judge_seated(tray: Tray, key: str, one: Seated) -> Iterator[Finding]:
    """What is wrong with a seat whatever the drawing says."""
    item = one.item
    for text, remedy, figure, limit in judge_too_deep(one, tray):
        yield found("too-deep", text, remedy, tray=tray, placement=key, at=one.centre, figure=figure, limit=limit)
    if tray.headroom is not None and item.top is not None and tray.thickness + item.top > tray.headroom + 1e-6:
        stands = tray.thickness + item.top
        text = f"{named(item)} stands {mm(stands)} above the base; the headroom is {mm(tray.headroom)}"
        remedy = "sink it deeper, lay it down, or give the tray more headroom"
        yield found("too-tall", text, remedy, tray=tray, placement=key, at=one.centre, figure=stands, limit=tray.headroom)
    if tray.room_below is not None and item.hang > tray.room_below + 1e-6:
        text = f"{named(item)} hangs {mm(item.hang)} below the base; there are {mm(tray.room_below)} below it"
        remedy = "let it stand higher, use a thicker stack, or give the tray more room below"
        yield found("too-tall", text, remedy, tray=tray, placement=key, at=one.centre, figure=item.hang, limit=tray.room_below)
    if item.expected_error > LARGE_ERROR:
        text = f"the outline of {named(item)} may be {mm(item.expected_error)} off; up to {mm(LARGE_ERROR)} is usual"
        remedy = "trace it again from a better photo, or try the item on a printed template first"
        yield found(
            "error-large", text, remedy, tray=tray, placement=key, at=one.centre,
            figure=item.expected_error, limit=LARGE_ERROR,
        )  # fmt: skip


def _bed(tray: Tray) -> Iterator[Finding]:
    if tray.cutting.bed is None:
        return
    blank, bed = sorted((tray.blank.width, tray.blank.depth)), sorted(tray.cutting.bed)
    if blank[0] > bed[0] + 1e-6 or blank[1] > bed[1] + 1e-6:
        text = f"the blank of {mm(blank[1])} by {mm(blank[0])} is larger than the bed of {mm(bed[1])} by {mm(bed[0])}"
        remedy = "cut it on a larger machine, or make two trays of it"
        yield found("bed-small", text, remedy, tray=tray, figure=blank[1], limit=bed[1])
