"""All trays of a job laid out, with the job's own items shared out over them.

Greedy first (`insertgen.pipeline.assign`); then every tray is laid out, and
what found no room there is tried in the others, if need be in exchange for
something else. What a tray is to hold by itself comes first: nothing shared
may push it out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from insertgen.items.resolve import items_of
from insertgen.items.shared import with_shared
from insertgen.model.job import Job, Tray
from insertgen.model.layout import Layout, Unmet, Wish
from insertgen.model.seat import Seat
from insertgen.pipeline.assign import Assignment
from insertgen.pipeline.enough import with_enough
from insertgen.pipeline.lay import Task, lay_out
from insertgen.pipeline.stop import Stop
from insertgen.seats.seat import seat_for

__all__ = ["Asked", "Laid", "laid_out"]

TRIES = 16  # layouts made to find room for what found none at first

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Asked:
    """Of the search: see `insertgen.arrange.arrange.arrange`; ``before`` by the tray's slug."""

    seed: int
    seconds: float
    say: Say
    stop: Stop
    before: Mapping[str, Layout] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Laid:
    """A tray with its items resolved, its seats, and where they go."""

    tray: Tray
    seats: tuple[Seat, ...]
    layout: Layout


def laid_out(job: Job, asked: Asked) -> tuple[Laid, ...]:
    """All trays of a job laid out, its own items among them; ``asked.seconds`` are for one layout of one tray.

    Raises
    ------
    JobError
        An item that cannot be seated, in any of the trays it may go to.
    """
    sharing = _Sharing(job, asked)
    sharing.share()
    tasks, layouts = sharing.lay()
    blanks = [tray.blank for tray in job.trays]
    done = []
    for at, (task, layout) in enumerate(zip(tasks, sharing.with_split(layouts), strict=True)):
        others = [blank for blank in blanks if blank != task.tray.blank]
        layout = with_enough(task, layout, others, asked.stop)
        done.append(Laid(task.tray, task.seats, replace(layout, shared=tuple(sharing.assigned.taken[at]))))
    return tuple(done)


class _Sharing:
    """What every tray holds, and the seats worked out so far."""

    def __init__(self, job: Job, asked: Asked) -> None:
        self.asked, self.assigned = asked, Assignment(job, asked.before)
        self._seats: dict[tuple[int, str, int], Seat] = {}
        self._homeless: set[int] = set()
        self._alone: dict[int, set[str]] = {}

    def share(self) -> None:
        """Give every shared item a tray, and move what finds no room there to where it does."""
        as_before = self.assigned.assign()
        if not self.assigned.each or as_before:
            return
        trays = range(len(self.assigned.trays))
        layouts = self._laid([self._task(at, even=False) for at in trays])
        homeless = [(number, at) for at in trays for number in self._left(at, layouts[at])]
        self._homeless = {number for number, _ in homeless}
        tries = TRIES
        for number, at in homeless:
            if number not in self.assigned.stuck:
                tries -= self._settle(number, at, tries)
        for at in trays:  # numbered last, so that it is nobody else's number that they change
            self.assigned.taken[at].sort(key=lambda number: (number in self._homeless, number))

    def lay(self) -> tuple[list[Task], list[Layout]]:
        """Every tray laid out; what has found no room anywhere only goes where the others leave some."""
        trays = range(len(self.assigned.trays))
        tasks = [self._task(at) for at in trays]
        crowded = [at for at in trays if self._homeless & set(self.assigned.taken[at]) and tasks[at].before is None]
        firsts = {at: self._task(at, self._housed(at)) for at in crowded}
        layouts = self._laid([firsts.get(at, tasks[at]) for at in trays])
        for at in crowded:
            tasks[at] = replace(tasks[at], before=layouts[at])
            (again,) = self._laid([tasks[at]])
            stopped = again.stopped_by_time or layouts[at].stopped_by_time
            layouts[at] = replace(again, rounds=again.rounds + layouts[at].rounds, stopped_by_time=stopped)
        return tasks, layouts

    def with_split(self, layouts: Sequence[Layout]) -> list[Layout]:
        """The layouts, with groups of shared items that are spread over several trays said to be so."""
        where: dict[str, dict[int, list[str]]] = {}
        for at, layout in enumerate(layouts):
            placed = {one.id for one in layout.placements}
            for place, number in enumerate(self.assigned.taken[at]):
                group, name = self.assigned.each[number - 1].group, self.assigned.id_of(at, place)
                if group is not None and name in placed:
                    where.setdefault(group.casefold(), {}).setdefault(at, []).append(name)
        more: dict[int, list[Unmet]] = {}
        for trays in where.values():
            main = max(trays, key=lambda at: (len(trays[at]), -at))
            for at, names in trays.items():
                if at != main:
                    more.setdefault(at, []).append(Unmet(names[0], Wish.GROUP, (trays[main][0],)))
        return [
            replace(layout, unmet=tuple(dict.fromkeys((*layout.unmet, *more.get(at, ()))))) for at, layout in enumerate(layouts)
        ]

    # ---- laying out ------------------------------------------------------------------------

    def _task(self, at: int, numbers: Sequence[int] | None = None, *, even: bool = True) -> Task:
        """A tray with these shared items, or those it has."""
        numbers = self.assigned.taken[at] if numbers is None else numbers
        tray = with_shared(self.assigned.trays[at], self.assigned.each, numbers)
        tray = replace(tray, items=items_of(tray))
        keys = [("own", n) for n in range(self.assigned.own[at])] + [("shared", number) for number in numbers]
        keys += [("lift-out", n) for n in range(len(tray.items) - len(keys))]
        seats = []
        for (kind, number), item in zip(keys, tray.items, strict=True):
            key = at, kind, number
            if key not in self._seats:
                self.asked.say(f"{tray.name}: working out the seat of {item.tag} {item.label}")
                self._seats[key] = seat_for(item, tray)
            seats.append(replace(self._seats[key], item=item))  # its number may be another now
        return Task(tray, tuple(seats), self.asked.seed, self.asked.seconds, self.asked.before.get(tray.slug), even)

    def _laid(self, tasks: Sequence[Task]) -> list[Layout]:
        return list(lay_out(tasks, say=self.asked.say, stop=self.asked.stop))

    def _housed(self, at: int) -> list[int]:
        return [number for number in self.assigned.taken[at] if number not in self._homeless]

    # ---- finding room elsewhere ------------------------------------------------------------

    def _left(self, at: int, layout: Layout) -> list[int]:
        """Numbers of the shared items a tray has no room for: left out, or all if its own would be."""
        names = {self.assigned.id_of(at, place): number for place, number in enumerate(self.assigned.taken[at])}
        out = [one.id for one in layout.left_out]
        if all(name in names for name in out) or not names:
            return [names[name] for name in out]
        if self._out_alone(at) >= {name for name in out if name not in names}:
            return [names[name] for name in out if name in names]
        return list(names.values())

    def _settle(self, number: int, at: int, most: int) -> int:
        """Find a tray for one item, its own again or another, if need be in exchange; how many layouts that took."""
        tries, assigned = 0, self.assigned
        able = [at, *(other for other in assigned.suited([number]) if other != at)]
        for other in able:
            if tries >= most or self.asked.stop():
                return tries
            tries += 1
            if self._holds(other, [*self._housed(other), number]):
                self._house(number, at, other)
                return tries
        for other in able:
            movable = [n for n in self._housed(other) if n not in assigned.stuck]
            for less in sorted(movable, key=lambda n: (-round(assigned.area([n], other), 3), n)):
                for third in assigned.suited([less]):
                    if third == other:
                        continue
                    if tries + 2 > most or self.asked.stop():
                        return tries
                    tries += 2
                    with_it = [*(n for n in self._housed(other) if n != less), number]
                    if self._holds(third, [*self._housed(third), less]) and self._holds(other, with_it):
                        assigned.move(less, other, third)
                        self._house(number, at, other)
                        return tries
        return tries

    def _house(self, number: int, at: int, other: int) -> None:
        self._homeless.discard(number)
        if other != at:
            self.assigned.move(number, at, other)

    def _holds(self, at: int, numbers: Iterable[int]) -> bool:
        """Whether a tray holds these, and all of its own that it holds without any."""
        (layout,) = self._laid([self._task(at, sorted(numbers), even=False)])
        return not layout.left_out or {one.id for one in layout.left_out} <= self._out_alone(at)

    def _out_alone(self, at: int) -> set[str]:
        """What a tray has no room for even if it takes nothing."""
        if at not in self._alone:
            (layout,) = self._laid([self._task(at, (), even=False)])
            self._alone[at] = {one.id for one in layout.left_out}
        return self._alone[at]
