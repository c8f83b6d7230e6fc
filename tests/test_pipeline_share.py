"""A job's own items over its trays: by height, weight, group, room; worked out by hand beside each check."""

from __future__ import annotations

import pytest

from insertgen.errors import JobError
from insertgen.files.job import read_job
from insertgen.files.layout import read_layout, write_layout
from insertgen.model.job import Blank, Job
from insertgen.model.layout import Layout, LeftOutReason, Unmet, Wish
from insertgen.model.shape import Shape
from insertgen.pipeline.share import Asked, Laid, laid_out
from insertgen.pipeline.stop import Stop
from tests.arrange_values import faults

AMPLE = 1.0  # seconds a layout: enough to find room; how evenly it is shared is not asked here
HEAD = """\
format = 1
name = "job"
units = "mm"
[cutting]
with = "router"
cutter = { diameter = 6 }
web = 6
margin = 8
[stock.mdf]
thickness = 18
"""


def tray(name: str, *, inside: str = "[301, 201]", headroom: int = 100, items: str = "") -> str:
    return f'[[tray]]\nname = "{name}"\ninside = {inside}\nheadroom = {headroom}\nstack = ["mdf"]\n{items}'


def item(name: str, size: tuple[int, int, int], more: str = "", *, of: str = "item") -> str:
    """A box in a pocket 10 deep, fingers going nowhere."""
    length, width, height = size
    return (
        f'[[{of}]]\nname = "{name}"\nrectangle = {{ length = {length}, width = {width}, height = {height} }}\n'
        f"depth = 10\ngrips = 0\n{more}"
    )


def _heavy(name: str) -> Shape:
    box = read_job(HEAD + tray("t", items=item(name, (80, 60, 30), of="tray.item")), "job.toml", _none).trays[0].wanted[0].shape
    return Shape(name, box.solid, weight_kg=3.0, source=name)


def _none(name: str) -> Shape:
    raise AssertionError(name)


def _job(*parts: str) -> Job:
    return read_job(HEAD + "".join(parts), "job.toml", _heavy)


def _laid(job: Job, before: dict[str, Layout] | None = None, seed: int = 0) -> tuple[Laid, ...]:
    laid = laid_out(job, Asked(seed, AMPLE, lambda _: None, Stop(), before or {}))
    for one in laid:
        assert faults(one.tray, one.seats, one.layout) == []
    return laid


def _names(laid: tuple[Laid, ...]) -> list[list[str]]:
    """What is placed in each tray."""
    return [[one.name for one in tray.layout.placements] for tray in laid]


def test_what_is_tall_goes_where_there_is_headroom() -> None:
    """Base 18 thick, pocket 10 deep: what is 70 high needs 78 of headroom, what is 50 high 58."""
    job = _job(tray("low", headroom=60), tray("high", headroom=80), item("tall", (60, 40, 70)), item("flat", (60, 40, 50)))
    assert _names(_laid(job)) == [["flat"], ["tall"]]


def test_the_least_headroom_that_does_is_taken_whatever_the_order() -> None:
    job = _job(tray("high", headroom=80), tray("low", headroom=60), item("flat", (60, 40, 50)))
    assert _names(_laid(job)) == [[], ["flat"]]


def test_heavy_things_go_low_and_trays_are_listed_from_the_bottom() -> None:
    job = _job(tray("bottom", headroom=90), tray("top", headroom=60), '[[item]]\nshape = "anvil"\ndepth = 10\ngrips = 0\n')
    assert _names(_laid(job)) == [["anvil"], []]


def test_they_are_numbered_after_the_trays_own() -> None:
    own = item("own", (50, 40, 20), "count = 2\n", of="tray.item")
    job = _job(tray("one", items=own), item("box", (60, 40, 20), "count = 2\n"))
    (tray_laid,) = _laid(job)
    assert [(one.id, one.name) for one in tray_laid.layout.placements] == [
        ("one/01", "own"), ("one/02", "own"), ("one/03", "box"), ("one/04", "box"),
    ]  # fmt: skip
    assert tray_laid.layout.shared == (1, 2)


def test_groups_join_their_own() -> None:
    own = item("sander", (60, 40, 20), 'group = "Sanding"\n', of="tray.item")
    job = _job(tray("a", headroom=50), tray("b", items=own), item("block", (60, 40, 20), 'group = "sanding"\ncount = 2\n'))
    assert _names(_laid(job)) == [[], ["sander", "block", "block"]]


def test_what_is_beside_something_goes_where_that_is() -> None:
    own = item("bit", (60, 40, 20), of="tray.item")
    job = _job(tray("a", headroom=50), tray("b", items=own), item("bearing", (20, 20, 20), 'beside = "bit"\n'))
    laid = _laid(job)
    assert _names(laid) == [[], ["bit", "bearing"]]
    assert laid[1].layout.unmet == ()


def test_what_finds_no_room_in_one_goes_into_another() -> None:
    """300 x 200 less margins of 8 is 284 x 184: of three boxes 130 x 90 in clearance 132 x 92, two and two go in, not three abreast.

    The web of 6 between: 2 x 132 + 6 = 270 across, 2 x 92 = 184 deep but for the web, so one row only, and turned
    3 x 92 + 2 x 6 = 288: two a tray.
    """
    job = _job(tray("a"), tray("b"), item("box", (130, 90, 20), "count = 4\n"))
    laid = _laid(job)
    assert _names(laid) == [["box"] * 2, ["box"] * 2]
    assert [one.layout.left_out for one in laid] == [(), ()]


def test_a_tray_s_own_come_first() -> None:
    """Room for two (see above), two of its own: what is shared stays out, and where all would fit is said."""
    own = item("own", (130, 90, 20), "count = 2\n", of="tray.item")
    (laid,) = _laid(_job(tray("a", items=own), item("box", (130, 90, 20))))
    assert _names((laid,)) == [["own", "own"]]
    (out,) = laid.layout.left_out
    assert (out.id, out.why) == ("a/03", LeftOutReason.NO_ROOM)
    assert out.short is not None
    would = laid.layout.would_hold
    assert would is not None
    # three side by side, turned, need 3 x 92 + 2 x 6 + 16 = 304 across; in steps of 5, sought to an eighth of the first try
    assert 304 <= would.width <= 330
    assert (would.width % 5, would.depth % 5) == (0, 0)


def test_the_smallest_tray_of_the_job_that_would_do_is_named() -> None:
    """306 x 180 holds the three (see above), and is smaller than 300 x 200 grown in proportion to 304 across."""
    own = item("own", (130, 90, 20), "count = 3\n", of="tray.item")
    small, large = _laid(_job(tray("small", items=own), tray("large", inside="[307, 181]")))
    assert small.layout.would_hold == Blank(306.0, 180.0)
    assert large.layout.would_hold is None


def test_too_tall_for_every_tray_is_left_out_of_the_highest() -> None:
    laid = _laid(_job(tray("low", headroom=30), tray("high", headroom=40), item("tall", (60, 40, 90))))
    assert [[(one.id, one.why) for one in tray.layout.left_out] for tray in laid] == [[], [("high/01", LeftOutReason.TOO_TALL)]]
    assert laid[1].layout.would_hold is None  # no blank makes it lower


def test_a_group_that_no_tray_holds_is_split_and_said() -> None:
    job = _job(tray("a"), tray("b"), item("box", (130, 90, 20), 'count = 4\ngroup = "g"\n'))
    laid = _laid(job)
    assert [len(one.layout.placements) for one in laid] == [2, 2]
    assert laid[0].layout.unmet == ()
    assert laid[1].layout.unmet == (Unmet("b/01", Wish.GROUP, ("a/01",)),)


def test_room_is_made_by_moving_something_that_fits_elsewhere() -> None:
    """High enough for the tall box is only b, whose room the flat ones have by their low headroom's tie."""
    flat = item("flat", (270, 80, 20))
    job = _job(tray("b", headroom=90), tray("a", headroom=90), flat, item("also", (130, 90, 20), "count = 2\n"))
    laid = _laid(job)
    assert sorted(name for names in _names(laid) for name in names) == ["also", "also", "flat"]


def test_what_can_be_seated_nowhere_is_refused() -> None:
    job = _job(tray("a"), '[[item]]\nname = "x"\ndisc = { diameter = 30, height = 20 }\nstore = "posts"\n')
    with pytest.raises(JobError, match=r'^job\.toml, line 16: store = "posts" does not go with a disc'):
        _laid(job)


def test_held_as_last_time_all_is_the_same_to_the_last_byte() -> None:
    own = item("own", (130, 90, 20), of="tray.item")
    job = _job(tray("a", items=own), tray("b", headroom=60), item("box", (60, 40, 20), "count = 5\n"), item("big", (130, 90, 20), "count = 4\n"))
    first = _laid(job)
    assert any(one.layout.left_out for one in first)
    texts = [write_layout(one.layout) for one in first]
    before = {one.tray.slug: read_layout(text, "layout.json") for one, text in zip(first, texts, strict=True)}
    assert [write_layout(one.layout) for one in _laid(job, before, seed=9)] == texts


def test_held_as_last_time_one_more_goes_where_there_is_room() -> None:
    boxes = item("box", (60, 40, 20), "count = 3\n")
    parts = tray("a", headroom=60), tray("b"), boxes
    first = _laid(_job(*parts))
    before = {one.tray.slug: one.layout for one in first}
    laid = _laid(_job(*parts[:2], item("new", (30, 30, 20)), boxes), before)
    old = {(one.name, one.pose) for tray in first for one in tray.layout.placements}
    now = {(one.name, one.pose) for tray in laid for one in tray.layout.placements}
    assert now > old
    assert {name for name, _ in now - old} == {"new"}
