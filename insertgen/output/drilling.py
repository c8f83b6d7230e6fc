"""The drill-hole schedule as it is worked off: by drill, then by depth, then along a short way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise

from insertgen.model.drawing import Drawing, Hole
from insertgen.model.item import Item
from insertgen.model.shape import Collet, Disc, Shank
from insertgen.output.way import short_way
from insertgen.output.words import counted, depth_words, drill_words
from insertgen.units import MM_PER_INCH, format_inch, format_length, format_mm

__all__ = ["DrillGroup", "DrillRow", "drill_changes", "drill_plan", "place_words"]

_WHEN = {"before-glue": "before the sheets are glued", "after-glue": "after the sheets are glued", "any": "at any time"}
_USES = {
    "shank": "shank", "collet": "collet", "peg": "peg", "post": "post", "slot-end": "slot end", "start": "start hole",
    "dowel": "registration dowel", "screw": "pilot hole",
}  # fmt: skip
_SAME = 0.005  # mm: what is shown as 0.00


@dataclass(frozen=True, slots=True)
class DrillRow:
    """One hole in words; ``x`` from the left edge, ``y`` from the front edge, both mm and inch."""

    tag: str
    label: str
    sheet: str
    purpose: str
    why: str
    depth: str
    x: str
    y: str
    hole: Hole


@dataclass(frozen=True, slots=True)
class DrillGroup:
    """Holes of one drill that are bored one after the other; ``when`` in words."""

    when: str
    drill: str
    size: str
    rows: tuple[DrillRow, ...]

    @property
    def why(self) -> str:
        """Why this drill, where that is the same for all its holes; else empty."""
        said = {row.why for row in self.rows}
        return self.rows[0].why if len(said) == 1 else ""

    @property
    def uses(self) -> str:
        """What the holes are for: "3 shanks, 1 collet"."""
        found: dict[str, int] = {}
        for row in self.rows:
            name = _USES.get(row.hole.bore.use, row.hole.bore.use)
            found[name] = found.get(name, 0) + 1
        return ", ".join(counted(count, name) for name, count in found.items())


def drill_plan(drawing: Drawing) -> tuple[DrillGroup, ...]:
    """Holes in the order that takes the fewest changes: what is bored before gluing first, then by drill, the smallest first.

    Within one drill by sheet and by depth, so that the stop is set once for each,
    and then along a short way from the front left corner.
    """
    machine = drawing.tray.cutting.machine
    several = len({hole.sheet for hole in drawing.holes}) > 1
    groups = []
    ordered = sorted(drawing.holes, key=_group_key)
    for (_, diameter, _), found in groupby(ordered, key=_group_key):
        holes = list(_short(found))
        drill = drill_words(holes[0].bore, machine)
        rows = tuple(_row(drawing, hole, several) for hole in holes)
        groups.append(DrillGroup(_WHEN.get(holes[0].when, holes[0].when), drill, format_length(diameter), rows))
    return tuple(groups)


def drill_changes(holes: tuple[Hole, ...]) -> int:
    """How often the drill is changed if holes are bored in this order."""
    drills = [_drill(hole) for hole in holes]
    return sum(a != b for a, b in pairwise(drills))


def place_words(length: float) -> str:
    """Of a place measured from an edge, mm and inch.

    >>> place_words(45.461), place_words(25.4)
    ('45.46 (1-51/64)', '25.40 (1)')
    """
    return f"{length:.2f} ({format_inch(length)})"


def _drill(hole: Hole) -> tuple[float, str]:
    return round(hole.bore.diameter, 3), hole.bore.drill.name if hole.bore.drill else ""


def _group_key(hole: Hole) -> tuple[int, float, str]:
    moment = {"before-glue": 0, "any": 1}.get(hole.when, 2)
    return moment, *_drill(hole)


def _short(holes: Iterator[Hole]) -> Iterator[Hole]:
    """Sheet by sheet, blind holes from the shallowest, through ones last; each lot along a short way."""

    def lot(hole: Hole) -> tuple[int, bool, float]:
        return hole.sheet, hole.through, round(hole.depth, 2)

    for _, found in groupby(sorted(holes, key=lot), key=lot):
        several = list(found)
        yield from (several[k] for k in short_way([hole.at for hole in several]))


def _row(drawing: Drawing, hole: Hole, several: bool) -> DrillRow:
    item = next((one for one in drawing.tray.items if one.tag == hole.tag), None)
    return DrillRow(
        tag=hole.tag,
        label="" if hole.label == _USES.get(hole.bore.use) else hole.label,
        sheet=str(hole.sheet) if several else "",
        purpose=_purpose(hole, item),
        why=_why(hole, drawing.tray.cutting.machine),
        depth=depth_words(hole.depth, hole.through).removesuffix(" deep"),
        x=place_words(hole.at[0]),
        y=place_words(hole.at[1]),
        hole=hole,
    )


def _purpose(hole: Hole, item: Item | None) -> str:
    """What goes in and what is added to it: "shank 1/4 in + 0.35"; then the schedule's note."""
    name = _USES.get(hole.bore.use, hole.bore.use)
    across = None if item is None else _across(item)
    if across is not None and hole.bore.use in ("shank", "collet"):
        more = hole.bore.wanted - across
        name += f" {_size(across)}" + (f" + {format_mm(more)}" if abs(more) > _SAME else "")
    return f"{name}; {hole.bore.note}" if hole.bore.note else name


def _across(item: Item) -> float | None:
    """Diameter of what stands in the bore."""
    solid = item.shape.solid
    if isinstance(solid, Shank | Disc):
        return solid.diameter
    return solid.large if isinstance(solid, Collet) else None


def _size(diameter: float) -> str:
    """
    >>> _size(6.35), _size(8.0), _size(21.0)
    ('1/4 in', '8 mm', '21 mm')
    """
    sixty_fourths = diameter / float(MM_PER_INCH) * 64
    exact = abs(sixty_fourths - round(sixty_fourths)) < 1e-6
    return f"{format_inch(diameter)} in" if exact else f"{format_mm(diameter)} mm"


def _why(hole: Hole, machine: str) -> str:
    """Why this drill."""
    bore = hole.bore
    if bore.drill is None:
        if machine == "hand":
            return f"no owned drill clears {format_mm(bore.wanted)} mm"
        return "cut to size" if machine == "laser" else "milled to size"
    if bore.use == "start":
        return "the largest owned that leaves waste round it"
    left = bore.diameter - bore.wanted
    if abs(left) < _SAME:
        return "just that size"
    return f"smallest owned that clears {format_mm(bore.wanted)}; leaves {format_mm(left)}"
