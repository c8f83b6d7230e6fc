"""The registration dowels of a stack, in words: what to cut, where they go, and how the sheets come together on them."""

from __future__ import annotations

from dataclasses import dataclass

from insertgen.model.drawing import Drawing, Hole
from insertgen.output.words import drill_words
from insertgen.rules import DOWELS
from insertgen.units import format_length, format_mm

__all__ = ["Registration", "dowel_words", "registration"]


@dataclass(frozen=True, slots=True)
class Registration:
    """One dowel: its holes from the top sheet down, the name it is sold by, and how long it is cut."""

    tag: str
    name: str
    diameter: float
    length: float
    holes: tuple[Hole, ...]


def registration(drawing: Drawing) -> tuple[Registration, ...]:
    """The registration dowels of a tray, by tag; none where no sheets are glued on any."""
    by_place: dict[tuple[str, float, float], list[Hole]] = {}
    for hole in drawing.holes:
        if hole.bore.use == "dowel":
            by_place.setdefault((hole.tag, round(hole.at[0], 2), round(hole.at[1], 2)), []).append(hole)
    found = []
    for (tag, _, _), holes in by_place.items():
        diameter = holes[0].bore.wanted
        found.append(Registration(tag, _name(diameter), diameter, sum(hole.depth for hole in holes), tuple(holes)))
    return tuple(found)


def dowel_words(drawing: Drawing) -> tuple[str, ...]:
    """A line a dowel, then how the sheets are glued on them; none where there are none."""
    dowels = registration(drawing)
    if not dowels:
        return ()
    machine = drawing.tray.cutting.machine
    lines = []
    for one in dowels:
        last, (x, y) = one.holes[-1], one.holes[0].at
        bottom = "through all sheets" if last.through else f"{format_length(last.depth)} deep in the bottom sheet, through the others"
        lines.append(
            f"{one.tag}: dowel {one.name} x {format_mm(one.length, 1)} mm, bore {drill_words(one.holes[0].bore, machine)}, {bottom}; "
            f"{format_mm(x)} mm from the left, {format_mm(y)} mm from the front"
        )
    lines.append(
        "Bore them in every sheet before gluing, try the stack dry, then glue it on the dowels. They do not lie alike on both "
        "sides: a sheet that does not go on is turned or flipped."
    )
    return tuple(lines)


def _name(diameter: float) -> str:
    return next((name for name, size in DOWELS if abs(size - diameter) < 0.01), f"{format_mm(diameter)} mm")
