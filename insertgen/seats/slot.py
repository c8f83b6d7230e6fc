"""Slots: straight openings with round ends, bored at the ends and routed between."""

from __future__ import annotations

import math
from dataclasses import replace

from insertgen.geometry.arcs import straight_slot
from insertgen.model.figures import Circle, Contour, Point
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.seat import Cut
from insertgen.seats.bores import bore_of

__all__ = ["SlotCut", "slot_for"]

SlotCut = tuple[Contour | Circle, tuple[Cut, ...]]


def slot_for(item: Item, tray: Tray, clearance: float) -> SlotCut:
    """The contour of a slot, and the two bores at its ends for the schedule.

    It runs along the longer side of the item's bounds. Its width is the item's
    and the clearance on both sides, or more: what the ends are bored with, and
    no less than the cutter. Each end is just so far out that every point of the
    item keeps the clearance: about a centre at s a point (x, y) asks for
    s >= x - sqrt((w/2 - c)^2 - y^2).
    """
    points = item.steps[0].outline.outer
    xs, ys = zip(*points, strict=True)
    along_x = max(xs) - min(xs) >= max(ys) - min(ys)
    run, cross = (xs, ys) if along_x else (ys, xs)
    line = (min(cross) + max(cross)) / 2
    needed = max(cross) - min(cross) + 2 * clearance
    bore = bore_of(max(needed, _cutter(tray)), "slot-end", tray.cutting)
    within = bore.diameter / 2 - clearance
    reach = [(x, math.sqrt(max(within**2 - (y - line) ** 2, 0.0))) for x, y in zip(run, cross, strict=True)]
    low, high = min(x + room for x, room in reach), max(x - room for x, room in reach)
    if low > high:  # shorter than it is wide: one bore holds it
        low = high = (low + high) / 2
    ends = [_point(low, line, along_x), _point(high, line, along_x)]
    below = "through the tray's base too" if tray.base is not None else ""
    bore = replace(bore, note="; ".join(note for note in (below, bore.note) if note))
    bores = tuple(Cut(Circle(end, bore.diameter), tray.thickness, True, bore) for end in dict.fromkeys(ends))
    return straight_slot(ends[0], ends[1], bore.diameter), bores


def _cutter(tray: Tray) -> float:
    return 0.0 if tray.cutting.machine == "laser" else tray.cutting.cutter.diameter


def _point(run: float, line: float, along_x: bool) -> Point:
    return (run, line) if along_x else (line, run)
