"""layout.json, read back by json (an independent reader) and by our own."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.errors import JobError
from insertgen.files.layout import read_layout, write_layout
from insertgen.model.figures import Pose
from insertgen.model.job import Blank
from insertgen.model.layout import Layout, LeftOut, LeftOutReason, Placement, Unmet, Wish

places = st.integers(-10_000_000, 10_000_000).map(lambda n: n / 1e4)
sizes = st.integers(1, 100_000_000).map(lambda n: n / 1e4)
names = st.text(st.characters(categories=["L", "N", "P", "S"]), min_size=1, max_size=12)
poses = st.builds(
    Pose, places, places, st.integers(-3_600_000, 3_600_000).map(lambda n: n / 1e4), st.booleans()
)
layouts = st.builds(
    Layout,
    tray=names,
    seed=st.integers(-(2**63), 2**63),
    rounds=st.integers(0, 10**9),
    stopped_by_time=st.booleans(),
    blank=st.builds(Blank, sizes, sizes),
    placements=st.lists(
        st.builds(Placement, names, names, names | st.just(""), poses, st.booleans()), max_size=4
    ).map(tuple),
    left_out=st.lists(
        st.builds(LeftOut, names, st.sampled_from(LeftOutReason), sizes, st.lists(names, max_size=2).map(tuple))
        | st.builds(LeftOut, names, st.sampled_from(LeftOutReason)),
        max_size=3,
    ).map(tuple),
    unmet=st.lists(
        st.builds(Unmet, names, st.sampled_from(Wish), st.lists(names, max_size=2).map(tuple)), max_size=2
    ).map(tuple),
    shared=st.lists(st.integers(1, 1000), max_size=3, unique=True).map(tuple),
    would_hold=st.none() | st.builds(Blank, sizes, sizes),
)


@given(layouts)
def test_written_and_read_back_it_is_the_same(layout: Layout) -> None:
    text = write_layout(layout)
    assert read_layout(text, "layout.json") == layout
    assert write_layout(read_layout(text, "layout.json")) == text


ONE = Layout(
    tray="sanding",
    seed=7,
    rounds=40,
    stopped_by_time=False,
    blank=Blank(354.6, 456.2),
    placements=(Placement("sanding/03", "disc", "", Pose(12.3456784, -0.0000001, 90.0, True), False),),
    left_out=(LeftOut("sanding/04", LeftOutReason.TOO_BIG),),
)


def test_the_published_keys_and_no_others() -> None:
    data = json.loads(write_layout(ONE))
    assert data == {
        "format": 1,
        "tray": "sanding",
        "seed": 7,
        "rounds": 40,
        "stopped_by_time": False,
        "blank": [354.6, 456.2],
        "placements": [
            {
                "id": "sanding/03", "name": "disc", "shape": "", "x": 12.345678, "y": 0.0, "angle_deg": 90.0,
                "mirror": True, "pinned": False,
            }
        ],
        "left_out": [{"id": "sanding/04", "why": "too-big"}],
    }  # fmt: skip
    assert "-0.0" not in write_layout(ONE)


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('"seed"', '"sed"', 'unknown key "sed"; did you mean "seed"?'),
        ('"format": 1', '"format": 2', "2 is not known"),
        ("too-big", "too-fat", 'left_out[0].why: unknown word "too-fat"; did you mean "too-tall"?'),
        ("12.345678", "NaN", "placements[0].x: nan must be a finite number"),
        ("12.345678", '"12"', 'placements[0].x: "12" must be a finite number'),
        ("[354.6, 456.2]", "[354.6]", "blank: [354.6] is not a point"),
        ("false,", "0,", "stopped_by_time: 0 must be true or false"),
    ],
)
def test_a_damaged_layout_is_refused(old: str, new: str, expected: str) -> None:
    text = write_layout(ONE)
    damaged = text.replace(old, new, 1)
    assert damaged != text
    with pytest.raises(JobError) as raised:
        read_layout(damaged, "layout.json")
    assert str(raised.value).startswith("layout.json")
    assert expected in str(raised.value)


@pytest.mark.parametrize("text", ["", "[1]", "3", "{", "[" * 100_000, "1" * 5000])
def test_what_is_no_object_is_refused(text: str) -> None:
    with pytest.raises(JobError, match=r"^layout\.json"):
        read_layout(text, "layout.json")


def test_what_a_layout_may_have_besides() -> None:
    layout = Layout(
        tray="sanding", seed=0, rounds=1, stopped_by_time=True, blank=Blank(300.0, 200.0), placements=(),
        left_out=(LeftOut("sanding/01", LeftOutReason.NO_ROOM, 4.25, ("sanding/02", "wall")),),
        unmet=(Unmet("sanding/02", Wish.GROUP, ("sanding/03",)),), shared=(4, 2), would_hold=Blank(320.0, 210.0),
    )  # fmt: skip
    written = json.loads(write_layout(layout))
    assert written["left_out"] == [{"id": "sanding/01", "why": "no-room", "short": 4.25, "others": ["sanding/02", "wall"]}]
    assert written["unmet"] == [{"id": "sanding/02", "wish": "group", "others": ["sanding/03"]}]
    assert (written["shared"], written["would_hold"]) == ([4, 2], [320.0, 210.0])


@pytest.mark.parametrize("shared", ["[0]", "[1, 1]", "[true]", '["1"]', "[1.5]", "3"])
def test_shared_items_are_numbers_from_one_each_once(shared: str) -> None:
    text = write_layout(ONE).replace('"left_out"', f'"shared": {shared}, "left_out"')
    with pytest.raises(JobError, match=r"^layout\.json, shared: "):
        read_layout(text, "layout.json")
