"""Other ways of filling a tray: boxes in shelves, bottom-left on a raster, and a general nesting library.

The first and last need rectpack and spyrrow, which the project itself does not; where
they are not installed, their lines say so.
"""

from __future__ import annotations

import importlib.util
import multiprocessing
import time
from itertools import product
from multiprocessing.connection import Connection

from insertgen.arrange.body import bodies
from insertgen.arrange.budget import Budget
from insertgen.arrange.feasible import Spacing, conflicts
from insertgen.arrange.fill import fill
from insertgen.geometry.offset import grown
from insertgen.geometry.region import bounds, from_outline, to_outlines
from insertgen.model.figures import Pose
from insertgen.model.job import Tray
from insertgen.model.layout import Layout, Placement
from insertgen.model.seat import Seat

__all__ = ["bottom_left", "library", "missing", "shelves"]

GROWN = 1e-4  # mm more than half a web, for what the library rounds


def missing(name: str) -> bool:
    return importlib.util.find_spec(name) is None


def shelves(tray: Tray, seats: tuple[Seat, ...]) -> float | None:
    """Seconds until the bounding boxes lay in shelves or other rectangles, by all of rectpack's ways; None: in none."""
    import rectpack

    start, web, margin = time.perf_counter(), tray.web, tray.margin
    boxes = [bounds(from_outline(seat.item.outline)) for seat in seats]
    sizes = [(_tenths(x1 - x0 + web), _tenths(y1 - y0 + web)) for x0, y0, x1, y1 in boxes]
    room = [int((side - 2 * margin + web) * 10) for side in (tray.blank.width, tray.blank.depth)]
    ways = (rectpack.GuillotineBssfSas, rectpack.SkylineMwf, rectpack.SkylineBl, rectpack.MaxRectsBssf, rectpack.MaxRectsBl)
    sorts = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE, rectpack.SORT_PERI)
    for way, sort in product(ways, sorts):
        packer = rectpack.newPacker(mode=rectpack.PackingMode.Offline, pack_algo=way, sort_algo=sort, rotation=True)
        packer.add_bin(*room)
        for number, size in enumerate(sizes):
            packer.add_rect(*size, rid=number)
        packer.pack()
        if len(packer.rect_list()) == len(sizes):
            return time.perf_counter() - start
    return None


def _tenths(length: float) -> int:
    return -int(-length * 10 // 1)


def bottom_left(tray: Tray, seats: tuple[Seat, ...], seconds: float) -> float | None:
    """Seconds until this package's own filling alone, without the search, placed all; None: not within its rounds."""
    start = time.perf_counter()
    budget = Budget(time.monotonic() + seconds, moves=0)
    made = bodies(seats, tray.blank, tray.margin, tray.play)
    _, left = fill(tray, Spacing(tray.web, tray.margin), [], made, 0, budget)
    return None if left else time.perf_counter() - start


def library(tray: Tray, seats: tuple[Seat, ...], seed: int, seconds: float, workers: int) -> float | None:
    """Seconds until the library's strip is no longer than the tray, by exact geometry; None: not in time.

    In a process of its own: it can neither be stopped nor be kept from ending its process.
    """
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_strip, args=(theirs, tray, seats, seed, seconds, workers))
    process.start()
    theirs.close()
    found, deadline = None, time.monotonic() + seconds + 20
    while found is None and ours.poll(max(0.0, deadline - time.monotonic())):
        try:
            took, poses = ours.recv()
        except EOFError:
            break
        if not conflicts(tray, seats, _layout(tray, seats, poses)):
            found = took
    process.terminate()
    process.join()
    return found


def _layout(tray: Tray, seats: tuple[Seat, ...], poses: dict[int, tuple[float, float, float]]) -> Layout:
    placements = tuple(
        Placement(seat.item.id, seat.item.name, seat.item.name, Pose(*poses[number]), False) for number, seat in enumerate(seats)
    )
    return Layout(tray.slug, 0, 0, False, tray.blank, placements, ())


def _strip(pipe: Connection, tray: Tray, seats: tuple[Seat, ...], seed: int, seconds: float, workers: int) -> None:
    """Send every strip short enough: when it was found, and poses on the blank."""
    import threading

    import spyrrow

    web, off = tray.web, tray.margin - tray.web / 2
    items = []
    for number, seat in enumerate(seats):
        ring = to_outlines(grown(from_outline(seat.item.outline), web / 2 + GROWN))[0].outer
        items.append(spyrrow.Item(str(number), [*ring, ring[0]], demand=1, allowed_orientations=[0, 90, 180, 270]))
    instance = spyrrow.StripPackingInstance("tray", strip_height=tray.blank.depth - 2 * off, items=items)
    config = spyrrow.StripPackingConfig(total_computation_time=int(seconds), num_workers=workers, seed=seed)
    queue, start, done = spyrrow.ProgressQueue(), time.perf_counter(), threading.Event()
    threading.Thread(target=lambda: (instance.solve(config, progress=queue), done.set()), daemon=True).start()
    while True:
        last = done.is_set()
        for kind, solution in queue.drain():
            if kind != spyrrow.ReportType.ExplInfeas and solution.width <= tray.blank.width - 2 * off:
                placed = {int(one.id): (one.translation[0] + off, one.translation[1] + off, one.rotation) for one in solution.placed_items}
                pipe.send((time.perf_counter() - start, placed))
        if last:
            return
        time.sleep(0.02)
