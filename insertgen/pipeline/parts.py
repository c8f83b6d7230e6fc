"""One height band more, or traced anew, in the shape that stands there already."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from insertgen.errors import InsertgenError, OutputError
from insertgen.geometry.pose import move_outline, move_point
from insertgen.geometry.region import bounds, from_outline, overlaps, pieces, union
from insertgen.model.figures import Outline, Pose
from insertgen.model.shape import Part, Shape, Traced
from insertgen.units import format_mm

__all__ = ["Band", "Merged", "Spot", "band_words", "check_band", "joined", "kept_comments", "laid", "with_part"]

Band = tuple[float, float]  # from and to, mm above the item's lowest point
Spot = tuple[float, float, float]  # x, y of a part's middle in the shape frame, and its turn in degrees

_SAME = 1e-6  # mm: ends of bands nearer than this are one

# Strings are matched first, so that a number sign in one is no comment (TOML 1.0.0).
_TOKEN = re.compile(
    r'"""[\s\S]*?"""|\'\'\'[\s\S]*?\'\'\'|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|(?P<comment>#[^\r\n]*)'
)
_KEY = re.compile(r"\s*([A-Za-z0-9_-]+)\s*=")


@dataclass(frozen=True, slots=True)
class Merged:
    """A shape with a part put in; ``others``: whether it has more; ``moved``: where its new origin was in the old frame."""

    shape: Shape
    others: bool
    moved: tuple[float, float]
    warnings: tuple[str, ...]


def band_words(band: Band) -> str:
    """
    >>> band_words((0.0, 25.4))
    '0-25.4 mm'
    """
    return f"{format_mm(band[0])}-{format_mm(band[1])} mm"


def check_band(old: Shape | None, band: Band, *, height: float | None, overwrite: bool) -> bool:
    """Whether ``old`` has a part of this very band; refuse a band that cannot be in it.

    Parameters
    ----------
    height : float or None
        Overall height that the item is to have.

    Raises
    ------
    OutputError
        There is such a part, and ``overwrite`` is not asked for.
    InsertgenError
        A shape without parts, bands that overlap, a part higher than the item, nothing at the foot.
    """
    parts = _parts(old)
    there = [part for part in parts if _same(_band(part, height), band)]
    others = [part for part in parts if part not in there]
    for part in others:
        low, high = _band(part, height)
        if min(high, band[1]) - max(low, band[0]) > _SAME:
            raise InsertgenError(
                f"part {band_words(band)} overlaps the part {_words(part)} of this shape; parts stand one above the other: "
                "choose another band, or change from and to of that part in the shape file"
            )
    for top in (band[1], *(part.top for part in others if part.top is not None)):
        if height is not None and top > height + _SAME:
            raise InsertgenError(
                f"a part up to {format_mm(top)} mm is higher than the item, {format_mm(height)} mm overall; "
                "mend --part or --height"
            )
    lowest = min([band[0], *(part.bottom for part in others)])
    if others and lowest > 0:
        raise InsertgenError(
            f"with this part the lowest one would begin at {format_mm(lowest)} mm; the lowest begins at 0, where the "
            "item stands: trace that part first"
        )
    if there and not overwrite:
        raise OutputError(f"part {band_words(band)} stands in this shape already; give --overwrite to replace it")
    return bool(there)


def with_part(old: Shape | None, fresh: Shape, spot: Spot) -> Merged:
    """The old shape with the one part of ``fresh`` laid at ``spot``; everything but height and origin is kept.

    Raises
    ------
    InsertgenError
        The parts would not hang together, seen from above; a place for an only part.
    """
    (new,) = _parts(fresh)
    band = _band(new, None)
    others = [part for part in _parts(old) if not _same(_band(part, fresh.height), band)]
    if not others and spot[:2] != (0.0, 0.0):
        raise InsertgenError(
            "this is the shape's only part, and its middle the origin; give a place only once there is another, "
            "or only an angle, as in --at 0,0,90"
        )
    new = replace(new, outline=laid(new.outline, spot))
    parts = tuple(sorted([*others, new], key=lambda part: part.bottom))
    warnings = _apart(parts, new)
    before = old.traced if old is not None and others else None
    traced = None if fresh.traced is None else joined(before, fresh.traced, band)
    base = fresh if old is None else old
    shape = replace(base, solid=parts, height=fresh.height, traced=traced)
    moved = spot[:2] if parts[0] is new else (0.0, 0.0)
    return Merged(_shifted(shape, moved), bool(others), moved, warnings)


def joined(old: Traced | None, new: Traced, band: Band) -> Traced:
    """Where several outlines came from: every photo, the largest error; of the rest, what the latest says.

    Warnings carry their band, so that those of a part traced anew go with it.
    """
    head = f"part {band_words(band)}: "
    warnings = tuple(head + warning for warning in new.warnings)
    if old is None:
        return replace(new, warnings=warnings)
    return replace(
        new,
        photos=old.photos + tuple(photo for photo in new.photos if photo not in old.photos),
        expected_error=max(old.expected_error, new.expected_error),
        warnings=tuple(warning for warning in old.warnings if not warning.startswith(head)) + warnings,
    )


def laid(outline: Outline, spot: Spot) -> Outline:
    """Turned by the spot's angle, then the middle of the bounding box put on the spot."""
    turned = move_outline(outline, Pose(0.0, 0.0, spot[2]))
    x0, y0, x1, y1 = bounds(from_outline(turned))
    return move_outline(turned, Pose(spot[0] - (x0 + x1) / 2, spot[1] - (y0 + y1) / 2))


def kept_comments(old: str, written: str) -> tuple[str, int]:
    """``written`` with the comments of ``old`` under its first line, and how many of them came from elsewhere.

    One that stood behind a value is kept as "# key: comment". Comments that
    `write_shape` writes itself are no user's, and not doubled.

    >>> text, count = kept_comments('# s: one\\ndepth = 12  # callipers\\nname = "#4"\\n', "# s: one\\ndepth = 12\\n")
    >>> print(count, text, end="")
    1 # s: one
    # depth: callipers
    depth = 12
    """
    own = set(_comments(written))
    kept = [comment for comment in _comments(old) if comment not in own and comment.strip("# ")]
    head, _, rest = written.partition("\n")
    there = old.splitlines()[1 : 1 + len(kept)] == kept
    return "\n".join([head, *kept, rest]), 0 if there else len(kept)


def _comments(text: str) -> list[str]:
    found = []
    for token in _TOKEN.finditer(text):
        comment = token["comment"]
        if comment is None:
            continue
        before = text[text.rfind("\n", 0, token.start()) + 1 : token.start()]
        key = _KEY.match(before)
        found.append(f"# {key[1]}: {comment.lstrip('# ').rstrip()}" if key else comment.rstrip())
    return found


def _parts(shape: Shape | None) -> tuple[Part, ...]:
    if shape is None:
        return ()
    if not isinstance(shape.solid, tuple):
        raise InsertgenError(
            f'"{shape.name}" is given by its sizes, not by outlines, and a part cannot be added to those; '
            "trace under another name"
        )
    return shape.solid


def _band(part: Part, height: float | None) -> Band:
    top = part.top if part.top is not None else height
    return part.bottom, float("inf") if top is None else top


def _same(one: Band, other: Band) -> bool:
    return abs(one[0] - other[0]) < _SAME and abs(one[1] - other[1]) < _SAME


def _words(part: Part) -> str:
    return f"from {format_mm(part.bottom)} mm up" if part.top is None else band_words((part.bottom, part.top))


def _apart(parts: tuple[Part, ...], new: Part) -> tuple[str, ...]:
    """Refuse parts that do not touch, warn of neighbours in height of which neither stands over the other."""
    # as written, to 0.01 mm: of outlines that are one but for the last binary digit GEOS 3.14 finds nothing in common
    regions = [from_outline(_written(part.outline)) for part in parts]
    if len(pieces(union(regions))) > 1:
        raise InsertgenError(
            "the part would not hang together with the others, seen from above; say where its middle goes with --at X,Y"
        )
    at = parts.index(new)
    return tuple(
        f"the parts {_words(new)} and {_words(parts[near])} do not overlap, seen from above; put this one right with --at"
        for near in (at - 1, at + 1)
        if 0 <= near < len(parts) and not overlaps(regions[at], regions[near])
    )


def _written(outline: Outline) -> Outline:
    outer, *holes = (tuple((round(x, 2), round(y, 2)) for x, y in ring) for ring in (outline.outer, *outline.holes))
    return Outline(outer, tuple(holes))


def _shifted(shape: Shape, origin: tuple[float, float]) -> Shape:
    """The shape with its origin moved: outlines, posts and grips."""
    if origin == (0.0, 0.0):
        return shape
    pose = Pose(-origin[0], -origin[1])
    grips = shape.grips
    return replace(
        shape,
        solid=tuple(replace(part, outline=move_outline(part.outline, pose)) for part in _parts(shape)),
        posts=tuple(replace(post, at=move_point(post.at, pose)) for post in shape.posts),
        grips=None if grips is None else tuple(move_point(grip, pose) for grip in grips),
    )
