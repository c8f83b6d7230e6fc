"""What a tray wants, to items: counts expanded, numbered, every setting resolved."""

from __future__ import annotations

from itertools import accumulate

from insertgen.errors import JobError
from insertgen.geometry.region import bounds, from_outline
from insertgen.items.beside import with_partners
from insertgen.items.depth import DEPTHLESS, SeatDepth, height_of, seat_depth, top_above_face
from insertgen.items.facing import facing_of
from insertgen.items.peg import peg_for
from insertgen.items.plan import disc_outline, kind_of, plan_outlines
from insertgen.items.posts import post_room, posts_for
from insertgen.items.size import size_text
from insertgen.items.steps import above_face, steps_of, whole_outline
from insertgen.model.figures import Outline, Point
from insertgen.model.item import Dowel, Item, Step, Turn, Wanted
from insertgen.model.job import Tray
from insertgen.model.shape import Collet, Disc, Part, RingPile, Shank, Shape, Store
from insertgen.rules import FINGERS_APART, LIFTED_ALONE, default_store
from insertgen.units import format_mm

__all__ = ["STORES", "items_of"]

#: Which ways of storing go with a kind of thing.
STORES = {
    "outline": (Store.POCKET, Store.THROUGH, Store.STAND, Store.SLOT, Store.CORNER, Store.POSTS),
    "disc": (Store.POCKET, Store.THROUGH, Store.STAND, Store.BORE, Store.CORNER),
    "rectangle": (Store.POCKET, Store.THROUGH, Store.STAND, Store.SLOT, Store.CORNER, Store.POSTS),
    "slot": (Store.THROUGH, Store.POCKET, Store.SLOT),
    "shank": (Store.BORE, Store.STAND),
    "collet": (Store.BORE, Store.STAND),
    "ring": (Store.PEG, Store.STAND),
}

#: Trays look tidy in quarter turns; a round thing looks the same at any. "any" is for the job to ask.
_TURNS = {"outline": Turn.QUARTER, "rectangle": Turn.QUARTER, "slot": Turn.QUARTER}


def items_of(tray: Tray) -> tuple[Item, ...]:
    """Every item of a tray in job order, tags from 01; item over shape over tray.

    Raises
    ------
    JobError
        A way of storing that does not go with the kind of thing, a depth that
        does not go with the way of storing, a ring no dowel fits.
    """
    wanted = [each for each in tray.wanted for _ in range(each.count)]
    items = [_item(tray, each, f"{number:02d}") for number, each in enumerate(wanted, 1)]
    with_beside = with_partners(items, [each.beside for each in wanted])
    return (*with_beside, *([] if tray.lift_out is None else [_lift_out(tray, tray.lift_out)]))


def _item(tray: Tray, wanted: Wanted, tag: str) -> Item:
    shape = wanted.shape
    kind = kind_of(shape.solid)
    store = _store(wanted, kind)
    sits = seat_depth(shape, store, _asked_depth(wanted, store), tray, wanted.where)
    peg = _peg(shape, store, sits.depth, wanted.where)
    slack = _first(wanted.slack, shape.slack, tray.slack)
    clearance = _first(wanted.clearance, shape.clearance, tray.clearance)
    least_gap = _first(wanted.least_gap, shape.least_gap, tray.least_gap)
    bored = store in (Store.BORE, Store.PEG)
    if not bored and store is not Store.STAND:
        _possible(clearance, least_gap, wanted.where)
    _fits_store(tray, wanted, store)
    steps = _steps(shape, store, sits, tray, wanted.where)
    outline, room = _plan(shape, store, sits, peg, steps)
    error = shape.traced.expected_error if shape.traced else 0.0
    posts = posts_for(shape, outline, clearance + error, least_gap, tray, wanted.where) if store is Store.POSTS else ()
    top = top_above_face(shape, store, sits.depth)
    lining = 2 * tray.lining if store is Store.BORE else 0.0
    return Item(
        id=f"{tray.slug}/{tag}",
        tag=tag,
        name=shape.name,
        label=wanted.label or shape.label or shape.name,
        size=size_text(shape.solid),
        shape=shape,
        store=store,
        outline=outline,
        room=post_room(outline, posts) if posts else room,
        room_gap=_room_gap(tray, store),
        height=height_of(shape),
        top=top,
        depth=sits.depth,
        through=sits.through,
        clearance=clearance if store is Store.POSTS else clearance + tray.lining,
        expected_error=error,
        slack=slack,
        least_gap=least_gap,
        turn=wanted.turn or _TURNS.get(kind, Turn.FIXED),
        bore=_bore(shape, slack + lining, peg) if bored else None,
        use=_use(shape) if bored else None,
        peg=peg,
        pinned=wanted.pinned,
        mirror=wanted.mirror,
        steps=steps,
        posts=posts,
        grips=_grips(wanted, store, top, outline),
        group=None if wanted.group is None else wanted.group.casefold(),
        front=wanted.front,
        face=facing_of(wanted, kind),
        hang=_hang(tray, sits.depth) if store is Store.SLOT else 0.0,
        asked_depth=sits.asked,
        where=wanted.where,
    )


def _lift_out(tray: Tray, diameter: float) -> Item:
    """The hole by which the insert is lifted out: laid out as if it held a thing of its own size."""
    outline = disc_outline(diameter)
    shape = Shape("lift-out hole", Disc(diameter), height=tray.thickness)
    return Item(
        id=f"{tray.slug}/L",
        tag="L",
        name=shape.name,
        label=shape.name,
        size=size_text(shape.solid),
        shape=shape,
        store=Store.THROUGH,
        outline=outline,
        room=outline,
        room_gap=0.0,
        height=None,
        top=0.0,
        depth=tray.thickness,
        through=True,
        clearance=0.0,
        expected_error=0.0,
        slack=tray.slack,
        least_gap=0.0,
        turn=Turn.FIXED,
        steps=(Step(outline, tray.thickness, True),),
        where=tray.name,
    )


def _room_gap(tray: Tray, store: Store) -> float:
    """Free space round what stands out: fingers get between heads; what lies on the face is no rim of a pocket."""
    if store in (Store.BORE, Store.PEG):
        return tray.finger_room
    return tray.web if store in (Store.STAND, Store.POSTS) else 0.0


def _parts(shape: Shape) -> tuple[Part, ...]:
    if isinstance(shape.solid, tuple):
        return shape.solid
    return (Part(plan_outlines(shape.solid, Store.STAND)[0], 0.0, height_of(shape)),)


def _steps(shape: Shape, store: Store, sits: SeatDepth, tray: Tray, where: str) -> tuple[Step, ...]:
    if store not in (Store.POCKET, Store.THROUGH, Store.SLOT, Store.CORNER):
        return ()
    faces = tuple(accumulate(sheet.thickness for sheet in tray.stack)) if tray.cutting.machine == "laser" else ()
    steps = steps_of(_parts(shape), store, sits.depth, tray.thickness, where, faces)
    if not steps:
        raise JobError(f'{where}: "{shape.name}" has no part below the face at a depth of {format_mm(sits.depth)} mm')
    if sits.through and not steps[-1].through:
        steps = (*steps[:-1], Step(steps[-1].outline, tray.thickness, True))
    if tray.cutting.machine == "hand" and tray.cutting.pocket_cutter.diameter == 0 and not all(s.through for s in steps):
        # a shop that works by hand may own no router; then it saws, and cuts no pockets
        raise JobError(
            f"{where}: a pocket is routed, by hand too, and its corners depend on the cutter; write "
            'cutter = { diameter = "1/4 in" } under [cutting], or store = "through" to saw it'
        )
    return steps


def _plan(
    shape: Shape, store: Store, sits: SeatDepth, peg: Dowel | None, steps: tuple[Step, ...]
) -> tuple[Outline, Outline]:
    """What goes into the seat, and what takes room above the face."""
    if steps:
        outline = steps[0].outline
        return outline, above_face(_parts(shape), sits.depth, outline)
    if isinstance(shape.solid, tuple):
        outline = whole_outline(shape.solid)
        return outline, outline
    return plan_outlines(shape.solid, store, None if peg is None else peg.diameter)


def _grips(wanted: Wanted, store: Store, top: float | None, outline: Outline) -> tuple[Point, ...] | None:
    """Where fingers go; None: the program decides, which only a thing larger than its recesses asks for."""
    asked = wanted.grips if wanted.grips is not None else wanted.shape.grips
    if store not in (Store.POCKET, Store.THROUGH):
        if wanted.grips:
            raise JobError(f'{wanted.where}: a grip is cut beside a pocket or through-cut, not with store = "{store}"; leave it out')
        return ()
    if asked is not None:
        return asked
    x0, y0, x1, y1 = bounds(from_outline(outline))
    small = max(x1 - x0, y1 - y0) < FINGERS_APART
    return () if small or (top is not None and top >= LIFTED_ALONE - 1e-9) else None


def _hang(tray: Tray, depth: float) -> float:
    base = tray.base.thickness if tray.base is not None else 0.0
    return max(0.0, depth - tray.thickness - base)


def _store(wanted: Wanted, kind: str) -> Store:
    store = wanted.store or wanted.shape.store or default_store(kind)
    if store not in STORES[kind]:
        known = ", ".join(f'"{each}"' for each in STORES[kind])
        raise JobError(
            f'{wanted.where}: store = "{store}" does not go with {_KINDS[kind]} ("{wanted.shape.name}"); use {known}'
        )
    return store


_KINDS = {
    "outline": "an outline", "disc": "a disc", "rectangle": "a rectangle", "slot": "a slot", "shank": "a shank",
    "collet": "a collet", "ring": "a ring",
}  # fmt: skip


def _asked_depth(wanted: Wanted, store: Store) -> float | None:
    """The job's depth; the shape's only counts where the job did not turn its seat into one without depth."""
    if wanted.depth is not None:
        return wanted.depth
    return None if store in DEPTHLESS else wanted.shape.depth


def _first(*values: float | None) -> float:
    return next(value for value in values if value is not None)


def _possible(clearance: float, least_gap: float, where: str) -> None:
    if least_gap > clearance + 1e-9:
        raise JobError(
            f"{where}: least_gap {format_mm(least_gap)} mm is more than the clearance of {format_mm(clearance)} mm all "
            "round; make the clearance larger or least_gap smaller"
        )


def _fits_store(tray: Tray, wanted: Wanted, store: Store) -> None:
    """What goes with one way of storing only."""
    if store is Store.SLOT and wanted.turn is Turn.ANY:
        raise JobError(
            f'{wanted.where}: turn = "any" goes not with store = "slot": it is routed along a fence, so it runs along an edge; '
            'use "quarter" or "half"'
        )
    if store is not Store.POSTS and wanted.shape.posts:
        raise JobError(f'{wanted.where}: there are posts, but store = "{store}"; use store = "posts", or leave the posts out')


def _peg(shape: Shape, store: Store, depth: float, where: str) -> Dowel | None:
    if store is Store.PEG and isinstance(shape.solid, RingPile):
        return peg_for(shape.solid, depth, where)
    return None


def _bore(shape: Shape, slack: float, peg: Dowel | None) -> float:
    """The diameter the bore must at least have; a peg is glued into a bore of its own size."""
    if peg is not None:
        return peg.diameter
    match shape.solid:
        case Shank() | Disc():
            return round(shape.solid.diameter + slack, 9)
        case Collet():
            return round(shape.solid.large + slack, 9)
        case _:
            raise JobError(f"{shape.name}: {_KINDS[kind_of(shape.solid)]} is stored in no bore")


def _use(shape: Shape) -> str:
    # a disc in a bore is drilled and seated as a shank is
    return {"collet": "collet", "ring": "peg"}.get(kind_of(shape.solid), "shank")
