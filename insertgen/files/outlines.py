"""The parts of a shape file: outlines with holes, as measured."""

from __future__ import annotations

from insertgen.files.source import Path
from insertgen.files.table import Table
from insertgen.geometry.region import fault
from insertgen.model import Outline, Part, Ring
from insertgen.units import format_mm

__all__ = ["parts_text", "read_parts"]

#: An outline this near the origin is taken as centred: rounding to 0.01 mm moves it no further.
CENTRED = 0.02

_LATER_FILE = "trace a photo, or write the points under outline"


def read_parts(table: Table) -> tuple[Part, ...]:
    """The parts under ``[[part]]``, moved so that the lowest is centred on the origin.

    Raises
    ------
    JobError
        No outline, fewer than three points, no area, or an outline that crosses itself.
    NotYetError
        More than one part, or an outline in another file.
    """
    tables = table.tables("part")
    if not tables:
        raise table.fault("part", "has nothing in it; write [[part]] with an outline")
    if len(tables) > 1:
        raise tables[1].not_yet("outline", "keep one [[part]], with the outline of the widest height")
    part = tables[0].only("outline", "holes", "from", "to", later={"file": _LATER_FILE})
    bottom = part.length("from", zero=True) if part.has("from") else 0.0
    top = part.maybe_length("to")
    if top is not None and top <= bottom:
        raise part.fault("to", f"{format_mm(top)} mm is not above from, {format_mm(bottom)} mm")
    return (Part(_centred(_outline(part)), bottom, top),)


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


def _centred(outline: Outline) -> Outline:
    xs, ys = [x for x, _ in outline.outer], [y for _, y in outline.outer]
    dx, dy = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    if max(abs(dx), abs(dy)) <= CENTRED:
        return outline
    outer, *holes = (
        tuple((round(x - dx, 6), round(y - dy, 6)) for x, y in ring) for ring in (outline.outer, *outline.holes)
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
