"""Which cautions apply; the texts are fixed."""

from __future__ import annotations

import dataclasses

import pytest

from insertgen.errors import InsertgenError
from insertgen.model.item import Dowel, PostSeat
from insertgen.model.job import Cutter, Stock, Template
from insertgen.model.shape import PostKind, Shank, Store
from insertgen.output.cautions import caution_text, cautions_for
from insertgen.rules import CAUTION_TAIL, CAUTIONS
from tests.test_output_drawings import item, tray

PLY = (Stock("birch ply", 18.0),)


def codes(*items, **settings):
    return cautions_for(tray("t", 100.0, 100.0, items=items, **{"stack": PLY, "machine": "hand", **settings}))


def test_nothing_special_leaves_the_one_for_all():
    assert codes(item("01", "disc")) == ("always",)


@pytest.mark.parametrize("stock", ["mdf", "MDF 3/4", "hdf 3 mm", "tempered hardboard"])
def test_dusty_stock_in_any_sheet(stock):
    assert codes(stack=(*PLY, Stock(stock, 6.0))) == ("always", "mdf-dust")


def test_router():
    assert codes(machine="router") == ("always", "router-loose")


def test_bores_and_standing_cutters():
    standing = item("01", "cove", solid=Shank(6.35, 20.0), store=Store.BORE, bore=6.7)
    assert codes(standing) == ("always", "bore", "knife-up")
    assert codes(item("01", "bearing", store=Store.PEG, bore=6.35)) == ("always", "bore")


def test_sawn_openings_by_hand_only():
    through = item("01", "rule", store=Store.THROUGH, through=True)
    assert codes(through) == ("always", "saw")
    assert "saw" not in codes(through, machine="router")
    assert "saw" not in codes(item("01", "peg", store=Store.BORE, through=True, bore=6.0))


@pytest.mark.parametrize("name", ["Battery 18 V", "cordless driver"])
def test_cells(name):
    assert codes(item("01", name)) == ("always", "battery")


def test_laser():
    assert codes(machine="laser") == ("always", "laser-fume")


def test_slots_by_hand_are_bored_and_routed_and_not_sawn():
    assert codes(item("01", "saw", store=Store.SLOT, through=True)) == ("always", "slot-table", "bore")


def test_corners_are_sawn_by_hand_only():
    corner = item("01", "discs", store=Store.CORNER, through=True)
    assert codes(corner) == ("always", "saw")
    assert codes(corner, machine="router") == ("always", "router-loose")


@pytest.mark.parametrize(("kind", "said"), [(PostKind.DOWEL, False), (PostKind.PIN, True), (PostKind.NAIL, True)])
def test_posts_are_bored_and_steel_ones_have_points(kind, said):
    post = PostSeat((0.0, 0.0), kind, 3.0, 15.0, False, Dowel("3 mm", 3.0, 30.0))
    lying = dataclasses.replace(item("01", "wrench", store=Store.POSTS), posts=(post,))
    assert codes(lying) == ("always", "bore", *(("nail",) if said else ()))


def test_a_router_template_is_routed_by_hand():
    made = tray("t", 100.0, 100.0, stack=PLY, machine="hand")
    how = Template("bush", 15.875, Cutter(6.35), 6.0)
    assert cautions_for(dataclasses.replace(made, cutting=dataclasses.replace(made.cutting, template=how))) == ("always", "router-loose")


def test_what_hangs_below_the_base_is_a_load():
    hanging = dataclasses.replace(item("01", "saw", store=Store.SLOT, through=True), hang=20.0)
    assert codes(hanging)[-1] == "load"
    assert "below the base" in caution_text("load")


def test_a_dusty_base_makes_dust():
    made = tray("t", 100.0, 100.0, stack=PLY, machine="hand")
    assert cautions_for(dataclasses.replace(made, base=Stock("hdf", 6.0))) == ("always", "mdf-dust")


def test_weight_is_summed_and_unknown_weight_is_none():
    assert codes(item("01", "a", weight=1.2), item("02", "b")) == ("always",)
    assert codes(item("01", "a", weight=1.2), item("02", "b", weight=0.9)) == ("always", "load")


def test_order_is_that_of_the_table():
    found = codes(item("01", "cordless", solid=Shank(6.35, 20.0), store=Store.BORE, bore=6.7, weight=3.0), machine="router",
                  stack=(Stock("mdf", 18.0),))  # fmt: skip
    assert found == tuple(code for code in CAUTIONS if code in found)
    assert len(found) == 7


@pytest.mark.parametrize("code", CAUTIONS)
def test_each_text_ends_with_the_tail_once(code):
    assert caution_text(code).endswith(CAUTION_TAIL)
    assert caution_text(code).count(CAUTION_TAIL) == 1


def test_unknown_code():
    with pytest.raises(InsertgenError, match="always"):
        caution_text("nope")
