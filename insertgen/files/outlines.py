"""The parts of a shape file: outlines with holes, as measured."""

from __future__ import annotations

from dataclasses import replace

from insertgen.files.source import Path
from insertgen.files.table import Table
from insertgen.geometry.region import fault, from_outline, pieces, union
from insertgen.model.figures import Outline, Point, Ring
from insertgen.model.shape import Part
from insertgen.units import format_mm

__all__ = ["off_centre", "parts_text", "read_parts", "shifted"]

#: An outline this near the origin is taken as centred: rounding to 0.01 mm moves it no further.
CENTRED = 0.02

_LATER_FILE = "trace a photo, or write the points under outline"


def read_parts(table: Table) -> tuple[Part, ...]:
    """The parts under ``[[part]]``, lowest first, as they stand in the file.

    Raises
    ------
    JobError
        No outline, fewer than three points, no area, an outline that crosses
        itself; bands that overlap or are not in order; parts that do not hang together.
    NotYetError
        An outline in another file.
    """
    tables = table.tables("part")
    if not tables:
        raise table.fault("part", "has nothing in it; write [[part]] with an outline")
    parts = tuple(_part(each) for each in tables)
    for lower, upper, each in zip(parts, parts[1:], tables[1:], strict=False):
        _in_order(lower, upper, each)
    if len(parts) > 1 and parts[0].bottom > 0:
        raise tables[0].fault(
            "from", f"{format_mm(parts[0].bottom)} mm: the lowest part begins at 0, where the item stands; write from = 0"
        )
    if len(pieces(union(from_outline(part.outline) for part in parts))) > 1:
        raise tables[-1].fault(
            "outline", "does not hang together with the other parts, seen from above; all are in one frame, so move it over them"
        )
    return parts


def _part(table: Table) -> Part:
    table.only("outline", "holes", "from", "to", later={"file": _LATER_FILE})
    bottom = table.length("from", zero=True) if table.has("from") else 0.0
    top = table.maybe_length("to")
    if top is not None and top <= bottom:
        raise table.fault("to", f"{format_mm(top)} mm is not above from, {format_mm(bottom)} mm")
    return Part(_outline(table), bottom, top)


def _in_order(lower: Part, upper: Part, table: Table) -> None:
    """Parts stand one above the other, lowest first; only the highest may leave its upper end open."""
    end = lower.bottom if lower.top is None else lower.top
    if lower.top is None or upper.bottom < end - 1e-9:
        raise table.fault(
            "from" if table.has("from") else None,
            f"this part begins at {format_mm(upper.bottom)} mm, the one before it "
            + ("has no upper end; write its to" if lower.top is None else f"ends at {format_mm(end)} mm")
            + "; parts stand one above the other, lowest first",
        )


def _outline(part: Table) -> Outline:
    outer = _ring(part, part.at("outline"), part.elements("outline", "of points [x, y]"))
    holes = part.elements("holes", "of rings of points") if part.has("holes") else []
    rings = []
    for at, hole in enumerate(holes):
        path = (*part.at("holes"), at)
        if not isinstance(hole, list):
            raise part.source.fault(path, "a hole is a list of points [x, y]; holes is a list of those")
        rings.append(_ring(part, path, hole))
    outline = Outline(outer, tuple(rings))
    reason = fault(outline)
    if reason is not None:
        raise part.fault(
            "outline", f"is no plain figure: {reason}; it must not cross itself, nor a hole leave it"
        )
    return outline


def _ring(part: Table, path: Path, values: list[object]) -> Ring:
    points = [part.point((*path, at), value) for at, value in enumerate(values)]
    kept = [point for at, point in enumerate(points) if at == 0 or point != points[at - 1]]
    if len(kept) > 1 and kept[0] == kept[-1]:
        kept.pop()
    if len(kept) < 3:
        raise part.source.fault(path, f"has {len(kept)} different points; a figure needs at least three")
    return tuple(kept)


def off_centre(parts: tuple[Part, ...]) -> Point:
    """Where the middle of the lowest part's bounding box is; (0, 0) if that is near enough the origin."""
    xs, ys = zip(*parts[0].outline.outer, strict=True)
    dx, dy = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    return (0.0, 0.0) if max(abs(dx), abs(dy)) <= CENTRED else (dx, dy)


def shifted(parts: tuple[Part, ...], off: Point) -> tuple[Part, ...]:
    """Parts with ``off`` taken from all their points."""
    return tuple(replace(part, outline=_shifted(part.outline, off)) for part in parts)


def _shifted(outline: Outline, off: Point) -> Outline:
    if off == (0.0, 0.0):
        return outline
    outer, *holes = (
        tuple((round(x - off[0], 6), round(y - off[1], 6)) for x, y in ring)
        for ring in (outline.outer, *outline.holes)
    )
    return Outline(outer, tuple(holes))


def parts_text(parts: tuple[Part, ...]) -> list[str]:
    """Lines of a shape file, lowest part first, points to 0.01 mm."""
    lines = []
    for part in parts:
        lines += ["", "[[part]]", f"from = {format_mm(part.bottom, 6)}"]
        if part.top is not None:
            lines.append(f"to = {format_mm(part.top, 6)}")
        lines += ["outline = [", *_points(part.outline.outer, "  "), "]"]
        if part.outline.holes:
            lines.append("holes = [")
            for hole in part.outline.holes:
                lines += ["  [", *_points(hole, "    "), "  ],"]
            lines.append("]")
    return lines


def _points(ring: Ring, indent: str) -> list[str]:
    written = [f"[{format_mm(x)}, {format_mm(y)}]" for x, y in ring]
    kept = [point for at, point in enumerate(written) if point != written[at - 1]]
    return [f"{indent}{', '.join(kept[at : at + 6])}," for at in range(0, len(kept), 6)]
