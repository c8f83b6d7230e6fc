"""A tray of an invented shop, made by the project's own stages, is proved clean; other tests break it."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import ezdxf
import pytest
import shapely

from insertgen.arrange.arrange import arrange
from insertgen.check.tray import check_tray
from insertgen.exchange.dxf import write_dxf
from insertgen.files.job import read_job
from insertgen.items.resolve import items_of
from insertgen.model.figures import Outline, Pose
from insertgen.model.finding import Finding, Severity
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.seat import Seat
from insertgen.model.shape import Part, Shape
from insertgen.output.holes import holes_csv
from insertgen.seats.seat import seat_for
from insertgen.sheets.draw import draw

WIDTH, DEPTH, THICKNESS, CUTTER = 350.0, 250.0, 18.0, 6.35
L_SHAPE = ((-40, -30), (40, -30), (40, -10), (-20, -10), (-20, 30), (-40, 30))
#: Where the job pins each item: the middle of its box, by tag.
AT = {
    "01": (60.0, 55.0), "02": (165.0, 60.0), "03": (65.0, 150.0), "04": (280.0, 40.0), "05": (160.0, 150.0),
    "06": (210.0, 150.0), "07": (260.0, 150.0), "08": (315.0, 150.0), "09": (160.0, 210.0), "10": (310.0, 215.0),
}  # fmt: skip
POCKETS, BORES = ("01", "02", "03"), ("05", "06", "07", "08", "09")

JOB = """
format = 1
name = "invented shop"
units = "mm"
[cutting]
with = "router"
cutter = { diameter = "1/4 in", reach = 20 }
bed = [900, 600]
[stock.mdf]
thickness = 18
[[tray]]
name = "test tray"
inside = [351, 251]
headroom = 120
stack = ["mdf"]
"""

ITEMS = {
    "01": 'shape = "square"\ndepth = 10\ngrips = 0',
    "02": 'name = "tape"\ndisc = { diameter = 70, height = 20 }\ndepth = 8\ngrips = 0',
    "03": 'name = "block"\nrectangle = { length = 90, width = 40, height = 25 }\ndepth = 12\ngrips = 0',
    "04": 'name = "pencil"\nslot = { length = 100, width = 12 }\nstore = "through"',
    "05": 'name = "straight"\nshank = { diameter = "1/4 in", head = 20, head_height = 20, reach = 32 }',
    "06": 'name = "dovetail"\nshank = { diameter = "3/8 in", head = 20, head_height = 20, reach = 32 }',
    "07": 'name = "round-over"\nshank = { diameter = "1/2 in", head = 22, head_height = 20, reach = 32 }',
    "08": 'name = "collet"\ncollet = { series = "ER20", bore = "1/4 in" }',
    "09": 'name = "bearings"\nring = { bore = 8, diameter = 22, thickness = 7, pile = 2 }',
    "10": 'name = "block plane"\nrectangle = { length = 40, width = 30, height = 40 }\nstore = "stand"',
}


def _square(name: str) -> Shape:
    """An L with unlike legs, so that a mirror error shows."""
    return Shape(name, (Part(Outline(tuple((float(x), float(y)) for x, y in L_SHAPE)), 0.0, 20.0),), source=name)


@dataclass(frozen=True)
class Made:
    """A tray as the stages before the proof leave it."""

    tray: Tray
    layout: Layout
    seats: tuple[Seat, ...]
    dxf: bytes
    holes: str

    def item(self, tag: str) -> Item:
        return next(item for item in self.tray.items if item.tag == tag)


def made_from(tray: Tray, layout: Layout | None = None) -> Made:
    seats = tuple(seat_for(item, tray) for item in tray.items)
    layout = layout or arrange(tray, seats, seconds=60.0)
    drawing = draw(tray, seats, layout)
    return Made(tray, layout, seats, write_dxf(drawing.sheets[0]), holes_csv(drawing))


@cache
def made() -> Made:
    tables = (f"[[tray.item]]\n{ITEMS[tag]}\nat = {{ x = {x}, y = {y} }}\n" for tag, (x, y) in AT.items())
    tray = read_job(JOB + "".join(tables), "shop.toml", _square).trays[0]
    return made_from(replace(tray, items=items_of(tray)))


@cache
def only(*tags: str) -> Made:
    """The same tray with a few of its items: what is tried many times need not judge them all."""
    items = tuple(item for item in made().tray.items if item.tag in tags)
    placements = tuple(one for one in made().layout.placements if one.id[-2:] in tags)
    return made_from(replace(made().tray, items=items), replace(made().layout, placements=placements))


def with_item(tag: str, **changes: Any) -> Tray:
    """The tray with one item's settings changed."""
    tray = made().tray
    return replace(tray, items=tuple(replace(item, **changes) if item.tag == tag else item for item in tray.items))


def laid(**poses: Pose) -> Layout:
    """The layout with some poses changed; a tag is written ``t03``."""
    return replace(made().layout, placements=tuple(
        replace(one, pose=poses.get(f"t{one.id[-2:]}", one.pose)) for one in made().layout.placements
    ))  # fmt: skip


def without(tag: str) -> tuple[Placement, ...]:
    return tuple(one for one in made().layout.placements if not one.id.endswith(tag))


# ---- broken on purpose ---------------------------------------------------------------------------


def edited(edit: Callable[[Any], None], data: bytes | None = None) -> bytes:
    """The bytes after ``edit(modelspace)``."""
    doc = ezdxf.read(io.StringIO((data or made().dxf).decode()))
    edit(doc.modelspace())
    out = io.StringIO()
    doc.write(out)
    return out.getvalue().encode()


def cut_of(space: Any, tag: str) -> Any:
    """The entity of an item, by where the job pins it."""
    if tag == "edge":
        return max(space.query("LWPOLYLINE"), key=lambda one: _box(one)[2])

    def off(one: Any) -> float:
        x0, y0, x1, y1 = _box(one)
        return abs((x0 + x1) / 2 - AT[tag][0]) + abs((y0 + y1) / 2 - AT[tag][1])

    return min((one for one in space if one.dxf.layer not in ("EDGE", "OUTSIDE_THROUGH")), key=off)


def _box(one: Any) -> tuple[float, float, float, float]:
    if one.dxftype() == "CIRCLE":
        (x, y, _), r = one.dxf.center, one.dxf.radius
        return x - r, y - r, x + r, y + r
    xs, ys = zip(*one.get_points("xy"), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def judged(
    data: bytes | None = None, *, tray: Tray | None = None, layout: Layout | None = None, holes: str | None = None
) -> tuple[Finding, ...]:
    one = made()
    sheets = {"sheet-1.dxf": one.dxf if data is None else data}
    return check_tray(tray or one.tray, layout or one.layout, sheets, one.holes if holes is None else holes)


def listed(findings: Iterable[Finding]) -> list[tuple[str, str | None, str]]:
    return [(one.code, one.placement, one.message) for one in findings]


def the(
    findings: tuple[Finding, ...],
    code: str,
    tag: str | None,
    *,
    place: Any = None,
    figure: float | None = None,
    within: float = 0.01,
    limit: float | None = None,
) -> Finding:
    """The one finding of this code; no error stands on any other placement, or on none.

    ``place`` is a point or a figure of shapely's that the place must lie on.
    """
    placement = None if tag is None else f"test-tray/{tag}"
    found = [one for one in findings if one.code == code]
    assert [one.placement for one in found] == [placement], listed(findings)
    errors = {one.placement for one in findings if one.severity is Severity.ERROR}
    assert errors <= {placement}, listed(findings)
    one = found[0]
    assert one.tray == "test tray"
    assert one.remedy
    if tag is not None:  # tag and label, as they stand on the drawings
        assert f"{tag} {made().item(tag).label}" in one.message, one.message
    if place is not None:
        spot = shapely.Point(place) if isinstance(place, tuple) else place
        assert one.at is not None
        assert shapely.distance(spot, shapely.Point(one.at)) <= 0.1, one
    if figure is not None:
        assert one.figure == pytest.approx(figure, abs=within), one
    if limit is not None:
        assert one.limit == pytest.approx(limit, abs=1e-6), one
    return one


def test_a_tray_as_made_has_no_findings() -> None:
    assert judged() == ()
    assert [one.id[-2:] for one in made().layout.placements] == list(AT)
    assert len(made().holes.splitlines()) == 1 + len(BORES)


def test_every_cut_is_where_the_job_pins_it() -> None:
    """The tests below find an item's cut by its pin: this proves that they find the right one."""
    space = ezdxf.read(io.StringIO(made().dxf.decode())).modelspace()
    cuts = [cut_of(space, tag) for tag in AT if tag != "10"]
    assert len({one.dxf.handle for one in cuts}) == len(space) - 1
    for tag, one in zip((tag for tag in AT if tag != "10"), cuts, strict=True):
        x0, y0, x1, y1 = _box(one)
        assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx(AT[tag], abs=0.05)


def test_items_of_another_shop_setting_are_clean_too() -> None:
    cut = replace(made().tray, edge_sawn=False)
    assert judged(made_from(cut).dxf, tray=cut) == ()
    mirrored = with_item("01", mirror=True, pinned=Pose(*AT["01"], mirror=True))
    other = made_from(mirrored)
    assert judged(other.dxf, tray=mirrored, layout=other.layout) == ()
