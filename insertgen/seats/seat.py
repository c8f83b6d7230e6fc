"""An item to its seat: the cuts that hold it, proved on the contours as they will be written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from insertgen.errors import JobError
from insertgen.geometry.arcs import fit_path
from insertgen.geometry.distance import can_shift, gap_inside
from insertgen.geometry.offset import grown, opened
from insertgen.geometry.region import (
    Region,
    area,
    disc,
    empty,
    from_outline,
    from_path,
    minus,
    pieces,
    to_outlines,
    union,
    without_holes,
)
from insertgen.model.figures import Circle, Contour, Outline
from insertgen.model.item import Item, Step
from insertgen.model.job import Tray
from insertgen.model.seat import Cut, Seat
from insertgen.model.shape import Disc, Store
from insertgen.rules import SLIVER
from insertgen.seats.bores import bore_for, post_bore
from insertgen.seats.fingers import Bay, bays_of, joined
from insertgen.seats.opening import opening_for, without_slivers
from insertgen.seats.slot import slot_for
from insertgen.seats.starts import start_hole
from insertgen.units import format_length, format_mm

__all__ = ["FIT_TOLERANCE", "seat_for"]

#: Lines and arcs follow the opening within this; the opening is grown by it first, so that it never shrinks.
FIT_TOLERANCE = 0.02

#: Cutters tried, in this order, to say which one would do. Common practice, no source.
USUAL_CUTTERS = (12.7, 12.0, 10.0, 9.525, 8.0, 6.35, 6.0, 5.0, 4.7625, 4.0, 3.175, 3.0, 2.0, 1.5875, 1.0)


@dataclass(frozen=True, slots=True)
class _Opening:
    """One step as it will be cut: the item, the path, the region inside the path, and its share of finger recesses."""

    step: Step
    item: Region
    path: Contour | Circle
    region: Region
    bays: Region


def seat_for(item: Item, tray: Tray) -> Seat:
    """The seat of one item in one tray.

    A seat deeper than the stack less the floor is cut only that deep, never
    silently through; `check` reports it.

    Raises
    ------
    JobError
        The cutter is so wide that the item could shift about in its seat; names one that would do.
    """
    if item.store is Store.STAND:
        return Seat(item, (), (), 0.0, None, None)
    if item.store is Store.POSTS:
        return _between_posts(item, tray)
    if item.bore is not None:
        bore = bore_for(item, tray.cutting)
        circle = Circle((0.0, 0.0), bore.diameter)
        depth = tray.thickness if item.through else min(item.depth, tray.thickness - tray.floor)
        return Seat(item, (Cut(circle, depth, item.through, bore),), (_plan(circle),), 0.0, None, None)
    clearance = item.clearance + item.expected_error
    if item.store is Store.SLOT:
        path, ends = slot_for(item, tray, clearance)
        opening = _Opening(item.steps[0], _solid(item.steps[0]), path, from_path(path), empty())
        return replace(_proved(item, tray, clearance, [opening]), schedule=ends)
    return _cut_out(item, tray, clearance)


def _between_posts(item: Item, tray: Tray) -> Seat:
    cuts = []
    for post in item.posts:
        bore = post_bore(post, tray.cutting)
        cuts.append(Cut(Circle(post.at, bore.diameter), post.depth, post.through, bore))
    plans = tuple(_plan(cut.path) for cut in cuts)
    return Seat(item, tuple(cuts), plans, 0.0, None, None)


def _cut_out(item: Item, tray: Tray, clearance: float) -> Seat:
    bays = bays_of(item, _solid(item.steps[0]))
    openings = _openings(item, _radius(item, tray), clearance, bays)
    if _rattles(openings, clearance + tray.shift):
        raise JobError(_too_wide(item, tray, clearance, bays))
    seat = _proved(item, tray, clearance, openings)
    sawn = tray.cutting.machine == "hand" and tray.cutting.template is None
    if sawn and item.store in (Store.POCKET, Store.THROUGH) and item.steps[-1].through:
        return replace(seat, schedule=start_hole(openings[-1].region, tray))
    return seat


def _radius(item: Item, tray: Tray) -> float:
    """Of the cutter that goes round in the seat; a saw and a laser turn any corner."""
    sawn = tray.cutting.machine == "hand" and all(step.through for step in item.steps)
    if tray.cutting.machine == "laser" or (sawn and tray.cutting.template is None):
        return 0.0
    return tray.cutting.pocket_cutter.diameter / 2


def _openings(item: Item, radius: float, clearance: float, bays: Sequence[Bay]) -> list[_Opening]:
    """The openings of all steps, the widest first: from the deepest up, each within the one above it."""
    below: list[_Opening] = []
    # opened with a little more than the cutter: the fit may not leave a bend tighter than it
    wide = radius + 2 * FIT_TOLERANCE if radius else 0.0
    cut = empty()
    for step in reversed(item.steps):
        solid = _solid(step)
        recess = joined(bays, solid)
        if _is_round(item) and not bays and _diameter(item) / 2 + clearance >= radius:
            path: Contour | Circle = Circle((0.0, 0.0), _diameter(item) + 2 * clearance)
        else:
            region = opening_for(solid, clearance=clearance, radius=wide, least_gap=item.least_gap)
            cut = without_slivers(without_holes(union([region, recess, cut])), SLIVER, wide)
            ring = to_outlines(grown(pieces(cut)[0], FIT_TOLERANCE))[0].outer
            path = fit_path(ring, FIT_TOLERANCE)
        below.append(_Opening(step, solid, path, from_path(path), recess))
    return below[::-1]


def _is_round(item: Item) -> bool:
    return isinstance(item.shape.solid, Disc)


def _diameter(item: Item) -> float:
    return item.shape.solid.diameter if isinstance(item.shape.solid, Disc) else 0.0


def _solid(step: Step) -> Region:
    return without_holes(from_outline(step.outline))


def _proved(item: Item, tray: Tray, clearance: float, openings: list[_Opening]) -> Seat:
    """The seat with what is measured on the contours as they will be written."""
    radius = _radius(item, tray)
    most = tray.thickness - tray.floor
    cuts = tuple(
        Cut(one.path, tray.thickness if one.step.through else min(one.step.depth, most), one.step.through) for one in openings
    )
    unreached = [
        area(minus(one.region, opened(one.region, radius - FIT_TOLERANCE))) if radius else 0.0 for one in openings
    ]
    extra = [area(minus(one.region, union([grown(one.item, clearance), one.bays]))) for one in openings]
    least_gap = min(gap_inside(one.item, one.region).distance for one in openings)
    if least_gap < item.least_gap - FIT_TOLERANCE:
        raise JobError(
            f"{item.where}: {item.tag} {item.label}: no seat was found that leaves {format_mm(item.least_gap)} mm everywhere "
            f"(found {format_mm(least_gap)} mm); change clearance or least_gap a little, or mend the outline"
        )
    return Seat(
        item=item,
        cuts=cuts,
        opening=(_plan(openings[0].path),),
        clearance=clearance,
        least_gap=least_gap,
        unreached_area=sum(unreached),
        extra_area=sum(extra),
    )


def _rattles(openings: list[_Opening], most: float) -> bool:
    """Whether no step keeps the item from moving about by more than ``most``."""
    return all(can_shift(one.item, one.region, most) for one in openings)


def _too_wide(item: Item, tray: Tray, clearance: float, bays: Sequence[Bay]) -> str:
    cutter, most = tray.cutting.pocket_cutter, clearance + tray.shift
    if not _rattles(_openings(item, _radius(item, tray), clearance, ()), most):
        return (
            f"{item.where}: {item.tag} {item.label}: it could slide into its finger recess by more than {format_mm(most)} mm "
            "(clearance and shift); put the grip elsewhere, or write grips = 0"
        )
    fitting = next(
        (
            diameter
            for diameter in USUAL_CUTTERS
            if diameter < cutter.diameter and not _rattles(_openings(item, diameter / 2, clearance, bays), most)
        ),
        None,
    )
    smaller = "use a smaller cutter" if fitting is None else f"a cutter of {format_length(fitting)} would do"
    return (
        f"{item.where}: {item.tag} {item.label}: the cutter of {format_length(cutter.diameter)} makes its seat so wide that "
        f"it could shift by more than {format_mm(most)} mm (clearance and shift); {smaller}, or allow more with shift = ..."
    )


def _plan(path: Contour | Circle) -> Outline:
    region = disc(path.centre, path.diameter) if isinstance(path, Circle) else from_path(path, tolerance=0.01)
    return to_outlines(region)[0]
