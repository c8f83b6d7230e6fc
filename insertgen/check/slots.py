"""Is a slot straight with round ends, so that two bores and a pass along a fence make it?"""

from __future__ import annotations

from collections.abc import Iterator

from insertgen.check.case import Case
from insertgen.check.lines import off_ring, ring_of
from insertgen.check.rows import slot_ends
from insertgen.check.say import mm, spot
from insertgen.geometry.arcs import straight_slot
from insertgen.model.drawing import Operation
from insertgen.model.finding import Finding

__all__ = ["judge_base_slots", "judge_slots"]

STRAIGHT_WITHIN = 0.05
BASE_WITHIN = 0.05


def judge_slots(case: Case) -> Iterator[Finding]:
    for due, path in case.openings():
        if Operation.SLOT not in due.operations:
            continue
        ends, width = slot_ends(path)
        meant = ring_of(straight_slot(ends[0], ends[-1], width))
        off, missed = off_ring(path.ring, meant), off_ring(meant, path.ring)
        worst = max(float(off.max()), float(missed.max()))
        if worst > STRAIGHT_WITHIN:
            at = path.ring[int(off.argmax())] if off.max() >= missed.max() else meant[int(missed.argmax())]
            text = (
                f"the slot of {due.item.tag} {due.item.label} is {mm(worst)} off a straight opening with round ends at "
                f"{spot(at)}: boring its ends and routing between them does not make it"
            )
            remedy = "draw it straight, with half circles at its ends"
            yield case.found("entity-odd", text, remedy, path, at, worst, STRAIGHT_WITHIN)


def judge_base_slots(base: Case, sheet: Case) -> Iterator[Finding]:
    """A slot in the tray's base must be the one above it."""
    above = {due.key: path for due, path in sheet.openings()}
    for due, path in base.openings():
        if due.key not in above:
            continue
        over = above[due.key]
        off, missed = off_ring(path.ring, over.ring), off_ring(over.ring, path.ring)
        worst = max(float(off.max()), float(missed.max()))
        if worst > BASE_WITHIN:
            at = path.ring[int(off.argmax())] if off.max() >= missed.max() else over.ring[int(missed.argmax())]
            text = f"{base.whose(path)} in the base is {mm(worst)} off the one in {over.file} above it at {spot(at)}"
            yield base.found("hole-moved", text, "draw it where it is in the sheet above", path, at, worst, BASE_WITHIN)
