"""Trays laid out at once: the same as one after the other, whatever happens to the other processes, and stopped when asked."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest

from insertgen.files.layout import write_layout
from insertgen.model.item import Turn
from insertgen.model.seat import Seat
from insertgen.pipeline.lay import Task, lay_out
from insertgen.pipeline.stop import Stop, on_interrupt
from tests.arrange_values import bit, faults, pocket, rectangle, round_outline, tray

AMPLE = 600.0


class Trap(tuple[Seat, ...]):
    """Seats that do something to a process other than the first when it is handed them."""

    how = "die"

    def __reduce__(self) -> tuple[object, ...]:
        return _spring, (tuple(self), self.how)


class Panic(Trap):
    how = "panic"


def _spring(seats: tuple[Seat, ...], how: str) -> tuple[Seat, ...]:
    if multiprocessing.parent_process() is not None:
        if how == "die":
            os._exit(9)
        raise SystemExit("as a library's panic does, which is no Exception")
    return seats


def _task(name: str, *seats: Seat) -> Task:
    return Task(replace(tray(), name=name, slug=name), seats, 1, AMPLE)


def _tasks() -> list[Task]:
    return [
        _task("one", *(pocket(n, rectangle(60 + 9 * n, 30), Turn.HALF) for n in range(1, 5))),
        _task("two", *(bit(n) for n in range(1, 7)), pocket(7, round_outline(70))),
    ]


def _silent(_: str) -> None:
    pass


def test_side_by_side_or_one_after_the_other_the_bytes_are_the_same() -> None:
    tasks = _tasks()
    alone = lay_out(tasks, say=_silent, stop=Stop(), processes=1)
    together = lay_out(tasks, say=_silent, stop=Stop(), processes=2)
    assert [write_layout(one) for one in together] == [write_layout(one) for one in alone]
    assert [one.tray for one in together] == ["one", "two"]


@pytest.mark.parametrize("trap", [Trap, Panic])
def test_a_tray_whose_process_dies_is_laid_out_all_the_same(trap: type[Trap]) -> None:
    tasks = _tasks()
    bad = replace(tasks[0], seats=trap(tasks[0].seats))
    told: list[str] = []
    layouts = lay_out([bad, tasks[1]], say=told.append, stop=Stop(), processes=2)
    assert layouts == lay_out(tasks, say=_silent, stop=Stop(), processes=1)
    assert "one: laying out 4 items" in told  # that is: here


def test_for_one_tray_no_process_is_started(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise AssertionError("a process was started")

    monkeypatch.setattr(multiprocessing, "get_context", refuse)
    assert len(lay_out(_tasks()[:1], say=_silent, stop=Stop())) == 1
    assert lay_out([], say=_silent, stop=Stop()) == ()


def test_asked_to_stop_what_there_is_comes_back_sound() -> None:
    stop = Stop()
    stop.ask()
    for processes in (1, 2):
        tasks = _tasks()
        for task, layout in zip(tasks, lay_out(tasks, say=_silent, stop=stop, processes=processes), strict=True):
            assert layout.stopped_by_time
            assert len(layout.placements) + len(layout.left_out) == len(task.seats)
            assert faults(task.tray, task.seats, layout) == []


def test_the_environment_is_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "7")
    monkeypatch.delenv("OMP_NUM_THREADS", raising=False)
    lay_out(_tasks(), say=_silent, stop=Stop(), processes=2)
    assert os.environ["OPENBLAS_NUM_THREADS"] == "7"
    assert "OMP_NUM_THREADS" not in os.environ


def test_the_first_interrupt_asks_and_the_second_ends() -> None:
    with on_interrupt() as stop:
        os.kill(os.getpid(), signal.SIGINT)
        assert stop.asked
        with pytest.raises(KeyboardInterrupt):
            os.kill(os.getpid(), signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


_LONG = """
import sys
from dataclasses import replace
from insertgen.pipeline.lay import Task, lay_out
from insertgen.pipeline.stop import on_interrupt
from tests.arrange_values import pocket, round_outline, tray
if __name__ == "__main__":
    many = tuple(pocket(n, round_outline(30 + n % 5)) for n in range(1, 120))
    tasks = [Task(replace(tray(), name=name), many, 0, 300.0) for name in ("one", "two")]
    with on_interrupt() as stop:
        print("ready", flush=True)
        layouts = lay_out(tasks, say=lambda text: print(text, flush=True), stop=stop, processes=int(sys.argv[1]))
    print([one.stopped_by_time for one in layouts], [len(one.placements) > 9 for one in layouts], flush=True)
"""


@pytest.mark.parametrize("processes", ["1", "2"])
def test_interrupted_from_outside_it_ends_cleanly_with_the_best_so_far(processes: str, tmp_path: Path) -> None:
    script = tmp_path / "long.py"
    script.write_text(_LONG)
    root = str(Path(__file__).parent.parent)
    started = subprocess.Popen(
        [sys.executable, str(script), processes], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        cwd=root, env={**os.environ, "PYTHONPATH": root},
    )  # fmt: skip
    assert started.stdout is not None
    while "laying out" not in started.stdout.readline():
        pass
    time.sleep(2.0)  # the processes are starting or at work; either must do
    started.send_signal(signal.SIGINT)
    out, err = started.communicate(timeout=120)
    assert (started.returncode, err) == (0, "")
    assert out.splitlines()[-1] == "[True, True] [True, True]"
