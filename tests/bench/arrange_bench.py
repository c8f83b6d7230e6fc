"""How full a tray can get, how fast, how even: one run on the same seeds, layouts judged by exact geometry.

Run: python -m tests.bench.arrange_bench [seeds] [seconds] [part ...]
Parts: density, pinned, even, many, rack, circles; default all.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from insertgen.arrange.arrange import arrange
from insertgen.arrange.feasible import conflicts
from insertgen.geometry.distance import gap_between, gap_inside
from insertgen.geometry.pose import move_region
from insertgen.geometry.region import box, disc, from_outline, to_outlines
from insertgen.model.job import Tray
from insertgen.model.layout import Layout
from insertgen.model.seat import Seat
from insertgen.model.shape import Store
from tests.bench.arrange_problems import pinned_problem, problem, seat, tray
from tests.bench.arrange_rivals import bottom_left, library, missing, shelves

LEVELS = (45, 55, 65, 70, 75)
PINNED_LEVELS = (45, 55, 65)
EVEN_LEVELS = (45, 55)
EVEN_SECONDS = 15.0
MANY = ((5, 450.0, 350.0), (20, 450.0, 350.0), (60, 900.0, 700.0), (150, 1100.0, 850.0))
HEADS = (16.0, 22.0, 35.0)  # mm, of bits of the three shanks
BORES = (6.75, 8.35, 13.1)

#: Side of the square less a circle's diameter, least distance of n points in a unit square: Peikert et al. 1992,
#: "Packing circles in a square: a review and new results"; from memory, recomputed here as lower bounds.
POINTS = {
    2: 1.414213562, 3: 1.035276180, 4: 1.0, 5: 0.707106781, 6: 0.600925213, 7: 0.535898385, 8: 0.517638090, 9: 0.5,
    10: 0.421279543, 11: 0.398207310, 12: 0.388730126, 13: 0.366096008, 14: 0.348915260, 15: 0.341081377,
    16: 0.333333333, 17: 0.306153985, 18: 0.300462606, 19: 0.289541992, 20: 0.286611652,
}  # fmt: skip


def main() -> None:
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 10.0
    parts: dict[str, Callable[[], None]] = {
        "density": lambda: _density(seeds, seconds),
        "pinned": lambda: _pinned(seeds, seconds),
        "even": lambda: _even(seeds),
        "many": _many,
        "rack": _rack,
        "circles": _circles,
    }
    print(f"seeds 0-{seeds - 1}; 12 tool-like outlines, 450 x 350, web 6, margin 10, quarter turns")
    print(f"ceiling {seconds:g} s a tray; load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    for name in sys.argv[3:] or parts:
        print(f"\n== {name}", flush=True)
        parts[name]()


def _line(what: str, times: Sequence[float | None], cpu: Sequence[float] = ()) -> None:
    done = [one for one in times if one is not None]
    said = f"{what:<34} {len(done):>3}/{len(times):<3}"
    if done:
        said += f" median {np.median(done):6.2f} s, worst {max(done):6.2f} s"
    if len(cpu):
        said += f"; processor, all: median {np.median(cpu):6.2f} s, worst {max(cpu):6.2f} s"
    print(said, flush=True)


def _density(seeds: int, seconds: float) -> None:
    for level in LEVELS:
        cases = [problem(level, seed) for seed in range(seeds)]
        if missing("rectpack"):
            print("rectpack is not installed")
        else:
            _line(f"{level} %  shelves (rectpack)", [shelves(tray(), seats) for seats in cases])
        _line(f"{level} %  bottom-left on a raster", [bottom_left(tray(), seats, seconds) for seats in cases])
        if missing("spyrrow"):
            print("spyrrow is not installed")
        else:
            found = [library(tray(), seats, seed, seconds, 2) for seed, seats in enumerate(cases)]
            _line(f"{level} %  library (spyrrow, 2 workers)", found)
        _ours(f"{level} %  ours", [(tray(), seats) for seats in cases], seconds)


def _ours(what: str, cases: Sequence[tuple[Tray, tuple[Seat, ...]]], seconds: float) -> None:
    """Until all are placed; evening comes after that, and is timed by itself."""
    times: list[float | None] = []
    cpu: list[float] = []
    for seed, (where, seats) in enumerate(cases):
        start, start_cpu = time.perf_counter(), time.process_time()
        layout = arrange(where, seats, seed=seed, seconds=seconds, even=False)
        took = time.perf_counter() - start
        cpu.append(time.process_time() - start_cpu)
        sound = not conflicts(where, seats, layout)
        if not sound:
            print(f"  seed {seed}: the layout is NOT feasible")
        times.append(took if sound and not layout.left_out else None)
    _line(what, times, cpu)


def _pinned(seeds: int, seconds: float) -> None:
    for level in PINNED_LEVELS:
        _ours(f"{level} %  ours, 2 pins, 2 keep-outs", [pinned_problem(level, seed) for seed in range(seeds)], seconds)


def _even(seeds: int) -> None:
    for pinned in (False, True):
        for level in EVEN_LEVELS:
            ratios, cpu = [], []
            for seed in range(seeds):
                where, seats = pinned_problem(level, seed) if pinned else (tray(), problem(level, seed))
                start = time.process_time()
                layout = arrange(where, seats, seed=seed, seconds=EVEN_SECONDS)
                cpu.append(time.process_time() - start)
                if layout.left_out or conflicts(where, seats, layout):
                    print(f"  seed {seed}: not all placed, or NOT feasible")
                ratios.append(_least_web(where, seats, layout) / where.web)
            print(
                f"{level} %  {'pinned' if pinned else 'free':<7} web median {np.median(ratios):.2f} times, least {min(ratios):.2f};"
                f" processor median {np.median(cpu):.2f} s, worst {max(cpu):.2f} s",
                flush=True,
            )


def _least_web(where: Tray, seats: Sequence[Seat], layout: Layout) -> float:
    """Between any two, one of them not pinned, and to keep-outs."""
    poses = {one.id: one for one in layout.placements}
    stood = [
        (move_region(from_outline(one.opening[0]), poses[one.item.id].pose), one.item.pinned is not None)
        for one in seats
        if one.item.id in poses
    ]
    rects = [(box(r.at[0], r.at[1], r.at[0] + r.size[0], r.at[1] + r.size[1]), True) for r in where.keep_out]
    return min(gap_between(a, b).distance for (a, x), (b, y) in combinations([*stood, *rects], 2) if not (x and y))


def _many() -> None:
    """Each in a process of its own, for its memory."""
    for count, width, depth in MANY:
        code = f"from tests.bench.arrange_bench import one_of_many; one_of_many({count}, {width}, {depth})"
        subprocess.run([sys.executable, "-c", code], check=True)


def one_of_many(count: int, width: float, depth: float) -> None:
    """Say how long so many things take, and how much memory."""
    where = tray(width, depth)
    seats = problem(45, 0, count, where)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    start, start_cpu = time.perf_counter(), time.process_time()
    layout = arrange(where, seats, seed=0, seconds=30.0, even=False)
    took, cpu = time.perf_counter() - start, time.process_time() - start_cpu
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    sound = not layout.left_out and not conflicts(where, seats, layout)
    print(
        f"{count:>4} items on {width:g} x {depth:g}: {'all' if sound else 'NOT all'} placed in {took:.2f} s"
        f" ({cpu:.2f} s of the processor), at most {most:.0f} MB, {most - before:.0f} of them for it",
        flush=True,
    )


def bits() -> tuple[Seat, ...]:
    """Forty bits of three shanks."""
    made = []
    for number in range(40):
        kind = number % 3
        bore, head = (to_outlines(disc((0, 0), size))[0] for size in (BORES[kind], HEADS[kind] * (0.8 + 0.02 * (number % 7))))
        one = seat(number + 1, bore)
        item = replace(one.item, store=Store.BORE, room=head, room_gap=20.0, top=30.0 + 2 * (number % 11))
        made.append(replace(one, item=item))
    return tuple(made)


def _rack() -> None:
    where = tray(600.0, 450.0)
    start = time.perf_counter()
    layout = arrange(where, bits(), seconds=10.0)
    took = time.perf_counter() - start
    heads = [move_region(from_outline(one.item.room), placed.pose) for one, placed in zip(bits(), layout.placements, strict=True)]
    gap = min(gap_between(a, b).distance for a, b in combinations(heads, 2))
    edge = min(gap_inside(head, box(0, 0, 600, 450)).distance for head in heads)
    rows = sorted({round(one.pose.y, 2) for one in layout.placements})
    print(f"{len(layout.placements)} of 40 bits in {len(rows)} rows, heads {gap:.2f} mm apart (20 asked), {edge:.1f} mm from the edge, {took:.2f} s")


def _circles() -> None:
    """The least square in which circles of 60 find room, web 6, margin 10, against the best known."""
    for count, known in POINTS.items():
        best = 80.0 + 66.0 / known
        low, high = best, best * 1.5
        for _ in range(8):
            middle = (low + high) / 2
            if _hold(count, middle):
                high = middle
            else:
                low = middle
        again = 80.0 + 66.0 / _spread_points(count)
        print(
            f"{count:>3} circles: square of {high:.1f}, published {best:.1f} (ours {high / best:.3f} times),"
            f" recomputed {again:.1f}; {'ABOVE THE BOUND' if _hold(count, best - 0.5) else 'never better'}",
            flush=True,
        )


def _hold(count: int, side: float) -> bool:
    where = tray(side, side)
    seats = tuple(seat(number + 1, to_outlines(disc((0, 0), 60.0))[0]) for number in range(count))
    layout = arrange(where, seats, seconds=4.0, even=False)
    return not layout.left_out and not conflicts(where, seats, layout)


def _spread_points(count: int) -> float:
    """The largest least distance of points in a unit square found from 12 starts, by sequential quadratic programming."""
    from scipy.optimize import minimize

    rng, best = np.random.default_rng(count), 0.0
    i, j = np.triu_indices(count, 1)
    for _ in range(12):
        start = np.append(rng.uniform(0, 1, 2 * count), 0.2)

        def apart(z: np.ndarray) -> np.ndarray:
            p = z[:-1].reshape(-1, 2)
            return ((p[i] - p[j]) ** 2).sum(axis=1) - z[-1] ** 2

        found = minimize(
            lambda z: -z[-1], start, jac=lambda z: np.append(np.zeros(len(z) - 1), -1.0), method="SLSQP",
            bounds=[(0, 1)] * (2 * count) + [(0, 2)], constraints={"type": "ineq", "fun": apart}, options={"maxiter": 200},
        )  # fmt: skip
        if apart(found.x).min() > -1e-6:
            best = max(best, float(found.x[-1]))
    return best


if __name__ == "__main__":
    main()
