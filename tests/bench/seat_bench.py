"""How fast seats are made, and how good: 100 outlines as traced, of 400 points, for three cutters.

Goal: 20 ms in the median, 100 ms at worst, on two cores. The gap, the area cut beyond the plain offset
and the area no cutter reaches are measured by shapely alone (tests/seat_judge.py).
Run: python -m tests.bench.seat_bench [--outlines N] [--profile]
     python -m tests.bench.seat_bench --examples 2000 [--seed N]     random seats judged, as in tests/test_seat_properties.py
"""

from __future__ import annotations

import argparse
import cProfile
import pstats
import time
from collections import Counter
from collections.abc import Callable

import numpy as np
from hypothesis import HealthCheck, Phase, given, seed, settings

from insertgen.errors import JobError
from insertgen.model.item import Item
from insertgen.model.job import Tray
from insertgen.model.seat import Seat
from insertgen.seats.seat import seat_for
from tests.build_values import pocket_item, tray_of
from tests.seat_judge import filled, judge
from tests.seat_outlines import traced_like
from tests.test_seat_properties import Case, cases, faults_of

CUTTERS = ((3.175, "1/8 in"), (6.35, "1/4 in"), (12.7, "1/2 in"))
POINTS = 400


def things(count: int, cutter: float, *, fingers: bool) -> list[tuple[Item, Tray]]:
    """Invented tools; clearance 1 mm, least gap 0.08 mm."""
    rng = np.random.default_rng(20)
    tray = tray_of(cutter=cutter)
    outlines = [traced_like(rng, POINTS) for _ in range(count)]
    return [(pocket_item(one, clearance=1.0, least_gap=0.08, grips=None if fingers else ()), tray) for one in outlines]


def timed(work: list[tuple[Item, Tray]]) -> tuple[list[Seat], Counter[str], np.ndarray, np.ndarray]:
    """Seats, refusals counted by what would do, wall and CPU milliseconds each."""
    seats, refused, wall, cpu = [], Counter[str](), [], []
    for item, tray in work:
        start, start_cpu = time.perf_counter(), time.process_time()
        try:
            seats.append(seat_for(item, tray))
        except JobError as refusal:
            refused[str(refusal).split("; ")[-1]] += 1
        wall.append((time.perf_counter() - start) * 1e3)
        cpu.append((time.process_time() - start_cpu) * 1e3)
    return seats, refused, np.array(wall), np.array(cpu)


def speed(count: int) -> None:
    print(f"{count} outlines as traced, {POINTS} points, clearance 1, least gap 0.08; ms a seat: median / worst")
    print(
        f"{'cutter':>8} {'fingers':>8} {'wall ms':>14} {'cpu ms':>14} {'least gap':>16} {'extra mm2':>16}"
        f" {'unreached':>10} {'faults':>7} {'refused':>8}"
    )
    for fingers in (False, True):
        for cutter, name in CUTTERS:
            work = things(count, cutter, fingers=fingers)
            seats, refused, wall, cpu = timed(work)
            found = [judge(seat, work[0][1]) for seat in seats]
            gaps = [one.least_gap for one in found]
            extra = [one.extra_area for one in found] if not fingers else [seat.extra_area or 0.0 for seat in seats]
            print(
                f"{name:>8} {'two' if fingers else 'none':>8} {np.median(wall):>6.1f} /{wall.max():>6.1f}"
                f" {np.median(cpu):>6.1f} /{cpu.max():>6.1f} {min(gaps):>7.3f} ..{np.median(gaps):>6.3f}"
                f" {np.median(extra):>7.1f} /{max(extra):>7.1f} {max(one.unreached_area for one in found):>10.3f}"
                f" {sum(bool(one.faults) for one in found):>7} {refused.total():>8}"
            )
            for why, times in refused.items():
                print(f"{times:>10} refused: {why}")
            for seat, one in zip(seats, found, strict=True):
                for fault in one.faults:
                    print(f"{'':>10} fault, {filled(seat.item.outline).bounds}: {fault}")


def examples(count: int, number: int) -> None:
    """As the property test, but it goes on after a fault, and counts."""
    came: Counter[str] = Counter()
    start = time.process_time()

    @seed(number)
    @given(cases)
    @settings(max_examples=count, deadline=None, database=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
    def run(case: Case) -> None:
        how, faults = faults_of(case)
        came[how] += 1
        if faults:
            came["faulty"] += 1
            print(case, faults)

    run()
    total = came["seated"] + came["refused"] + came["in pieces"]
    print(f"{total} examples, hypothesis seed {number}: {dict(came)}; {(time.process_time() - start) * 1e3 / total:.0f} ms CPU each")


def profiled(work: Callable[[], object]) -> None:
    profile = cProfile.Profile()
    profile.runcall(work)
    pstats.Stats(profile).sort_stats("cumulative").print_stats(25)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--outlines", type=int, default=100)
    parser.add_argument("--profile", action="store_true")
    parser.add_argument("--examples", type=int)
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    if asked.examples:
        examples(asked.examples, asked.seed)
    elif asked.profile:
        work = things(asked.outlines, 6.35, fingers=True)
        profiled(lambda: timed(work))
    else:
        speed(asked.outlines)


if __name__ == "__main__":
    main()
