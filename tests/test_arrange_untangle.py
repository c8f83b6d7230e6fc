"""Guided local search: areas in closed form, places by brute force, layouts proved by exact geometry."""

from __future__ import annotations

import math
import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from insertgen.arrange.body import bodies
from insertgen.arrange.budget import Budget
from insertgen.arrange.feasible import Spacing
from insertgen.arrange.overlap import Overlap
from insertgen.arrange.settle import Placed, faults
from insertgen.arrange.untangle import untangled
from insertgen.model.figures import Pose
from insertgen.model.item import Turn
from insertgen.model.job import Tray
from tests.arrange_values import keep_out, pocket, rectangle, tray

AMPLE = 600.0


def heaped(made: list, seed: int) -> Placed:
    """All of it thrown in at random."""
    rng = np.random.default_rng(seed)
    placed = []
    for body in made:
        turn = int(rng.choice(body.turns))
        (x0, x1), (y0, y1) = body.windows[turn]
        placed.append((body, Pose(float(rng.uniform(x0, x1)), float(rng.uniform(y0, y1)), float(turn), body.mirror)))
    return placed


def budget() -> Budget:
    return Budget(time.monotonic() + AMPLE)


def pair(gap: float) -> tuple[Tray, Placed]:
    """Two rectangles of 60 x 40 side by side, so far apart."""
    box = tray(300, 200, web=6, margin=10)
    made = bodies((pocket(1, rectangle(60, 40)), pocket(2, rectangle(60, 40))), box.blank, box.margin)
    return box, [(made[0], Pose(80, 100, 0)), (made[1], Pose(140 + gap, 100, 0))]


def overlap(box: Tray, placed: Placed, fixed: Placed | None = None) -> Overlap:
    return Overlap(box.blank, box.keep_out, Spacing(box.web, box.margin), placed, fixed or [])


@pytest.mark.parametrize(("gap", "overlaps"), [(30.0, False), (10.0, False), (0.0, True), (-20.0, True)])
def test_only_what_is_nearer_than_the_web_overlaps(gap: float, overlaps: bool) -> None:
    box, placed = pair(gap)
    assert (overlap(box, placed).pairs().max() > 1e-3) == overlaps


def test_the_deeper_the_more() -> None:
    values = [overlap(*pair(gap)).pairs().max() for gap in (4.0, 0.0, -6.0, -15.0, -30.0)]
    assert values == sorted(values)
    assert values[0] < values[-1]


@pytest.mark.parametrize("turn", [0, 90])
def test_places_by_fourier_transform_cost_what_they_cost_one_by_one(turn: int) -> None:
    """Convolution theorem: at a node, the cost found there is the product of images summed."""
    box, placed = pair(-20.0)
    field = overlap(box, placed, [])
    value, pose = field.best(0, (turn,))
    field.move(0, pose)
    assert field.of(0) == pytest.approx(value, abs=0.05)
    (x0, x1), (y0, y1) = placed[0][0].windows[turn]
    for x, y in np.random.default_rng(turn).uniform((x0, y0), (x1, y1), (60, 2)):
        node = round(x / field.step) * field.step, round(y / field.step) * field.step
        if x0 <= node[0] <= x1 and y0 <= node[1] <= y1:
            field.move(0, Pose(*node, float(turn)))
            assert field.of(0) >= value - 0.05


def test_keep_outs_and_what_is_fixed_are_kept_off() -> None:
    box = tray(300, 200, keep_out(0, 0, 150, 200), web=6, margin=10)
    made = bodies((pocket(1, rectangle(60, 40)), pocket(2, rectangle(100, 60))), box.blank, box.margin)
    field = overlap(box, [(made[0], Pose(60, 60, 0))], [(made[1], Pose(230, 60, 0))])
    assert field.pairs()[0, 2] > 0
    value, pose = field.best(0, made[0].turns)
    assert value < 1e-2
    assert pose.x > 150
    assert pose.y > 90


def test_weights_decide_which_of_two_is_overlapped() -> None:
    """No room but on one of two others: on the one that weighs less."""
    box = tray(130, 70, web=6, margin=5)
    made = bodies(tuple(pocket(k, rectangle(50, 50)) for k in range(3)), box.blank, box.margin)
    placed = [(made[0], Pose(65, 35, 0)), (made[1], Pose(32, 35, 0)), (made[2], Pose(98, 35, 0))]
    for heavy, side in ((1, 1), (2, -1)):
        field = overlap(box, placed)
        field.weights[0, heavy] = 50.0
        _, pose = field.best(0, (0,))
        assert math.copysign(1, pose.x - 65) == side


@pytest.mark.parametrize("seed", range(4))
def test_a_square_cut_in_pieces_finds_together(seed: int) -> None:
    """Three rows of a rectangle of 224 x 192 cut in seven, webs between, in 12 mm more each way: known to fit."""
    sizes = [(120, 70), (98, 70), (60, 60), (84, 60), (68, 60), (134, 50), (84, 50)]
    box = tray(248, 216, web=6, margin=6)
    made = bodies(tuple(pocket(k, rectangle(*size), turn=Turn.QUARTER) for k, size in enumerate(sizes)), box.blank, box.margin)
    found = untangled(box, Spacing(6, 6), [], heaped(made, seed), seed, budget(), 4000)
    assert found is not None
    assert not faults(found, frozenset(), box, Spacing(6, 6))
    assert [body.id for body, _ in found] == [body.id for body in made]


def test_what_is_fixed_stays_and_keep_outs_stay_free() -> None:
    box = tray(300, 200, keep_out(0, 0, 60, 60), web=6, margin=10)
    made = bodies(tuple(pocket(k, rectangle(70, 50)) for k in range(6)), box.blank, box.margin)
    fixed = [(made[0], Pose(150.0, 100.0, 30.0))]
    found = untangled(box, Spacing(6, 10), fixed, heaped(made[1:], 1), 1, budget(), 3000)
    assert found is not None
    assert found[0] == fixed[0]
    assert not faults(found, frozenset({made[0].id}), box, Spacing(6, 10))


def test_more_than_the_tray_is_given_up_at_once() -> None:
    box = tray(200, 150, web=6, margin=10)
    made = bodies(tuple(pocket(k, rectangle(70, 60)) for k in range(6)), box.blank, box.margin)
    assert untangled(box, Spacing(6, 10), [], heaped(made, 0), 0, budget(), 10**9) is None


def test_moves_are_bounded() -> None:
    """Three squares that cover less than the tray, but of which only one fits: ends, and says nothing was found."""
    box = tray(170, 170, web=6, margin=10)
    made = bodies(tuple(pocket(k, rectangle(75, 75)) for k in range(3)), box.blank, box.margin)
    assert untangled(box, Spacing(6, 10), [], heaped(made, 0), 0, budget(), 300) is None


def test_the_same_seed_gives_the_same_places() -> None:
    box = tray(300, 200, web=6, margin=10)
    made = bodies(tuple(pocket(k, rectangle(60 + 5 * k, 40)) for k in range(7)), box.blank, box.margin)
    poses = [[pose for _, pose in untangled(box, Spacing(6, 10), [], heaped(made, 3), 3, budget(), 3000) or []] for _ in range(2)]
    assert poses[0] == poses[1] != []


THREADS = """
from insertgen.arrange.arrange import arrange
from tests.arrange_values import pocket, rectangle, tray
seats = tuple(pocket(n, rectangle(40 + 7 * (n % 6), 20 + 5 * (n % 5))) for n in range(1, 25))
print(arrange(tray(), seats, seconds=600))
"""


def test_however_many_threads_the_layout_is_the_same() -> None:
    """Sums of floats depend on their order: no library may share them out over threads."""
    said = [
        subprocess.run(
            [sys.executable, "-c", THREADS], capture_output=True, text=True, check=True, cwd=Path(__file__).parent.parent,
            env=os.environ | {"OPENBLAS_NUM_THREADS": count, "OMP_NUM_THREADS": count},
        ).stdout
        for count in ("1", "2")
    ]  # fmt: skip
    assert said[0] == said[1] != ""
