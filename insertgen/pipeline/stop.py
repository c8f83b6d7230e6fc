"""Ctrl-C while a search runs: the first asks it to end with the best so far, the second ends the program."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

__all__ = ["Stop", "on_interrupt"]


class Stop:
    """Whether the user has asked to stop; others may ask to be told, in other processes too."""

    def __init__(self) -> None:
        self.asked = False
        self._tell: list[Callable[[], None]] = []

    def __call__(self) -> bool:
        return self.asked

    def ask(self) -> None:
        self.asked = True
        for tell in self._tell:
            tell()

    @contextmanager
    def told(self, tell: Callable[[], None]) -> Iterator[None]:
        """Within, ``tell`` is called when the user asks to stop, at once if that was before."""
        self._tell.append(tell)
        try:
            if self.asked:
                tell()
            yield
        finally:
            self._tell.remove(tell)


@contextmanager
def on_interrupt() -> Iterator[Stop]:
    """A `Stop` that the first Ctrl-C within asks for.

    Only where Ctrl-C would end the program otherwise: in the main thread, with nobody
    else listening.
    """
    stop = Stop()
    main = threading.current_thread() is threading.main_thread()
    if not main or signal.getsignal(signal.SIGINT) is not signal.default_int_handler:
        yield stop
        return

    def heard(number: int, frame: FrameType | None) -> None:
        if stop.asked:
            signal.default_int_handler(number, frame)
        stop.ask()

    signal.signal(signal.SIGINT, heard)
    try:
        yield stop
    finally:
        signal.signal(signal.SIGINT, signal.default_int_handler)
