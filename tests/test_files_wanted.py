"""The keys of an item that say how it is to lie among others; what is refused, where and how."""

from __future__ import annotations

import pytest

from insertgen.errors import JobError
from insertgen.files.job import read_job
from insertgen.items.resolve import items_of
from insertgen.model.item import Facing, Item, Wanted
from insertgen.model.job import Job
from insertgen.model.shape import Rectangle, Shape
from tests.test_files_job import HEAD, ITEM, TRAY

LONG_SOLID = Rectangle(203.2, 76.2, 50.8)
LONG = """\
[[tray.item]]
name = "plane"
rectangle = { length = 8, width = 3, height = 2 }
"""


def _no_shape(name: str) -> Shape:
    raise AssertionError(name)


def _job(items: str) -> Job:
    return read_job(HEAD + TRAY + items, "north.toml", _no_shape)


def _wanted(items: str) -> Wanted:
    return _job(items).trays[0].wanted[-1]


def _item(items: str) -> Item:
    return items_of(_job(items).trays[0])[-1]


def test_how_an_item_is_to_lie() -> None:
    wanted = _wanted(LONG + 'group = "Sanding"\nfront = true\nface = "left"\n')
    assert (wanted.group, wanted.front, wanted.face) == ("Sanding", True, Facing.LEFT)
    item = _item(LONG + 'group = "Sanding"\nfront = true\nface = "left"\n')
    assert (item.group, item.front, item.face) == ("sanding", True, Facing.LEFT)


def test_unasked_nothing_is_wished() -> None:
    wanted = _wanted(LONG)
    assert (wanted.group, wanted.front, wanted.face) == (None, False, None)


@pytest.mark.parametrize(
    ("items", "expected"),
    [
        (LONG + 'face = "up"\n', r'^north\.toml, line 16, tray\.item\.face: unknown word "up"'),
        (LONG + "front = 1\n", r"^north\.toml, line 16, tray\.item\.front: 1 must be true or false"),
        (LONG + 'group = ""\n', r"^north\.toml, line 16, tray\.item\.group: is empty"),
        (LONG + 'face = "left"\nat = { x = 3, y = 3 }\n', r"face: asks for a place or a turn, but at pins"),
        (LONG + "front = true\nat = { x = 3, y = 3 }\n", r"front: asks for a place or a turn, but at pins"),
    ],
)
def test_wishes_that_cannot_be_read_are_refused(items: str, expected: str) -> None:
    with pytest.raises(JobError, match=expected):
        _wanted(items)


@pytest.mark.parametrize(
    ("items", "expected"),
    [
        (ITEM + 'face = "left"\n', "not with a disc"),
        (LONG + 'face = "back"\nturn = "half"\n', 'face "right" or "left" only'),
        (LONG + 'face = "left"\nturn = "fixed"\n', 'face "right" only'),
        (LONG + 'face = "right"\nturn = "fixed"\nmirror = true\n', 'face "left" only'),
    ],
)
def test_facings_that_cannot_be_are_refused(items: str, expected: str) -> None:
    with pytest.raises(JobError, match=r"^north\.toml, line 13: face = ") as raised:
        _item(items)
    assert expected in str(raised.value)


def test_a_facing_among_its_turns_is_taken() -> None:
    wanted = _wanted(LONG + 'face = "right"\nturn = "fixed"\n')
    assert wanted.face is Facing.RIGHT
    assert _item(LONG + 'face = "left"\nturn = "fixed"\nmirror = true\n').face is Facing.LEFT


def test_items_that_any_tray_may_take() -> None:
    job = _job(LONG + LONG.replace("tray.item", "item").replace("plane", "block") + 'count = 3\ngroup = "g"\n')
    assert [wanted.shape.name for wanted in job.trays[0].wanted] == ["plane"]
    (block,) = job.wanted
    assert (block.shape.name, block.count, block.group, block.where) == ("block", 3, "g", "north.toml, line 16")


def test_shapes_of_shared_items_are_listed_too() -> None:
    shape = Shape("far", LONG_SOLID, source="far")
    job = read_job(f'{HEAD}{TRAY}[[item]]\nshape = "far"\n', "north.toml", lambda _: shape)
    assert job.shapes == (shape,)


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("at = { x = 3, y = 3 }", r"^north\.toml, line 16, item\.at: pins the item to a place in a tray; write it as \[\[tray\.item\]\]"),
        ("widht = 3", r'^north\.toml, line 16, item\.widht: unknown key "widht"'),
    ],
)
def test_what_a_shared_item_cannot_say(key: str, expected: str) -> None:
    with pytest.raises(JobError, match=expected):
        _job(LONG.replace("tray.item", "item") + key + "\n")
