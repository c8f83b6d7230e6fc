"""Shape files, read back by tomllib (an independent reader) and by our own."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen.errors import JobError, NotYetError
from insertgen.files.shape import read_shape, write_shape
from insertgen.model.figures import Outline
from insertgen.model.shape import (
    Collet,
    Disc,
    Part,
    Post,
    PostKind,
    Rectangle,
    RingPile,
    Shank,
    Shape,
    Slot,
    Solid,
    Store,
    Traced,
)

L_SHAPE = "outline = [[0, 0], [30, 0], [30, 10], [10, 10], [10, 20], [0, 20]]"

names = st.text(st.characters(categories=["L", "N", "P", "S"], include_characters=" "), max_size=30).map(
    lambda text: f"a {text}".strip()
)
lengths = st.integers(1, 500_000_000).map(lambda n: n / 1e5)
maybe_lengths = st.none() | lengths


@st.composite
def _parts(draw: st.DrawFn) -> tuple[Part, ...]:
    """A box with steps on its top, centred, to 0.01 mm; perhaps with a hole."""
    half, low = draw(st.integers(500, 30000)), draw(st.integers(500, 20000))
    heights = draw(st.lists(st.integers(1, low), min_size=1, max_size=6))
    heights[draw(st.integers(0, len(heights) - 1))] = low
    edges = [-half + 2 * half * at // len(heights) for at in range(len(heights) + 1)]
    top = [(x, y) for at, y in enumerate(heights) for x in (edges[at], edges[at + 1])]
    ring = [(-half, -low), (half, -low), *reversed(top)]
    kept = [p for at, p in enumerate(ring) if p != ring[at - 1]]
    hole = [(-100, -200), (100, -200), (0, -100)]
    outline = Outline(_mm(kept), (_mm(hole),) if draw(st.booleans()) else ())
    bottom = draw(st.integers(0, 1000)) / 100
    return (
        Part(outline, bottom, draw(st.none() | st.integers(1, 9999).map(lambda n: round(bottom + n / 100, 2)))),
    )


def _mm(points: list[tuple[int, int]]) -> tuple[tuple[float, float], ...]:
    return tuple((x / 100, y / 100) for x, y in points)


@st.composite
def _rings(draw: st.DrawFn) -> RingPile:
    bore = draw(st.integers(1, 4_000_000)) / 1e3
    return RingPile(
        bore, round(bore + draw(st.integers(1, 9999)) / 1e3, 6), draw(lengths), draw(st.integers(1, 100))
    )


@st.composite
def _slots(draw: st.DrawFn) -> Slot:
    width = draw(lengths)
    return Slot(max(width, draw(lengths)), width)


solids: st.SearchStrategy[Solid] = st.one_of(
    _parts(),
    st.builds(Disc, lengths, maybe_lengths),
    st.builds(Rectangle, lengths, lengths, maybe_lengths),
    _slots(),
    st.builds(Shank, lengths, lengths, maybe_lengths, maybe_lengths),
    _rings(),
    st.sampled_from([Collet(6.35, 21.0, None, 31.5, "ER20"), Collet(8.0, 20.0, 14.0, 28.0)]),
)
traced = st.builds(
    Traced,
    photos=st.lists(st.tuples(names, st.text("0123456789abcdef", min_size=64, max_size=64)), max_size=2).map(
        tuple
    ),
    square=st.integers(10, 200).map(float),
    squares_used=st.integers(1, 9),
    mm_per_pixel=st.integers(1, 10**6).map(lambda n: n / 1e6),
    tilt_deg=st.integers(0, 60000).map(lambda n: n / 1e3),
    expected_error=st.integers(0, 5000).map(lambda n: n / 1e3),
    camera_height=st.none() | st.integers(100, 3000).map(float),
    edge_height=st.none() | st.integers(0, 200).map(float),
    warnings=st.lists(st.text(max_size=20), max_size=2).map(tuple),
)


@st.composite
def shapes(draw: st.DrawFn) -> Shape:
    solid = draw(solids)
    store = draw(st.sampled_from([None, Store.POCKET, Store.THROUGH, Store.STAND, Store.BORE, Store.PEG]))
    has_height = isinstance(solid, (Disc, Rectangle)) and solid.height is not None
    return Shape(
        name=draw(names),
        solid=solid,
        label=draw(st.none() | names),
        height=None if has_height else draw(maybe_lengths),
        weight_kg=draw(st.none() | st.integers(0, 9999).map(lambda n: n / 100)),
        store=store,
        depth=None if store in (Store.THROUGH, Store.STAND) else draw(maybe_lengths),
        clearance=draw(st.none() | st.just(0.0) | lengths),
        slack=draw(maybe_lengths),
        least_gap=draw(maybe_lengths),
        traced=draw(st.none() | traced),
        source="some-thing",
    )


@settings(max_examples=200)
@given(shapes())
def test_written_and_read_back_it_is_the_same(shape: Shape) -> None:
    text = write_shape(shape)
    assert text.startswith("# ")
    assert tomllib.loads(text)["name"] == shape.name
    assert read_shape(text, "some-thing.toml") == shape
    assert write_shape(read_shape(text, "some-thing.toml")) == text


def test_points_are_written_to_a_hundredth_and_never_twice() -> None:
    outline = Outline(((-10.004, -5), (10.0049, -5), (10.0049, 5), (10.0, 5.0004), (10.0, 5.0), (-10.004, 5)))
    read = tomllib.loads(write_shape(Shape("s", (Part(outline),))))
    assert read["part"][0]["outline"] == [[-10, -5], [10, -5], [10, 5], [-10, 5]]


def test_an_outline_is_moved_to_the_middle_of_its_box_with_its_holes() -> None:
    text = f'format = 1\nname = "l"\n[[part]]\n{L_SHAPE}\nholes = [[[2, 2], [8, 2], [8, 8]]]\nto = "1 in"\n'
    (part,) = _solid(text)
    assert isinstance(part, Part)
    assert part.outline.outer[0] == (-15, -10)
    assert part.outline.outer[2] == (15, 0)
    assert part.outline.holes == (((-13, -8), (-7, -8), (-7, -2)),)
    assert (part.bottom, part.top) == (0, 25.4)


def test_a_ring_closed_by_its_first_point_is_read_as_one_that_is_not() -> None:
    (part,) = _solid(
        'format = 1\nname = "b"\n[[part]]\noutline = [[-1, -1], [1, -1], [1, -1], [1, 1], [-1, -1]]\n'
    )
    assert isinstance(part, Part)
    assert part.outline.outer == ((-1, -1), (1, -1), (1, 1))


def _solid(text: str) -> tuple[Part, ...]:
    solid = read_shape(text, "some-thing.toml").solid
    assert isinstance(solid, tuple)
    return solid


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ('disc = { diameter = "5 in", height = 20 }', Disc(127.0, 20)),
        ("rectangle = { length = 120, width = 60 }", Rectangle(120, 60)),
        ("slot = { length = 100, width = 12 }", Slot(100, 12)),
        ('shank = { diameter = "1/2 in", head = "1-1/2 in" }', Shank(12.7, 38.1)),
        # ER20: 21 mm at the large end, 31.5 mm long, in the chart the table names; second-hand
        ('collet = { series = "er 20", bore = "1/2 in" }', Collet(12.7, 21.0, None, 31.5, "ER20")),
        ("ring = { bore = 8, diameter = 22, thickness = 7 }", RingPile(8, 22, 7, 1)),
    ],
)
def test_primitives(line: str, expected: Solid) -> None:
    assert read_shape(f'format = 1\nname = "x"\n{line}\n', "x.toml").solid == expected


DISC = "disc = { diameter = 30 }"


@pytest.mark.parametrize(
    ("body", "line", "expected"),
    [
        ("diskk = 1", 3, 'unknown key "diskk"; did you mean "disc"?'),
        ("", 1, "neither a [[part]]"),
        (f"{DISC}\nslot = {{ length = 2, width = 1 }}", 4, '"disc" is there too'),
        ("disc = { diametre = 30 }", 3, 'unknown key "diametre"; did you mean "diameter"?'),
        ("disc = 30", 3, "must be a table; write disc = {"),
        ("disc = { height = 30 }", 3, '"diameter" is missing'),
        ("disc = { diameter = -3 }", 3, "-3 is below zero"),
        (f'{DISC}\nheight = "12 furlongs"', 4, 'unknown unit "furlongs"'),
        (f'{DISC}\nstore = "pockett"', 4, 'unknown word "pockett"; did you mean "pocket"?'),
        (f"{DISC}\nstore = 5", 4, "unknown word 5"),
        (f"{DISC}\nweight = -1", 4, "from 0 to 1000"),
        (f'{DISC}\nweight = "1 kg"', 4, '"1 kg" must be a finite number'),
        (f"{DISC}\nlabel = 3", 4, "3 must be a text in quotes"),
        (f'{DISC}\nlabel = "a\\nb"', 4, "one line"),
        (f'{DISC}\nstore = "through"\ndepth = 5', 5, 'goes not with store = "through"'),
        ("disc = { diameter = 30, height = 5 }\nheight = 6", 4, "say it once"),
        ("slot = { length = 10, width = 12 }", 3, "10 mm is less than the width, 12 mm"),
        (
            "ring = { bore = 22, diameter = 8, thickness = 7 }",
            3,
            "22 mm is not less than the outer diameter, 8 mm",
        ),
        (
            "ring = { bore = 8, diameter = 22, thickness = 7, pile = 0 }",
            3,
            "0 must be a whole number from 1 to 100",
        ),
        ("ring = { bore = 8, diameter = 22, thickness = 7, pile = 1.5 }", 3, "1.5 must be a whole number"),
        ('collet = { series = "ER21", bore = 6 }', 3, 'unknown collet series "ER21"; known: ER8, ER11, ER16'),
        (
            'collet = { series = "ER20", bore = 14 }',
            3,
            "14 mm is no bore of an ER20 collet; they clamp 1 mm to 13 mm",
        ),
        ("collet = { bore = 20, large = 20, length = 30 }", 3, "20 mm does not go into a large end of 20 mm"),
        ("collet = { bore = 8, large = 20, small = 21, length = 30 }", 3, "21 mm must be over the bore"),
        ("part = []", 3, "has nothing in it"),
        ("[[part]]\nto = 5", 3, '"outline" is missing'),
        ("[[part]]\noutline = [[0, 0], [1, 1]]", 4, "has 2 different points"),
        ("[[part]]\noutline = [[0, 0],\n[1, 1, 1], [2, 0]]", 5, "[1, 1, 1] is not a point"),
        ("[[part]]\noutline = [[0, 0], [4, 4],\n[4, nan], [0, 4]]", 5, "nan is not a length"),
        ("[[part]]\noutline = [[0, 0], [4, 4], [4, 0], [0, 4]]", 4, "is no plain figure: Self-intersection"),
        ("[[part]]\noutline = [[0, 0], [4, 0], [8, 0]]", 4, "is no plain figure"),
        (f"[[part]]\n{L_SHAPE}\nholes = [[[90, 90], [91, 90], [91, 91]]]", 4, "nor a hole leave it"),
        (f"[[part]]\n{L_SHAPE}\nholes = [3]", 5, "a hole is a list of points"),
        (f"[[part]]\n{L_SHAPE}\nfrom = 5\nto = 5", 6, "5 mm is not above from, 5 mm"),
    ],
)
def test_what_a_shape_cannot_be(body: str, line: int, expected: str) -> None:
    text = f'format = 1\nname = "x"\n{body}\n'
    with pytest.raises(JobError) as raised:
        read_shape(text, "x.toml")
    assert str(raised.value).startswith(f"x.toml, line {line}"), str(raised.value)
    assert expected in str(raised.value)


def test_a_file_of_another_format_or_without_name_is_refused() -> None:
    for head, expected in (
        ('format = 2\nname = "x"', "2 is not known; this version reads format 1"),
        ('format = "1"\nname = "x"', '"1" is not known'),
        ('format = true\nname = "x"', "true is not known"),
        ('name = "x"', '"format" is missing; write format = 1'),
        ("format = 1", '"name" is missing'),
        ('format = 1\nname = "--"', "no letter or digit"),
    ):
        with pytest.raises(JobError) as raised:
            read_shape(f"{head}\n{DISC}\n", "x.toml")
        assert expected in str(raised.value)


@pytest.mark.parametrize(
    ("body", "line", "expected"),
    [
        ('[[part]]\nfile = "pad.dxf"', 4, "trace a photo"),
    ],
)
def test_what_comes_later_is_refused_with_what_to_do_instead(body: str, line: int, expected: str) -> None:
    with pytest.raises(NotYetError) as raised:
        read_shape(f'format = 1\nname = "x"\n{body}\n', "x.toml")
    assert str(raised.value).startswith(f"x.toml, line {line}"), str(raised.value)
    assert expected in str(raised.value)


@pytest.mark.parametrize(
    ("body", "line", "expected"),
    [
        (f"{DISC}\ngrips = 2", 4, "can only be 0"),
        (f"{DISC}\ngrips = false", 4, "can only be 0"),
        (f"{DISC}\ngrips = 0\n[[grip]]\nat = [1, 2]", 4, "leave one of them out"),
        (f"{DISC}\n[[grip]]\nx = 1", 5, 'unknown key "x"'),
        (f'{DISC}\nstore = "pocket"\n[[post]]\nat = [1, 2]\ndiameter = 6', 5, 'goes only with store = "posts"'),
        (f'{DISC}\nstore = "posts"\n[[post]]\nat = [1, 2]', 5, '"diameter" is missing'),
        (f'{DISC}\nstore = "posts"\n[[post]]\nat = [1, 2]\ndiameter = 6\nkind = "rod"', 8, 'unknown word "rod"'),
        (f"[[part]]\n{L_SHAPE}\n[[part]]\n{L_SHAPE}", 5, "has no upper end; write its to"),
        (f"[[part]]\nto = 9\n{L_SHAPE}\n[[part]]\nfrom = 8\n{L_SHAPE}", 7, "ends at 9 mm"),
        (f"[[part]]\nfrom = 1\nto = 9\n{L_SHAPE}\n[[part]]\nfrom = 9\n{L_SHAPE}", 4, "begins at 0"),
        (
            f"[[part]]\nto = 9\n{L_SHAPE}\n[[part]]\nfrom = 9\noutline = [[900, 0], [910, 0], [900, 9]]",
            8,
            "does not hang together",
        ),
    ],
)
def test_parts_posts_and_grips_that_cannot_be(body: str, line: int, expected: str) -> None:
    with pytest.raises(JobError) as raised:
        read_shape(f'format = 1\nname = "x"\n{body}\n', "x.toml")
    assert str(raised.value).startswith(f"x.toml, line {line}"), str(raised.value)
    assert expected in str(raised.value)


def test_grips_and_posts_are_read_where_they_are() -> None:
    head = 'format = 1\nname = "x"\n'
    assert read_shape(f"{head}{DISC}\ngrips = 0\n", "x.toml").grips == ()
    assert read_shape(f"{head}{DISC}\n", "x.toml").grips is None
    # the outline is 30 x 20 with a corner at the origin: its middle, (15, 10), is taken off everything
    square = "outline = [[0, 0], [30, 0], [30, 20], [0, 20]]"
    text = f'''{head}store = "posts"
[[post]]
at = [-4, 10]
diameter = "1/4 in"
[[post]]
at = [15, 25]
diameter = 3
kind = "nail"
[[part]]
to = 5
{square}
[[part]]
from = 5
outline = [[-15, -10], [45, -10], [45, 30]]
'''
    shape = read_shape(text, "x.toml")
    assert shape.posts == (Post((-19.0, 0.0), 6.35), Post((0.0, 15.0), 3.0, PostKind.NAIL))
    assert isinstance(shape.solid, tuple)
    assert [part.outline.outer[0] for part in shape.solid] == [(-15, -10), (-30, -20)]
    grip = read_shape(f"{head}[[grip]]\nat = [30, 10]\n[[part]]\n{square}\n", "x.toml")
    assert grip.grips == ((15.0, 0.0),)
    for each in (shape, grip, read_shape(f"{head}{DISC}\ngrips = 0\n", "x.toml")):
        assert read_shape(write_shape(each), "x.toml") == each
