"""How large a blank would hold all that a tray is to hold."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from insertgen.arrange.arrange import arrange
from insertgen.model.job import Blank
from insertgen.model.layout import Layout, LeftOutReason
from insertgen.pipeline.lay import Task

__all__ = ["with_enough"]

GROWN = (1.0, 1.1, 1.25, 1.5, 2.0, 3.0)  # times each side
HALVINGS = 2
ROUNDS = 16  # of filling, a try
WHOLE = 5.0  # mm: blanks are named in whole steps of this


def with_enough(task: Task, layout: Layout, others: Sequence[Blank], stop: Callable[[], bool]) -> Layout:
    """The layout with the smallest blank that would hold all, where something found no room in its own.

    Of the job's ``others`` the smallest that does, if it is no larger than the
    tray's own blank, grown in its proportions, would have to be.
    """
    why = {one.id: one.why for one in layout.left_out}
    if not set(why.values()) & {LeftOutReason.NO_ROOM, LeftOutReason.TOO_BIG} or stop():
        return layout
    if task.before is not None and (layout.placements, layout.left_out) == (task.before.placements, task.before.left_out):
        return layout  # as it was, to the last byte
    seats = tuple(seat for seat in task.seats if why.get(seat.item.id) is not LeftOutReason.TOO_TALL)
    tries = _Tries(replace(task, seats=seats), stop)
    grown = _grown(tries)
    limit = math.inf if grown is None else _area(grown) + 1e-6
    fitting = (blank for blank in sorted(set(others), key=_area) if _area(blank) <= limit and tries.holds(blank))
    found = next(fitting, grown)
    return replace(layout, would_hold=found, stopped_by_time=layout.stopped_by_time or tries.stopped)


class _Tries:
    def __init__(self, task: Task, stop: Callable[[], bool]) -> None:
        self.task, self.stop, self.stopped = task, stop, False

    def holds(self, blank: Blank) -> bool:
        """Whether all find room on a blank; bounded in rounds, so that the answer repeats."""
        play = 2 * self.task.tray.play
        tray = replace(self.task.tray, blank=blank, inside=(blank.width + play, blank.depth + play))
        layout = arrange(
            tray, self.task.seats, seed=self.task.seed, seconds=self.task.seconds, stop=self.stop, even=False, rounds=ROUNDS
        )
        self.stopped = self.stopped or layout.stopped_by_time
        return not layout.left_out


def _grown(tries: _Tries) -> Blank | None:
    own = tries.task.tray.blank
    low = 0.0
    # what lies held as last time might all find room on the same blank if it were laid out anew
    for high in GROWN if tries.task.before is not None else GROWN[1:]:
        if tries.holds(_times(own, high)):
            break
        low = high
    else:
        return None
    if high == 1.0:
        return own
    best = _times(own, high)
    low = max(low, 1.0)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        blank = _times(own, middle)
        if tries.holds(blank):
            best, high = blank, middle
        else:
            low = middle
    return best


def _times(blank: Blank, scale: float) -> Blank:
    if scale == 1.0:
        return blank
    return Blank(*(math.ceil(side * scale / WHOLE - 1e-9) * WHOLE for side in (blank.width, blank.depth)))


def _area(blank: Blank) -> float:
    return blank.width * blank.depth
