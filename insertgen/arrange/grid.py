"""Equal things in rows: more than three of them are laid out as one body, a grid."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from insertgen.arrange.beside import joined
from insertgen.arrange.body import Body, Member
from insertgen.arrange.feasible import Spacing, pair_conflicts, stand
from insertgen.model.figures import Pose
from insertgen.model.job import Tray

__all__ = ["MANNERS", "gridded", "respaced"]

LEAST = 4  # fewer look no tidier in a grid
MANNERS = 2  # ways of choosing rows and columns
RAGGED = 0.5  # what an empty place in the last row counts against one that is taken


def gridded(loose: Sequence[Body], apart: Iterable[str], tray: Tray, spacing: Spacing, manner: int) -> list[Body]:
    """Things with those that are equal, wished alike and not to be kept ``apart`` in grids.

    Parameters
    ----------
    manner : int
        Below `MANNERS`; 0: grids as small round as can be, 1: as few rows as the tray's width lets.
    """
    families: dict[tuple[int, str | None, bool], list[Body]] = {}
    names = set(apart)
    for body in loose:
        if not body.rack and body.id not in names:
            families.setdefault((body.key, body.group, body.front), []).append(body)
    key = max((body.key for body in loose), default=0)
    made: dict[str, Body] = {}
    gone: set[str] = set()
    for family in families.values():
        key += 1
        grid = _best_grid(family, tray, spacing, manner, key) if len(family) >= LEAST else None
        if grid is not None:
            made[family[0].id] = grid
            gone |= {body.id for body in family[1:]}
    return [made.get(body.id, body) for body in loose if body.id not in gone]


def respaced(body: Body, tray: Tray, spacing: Spacing) -> Body | None:
    """A grid with other gaps between its things; None: it has no room then."""
    return _grid([member.body for member in body.members], body.columns, tray, spacing, body.key)


def _best_grid(family: list[Body], tray: Tray, spacing: Spacing, manner: int, key: int) -> Body | None:
    """The first choice of columns that fits the blank at some turn."""
    count = len(family)
    wide, deep = _pitches(family[0], spacing)

    def size(columns: int) -> tuple[float, float]:
        rows = math.ceil(count / columns)
        empty = rows * columns - count
        around = (columns * wide + rows * deep) * (1 + RAGGED * empty / count)
        return (round(around, 3), -columns) if manner == 0 else (rows + RAGGED * (empty > 0), -columns)

    for columns in sorted(range(1, count + 1), key=size):
        rows = math.ceil(count / columns)
        long, short = sorted((columns * wide, rows * deep), reverse=True)
        edge = max(tray.blank.width, tray.blank.depth)
        if rows * columns - count >= columns or long > edge + wide + deep or short > edge:
            continue
        grid = _grid(family, columns, tray, spacing, key)
        if grid is not None:
            return grid
    return None


def _grid(family: list[Body], columns: int, tray: Tray, spacing: Spacing, key: int) -> Body | None:
    """Rows from the front, each from the left, about the middle of the grid."""
    wide, deep = _pitches(family[0], spacing)
    rows = math.ceil(len(family) / columns)
    members = []
    for number, body in enumerate(family):
        row, column = divmod(number, columns)
        x, y = (column - (columns - 1) / 2) * wide, (row - (rows - 1) / 2) * deep
        members.append(Member(body, Pose(round(x, 6) + 0.0, round(y, 6) + 0.0, 0.0, body.mirror), True))
    if not _clear(members, columns, spacing):
        return None
    whole = joined(members, tray, key)
    return None if whole is None else replace(whole, columns=columns)


def _pitches(body: Body, spacing: Spacing) -> tuple[float, float]:
    """From one to the next in a row, and from row to row: by bounds, up to what is even in hundredths, as it is halved."""
    stood = stand(body.footprint, Pose(0.0, 0.0, 0.0, body.mirror))
    room, opening = stood.room_bounds, stood.opening_bounds
    pitches = []
    for axis in (0, 1):
        need = room[axis + 2] - room[axis] + body.gap
        if opening is not None:
            need = max(need, opening[axis + 2] - opening[axis] + spacing.web)
            if body.on_face:
                need = max(need, max(opening[axis + 2], room[axis + 2]) - min(opening[axis], room[axis]))
        pitches.append(math.ceil((need + spacing.extra) * 50 - 1e-6) / 50)
    return pitches[0], pitches[1]


def _clear(members: list[Member], columns: int, spacing: Spacing) -> bool:
    """Whether the first, the one right of it and the one behind it keep their gaps; all others stand alike."""
    first = stand(members[0].body.footprint, members[0].pose)
    others = [members[k] for k in {1, columns} if k < len(members)]
    return not any(pair_conflicts(first, stand(other.body.footprint, other.pose), spacing) for other in others)
