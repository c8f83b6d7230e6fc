"""Which tray each of a job's own items goes to at first, by height, weight, area, group and partner.

Trays are taken to be listed from the bottom of the cabinet up: what is heavy
goes into the first that has room. Everything else goes where the headroom is
least that will do, so that high trays stay free for high things; of equal ones
into the first. What is of a group, or kept beside something, goes where that
is; so many of one thing go together, if one tray has room for them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from insertgen.errors import JobError
from insertgen.items.shared import singles
from insertgen.model.item import Wanted
from insertgen.model.job import Job
from insertgen.model.layout import Layout
from insertgen.pipeline.suit import HEAVY, Fit, fit_in, names_of, room_of

__all__ = ["Assignment"]

FULL = 0.6  # of a tray's room: fuller ones are tried last


class Assignment:
    """Who has what so far. Trays by position, shared items by number from 1; ``stuck`` ones are never moved alone."""

    def __init__(self, job: Job, before: Mapping[str, Layout]) -> None:
        self.trays, self.before = job.trays, before
        self.each = singles(job.wanted)
        self.own = [sum(wanted.count for wanted in tray.wanted) for tray in job.trays]
        self.taken: list[list[int]] = [[] for _ in job.trays]
        self.stuck: set[int] = set()  # kept beside something
        self._fits: dict[tuple[int, int], Fit | JobError | None] = {}
        self._load = [0.0] * len(job.trays)
        number = 0
        for wanted in job.wanted:
            fits = [fit_in(tray, wanted) for tray in job.trays]
            for _ in range(wanted.count):
                number += 1
                self._fits |= {(number, at): fit for at, fit in enumerate(fits)}

    def id_of(self, at: int, place: int) -> str:
        """Of a tray's shared item at a place in its list."""
        return f"{self.trays[at].slug}/{self.own[at] + place + 1:02d}"

    def suits(self, number: int, at: int) -> bool:
        return isinstance(self._fits[number, at], Fit)

    def area(self, numbers: Iterable[int], at: int) -> float:
        return sum(fit.area for number in numbers if isinstance(fit := self._fits[number, at], Fit))

    def assign(self) -> bool:
        """Every shared item to a tray; True if all are where they were at the last build."""
        if self._all_as_before():
            return True
        if self.each:
            for at, tray in enumerate(self.trays):
                own = [(wanted.count, fit_in(tray, wanted)) for wanted in tray.wanted]
                self._load[at] = sum(count * fit.area for count, fit in own if isinstance(fit, Fit))
        kept = self._some_as_before()
        for number, at in kept.items():
            self.put(number, at)
        clusters = [[number for number in cluster if number not in kept] for cluster in self._clusters()]
        for cluster in sorted((each for each in clusters if each), key=self._urgency):
            self._assign(cluster)
        return False

    def _assign(self, cluster: list[int]) -> None:
        suited = self.suited(cluster)
        roomy = [at for at in suited if self._load[at] + self.area(cluster, at) <= FULL * room_of(self.trays[at])]
        if roomy or (suited and len(cluster) == 1) or (suited and self.stuck & set(cluster)):
            at = roomy[0] if roomy else min(suited, key=lambda at: self._fullness(cluster, at))
            for number in cluster:
                self.put(number, at)
        elif len(cluster) > 1 and not self.stuck & set(cluster):
            for part in self._parts(cluster):
                self._assign(part)
        else:
            for number in cluster:
                self.put(number, self._least_bad(number))

    def _parts(self, cluster: list[int]) -> list[list[int]]:
        """By what they are, if they are not all alike; else each by itself."""
        kinds: dict[str, list[int]] = {}
        for number in cluster:
            kinds.setdefault(self.each[number - 1].where, []).append(number)
        return list(kinds.values()) if len(kinds) > 1 else [[number] for number in cluster]

    def _clusters(self) -> list[list[int]]:
        """What should go into one tray: a group, what is kept beside each other, so many of a thing."""
        root = {number: number for number in range(1, len(self.each) + 1)}

        def find(number: int) -> int:
            while root[number] != number:
                number = root[number]
            return number

        for number, wanted in enumerate(self.each, 1):
            for other, also in enumerate(self.each, 1):
                beside = wanted.beside is not None and other != number and wanted.beside.casefold() in names_of(also)
                together = other < number and self._same(wanted, also)
                if beside:
                    self.stuck |= {number, other}
                if beside or together:
                    a, b = sorted((find(number), find(other)))
                    root[b] = a
        clusters: dict[int, list[int]] = {}
        for number in root:
            clusters.setdefault(find(number), []).append(number)
        return list(clusters.values())

    @staticmethod
    def _same(one: Wanted, other: Wanted) -> bool:
        """Of one table of the job, or of one group."""
        grouped = one.group is not None and other.group is not None and one.group.casefold() == other.group.casefold()
        return one.where == other.where or grouped

    def _urgency(self, cluster: list[int]) -> tuple[float, ...]:
        """What suits the fewest trays first, then what has others of its group in one, the heaviest, the largest."""
        suited = self.suited(cluster)
        strange = not suited or self._rank(cluster, suited[0])[0]
        weight = max(self._weight(number) for number in cluster)
        largest = max((self.area(cluster, at) for at in suited), default=0.0)
        return len(suited), strange, -weight, -round(largest, 3), cluster[0]

    def suited(self, cluster: Sequence[int]) -> list[int]:
        """Trays in which every one of them can be, the best first."""
        able = [at for at in range(len(self.trays)) if all(self.suits(number, at) for number in cluster)]
        able = [at for at in able if all(self._has_partner(number, cluster, at) for number in cluster)]
        return sorted(able, key=lambda at: self._rank(cluster, at))

    def _has_partner(self, number: int, cluster: Sequence[int], at: int) -> bool:
        wish = self.each[number - 1].beside
        if wish is None:
            return True
        others = [self.each[other - 1] for other in (*cluster, *self.taken[at]) if other != number]
        return any(wish.casefold() in names_of(also) for also in (*self.trays[at].wanted, *others))

    def _rank(self, cluster: Sequence[int], at: int) -> tuple[float, ...]:
        groups = {group.casefold() for n in cluster if (group := self.each[n - 1].group)}
        there = [*self.trays[at].wanted, *(self.each[n - 1] for n in self.taken[at])]
        strange = not any(also.group and also.group.casefold() in groups for also in there)
        if any(self._weight(number) > HEAVY for number in cluster):
            return strange, 0.0, at
        spares = [fit.spare for number in cluster if isinstance(fit := self._fits[number, at], Fit)]
        return strange, min(spares), at

    def _weight(self, number: int) -> float:
        return self.each[number - 1].shape.weight_kg or 0.0

    def _fullness(self, cluster: Iterable[int], at: int) -> float:
        return (self._load[at] + self.area(cluster, at)) / max(room_of(self.trays[at]), 1.0)

    def _least_bad(self, number: int) -> int:
        """For what suits no tray: where it could at least be seated; it is left out there, and why is said."""
        seated = [at for at in range(len(self.trays)) if not isinstance(self._fits[number, at], JobError)]
        if not seated:
            error = self._fits[number, 0]
            assert isinstance(error, JobError)
            raise error
        partnered = [at for at in seated if self._has_partner(number, [*range(1, len(self.each) + 1)], at)]
        return max(partnered or seated, key=lambda at: (self.trays[at].headroom or 0.0, room_of(self.trays[at]), -at))

    def put(self, number: int, at: int) -> None:
        self.taken[at] = sorted([*self.taken[at], number])
        self._load[at] += self.area([number], at)

    def move(self, number: int, at: int, other: int) -> None:
        self.taken[at].remove(number)
        self._load[at] -= self.area([number], at)
        self.put(number, other)

    # ---- where they were -------------------------------------------------------------------

    def _all_as_before(self) -> bool:
        """Take over the last build's lists, if they are of the very same items."""
        layouts = [self.before.get(tray.slug) for tray in self.trays]
        numbers = sorted(number for layout in layouts if layout is not None for number in layout.shared)
        if not self.each or numbers != list(range(1, len(self.each) + 1)):
            return False
        for at, layout in enumerate(layouts):
            there = {one.id: (one.name, one.shape) for one in layout.placements} if layout else {}
            for place, number in enumerate(layout.shared if layout else ()):
                name = self.id_of(at, place)
                out = layout is not None and any(one.id == name for one in layout.left_out)
                if not out and there.get(name) != _key(self.each[number - 1]):
                    return False
        self.taken = [list(layout.shared) if layout else [] for layout in layouts]
        return True

    def _some_as_before(self) -> dict[int, int]:
        """The tray in which a shared item lay last time: by name and shape, what a tray holds by itself left off."""
        kept: dict[int, int] = {}
        for at, tray in enumerate(self.trays):
            layout = self.before.get(tray.slug)
            if layout is None:
                continue
            there = [(one.name, one.shape) for one in layout.placements]
            for wanted in singles(tray.wanted):
                if _key(wanted) in there:
                    there.remove(_key(wanted))
            for number, wanted in enumerate(self.each, 1):
                if number not in kept and _key(wanted) in there and self.suits(number, at):
                    there.remove(_key(wanted))
                    kept[number] = at
        return kept


def _key(wanted: Wanted) -> tuple[str, str]:
    """Name and shape, as a placement has them."""
    return wanted.shape.name, wanted.shape.source or wanted.shape.name
