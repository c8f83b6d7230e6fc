"""What a tray wants, to items: counts expanded, numbered, every setting resolved."""

from __future__ import annotations

from insertgen.errors import JobError
from insertgen.items.depth import height_of, seat_depth, top_above_face
from insertgen.items.peg import peg_for
from insertgen.items.plan import kind_of, plan_outlines
from insertgen.items.size import size_text
from insertgen.model import Collet, Disc, Dowel, Item, RingPile, Shank, Shape, Store, Tray, Turn, Wanted
from insertgen.rules import default_store
from insertgen.units import format_mm

__all__ = ["STORES", "items_of"]

#: Which ways of storing go with a kind of thing.
STORES = {
    "outline": (Store.POCKET, Store.THROUGH, Store.STAND),
    "disc": (Store.POCKET, Store.THROUGH, Store.STAND, Store.BORE),
    "rectangle": (Store.POCKET, Store.THROUGH, Store.STAND),
    "slot": (Store.THROUGH, Store.POCKET),
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
    return tuple(_item(tray, each, f"{number:02d}") for number, each in enumerate(wanted, 1))


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
    if store is Store.POCKET:
        _has_cutter(tray, wanted.where)
    outline, room = plan_outlines(shape.solid, store, None if peg is None else peg.diameter)
    return Item(
        id=f"{tray.slug}/{tag}",
        tag=tag,
        name=shape.name,
        label=wanted.label or shape.label or shape.name,
        size=size_text(shape.solid),
        shape=shape,
        store=store,
        outline=outline,
        room=room,
        room_gap=tray.finger_room if bored else 0.0,
        height=height_of(shape),
        top=top_above_face(shape, store, sits.depth),
        depth=sits.depth,
        through=sits.through,
        clearance=clearance,
        expected_error=shape.traced.expected_error if shape.traced else 0.0,
        slack=slack,
        least_gap=least_gap,
        turn=wanted.turn or _TURNS.get(kind, Turn.FIXED),
        bore=_bore(shape, slack, peg) if bored else None,
        use=_use(shape) if bored else None,
        peg=peg,
        pinned=wanted.pinned,
        mirror=wanted.mirror,
    )


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
    return None if store in (Store.THROUGH, Store.STAND) else wanted.shape.depth


def _first(*values: float | None) -> float:
    return next(value for value in values if value is not None)


def _possible(clearance: float, least_gap: float, where: str) -> None:
    if least_gap > clearance + 1e-9:
        raise JobError(
            f"{where}: least_gap {format_mm(least_gap)} mm is more than the clearance of {format_mm(clearance)} mm all "
            "round; make the clearance larger or least_gap smaller"
        )


def _has_cutter(tray: Tray, where: str) -> None:
    """A shop that works by hand may own no router; then it saws, and cuts no pockets."""
    if tray.cutting.cutter.diameter == 0:
        raise JobError(
            f"{where}: a pocket is routed, by hand too, and its corners depend on the cutter; write "
            'cutter = { diameter = "1/4 in" } under [cutting], or store = "through" to saw it'
        )


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
