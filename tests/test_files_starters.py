"""The starters as shipped: each is a job that can be read anywhere, and says what it is for."""

from __future__ import annotations

import pytest

from insertgen.errors import ShapeNotFoundError
from insertgen.files.job import read_job
from insertgen.files.names import slug
from insertgen.files.starters import Starter, list_starters
from insertgen.model.shape import Collet, Disc, Rectangle, RingPile, Shank, Shape, Slot

STARTERS = {starter.name: starter for starter in list_starters()}


def _none(name: str) -> Shape:
    raise ShapeNotFoundError(f"a starter must build anywhere, and uses the shape file {name}")


@pytest.mark.parametrize("starter", STARTERS.values(), ids=list(STARTERS))
def test_every_starter_is_a_job_without_shape_files(starter: Starter) -> None:
    job = read_job(starter.text, f"{starter.name}.toml", _none)
    assert slug(job.name) == starter.name
    assert starter.about
    assert starter.text.startswith(f"# {starter.about}\n")
    assert max(len(line) for line in starter.text.splitlines()) <= 112


def test_fitted_pockets_shows_every_pocket_kind() -> None:
    (tray,) = read_job(STARTERS["fitted-pockets"].text, "f.toml", _none).trays
    assert {type(wanted.shape.solid) for wanted in tray.wanted} == {Disc, Rectangle, Slot}
    assert tray.inside == pytest.approx((14 * 25.4, 11 * 25.4))


def test_drilled_rack_is_glued_of_two_sheets_with_three_shanks_collets_and_rings() -> None:
    (tray,) = read_job(STARTERS["drilled-rack"].text, "d.toml", _none).trays
    assert (len(tray.stack), tray.glued_first) == (2, True)
    solids = [wanted.shape.solid for wanted in tray.wanted]
    assert {solid.diameter for solid in solids if isinstance(solid, Shank)} == {6.35, 9.525, 12.7}
    assert any(isinstance(solid, Collet) for solid in solids)
    assert any(isinstance(solid, RingPile) for solid in solids)
