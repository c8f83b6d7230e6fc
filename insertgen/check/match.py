"""Which path belongs to which cut due: by geometry alone, so that a fault elsewhere does not hide whose it is."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from insertgen.check.due import DEPTH_WITHIN, Due, DueKey
from insertgen.check.lines import same_ring
from insertgen.check.written import Written
from insertgen.geometry.region import Region, area, bounds, box, common, overlaps
from insertgen.model.drawing import Operation
from insertgen.model.figures import Circle
from insertgen.model.job import Blank

__all__ = ["EdgeDue", "Matched", "match"]

#: Two contours no further apart than this are one and the same.
DOUBLED_WITHIN = 0.01
#: A bore further than this from its item is not that item's.
BORE_REACH = 15.0
#: Share of the blank that a contour must have in common with it to be taken for its edge.
EDGE_SHARE = 0.5
#: What fits an item's cut better than this is that, though it stands on the layer of the outer contour.
PIECE_MISFIT = 0.45

_EDGE = ""  # stands for the blank itself among the owners; no item has this id

Group = list[Written]


@dataclass(frozen=True, slots=True)
class EdgeDue:
    """The outer contour that is due: its rectangle, its layer, and whether seats may be sawn out of it."""

    blank: Blank
    operation: Operation
    opened: bool = False


@dataclass(frozen=True, slots=True)
class Matched:
    """``owner`` by number of the written path: whose cut it is, None for the blank or nobody."""

    cuts: Mapping[DueKey, Written]
    edges: tuple[Written, ...]
    copies: tuple[Written, ...]
    strays: tuple[Written, ...]
    owner: Mapping[int, DueKey | None]


def match(paths: Iterable[Written], dues: Mapping[DueKey, Due], edge: EdgeDue) -> Matched:
    """Each path to the placement it fits best, there to the cut due it fits best; what is left over strays."""
    claims: dict[str, list[Group]] = {}
    strays: list[Written] = []
    copies: list[Written] = []
    owner: dict[int, DueKey | None] = {}
    for group in _groups(paths):
        best = min(_candidates(group[0], dues, edge), default=None)
        owner |= {one.number: best[1] if best and best[1][0] else None for one in group}
        if best is None:
            strays.append(group[0])
            copies += group[1:]
        else:
            claims.setdefault(best[1][0], []).append(group)
    edges, spare = _edges(claims.pop(_EDGE, []), edge)
    cuts: dict[DueKey, Written] = {}
    for placement, groups in claims.items():
        mine = [due for due in dues.values() if due.placement == placement]
        pairs, left = _assigned(groups, mine)
        for due, group in pairs:
            group.sort(key=lambda one: (_layer_misfit(one, due), one.number))
            cuts[due.key] = group[0]
            copies += group[1:]
            owner |= {one.number: due.key for one in group}
        spare += left
    copies += [one for group in spare for one in group[1:]]
    copies += [one for group in edges for one in group[1:]]
    strays += [group[0] for group in spare]
    return Matched(cuts, tuple(group[0] for group in edges), tuple(copies), tuple(strays), owner)


def _groups(paths: Iterable[Written]) -> list[Group]:
    """Paths that are one and the same line together."""
    groups: list[Group] = []
    for path in paths:
        for group in groups:
            if same_ring(group[0].ring, path.ring, DOUBLED_WITHIN):
                group.append(path)
                break
        else:
            groups.append([path])
    return groups


def _candidates(written: Written, dues: Mapping[DueKey, Due], edge: EdgeDue) -> Iterable[tuple[float, DueKey]]:
    """Misfit from 0 (exactly this one's) to 1, with the cut due."""
    share = _shared(written.region, box(0, 0, edge.blank.width, edge.blank.depth))
    if share > EDGE_SHARE:
        yield 1 - share, (_EDGE, 0)
    elif edge.opened and written.operation in (Operation.OUTSIDE, Operation.EDGE):
        yield PIECE_MISFIT, (_EDGE, 0)  # a piece of a blank that is sawn apart, unless it is some item's
    nearest = _nearest_bore(written, dues)
    for key, due in dues.items():
        if due.bore is None or key == nearest:
            misfit = _misfit(written, due)
            if misfit is not None:
                yield misfit, key


def _nearest_bore(written: Written, dues: Mapping[DueKey, Due]) -> DueKey | None:
    offs = [(math.dist(written.middle, due.centre), key) for key, due in dues.items() if due.bore is not None]
    return min(offs)[1] if offs else None


def _misfit(written: Written, due: Due) -> float | None:
    """From 0 to 1; None: surely not this one's."""
    if due.bore is None:
        share = _shared(written.region, due.wall)
        return 1 - share if share > 0 else None
    off = math.dist(written.middle, due.centre)
    if off >= BORE_REACH:
        return None
    if isinstance(written.path, Circle):
        return off / BORE_REACH
    # a bore that somebody turned into a contour
    return 0.5 + off / BORE_REACH / 2 if _across(written.region) < 2 * due.bore else None


def _assigned(groups: Sequence[Group], dues: Sequence[Due]) -> tuple[list[tuple[Due, Group]], list[Group]]:
    """The paths of one placement to its cuts, best fit first, of like fits the right layer first; and those left over."""
    offers = []
    for at, group in enumerate(groups):
        for due in dues:
            misfit = _misfit(group[0], due)
            if misfit is not None:
                layer = min(_layer_misfit(one, due) for one in group)
                offers.append((round(misfit, 2), layer, misfit, group[0].number, at, due))
    pairs: list[tuple[Due, Group]] = []
    given: set[int] = set()
    had: set[DueKey] = set()
    for *_, at, due in sorted(offers, key=lambda offer: (offer[:4], offer[5].key)):
        if at not in given and due.key not in had:
            given.add(at)
            had.add(due.key)
            pairs.append((due, groups[at]))
    return pairs, [group for at, group in enumerate(groups) if at not in given]


def _edges(groups: list[Group], edge: EdgeDue) -> tuple[list[Group], list[Group]]:
    """The outer contour, in one piece or several apart from each other; and what is left over."""
    for group in groups:
        group.sort(key=lambda one: (one.operation is not edge.operation, one.number))
    blank = box(0, 0, edge.blank.width, edge.blank.depth)
    best_first = sorted(groups, key=lambda group: (-round(_shared(group[0].region, blank), 6), group[0].number))
    taken: list[Group] = []
    left: list[Group] = []
    for group in best_first:
        apart = all(not overlaps(group[0].region, other[0].region, least=1.0) for other in taken)
        (taken if not taken or (edge.opened and apart) else left).append(group)
    return taken, left


def _shared(a: Region, b: Region) -> float:
    """Common area over joint area."""
    if not overlaps(a, b):
        return 0.0
    both = area(common(a, b))
    return both / (area(a) + area(b) - both)


def _across(region: Region) -> float:
    x0, y0, x1, y1 = bounds(region)
    return max(x1 - x0, y1 - y0)


def _layer_misfit(written: Written, due: Due) -> int:
    """Of two equal contours the one on the right layer is the cut, the other the copy."""
    if written.depth is None or due.depth is None:
        fits = written.depth is due.depth
    else:
        fits = abs(written.depth - due.depth) <= DEPTH_WITHIN
    operation = written.operation in due.operations
    return 0 if fits and operation else 1 if operation else 2
