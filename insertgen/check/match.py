"""Which cut belongs to which item: by geometry alone, so that a fault elsewhere does not hide whose it is."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from insertgen.check.lines import same_ring
from insertgen.check.seated import Seated, due_depth, due_operations, has_cut
from insertgen.check.written import Written
from insertgen.geometry.region import Region, area, bounds, box, common, overlaps
from insertgen.model import Circle, Operation, Tray

__all__ = ["DEPTH_WITHIN", "Matched", "edge_operation", "match"]

#: Two contours no further apart than this are one and the same.
DOUBLED_WITHIN = 0.01
#: A bore further than this from its item is not that item's.
BORE_REACH = 15.0
DEPTH_WITHIN = 0.05
#: Share of the blank that a contour must have in common with it to be taken for its edge.
EDGE_SHARE = 0.5

_EDGE = ""  # stands for the blank itself among the owners; no item has this id


@dataclass(frozen=True, slots=True)
class Matched:
    """``owner`` by number of the written path: a placement id, None for the blank or nobody."""

    cuts: Mapping[str, Written]
    edge: Written | None
    copies: tuple[Written, ...]
    strays: tuple[Written, ...]
    owner: Mapping[int, str | None]


def edge_operation(tray: Tray) -> Operation:
    return Operation.EDGE if tray.edge_sawn else Operation.OUTSIDE


def match(paths: Iterable[Written], seated: Mapping[str, Seated], tray: Tray) -> Matched:
    """Each path to the item it fits best, each item to the path that fits it best; what is left over strays."""
    wanting = {key: one for key, one in seated.items() if has_cut(one.item)}
    claims: dict[str, list[tuple[float, list[Written]]]] = {}
    strays: list[Written] = []
    copies: list[Written] = []
    owner: dict[int, str | None] = {}
    for group in _groups(paths):
        best = min(_candidates(group[0], wanting, tray), default=None)
        for one in group:
            owner[one.number] = (best[1] or None) if best else None
        if best is None:
            strays.append(group[0])
            copies += group[1:]
        else:
            group.sort(key=lambda one: _layer_misfit(one, best[1], wanting, tray))
            claims.setdefault(best[1], []).append((best[0], group))
    cuts: dict[str, Written] = {}
    for key, claimed in claims.items():
        claimed.sort(key=lambda claim: (claim[0], claim[1][0].number))
        cuts[key] = claimed[0][1][0]
        copies += [one for _, group in claimed for one in group[1:]]
        strays += [group[0] for _, group in claimed[1:]]
    edge = cuts.pop(_EDGE, None)
    return Matched(cuts, edge, tuple(copies), tuple(strays), owner)


def _groups(paths: Iterable[Written]) -> list[list[Written]]:
    """Paths that are one and the same line together."""
    groups: list[list[Written]] = []
    for path in paths:
        for group in groups:
            if same_ring(group[0].ring, path.ring, DOUBLED_WITHIN):
                group.append(path)
                break
        else:
            groups.append([path])
    return groups


def _candidates(
    written: Written, wanting: Mapping[str, Seated], tray: Tray
) -> Iterable[tuple[float, str]]:
    """Misfit from 0 (exactly this one's) to 1, with the placement's id."""
    share = _shared(written.region, box(0, 0, tray.blank.width, tray.blank.depth))
    if share > EDGE_SHARE:
        yield 1 - share, _EDGE
    nearest, off = _nearest_bore(written, wanting)
    for key, one in wanting.items():
        if one.item.bore is None:
            share = _shared(written.region, one.wall)
            if share > 0:
                yield 1 - share, key
        elif key == nearest and off < BORE_REACH:
            if isinstance(written.path, Circle):
                yield off / BORE_REACH, key
            elif _across(written.region) < 2 * one.item.bore:
                yield 0.5 + off / BORE_REACH / 2, key  # a bore that somebody turned into a contour


def _nearest_bore(written: Written, wanting: Mapping[str, Seated]) -> tuple[str, float]:
    offs = [(math.dist(written.middle, one.centre), key) for key, one in wanting.items() if one.item.bore is not None]
    off, key = min(offs, default=(math.inf, ""))
    return key, off


def _shared(a: Region, b: Region) -> float:
    """Common area over joint area."""
    if not overlaps(a, b):
        return 0.0
    both = area(common(a, b))
    return both / (area(a) + area(b) - both)


def _across(region: Region) -> float:
    x0, y0, x1, y1 = bounds(region)
    return max(x1 - x0, y1 - y0)


def _layer_misfit(written: Written, key: str, wanting: Mapping[str, Seated], tray: Tray) -> tuple[int, int]:
    """Of two equal contours the one on the right layer is the cut, the other the copy."""
    if key == _EDGE:
        return int(written.operation is not edge_operation(tray)), written.number
    item = wanting[key].item
    due = due_depth(item, tray)
    if written.depth is None or due is None:
        fits = written.depth is due
    else:
        fits = abs(written.depth - due) <= DEPTH_WITHIN
    operation = written.operation in due_operations(item)
    return (0 if fits and operation else 1 if operation else 2), written.number
