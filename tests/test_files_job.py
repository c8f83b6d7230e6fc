"""Job files: what is read, and what is refused, where and how. Inch sizes by 1 in = 25.4 mm exactly (1959)."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from insertgen import rules
from insertgen.errors import InsertgenError, JobError, NotYetError, ShapeNotFoundError
from insertgen.files.job import read_job
from insertgen.files.starters import Starter, list_starters
from insertgen.model.figures import Pose
from insertgen.model.item import Turn
from insertgen.model.job import Blank, Cutter, DrillSize, Job, KeepOut, Stock, Template, Tray
from insertgen.model.shape import Disc, Rectangle, Shape, Store, Traced

SANDER = Shape("finish sander", Rectangle(200, 100), source="finish-sander")

HEAD = """\
format = 1
name = "north bench"
units = "in"
[cutting]
with = "router"
cutter = { diameter = "1/4 in" }
[stock.mdf]
thickness = "18 mm"
"""
TRAY = """\
[[tray]]
name = "sanding"
inside = [14, 18]
stack = ["mdf"]
"""
ITEM = """\
[[tray.item]]
name = "disc"
disc = { diameter = 5 }
"""


def _find(name: str) -> Shape:
    if name in ("finish-sander", "finish sander"):
        return SANDER
    raise ShapeNotFoundError(f'there is no shape "{name}"')


def _read(text: str) -> Job:
    return read_job(text, "north.toml", _find)


def test_a_whole_job() -> None:
    job = _read("""\
format = 1
name = "north bench"
units = "in"
[cutting]
with = "router"
cutter = { diameter = "1/4 in", reach = "1 in" }
drills = ["1/4 in", "17/64 in", "f", "#7", "6.5 mm", "7.13 mm", 0.375, "17/64 in"]
bed = [36, 24]
clearance = "2 mm"
web = "7 mm"
[stock.mdf]
thickness = "18 mm"
size = ["48 in", "24 in"]
[stock.ply]
thickness = "12 mm"
[[tray]]
name = "sanding"
inside = [14, 18]
wall_height = 2
headroom = 5
stack = ["mdf", "ply"]
assembly = "glue-first"
edge = "cut"
clearance = "1.5 mm"
keep_out = [{ at = [7, 0], size = [1, 2], why = "divider screw" }]
  [[tray.item]]
  shape = "finish sander"
  count = 2
  turn = "half"
  store = "through"
  mirror = true
  [[tray.item]]
  shape = "finish-sander"
  label = "the other"
  depth = "12 mm"
  clearance = "3 mm"
  slack = 0
  least_gap = "0.2 mm"
  at = { x = 3, y = 4, angle = -90 }
[[tray]]
name = "Sanding 2"
with = "hand"
inside = ["355.6 mm", 18]
stack = ["ply"]
play = "2 mm"
  [[tray.item]]
  name = "pad"
  disc = { diameter = 5 }
""")
    assert (job.name, job.units, job.shapes) == ("north bench", "in", (SANDER,))
    first, second = job.trays
    assert first.inside == pytest.approx((355.6, 457.2))
    assert first.blank == Blank(pytest.approx(354.6), pytest.approx(456.2))  # type: ignore[arg-type]  # approx stands in for a length
    assert second.blank == Blank(pytest.approx(351.6), pytest.approx(453.2))  # type: ignore[arg-type]  # approx stands in for a length
    assert (first.slug, second.slug) == ("sanding", "sanding-2")
    assert first.stack == (Stock("mdf", 18.0, (1219.2, 609.6)), Stock("ply", 12.0))
    assert first.thickness == 30
    assert (first.glued_first, first.edge_sawn, second.edge_sawn) == (True, False, True)
    assert (first.wall_height, first.headroom) == (50.8, 127)
    assert (first.clearance, second.clearance, first.web, second.web) == (1.5, 2, 7, 7)  # tray over cutting
    assert (first.margin, first.play, second.play) == (rules.MARGIN, rules.PLAY, 2)
    assert first.cutting.cutter == Cutter(6.35, 25.4)
    assert first.cutting.bed == pytest.approx((914.4, 609.6))
    assert (first.cutting.machine, second.cutting.machine) == ("router", "hand")
    assert [drill.name for drill in first.cutting.drills] == [
        "1/4 in", "17/64 in", "F", "#7", "6.5 mm", "7.13 mm", "3/8 in",
    ]  # fmt: skip
    assert first.keep_out == (KeepOut((pytest.approx(177.8), 0), (25.4, 50.8), "divider screw"),)  # type: ignore[arg-type]  # approx stands in for a length
    sander, other = first.wanted
    assert (sander.shape, sander.count, sander.turn, sander.store) == (SANDER, 2, Turn.HALF, Store.THROUGH)
    assert sander.mirror
    assert sander.pinned is None
    assert (other.label, other.depth, other.clearance, other.slack, other.least_gap) == (
        "the other",
        12,
        3,
        0,
        0.2,
    )
    assert other.pinned == Pose(pytest.approx(76.2), pytest.approx(101.6), -90)  # type: ignore[arg-type]  # approx stands in for a length
    assert sander.where == "north.toml, line 26"
    assert second.wanted[0].shape == Shape("pad", Disc(127))
    assert not first.items


def test_drills_by_default_are_the_whole_table() -> None:
    assert _read(HEAD + TRAY).trays[0].cutting.drills == rules.drill_sizes()


def test_drills_in_mm_are_called_so() -> None:
    head = HEAD.replace('units = "in"', 'units = "mm"').replace(
        "[stock", 'drills = [6.5, "1/4 in", 7.137]\n[stock'
    )
    drills = _read(head + TRAY.replace("[14, 18]", "[300, 400]")).trays[0].cutting.drills
    assert drills[0] == DrillSize("6.5 mm", 6.5)
    assert drills[1].name == "1/4 in"
    assert drills[2] == DrillSize("7.137 mm", 7.137)


def test_every_size_with_its_unit_needs_no_units() -> None:
    text = (HEAD + TRAY + ITEM).replace('units = "in"\n', "").replace("[14, 18]", '["14 in", "300 mm"]')
    with pytest.raises(
        JobError, match=r'line 14, tray\.item\.disc\.diameter: 5 has no unit; .* or units = "in"'
    ):
        _read(text)
    job = _read(text.replace("diameter = 5 }", 'diameter = "5 in" }'))
    assert (job.units, job.trays[0].inside) == ("mm", (pytest.approx(355.6), 300))


def test_a_shop_that_works_by_hand_may_own_no_router() -> None:
    hand = HEAD.replace('"router"', '"hand"').replace('cutter = { diameter = "1/4 in" }\n', "")
    assert _read(hand + TRAY).trays[0].cutting.cutter.diameter == 0
    with pytest.raises(JobError, match=r"line 9, tray\.with: a router needs its cutter"):
        _read(hand + TRAY.replace("name =", 'with = "router"\nname ='))


def test_a_stock_may_be_turned_to_hold_the_blank() -> None:
    head = HEAD + "size = [20, 14]\n"
    assert _read(head + TRAY).trays[0].stack[0].size == pytest.approx((508, 355.6))


def test_one_sheet_may_be_called_cut_first() -> None:
    assert not _read(HEAD + TRAY + 'assembly = "cut-first"\n').trays[0].glued_first


# what is put in place of what, the line of the fault, its key, and words of the message
BAD: dict[str, tuple[tuple[str, str], int, str, str]] = {
    "misspelt key": (("inside", "insode"), 11, "tray.insode", 'unknown key "insode"; did you mean "inside"?'),
    "misspelt top key": (("units", "unit"), 3, "unit", 'did you mean "units"?'),
    "misspelt table": (("[stock.mdf]", "[stok.mdf]"), 7, "stok", 'did you mean "stock"?'),
    "misspelt item key": (("disc = {", "diskus = {"), 15, "tray.item.diskus", 'did you mean "disc"?'),
    "misspelt word": (('"router"', '"routter"'), 5, "cutting.with", 'unknown word "routter"; did you mean "router"?'),
    "capital word": (('"router"', '"ROUTER"'), 5, "cutting.with", 'did you mean "router"?'),
    "broken quote": (('"sanding"', '"sanding'), 10, "", "a quote is opened and not closed"),
    "bare inch mark": (('"1/4 in"', '1/4"'), 6, "", 'write "1/4 in"'),
    "quoted inch mark": (('"1/4 in"', '"1/4""'), 6, "", 'write "1/4 in"'),
    "negative": (("diameter = 5", "diameter = -5"), 15, "tray.item.disc.diameter", "-5 is below zero"),
    "negative text": (('"18 mm"', '"-18 mm"'), 8, "stock.mdf.thickness", '"-18 mm" is below zero'),
    "zero": (("diameter = 5", "diameter = 0"), 15, "tray.item.disc.diameter", "0 is zero"),
    "zero text": (('"18 mm"', '"0 mm"'), 8, "stock.mdf.thickness", '"0 mm" is zero'),
    "not a number": (("diameter = 5", "diameter = nan"), 15, "tray.item.disc.diameter", "nan is not a length"),
    "infinite": (("diameter = 5", "diameter = inf"), 15, "tray.item.disc.diameter", "inf is not a length"),
    "huge": (("diameter = 5", "diameter = 5000"), 15, "tray.item.disc.diameter", "5000 is 127 m; the longest"),
    "1e999": (("diameter = 5", "diameter = 1e999"), 15, "tray.item.disc.diameter", "inf is not a length"),
    "400 digits": (("diameter = 5", f"diameter = {'9' * 400}"), 15, "tray.item.disc.diameter", "far over 10 m"),
    "400 digits text": (('"18 mm"', f'"{"9" * 400} mm"'), 8, "stock.mdf.thickness", "far over 10 m"),
    "no size": (('"18 mm"', '"thick"'), 8, "stock.mdf.thickness", '"thick" is not a length; write it like 12 mm'),
    "wrong kind": (("diameter = 5", "diameter = [5]"), 15, "tray.item.disc.diameter", "[5] is not a length"),
    "true as size": (("diameter = 5", "diameter = true"), 15, "tray.item.disc.diameter", "true is not a length"),
    "unknown unit": (('"18 mm"', '"18 ells"'), 8, "stock.mdf.thickness", 'unknown unit "ells"'),
    "no tray": ((TRAY + ITEM, ""), 1, "", "there is no tray; write one as [[tray]]"),
    "single tray brackets": (("[[tray]]\n", "[tray]\n"), 9, "tray", "write [[tray]] in double brackets"),
    "two trays": ((ITEM, TRAY), 14, "tray.name", "would share the folder sanding/ with the tray at north.toml, line 9"),
    "two trays alike": ((ITEM, TRAY.replace("sanding", "SANDING!")), 14, "tray.name", '"SANDING!" would share'),
    "tray called source": (('"sanding"', '"Source"'), 10, "tray.name", "a folder that every build writes"),
    "tray without letters": (('"sanding"', '"?"'), 10, "tray.name", "no letter or digit"),
    "format 2": (("format = 1", "format = 2"), 1, "format", "2 is not known; this version reads format 1"),
    "no format": (("format = 1\n", ""), 1, "", '"format" is missing; write format = 1'),
    "no name": (('name = "north bench"\n', ""), 1, "", '"name" is missing'),
    "odd units": (('units = "in"', 'units = "cm"'), 3, "units", 'unknown word "cm"; known here: in, mm'),
    "no cutting": ((HEAD[HEAD.index("[cutting]") : HEAD.index("[stock")], ""), 1, "", '"cutting" is missing'),
    "no machine": (('with = "router"\n', ""), 4, "cutting", '"with" is missing; write with = "router" or "laser" or "hand"'),
    "no cutter": (('cutter = { diameter = "1/4 in" }\n', ""), 4, "cutting", '"cutter" is missing'),
    "no cutter diameter": (('diameter = "1/4 in"', 'reach = "1 in"'), 6, "cutting.cutter", '"diameter" is missing'),
    "cutter as text": (('{ diameter = "1/4 in" }', '"1/4 in"'), 6, "cutting.cutter", "write cutter = { diameter"),
    "drill no size": (
        ("[stock", 'drills = ["1/4 in",\n"ZZ"]\n[stock'), 8, "cutting.drills", '"ZZ" is not a drill size; write one like',
    ),
    "drill no unit": (("[stock", 'drills = [true]\n[stock'), 7, "cutting.drills", "true is not a drill size"),
    "drill zero": (("[stock", "drills = [0]\n[stock"), 7, "cutting.drills", '0 is not a drill size'),
    "drills as text": (("[stock", 'drills = "all"\n[stock'), 7, "cutting.drills", '"all" must be a list'),
    "bed of one": (("[stock", "bed = [3]\n[stock"), 7, "cutting.bed", "[3] must be two lengths"),
    "no stock": (("[stock.mdf]\n", "[stock.ply]\n"), 12, "tray.stack", 'no [stock.*] called "mdf"; known here: ply'),
    "near stock": (('["mdf"]', '["mdff"]'), 12, "tray.stack", 'did you mean "mdf"?'),
    "empty stack": (('["mdf"]', "[]"), 12, "tray.stack", "is empty; known here: mdf"),
    "stack as text": (('["mdf"]', '"mdf"'), 12, "tray.stack", '"mdf" must be a list, of the names of stock'),
    "small stock": (
        ('"18 mm"\n', '"18 mm"\nsize = [13, 48]\n'), 13, "tray.stack", "smaller than the blank of 354.6 mm (13-61/64 in)",
    ),
    "short stock": (('"18 mm"\n', '"18 mm"\nsize = [17, 17]\n'), 13, "tray.stack", 'stock "mdf" is 431.8 mm (17 in)'),
    "no inside": (("inside = [14, 18]\n", ""), 9, "tray", '"inside" is missing'),
    "one side": (("[14, 18]", "14"), 11, "tray.inside", "14 must be two lengths, width and front to back"),
    "bad side": (("[14, 18]", "[14, -18]"), 11, "tray.inside", "-18 is below zero"),
    "nothing left": (("[14, 18]", '["1 mm", 18]'), 11, "tray.inside", "leaves nothing; check the units"),
    "negative setting": (("inside", "web = -1\ninside"), 11, "tray.web", "-1 is below zero"),
    "unknown assembly": (("inside", 'assembly = "glue-frist"\ninside'), 11, "tray.assembly", 'did you mean "glue-first"?'),
    "unknown edge": (("inside", 'edge = "sawed"\ninside'), 11, "tray.edge", 'did you mean "sawn"?'),
    "keep-out without size": (
        ("inside", "keep_out = [{ at = [1, 1] }]\ninside"), 11, "tray.keep_out", '"size" is missing',
    ),
    "keep-out off the blank": (
        ("inside", "keep_out = [{ at = [15, 1], size = [1, 1] }]\ninside"), 11, "tray.keep_out.at", "is off the blank",
    ),
    "keep-out as table": (
        ("inside", "keep_out = { at = [1, 1], size = [1, 1] }\ninside"), 11, "tray.keep_out", "must be a list of tables",
    ),
    "keep-out of numbers": (("inside", "keep_out = [3]\ninside"), 11, "tray.keep_out", "3 must be a table"),
    "no name for a primitive": (('name = "disc"\n', ""), 13, "tray.item", '"name" is missing'),
    "empty name": (('"disc"', '" "'), 14, "tray.item.name", "is empty"),
    "name without letters": (('"disc"', '"//"'), 14, "tray.item.name", "no letter or digit"),
    "name beside shape": (("disc = { diameter = 5 }", 'shape = "finish-sander"'), 14, "tray.item.name", "use label"),
    "nothing to store": (("disc = { diameter = 5 }\n", ""), 13, "tray.item", 'write shape = "..." for a shape file'),
    "two primitives": (
        (ITEM, f"{ITEM}slot = {{ length = 2, width = 1 }}\n"), 16, "tray.item.slot", '"disc" is there too',
    ),
    "count 0": ((ITEM, f"{ITEM}count = 0\n"), 16, "tray.item.count", "0 must be a whole number from 1 to 1000"),
    "count 1e9": ((ITEM, f"{ITEM}count = 1000000000\n"), 16, "tray.item.count", "must be a whole number from 1 to 1000"),
    "count as text": ((ITEM, f'{ITEM}count = "2"\n'), 16, "tray.item.count", '"2" must be a whole number'),
    "unknown turn": ((ITEM, f'{ITEM}turn = "quater"\n'), 16, "tray.item.turn", 'did you mean "quarter"?'),
    "mirror as text": ((ITEM, f'{ITEM}mirror = "yes"\n'), 16, "tray.item.mirror", "must be true or false"),
    "pinned off the blank": (
        (ITEM, f"{ITEM}at = {{ x = -3, y = 4 }}\n"), 16, "tray.item.at.x", "puts the middle of the item off the blank",
    ),
    "pinned far off": (
        (ITEM, f"{ITEM}at = {{ x = 3, y = 40 }}\n"), 16, "tray.item.at.y", "which is 0 to 456.2 mm (17-61/64 in)",
    ),
    "pinned without y": ((ITEM, f"{ITEM}at = {{ x = 3 }}\n"), 16, "tray.item.at", '"y" is missing'),
    "angle not a number": (
        (ITEM, f"{ITEM}at = {{ x = 3, y = 4, angle = nan }}\n"), 16, "tray.item.at.angle", "nan must be a finite number",
    ),
    "angle as text": (
        (ITEM, f'{ITEM}at = {{ x = 3, y = 4, angle = "90" }}\n'), 16, "tray.item.at.angle", "without quotes",
    ),
    "two in one place": (
        (ITEM, f"{ITEM}at = {{ x = 3, y = 4 }}\ncount = 2\n"), 17, "tray.item.count", "at pins the item to one place",
    ),
    "item at odds with itself": (
        ("disc = { diameter = 5 }", "ring = { bore = 2, diameter = 1, thickness = 1 }"), 15, "tray.item.ring.bore",
        "50.8 mm is not less than the outer diameter, 25.4 mm",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_clear_message(case: str) -> None:
    (old, new), line, key, expected = BAD[case]
    good = HEAD + TRAY + ITEM
    assert _read(good)
    assert old in good
    with pytest.raises(JobError) as raised:
        _read(good.replace(old, new))
    message = str(raised.value)
    assert message.startswith(f"north.toml, line {line}{', ' + key if key else ''}: "), message
    assert expected in message
    assert "\n" not in message


@pytest.mark.parametrize("text", ["", "# nothing\n", "  \n"])
def test_an_empty_job(text: str) -> None:
    with pytest.raises(JobError, match=r'^north\.toml: the file is empty; "insertgen start"'):
        _read(text)


def test_an_unknown_shape_is_named_with_its_place() -> None:
    with pytest.raises(
        ShapeNotFoundError, match=r'^north\.toml, line 14, tray\.item\.shape: there is no shape "sandr"'
    ):
        _read(f'{HEAD}{TRAY}[[tray.item]]\nshape = "sandr"\n')


LATER: dict[str, tuple[tuple[str, str], int, str, str]] = {
    "cabinet": (("[stock", "[cabinet]\nwidth = 3\n[stock"), 7, "cabinet", "give every tray its inside"),
}  # fmt: skip


@pytest.mark.parametrize("case", LATER)
def test_what_comes_later_is_refused_with_what_to_do_instead(case: str) -> None:
    (old, new), line, key, expected = LATER[case]
    with pytest.raises(NotYetError) as raised:
        _read((HEAD + TRAY + ITEM).replace(old, new))
    message = str(raised.value)
    assert message.startswith(f"north.toml, line {line}, {key}: this version "), message
    assert expected in message


def test_shapes_used_are_listed_once_each() -> None:
    traced = Shape("b", Disc(3), source="b", traced=Traced((), 40, 1, 0.1, 0, 0.3))
    text = f'{HEAD}{TRAY}{ITEM}[[tray.item]]\nshape = "b"\n[[tray.item]]\nshape = "a"\n[[tray.item]]\nshape = "b"\n'
    job = read_job(text, "north.toml", lambda name: traced if name == "b" else SANDER)
    assert job.shapes == (traced, SANDER)


SPOILT = [
    "nan",
    "-1",
    "[]",
    "{}",
    '""',
    '"x"',
    "true",
    "[[1, 2]]",
    "[{ a = 1 }]",
    "1979-05-27",
    "0x7F",
    '"1/0 in"',
    "[1, [2]]",
]


@settings(max_examples=300)
@given(st.sampled_from(list_starters()), st.integers(0, 10**6), st.sampled_from(SPOILT))
def test_any_value_spoilt_is_read_or_refused_by_name(starter: Starter, at: int, value: str) -> None:
    rows = starter.text.split("\n")
    keyed = [number for number, row in enumerate(rows) if " = " in row and not row.lstrip().startswith("#")]
    number = keyed[at % len(keyed)]
    rows[number] = f"{rows[number].split(' = ')[0]} = {value}"
    try:
        _read("\n".join(rows))
    except InsertgenError as error:
        assert str(error).startswith("north.toml, line ")  # noqa: PT017


def _tray_of(cutting: str = "", stock: str = "", tray: str = "", item: str = "") -> Tray:
    text = (
        f'format = 1\nname = "x"\nunits = "mm"\n[cutting]\nwith = "router"\ncutter = {{ diameter = 6 }}\n{cutting}'
        f'[stock.mdf]\nthickness = 18\n{stock}[stock.hdf]\nthickness = 6\n[[tray]]\nname = "t"\ninside = [301, 201]\n'
        f'stack = ["mdf"]\n{tray}[[tray.item]]\nname = "d"\ndisc = {{ diameter = 40 }}\n{item}'
    )
    return _read(text).trays[0]


def test_a_template_a_lining_a_kerf_and_a_base() -> None:
    template = '[cutting.template]\nguide = "bush"\ndiameter = "5/8 in"\ncutter = "1/4 in"\nreach = 40\nthickness = 6\n'
    tray = _tray_of(
        f"lining = 0.2\nshift = 2\n{template}",
        "kerf = 0.18\n",
        'base = "hdf"\nroom_below = 50\nlift_out = 25\nlining = 0.3\n',
        'beside = "e"\ngrips = 0\n',
    )
    assert tray.cutting.template == Template("bush", 15.875, Cutter(6.35, 40.0), 6.0)
    # 5/8 in bush and 1/4 in cutter: 3/16 in exactly (half the difference of the diameters)
    assert tray.cutting.template.offset == pytest.approx(25.4 * 3 / 16, abs=1e-12)
    assert tray.cutting.pocket_cutter.diameter == 6.35
    assert (tray.stack[0].kerf, tray.base, tray.room_below, tray.lift_out) == (0.18, Stock("hdf", 6.0), 50.0, 25.0)
    assert (tray.lining, tray.shift) == (0.3, 2.0)
    assert (tray.wanted[0].beside, tray.wanted[0].grips) == ("e", ())


def test_a_laser_cuts_every_sheet_by_itself() -> None:
    tray = _tray_of(tray='with = "laser"\n')
    assert tray.cutting.machine == "laser"
    assert not tray.glued_first
    assert tray.one_block  # a single sheet


@pytest.mark.parametrize(
    ("where", "text", "expected"),
    [
        ("cutting", '[cutting.template]\nguide = "bush"\ndiameter = 6\ncutter = 6\nthickness = 6\n', "does not go through a bush"),
        ("cutting", '[cutting.template]\nguide = "ring"\ndiameter = 16\ncutter = 6\nthickness = 6\n', 'unknown word "ring"'),
        ("tray", 'base = "ply"\n', 'unknown word "ply"'),
        ("item", "grips = 1\n", "can only be 0"),
        ("item", 'store = "hook"\n', 'unknown word "hook"'),
    ],
)
def test_what_cannot_be_of_the_new_keys(where: str, text: str, expected: str) -> None:
    with pytest.raises(JobError, match=expected):
        _tray_of(**{where: text})


def test_a_laser_glues_nothing_first() -> None:
    with pytest.raises(JobError, match="a laser cuts no glued block"):
        _read(
            'format = 1\nname = "x"\nunits = "mm"\n[cutting]\nwith = "laser"\n[stock.mdf]\nthickness = 3\n[[tray]]\n'
            'name = "t"\ninside = [100, 90]\nstack = ["mdf", "mdf"]\nassembly = "glue-first"\n'
        )
