"""How long a search may go on, and whom it tells."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["MOVES", "Budget"]

MOVES = 11_000  # of single things in `insertgen.arrange.untangle`, over all fillings of one tray


@dataclass(slots=True)
class Budget:
    """The ceiling in seconds, rounds and moves, who may stop it before, the rounds done, and whom to tell."""

    deadline: float
    progress: Callable[[str], None] | None = None
    stop: Callable[[], bool] | None = None
    most: int | None = None
    rounds: int = 0
    stopped: bool = False
    moves: int = MOVES

    def spent(self) -> bool:
        """Whether a ceiling is reached, or it was stopped; once it is, it stays so.

        Reaching the ceiling in rounds is no stop: the same would be found again.
        """
        asked = self.stop is not None and self.stop()
        self.stopped = self.stopped or asked or time.monotonic() >= self.deadline
        return self.stopped or (self.most is not None and self.rounds >= self.most)

    def half_the_moves(self) -> int:
        """Half of what is left of the moves, for one search; they are gone then, used up or not."""
        half = self.moves // 2
        self.moves -= half
        return half

    def say(self, text: str) -> None:
        if self.progress is not None:
            self.progress(text)
