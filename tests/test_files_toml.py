"""Lines of keys, judged by tomllib (which paths there are) and by the text itself (what stands on a line)."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.errors import JobError
from insertgen.files.broken import explain
from insertgen.files.starters import list_starters
from insertgen.files.toml import key_lines, read_toml

# Every key path that the formats publish, each on a line of its own.
ALL_KEYS = """\
format = 1
name = "all"
units = "in"
[cutting]
with = "router"
cutter = { diameter = "1/4 in", reach = "1 in" }
drills = [
  "1/4 in",  # a comment
  "17/64 in",
]
bed = [36, 24]
clearance = "1 mm"
least_gap = "0.1 mm"
[cutting.template]
guide = "bush"
diameter = "5/8 in"
[stock.mdf]
thickness = "18 mm"
size = ["48 in", "24 in"]
[stock."birch ply"]
thickness = "12 mm"
kerf = "0.18 mm"
[[tray]]
name = "one"
inside = [14, 18]
wall_height = 2
headroom = 5
stack = ["mdf", "birch ply"]
assembly = "glue-first"
edge = "sawn"
slack = 1
web = 1
margin = 1
floor = 1
play = 1
finger_room = 1
lining = 1
keep_out = [
  { at = [7, 9], size = [1, 1], why = "screw" },
  { at = [1, 2], size = [1, 1] },
]
  [[tray.item]]
  shape = "finish-sander"
  count = 2
  turn = "quarter"
  at = { x = 3, y = 4, angle = 90 }
  group = "sanding"
  [[tray.item]]
  name = "disc"
  [tray.item.disc]
  diameter = 1
  height = 2
[[tray]]
name = "two"
  [[tray.item]]
  name = "dotted"
  ring.bore = 1
  ring.diameter = 2
[[item]]
name = "loose"
[cabinet]
trays = 2
"""

SHAPE_KEYS = """\
format = 1
name = "s"
[[part]]
from = 0
to = 25
outline = [
  [0.0, 0.0],
  [10, 0.0], [10, 10],
]
holes = [
  [[1, 1], [2, 1],
   [2, 2]],
]
[[grip]]
at = [1, 2]
[[post]]
at = [3, 4]
[traced]
photos = [{ file = "a.jpg", sha256 = "00" }]
"""


def _paths(value: object, base: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    """Every key path of values as tomllib read them."""
    pairs: list[tuple[str | int, object]] = []
    if isinstance(value, dict):
        pairs = list(value.items())
    elif isinstance(value, list):
        pairs = list(enumerate(value))
    inner = {path for key, each in pairs for path in _paths(each, (*base, key))}
    return inner | ({base} if base else set())


@pytest.mark.parametrize("text", [ALL_KEYS, SHAPE_KEYS, *(starter.text for starter in list_starters())])
def test_every_key_path_has_the_line_it_stands_on(text: str) -> None:
    lines = key_lines(text)
    assert set(lines) == _paths(tomllib.loads(text))
    rows = text.split("\n")
    for path, number in lines.items():
        last_key = next(step for step in reversed(path) if isinstance(step, str))
        if isinstance(path[-1], str):
            assert last_key in rows[number - 1], path


def test_lines_of_the_hard_places() -> None:
    lines = key_lines(ALL_KEYS)
    rows = ALL_KEYS.split("\n")
    where = {
        ("cutting", "drills", 1): '  "17/64 in",',
        ("stock", "birch ply"): '[stock."birch ply"]',
        ("tray", 0, "keep_out", 1, "at", 0): "  { at = [1, 2], size = [1, 1] },",
        ("tray", 0, "item", 1, "disc", "height"): "  height = 2",
        ("tray", 1, "item", 0, "ring", "diameter"): "  ring.diameter = 2",
        ("tray", 1): "[[tray]]",
    }
    for path, row in where.items():
        assert rows[lines[path] - 1] == row
    assert lines["tray", 1] > lines["tray", 0]
    assert SHAPE_KEYS.split("\n")[key_lines(SHAPE_KEYS)["part", 0, "holes", 0, 2] - 1] == "   [2, 2]],"


@given(st.lists(st.sampled_from(["", "# note", "# [tray]"]), max_size=5), st.booleans())
def test_lines_shift_by_what_stands_above(above: list[str], windows: bool) -> None:
    text = "\n".join([*above, ALL_KEYS])
    if windows:
        text = text.replace("\n", "\r\n")
    shifted = key_lines(text)
    assert shifted == {path: line + len(above) for path, line in key_lines(ALL_KEYS).items()}


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ('diameter = 1/4"', 'write "1/4 in"'),
        ('diameter = "1/4""', 'write "1/4 in"'),
        ('diameter = "1-3/8"" # shank', 'write "1-3/8 in"'),
        ('diameter = "1 3/8""', 'write "1 3/8 in"'),
        ('cutter = { diameter = 1/4", reach = 1 }', 'write "1/4 in"'),
        ('drills = ["1/4 in", 3/8", 5]', 'write "3/8 in"'),
        ('drills = ["1/4"", "3/8""]', 'write "1/4 in"'),
        ("diameter = 1/4", 'write "1/4 in"'),
        ("diameter = 12mm", 'write "12 mm"'),
        ("diameter = 1.5 in", 'write "1.5 in"'),
        ("length = 2'", 'write "2 ft"'),
        ('name = "disc', "a quote is opened and not closed"),
        ("name = 'disc", "a quote is opened and not closed"),
        ("name = \N{LEFT DOUBLE QUOTATION MARK}disc\N{RIGHT DOUBLE QUOTATION MARK}", "typographic quotes"),
        ("mirror = True", "small letters"),
        ("name =", "no value after the ="),
        ("a = 2", "the key stands twice"),
        ("[t]", "the table stands twice"),
        ("web 6", "expected '='"),
    ],
)
def test_a_broken_line_is_named_and_explained(line: str, expected: str) -> None:
    text = f"a = 1\n[t]\nb = 1\n{line}\n"
    if line == "a = 2":
        text = f"a = 1\n\n\n{line}\n"
    with pytest.raises(JobError) as raised:
        read_toml(text, "rack.toml")
    message = str(raised.value)
    assert message.startswith("rack.toml, line 4: ")
    assert expected in message
    assert line.strip() in message


def test_what_is_left_open_to_the_end_is_named_where_it_opens() -> None:
    with pytest.raises(JobError, match=r"r\.toml, line 2: "):
        read_toml("a = 1\nb = 'x\nc = 3\n", "r.toml")
    with pytest.raises(JobError, match=r"r\.toml, line [234]: "):
        read_toml("a = 1\nb = [1,\nc = 3\n", "r.toml")


@pytest.mark.parametrize("text", ["", "\n\n", "# only a note\n"])
def test_empty(text: str) -> None:
    with pytest.raises(JobError, match=r"r\.toml: the file is empty"):
        read_toml(text, "r.toml")


@pytest.mark.parametrize("text", [f"x = {'[' * 5000}", f"x = {'1' * 5000}\n"])
def test_texts_made_to_break_a_parser(text: str) -> None:
    with pytest.raises(JobError, match=r"r\.toml"):
        read_toml(text, "r.toml")


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_with_its_file(text: str) -> None:
    try:
        values, lines = read_toml(text, "r.toml")
    except JobError as error:
        assert str(error).startswith("r.toml")  # noqa: PT017
    else:
        assert set(lines) == _paths(values)


@given(st.text(max_size=80), st.integers(1, 5))
def test_explaining_never_fails(text: str, line: int) -> None:
    assert explain(text, "r.toml", f"Invalid value (at line {line}, column 1)", None).startswith("r.toml, line")
