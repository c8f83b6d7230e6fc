"""Many trays laid out at once, each in a process of its own; whatever goes wrong there is done again here."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from ctypes import c_byte
from dataclasses import dataclass

from insertgen.arrange.arrange import arrange
from insertgen.model.job import Tray
from insertgen.model.layout import Layout
from insertgen.model.seat import Seat
from insertgen.pipeline.stop import Stop

__all__ = ["Task", "lay_out"]

Say = Callable[[str], None]

#: One thread a process: the search solves many tiny problems, and threads only wait for each other there.
_ENVIRONMENT = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}


@dataclass(frozen=True, slots=True)
class Task:
    """One tray to be laid out; see `insertgen.arrange.arrange.arrange`."""

    tray: Tray
    seats: tuple[Seat, ...]
    seed: int
    seconds: float
    before: Layout | None = None
    even: bool = True


def lay_out(tasks: Sequence[Task], *, say: Say, stop: Stop, processes: int | None = None) -> tuple[Layout, ...]:
    """The layouts, in order; the same as if made one after the other.

    Parameters
    ----------
    stop : Stop
        Once asked, every search ends with the best it has.
    processes : int, optional
        At most so many; default one a processor. With one, or one tray, none is started.
    """
    count = min(len(tasks), processes or os.cpu_count() or 1)
    done = _together(tasks, count, say, stop) if count > 1 else {}
    return tuple(done[number] if number in done else _here(task, say, stop) for number, task in enumerate(tasks))


def _here(task: Task, say: Say, stop: Stop) -> Layout:
    say(f"{task.tray.name}: laying out {len(task.seats)} items")
    return _arranged(task, lambda text: say(f"{task.tray.name}: {text}"), stop)


def _together(tasks: Sequence[Task], count: int, say: Say, stop: Stop) -> dict[int, Layout]:
    """Layouts by number, of those that came back."""
    context = multiprocessing.get_context("spawn")
    flag = context.RawValue(c_byte, 0)  # no lock: a process that dies would keep it

    def raise_flag() -> None:
        flag.value = 1

    done: dict[int, Layout] = {}
    say(f"laying out {len(tasks)} trays, {count} at a time")
    with _environment(), stop.told(raise_flag), ProcessPoolExecutor(count, context, _start, (flag,)) as pool:
        try:
            waiting = {number: future for number, task in enumerate(tasks) if (future := _submitted(pool, task)) is not None}
            numbers = {future: number for number, future in waiting.items()}
            for future in as_completed(numbers):
                number = numbers[future]
                if future.exception() is None:  # else it is laid out once more in this process
                    done[number] = future.result()
                    say(f"{tasks[number].tray.name}: laid out")
        except BaseException:  # a second Ctrl-C: let nobody search on
            raise_flag()
            pool.shutdown(wait=False, cancel_futures=True)
            raise
    return done


def _submitted(pool: ProcessPoolExecutor, task: Task) -> Future[Layout] | None:
    try:
        return pool.submit(_work, task)
    except BrokenProcessPool:  # an earlier one has died already
        return None


@contextmanager
def _environment() -> Iterator[None]:
    """What processes started within inherit."""
    before = {name: os.environ.get(name) for name in _ENVIRONMENT}
    os.environ.update(_ENVIRONMENT)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


# ---- in the other process ----------------------------------------------------------------------

_flags: list[c_byte] = []  # of this process, set once when it starts


def _start(flag: c_byte) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent is asked, and passes it on
    _flags[:] = [flag]


def _work(task: Task) -> Layout:
    flag = _flags[0]
    return _arranged(task, None, lambda: bool(flag.value))


def _arranged(task: Task, progress: Say | None, stop: Callable[[], bool]) -> Layout:
    return arrange(
        task.tray, task.seats, seed=task.seed, seconds=task.seconds, progress=progress, stop=stop,
        before=task.before, even=task.even,
    )  # fmt: skip
