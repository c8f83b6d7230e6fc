"""Registration dowels: what brings sheets that are cut one by one together in their places."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from insertgen.errors import JobError
from insertgen.exchange.layers import layer_name
from insertgen.geometry.grid import points_inside
from insertgen.geometry.offset import grown, shrunk
from insertgen.geometry.region import Region, bounds, box, common, from_path, is_empty, minus, union
from insertgen.model.drawing import Entity, Hole, Layer, Operation, SheetDrawing
from insertgen.model.figures import Circle, Point
from insertgen.model.job import Blank, Tray
from insertgen.model.seat import Bore
from insertgen.rules import DOWELS, MILLED_OVER_CUTTER, THREE_DOWELS, smallest_drill
from insertgen.units import MM_PER_INCH, format_length, format_mm

__all__ = ["dowels_in"]

#: Thinnest and thickest dowel that is looked at first; thinner ones where there is no room. Common practice, no source.
THIN, THICK = 6.0, 12.7

#: How much wider than its dowel a hole may be: the sheets can be off by that. Common practice, no source.
LOOSE_MOST = 0.2

#: A dowel goes at least so deep into the bottom sheet. Common practice, no source.
LEAST_DEPTH = 3.0

#: A sheet turned or flipped misses a hole by at least this much.
OFF = 10.0

#: Two dowels are apart by at least this share of the blank's diagonal.
APART = 0.25

#: Places tried lie on a grid of so many mm from the reference corner: round figures to set out.
GRID = 5.0

_RIM = (Operation.EDGE, Operation.OUTSIDE)


@dataclass(frozen=True, slots=True)
class _Size:
    name: str
    diameter: float
    bore: Bore


def dowels_in(tray: Tray, sheets: Sequence[SheetDrawing]) -> tuple[tuple[SheetDrawing, ...], tuple[Hole, ...]]:
    """The sheets with the holes for dowels in them, and the rows of the schedule, a row a hole and sheet.

    A dowel goes through all sheets and down to the floor of the bottom one, and
    keeps the margin to the edge and the web to every cut of every sheet. The
    dowels lie so that no sheet fits on them turned or flipped: at least one hole
    would be off by `OFF`.

    Raises
    ------
    JobError
        No place for them, no drill for a dowel sold, or a bottom sheet that is too thin.
    """
    deep = _depths(tray)
    taken, wood = _cut(tray, sheets), _wood(tray, sheets)
    sizes = list(_sizes(tray, max(depth for depth, _ in deep)))
    if not sizes:
        raise JobError(
            f"{tray.name}: no owned drill makes a hole for a registration dowel within {format_mm(LOOSE_MOST)} mm of its size; "
            'add one to drills, as "1/4 in" or "8 mm", or use assembly = "glue-first"'
        )
    for size in sizes:
        radius = size.bore.diameter / 2
        room = minus(shrunk(wood, tray.margin + radius), grown(taken, tray.web + radius))
        places = _places(tray.blank, room)
        if places:
            return _drawn(tray, sheets, size, places, deep)
    raise JobError(
        f"{tray.name}: no place for {_count(tray.blank)} registration dowels is {format_mm(tray.web)} mm clear of every cut and "
        f"{format_mm(tray.margin)} mm of the edge; leave room with keep_out, make web or margin smaller, or use "
        'assembly = "glue-first"'
    )


def _depths(tray: Tray) -> list[tuple[float, bool]]:
    """How deep the hole is in each sheet, and whether it goes right through."""
    bottom = tray.stack[-1].thickness
    deep = bottom - tray.floor
    if tray.floor > 0 and deep < LEAST_DEPTH - 1e-9:
        raise JobError(
            f"{tray.name}: the bottom sheet of {format_length(bottom)} leaves {format_mm(max(deep, 0.0))} mm for registration "
            f"dowels above a floor of {format_mm(tray.floor)} mm, and they need {format_mm(LEAST_DEPTH)} mm; use a thicker sheet "
            'at the bottom, a smaller floor, or assembly = "glue-first"'
        )
    return [*((sheet.thickness, True) for sheet in tray.stack[:-1]), (deep, tray.floor <= 0)]


def _sizes(tray: Tray, deep: float) -> Iterable[_Size]:
    """Dowels in the order in which they are tried: milled ones first, of the shop's own unit, the thinnest first."""
    found = [(name, diameter, bore) for name, diameter in DOWELS if (bore := _bore(tray, diameter, deep)) is not None]
    inches = _in_inches(tray.cutting.cutter.diameter)

    def order(one: tuple[str, float, Bore]) -> tuple[bool, bool, bool, float]:
        name, diameter, bore = one
        usual = THIN - 1e-6 <= diameter <= THICK + 1e-6
        return not usual, bore.drill is not None, name.endswith(" in") != inches, diameter if usual else -diameter

    return [_Size(*one) for one in sorted(found, key=order) if one[1] <= THICK + 1e-6]


def _in_inches(diameter: float) -> bool:
    """Whether a shop's cutter is of an inch size: a multiple of 1/64 in."""
    parts = diameter / float(MM_PER_INCH) * 64
    return diameter > 0 and abs(parts - round(parts)) < 1e-3


def _bore(tray: Tray, diameter: float, deep: float) -> Bore | None:
    """Milled where the cutter can circle in it and reaches, else drilled with what hardly is wider; None: neither."""
    cutting = tray.cutting
    reaches = cutting.cutter.reach is None or cutting.cutter.reach >= deep - 1e-6
    if cutting.machine == "router" and reaches and diameter >= cutting.cutter.diameter + MILLED_OVER_CUTTER:
        return Bore(diameter, diameter, None, "dowel")
    drill = smallest_drill(diameter, cutting.drills)
    if drill is None or drill.diameter > diameter + LOOSE_MOST:
        return None
    return Bore(drill.diameter, diameter, drill, "dowel")


# ---- where -------------------------------------------------------------------------------------


def _cut(tray: Tray, sheets: Sequence[SheetDrawing]) -> Region:
    """All that is cut in any sheet, and what must stay free."""
    cuts = [
        from_path(entity.path, tolerance=0.01)
        for sheet in sheets
        for layer in sheet.layers
        if layer.operation not in _RIM
        for entity in layer.entities
    ]
    keep_out = [box(*keep.at, keep.at[0] + keep.size[0], keep.at[1] + keep.size[1]) for keep in tray.keep_out]
    return union([*cuts, *keep_out])


def _wood(tray: Tray, sheets: Sequence[SheetDrawing]) -> Region:
    """What the outer contour leaves of the blank in every sheet."""
    wood = box(0, 0, tray.blank.width, tray.blank.depth)
    for sheet in sheets:
        rims = [from_path(entity.path) for layer in sheet.layers if layer.operation in _RIM for entity in layer.entities]
        wood = common(wood, union(rims))
    return wood


def _count(blank: Blank) -> int:
    return 3 if max(blank.width, blank.depth) >= THREE_DOWELS else 2


def _places(blank: Blank, room: Region) -> list[Point]:
    """As far apart as there is room, the first near a corner; none if there is no room for all."""
    if is_empty(room):
        return []
    free = _grid(room)
    least = APART * math.hypot(blank.width, blank.depth)
    for corner in ((0.0, 0.0), (blank.width, 0.0), (0.0, blank.depth), (blank.width, blank.depth)):
        places = [min(free, key=lambda point: (math.dist(point, corner), point))] if free else []
        while places and len(places) < _count(blank):
            places = _with_next(blank, places, free, least)
        if places:
            return places
    return []


def _grid(room: Region) -> list[Point]:
    x0, y0, x1, y1 = bounds(room)
    columns = range(math.ceil(x0 / GRID), math.floor(x1 / GRID) + 1)
    rows = range(math.ceil(y0 / GRID), math.floor(y1 / GRID) + 1)
    points = [(column * GRID, row * GRID) for column in columns for row in rows]
    if not points:
        return []
    return [point for point, free in zip(points, points_inside(room, points), strict=True) if free]


def _with_next(blank: Blank, places: list[Point], free: list[Point], least: float) -> list[Point]:
    """The places and one more, the farthest from them with which no sheet fits turned; none if there is none."""
    far = sorted(((min(math.dist(point, place) for place in places), point) for point in free), reverse=True)
    for distance, point in far:
        if distance < least:
            return []
        if _fits_one_way(blank, [*places, point]):
            return [*places, point]
    return []


def _fits_one_way(blank: Blank, places: Sequence[Point]) -> bool:
    return all(
        max(min(math.dist(turn(place), other) for other in places) for place in places) >= OFF for turn in _turns(blank)
    )


def _turns(blank: Blank) -> list[Callable[[Point], Point]]:
    """The ways of laying a sheet wrongly on the one below it: turned, flipped; a square one by quarters too."""
    width, depth = blank.width, blank.depth
    ways: list[Callable[[Point], Point]] = [
        lambda point: (width - point[0], depth - point[1]),
        lambda point: (width - point[0], point[1]),
        lambda point: (point[0], depth - point[1]),
    ]
    if abs(width - depth) < OFF:
        ways += [
            lambda point: (point[1], point[0]),
            lambda point: (width - point[1], depth - point[0]),
            lambda point: (width - point[1], point[0]),
            lambda point: (point[1], depth - point[0]),
        ]
    return ways


# ---- into the sheets ---------------------------------------------------------------------------


def _drawn(
    tray: Tray, sheets: Sequence[SheetDrawing], size: _Size, places: Sequence[Point], deep: Sequence[tuple[float, bool]]
) -> tuple[tuple[SheetDrawing, ...], tuple[Hole, ...]]:
    circles = tuple(
        Entity(Circle(place, size.bore.diameter), f"{tray.slug}/D{number}") for number, place in enumerate(places, 1)
    )
    holes = tuple(
        Hole(f"D{number}", sheet.number, "registration dowel", place, size.bore, depth, through, "before-glue")
        for number, place in enumerate(places, 1)
        for sheet, (depth, through) in zip(sheets, deep, strict=True)
    )
    drawn = tuple(
        replace(sheet, layers=_layers(tray, sheet, circles, round(depth, 2), through))
        for sheet, (depth, through) in zip(sheets, deep, strict=True)
    )
    return drawn, holes


def _layers(tray: Tray, sheet: SheetDrawing, circles: tuple[Entity, ...], depth: float, through: bool) -> tuple[Layer, ...]:
    """Bores come first in a sheet, the blind ones before those right through."""
    name = layer_name(Operation.BORE, depth, through=through, names=tray.layer_names)
    layers = list(sheet.layers)
    for at, layer in enumerate(layers):
        if layer.name == name:
            layers[at] = replace(layer, entities=(*layer.entities, *circles))
            return tuple(layers)
    mine = Layer(name, Operation.BORE, depth, through, circles)
    after = [layer for layer in layers if layer.operation is Operation.BORE and (layer.through, layer.depth) < (through, depth)]
    layers.insert(len(after), mine)
    return tuple(layers)

