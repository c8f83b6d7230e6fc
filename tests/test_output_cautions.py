"""Which cautions apply; the texts are fixed."""

from __future__ import annotations

import pytest

from insertgen.errors import InsertgenError
from insertgen.model import Shank, Stock, Store
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
