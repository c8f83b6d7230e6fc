"""Plan outlines against closed forms.

A regular polygon of n corners on a circle of radius r has the area
n/2 r^2 sin(2 pi / n); areas of rings by the surveyor's (shoelace) formula.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.items.plan import disc_outline, kind_of, plan_outlines
from insertgen.model.figures import Outline, Ring
from insertgen.model.shape import Collet, Disc, Part, Rectangle, RingPile, Shank, Slot, Solid, Store

POLYGON = 128 * math.sin(2 * math.pi / 256)  # area of the 256-gon on the unit circle
sizes = st.floats(0.1, 5000)


def _area(ring: Ring) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)) / 2


def _box(ring: Ring) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    return min(xs), min(ys), max(xs), max(ys)


@given(sizes)
def test_disc(diameter: float) -> None:
    ring = disc_outline(diameter).outer
    radius = diameter / 2
    assert len(ring) == 256
    assert _area(ring) == pytest.approx(POLYGON * radius**2)  # positive: counter-clockwise
    assert _box(ring) == (-radius, -radius, radius, radius)
    assert all(math.hypot(*point) == pytest.approx(radius) for point in ring)


@given(sizes, sizes)
def test_slot(a: float, b: float) -> None:
    length, width = max(a, b), min(a, b)
    seated, room = plan_outlines(Slot(length, width), Store.THROUGH)
    assert seated == room
    assert _area(seated.outer) == pytest.approx((length - width) * width + POLYGON * width**2 / 4)
    assert _box(seated.outer) == pytest.approx((-length / 2, -width / 2, length / 2, width / 2))
    assert len(set(seated.outer)) == len(seated.outer)


@given(sizes, sizes)
def test_rectangle(length: float, width: float) -> None:
    seated, _ = plan_outlines(Rectangle(length, width), Store.POCKET)
    assert _area(seated.outer) == pytest.approx(length * width)
    assert _box(seated.outer) == (-length / 2, -width / 2, length / 2, width / 2)


SHANK = Shank(12.7, 38.1)
COLLET = Collet(8, 20, 14, 28)
RING = RingPile(8, 22, 7)
TRIANGLE = Outline(((-5, -5), (5, -5), (0, 5)))


@pytest.mark.parametrize(
    ("solid", "store", "peg", "seated", "room"),
    [
        (SHANK, Store.BORE, None, 12.7, 38.1),
        (SHANK, Store.STAND, None, 38.1, 38.1),
        (Shank(12.7, 6.35), Store.BORE, None, 12.7, 12.7),  # a bit that cuts narrower than its shank
        (COLLET, Store.BORE, None, 20, 20),
        (RING, Store.PEG, 6.35, 6.35, 22),
        (RING, Store.STAND, None, 22, 22),
        (Disc(30), Store.BORE, None, 30, 30),
    ],
)
def test_what_sits_and_what_takes_room(
    solid: Solid, store: Store, peg: float | None, seated: float, room: float
) -> None:
    assert plan_outlines(solid, store, peg) == (disc_outline(seated), disc_outline(room))


def test_an_outline_is_its_own_plan() -> None:
    assert plan_outlines((Part(TRIANGLE),), Store.POCKET) == (TRIANGLE, TRIANGLE)


def test_every_kind_has_its_word() -> None:
    solids: list[Solid] = [(Part(TRIANGLE),), Disc(1), Rectangle(2, 1), Slot(2, 1), SHANK, COLLET, RING]
    assert [kind_of(solid) for solid in solids] == [
        "outline", "disc", "rectangle", "slot", "shank", "collet", "ring",
    ]  # fmt: skip
