"""Random outlines, cutters and clearances: a seat is valid, or refused for a reason that is true; never silently wrong.

Judged by shapely alone (tests/seat_judge.py). SEAT_EXAMPLES=2000 runs the full
number; so does python -m tests.bench.seat_bench --examples 2000.
"""

from __future__ import annotations

import os
import re
from dataclasses import dataclass, replace

import numpy as np
import shapely
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from insertgen.errors import JobError
from insertgen.items.steps import steps_of
from insertgen.model.figures import Outline, Point
from insertgen.model.item import Item
from insertgen.model.job import Cutter, Template, Tray
from insertgen.model.shape import Part, Shape, Store
from insertgen.seats.seat import seat_for
from tests.build_values import pocket_item, tray_of
from tests.seat_judge import can_move, filled, judge, other_opening, seated
from tests.seat_outlines import KINDS, random_outline, random_parts

EXAMPLES = int(os.environ.get("SEAT_EXAMPLES", "60"))

CUTTERS = (3.175, 6.35, 12.7)  # 1/8, 1/4, 1/2 in
THICKNESS, FLOOR = 30.0, 3.0

#: How much less than the clearance and the shift allowed an item may stay put by: both sides try some directions only.
NEAR = 0.05


@dataclass(frozen=True)
class Case:
    """One example; prints as what is needed to make it again."""

    seed: int
    kind: str
    cutter: float
    clearance: float
    gap_share: float
    store: str = "pocket"
    machine: str = "router"
    parts: int = 1
    grips: int | None = 0  # None: the program's choice; else how many are asked for
    error: float = 0.0

    def item_and_tray(self) -> tuple[Item, Tray] | None:
        """None where the parts do not hang together, which is refused before a seat is due."""
        rng = np.random.default_rng(self.seed)
        if self.parts == 1:
            parts: tuple[Part, ...] = (Part(random_outline(rng, self.kind), 0.0, 20.0),)
        else:
            parts = random_parts(rng, self.kind, self.parts)
        tray = self._tray()
        store = Store(self.store)
        depth = THICKNESS if store is Store.THROUGH else min(THICKNESS - FLOOR, (parts[-1].top or 0.0) - 1)
        try:
            steps = steps_of(parts, store, depth, THICKNESS, "")
        except JobError:
            return None
        if self.machine == "laser":
            steps = (replace(steps[0], depth=THICKNESS, through=True),)
        item = pocket_item(
            steps[0].outline, clearance=self.clearance, least_gap=round(self.clearance * self.gap_share, 4), steps=steps,
            shape=Shape("thing", parts), expected_error=self.error, depth=steps[-1].depth, through=steps[-1].through,
            grips=_grips(rng, steps[0].outline, self.grips),
        )  # fmt: skip
        return replace(item, store=store), tray

    def _tray(self) -> Tray:
        machine = self.machine.removesuffix(" with template")
        tray = tray_of(cutter=self.cutter, machine=machine, thickness=THICKNESS, floor=FLOOR)
        if machine == self.machine:
            return tray
        template = Template("bush", self.cutter + 9.525, Cutter(self.cutter), 6.0)
        return replace(tray, cutting=replace(tray.cutting, template=template))


def _grips(rng: np.random.Generator, outline: Outline, count: int | None) -> tuple[Point, ...] | None:
    """Places near the edge of an outline, some inside, some well outside."""
    if count is None:
        return None
    ring = outline.outer
    picked = [ring[int(k)] for k in rng.integers(len(ring), size=count)]
    factors = rng.uniform(0.9, 1.2, count).tolist()
    return tuple((round(x * f, 1), round(y * f, 1)) for (x, y), f in zip(picked, factors, strict=True))


def faults_of(case: Case) -> tuple[str, list[str]]:
    """What came of an example (seated, refused, in pieces), and all that is wrong with it."""
    made = case.item_and_tray()
    if made is None:
        return "in pieces", []
    item, tray = made
    try:
        seat = seat_for(item, tray)
    except JobError as refusal:
        return "refused", _untrue(refusal, item, tray)
    found = judge(seat, tray)
    faults = found.faults
    most = seat.clearance + tray.shift
    if can_move(seated(seat), most + NEAR):
        faults.append(f"the item could lie {most + NEAR:.2f} off its place")
    return "seated", faults


def _untrue(refusal: JobError, item: Item, tray: Tray) -> list[str]:
    """Why a refusal was not due, or says what is not so."""
    text, clearance = str(refusal), item.clearance + item.expected_error
    try:
        plain = seat_for(replace(item, grips=()), tray)
    except JobError:
        plain = None
    if plain is not None:  # the cutter does: only a recess can be at fault
        return [] if "finger recess" in text else [f"refused, but without finger recesses it is not: {text}"]
    if tray.cutting.machine == "laser":
        return [f"a laser was refused for its cutter: {text}"]
    faults = []
    radius = tray.cutting.pocket_cutter.diameter / 2
    pairs: list[tuple[BaseGeometry, BaseGeometry]] = []
    for solid in (filled(step.outline) for step in reversed(item.steps)):
        below = [region for _, region in pairs]
        pairs.append((solid, shapely.union_all([other_opening(solid, clearance, radius, item.least_gap), *below])))
    if not can_move(pairs, clearance + tray.shift - NEAR):
        faults.append(f"refused, though another opening holds it: {text}")
    if named := re.search(r"a cutter of ([\d.]+) mm", text):
        smaller = replace(tray, cutting=replace(tray.cutting, cutter=Cutter(float(named[1])), template=None))
        try:
            faults += [f"with the cutter named: {fault}" for fault in judge(seat_for(item, smaller), smaller).faults]
        except JobError as again:
            faults.append(f"the cutter named is refused too: {again}")
    elif "smaller cutter" not in text:
        faults.append(f"refused without saying what would do: {text}")
    return faults


cases = st.builds(
    Case,
    seed=st.integers(0, 2**32 - 1),
    kind=st.sampled_from(KINDS),
    cutter=st.sampled_from(CUTTERS),
    clearance=st.floats(0.2, 3.0).map(lambda c: round(c, 2)),
    gap_share=st.one_of(st.sampled_from([0.0, 0.1, 1.0]), st.floats(0, 1)),
    store=st.sampled_from(["pocket", "pocket", "through"]),
    machine=st.sampled_from(["router", "router", "router", "hand", "hand with template", "laser"]),
    parts=st.sampled_from([1, 1, 2, 3]),
    grips=st.sampled_from([0, 0, None, 1, 2]),
    error=st.sampled_from([0.0, 0.0, 0.4]),
)


@given(cases)
@settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],  # a smaller seed is no simpler outline
    suppress_health_check=[HealthCheck.too_slow],
)
def test_a_seat_is_valid_or_refused_with_a_reason_that_is_true(case: Case) -> None:
    _, faults = faults_of(case)
    assert not faults, (case, faults)
