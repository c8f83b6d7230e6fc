"""What a tray wants, to items."""

from __future__ import annotations

import dataclasses

import pytest

from insertgen.errors import JobError
from insertgen.items.plan import disc_outline, kind_of
from insertgen.items.resolve import STORES, items_of
from insertgen.model.figures import Outline, Pose
from insertgen.model.item import Dowel, Turn, Wanted
from insertgen.model.job import Blank, Cutter, Cutting, Stock, Tray
from insertgen.model.shape import (
    Collet,
    Disc,
    Part,
    Rectangle,
    RingPile,
    Shank,
    Shape,
    Slot,
    Solid,
    Store,
    Traced,
)

TRIANGLE = Outline(((-5, -5), (5, -5), (0, 5)))
SOLIDS: dict[str, Solid] = {
    "outline": (Part(TRIANGLE),),
    "disc": Disc(30, 20),
    "rectangle": Rectangle(40, 20, 30),
    "slot": Slot(40, 10),
    "shank": Shank(6.35, 20, 16, 38),
    "collet": Collet(8, 20, 14, 28),
    "ring": RingPile(8, 22, 7, 2),
}
TRAY = Tray(
    name="Bits & bobs", slug="bits-bobs", inside=(301, 201), blank=Blank(300, 200), stack=(Stock("mdf", 18),) * 2,
    glued_first=True, edge_sawn=True, cutting=Cutting("router", Cutter(6.35), ()), web=6, margin=8, floor=3,
    play=0.5, finger_room=20, clearance=1, slack=0.35, least_gap=0.1,
)  # fmt: skip


def _tray(*wanted: Wanted, **other: object) -> Tray:
    return dataclasses.replace(TRAY, wanted=wanted, **other)  # type: ignore[arg-type]


def _want(solid: Solid, **other: object) -> Wanted:
    return Wanted(Shape("thing", solid), "job.toml, line 7", **other)  # type: ignore[arg-type]


def test_counts_are_expanded_and_numbered_in_job_order() -> None:
    items = items_of(
        _tray(_want(SOLIDS["disc"], count=2), _want(SOLIDS["shank"]), _want(SOLIDS["ring"], count=9))
    )
    assert [item.tag for item in items] == [f"{n:02d}" for n in range(1, 13)]
    assert [item.id for item in items[:3]] == ["bits-bobs/01", "bits-bobs/02", "bits-bobs/03"]
    assert [kind_of(item.shape.solid) for item in items] == ["disc"] * 2 + ["shank"] + ["ring"] * 9
    assert items_of(_tray()) == ()


def test_more_than_99_items_keep_tags_of_their_own() -> None:
    tags = [item.tag for item in items_of(_tray(_want(SOLIDS["disc"], count=120)))]
    assert len(set(tags)) == 120
    assert tags[98:101] == ["99", "100", "101"]


@pytest.mark.parametrize("kind", SOLIDS)
def test_stores_by_kind(kind: str) -> None:
    default = {"slot": Store.THROUGH, "shank": Store.BORE, "collet": Store.BORE, "ring": Store.PEG}
    (item,) = items_of(_tray(_want(SOLIDS[kind])))
    assert item.store is default.get(kind, Store.POCKET)
    for store in Store:
        tray = _tray(_want(SOLIDS[kind], store=store, depth=20.0 if store is Store.SLOT else None))
        if store in STORES[kind]:
            assert items_of(tray)[0].store is store
        else:
            with pytest.raises(
                JobError, match=rf'^job\.toml, line 7: store = "{store}" does not go with an? {kind}'
            ):
                items_of(tray)


def test_item_over_shape_over_tray() -> None:
    shape = Shape(
        "thing", Disc(30, 20), label="S", clearance=2, slack=1, least_gap=0.2, depth=7, store=Store.THROUGH
    )
    plain = Wanted(Shape("thing", Disc(30, 20)), "w")
    own = Wanted(shape, "w", label="I", clearance=3, slack=0, least_gap=0.3, depth=8, store=Store.POCKET)
    by_tray, by_shape, by_item = items_of(_tray(plain, Wanted(shape, "w"), own))
    assert [(i.clearance, i.slack, i.least_gap, i.label) for i in (by_tray, by_shape, by_item)] == [
        (1, 0.35, 0.1, "thing"), (2, 1, 0.2, "S"), (3, 0, 0.3, "I"),
    ]  # fmt: skip
    assert (by_shape.store, by_shape.depth, by_shape.through) == (Store.THROUGH, 36, True)
    assert (by_item.store, by_item.depth, by_item.through) == (Store.POCKET, 8, False)


def test_a_shape_depth_gives_way_where_the_job_cuts_through() -> None:
    shape = Shape("thing", Disc(30, 20), depth=7)
    (item,) = items_of(_tray(Wanted(shape, "w", store=Store.THROUGH)))
    assert (item.depth, item.through) == (36, True)
    with pytest.raises(JobError, match=r"^w: depth = 7 mm goes not with"):
        items_of(_tray(Wanted(shape, "w", store=Store.THROUGH, depth=7)))


def test_a_bit() -> None:
    (item,) = items_of(_tray(_want(SOLIDS["shank"])))
    assert (item.bore, item.use, item.depth, item.top, item.room_gap) == (6.7, "shank", 33, 21, 20)
    assert (item.outline, item.room) == (disc_outline(6.35), disc_outline(20))
    assert (item.height, item.size, item.turn) == (54, "1/4 in shank, 20 mm head", Turn.FIXED)


def test_a_collet() -> None:
    (item,) = items_of(_tray(_want(SOLIDS["collet"])))
    assert (item.bore, item.use, item.depth, item.top) == (20.35, "collet", 14, 14)


def test_bearings() -> None:
    (item,) = items_of(_tray(_want(SOLIDS["ring"])))
    assert item.peg == Dowel("1/4 in", 6.35, 33 + 14 + 6)
    assert (item.bore, item.use, item.depth, item.top, item.room_gap) == (6.35, "peg", 33, 20, 20)
    assert (item.outline, item.room) == (disc_outline(6.35), disc_outline(22))


def test_a_disc_in_a_bore() -> None:
    (item,) = items_of(_tray(_want(Disc(30, 20), store=Store.BORE)))
    assert (item.bore, item.use, item.depth, item.room_gap) == (30.35, "shank", 10, 20)


def test_what_only_stands_has_no_bore_nor_depth() -> None:
    for kind in ("shank", "ring", "collet", "disc"):
        (item,) = items_of(_tray(_want(SOLIDS[kind], store=Store.STAND)))
        assert (item.bore, item.use, item.peg, item.depth, item.through) == (None, None, None, 0, False)
        assert item.outline == item.room
        assert item.top == item.height


def test_a_traced_outline_brings_its_expected_error_and_is_not_mirrored_itself() -> None:
    traced = Traced((), 40, 1, 0.1, 0, 0.4)
    wanted = Wanted(
        Shape("thing", (Part(TRIANGLE),), traced=traced), "w", mirror=True, pinned=Pose(9, 9, 30, True)
    )
    (item,) = items_of(_tray(wanted))
    assert (item.expected_error, item.clearance) == (0.4, 1)
    assert item.outline == TRIANGLE
    assert (item.mirror, item.pinned, item.turn) == (True, Pose(9, 9, 30, True), Turn.QUARTER)


def test_a_gap_that_cannot_be() -> None:
    with pytest.raises(JobError, match=r"least_gap 0\.1 mm is more than the clearance of 0\.05 mm"):
        items_of(_tray(_want(Disc(30, 20), clearance=0.05)))
    assert items_of(_tray(_want(SOLIDS["shank"], clearance=0.05)))  # a bore has slack, not clearance


def test_a_shop_without_a_router_cuts_no_pockets() -> None:
    by_hand = Cutting("hand", Cutter(0.0), ())
    with pytest.raises(JobError, match=r"^job\.toml, line 7: a pocket is routed, by hand too"):
        items_of(_tray(_want(Disc(30, 20)), cutting=by_hand))
    assert items_of(_tray(_want(Disc(30, 20), store=Store.THROUGH), _want(SOLIDS["shank"]), cutting=by_hand))
