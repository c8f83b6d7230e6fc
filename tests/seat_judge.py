"""Seats judged by shapely and numpy alone: nothing of insertgen.geometry, whose work is under judgement."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import Polygon, affinity
from shapely.geometry.base import BaseGeometry

from insertgen.model.figures import Circle, Contour, Outline
from insertgen.model.item import Step
from insertgen.model.job import Tray
from insertgen.model.seat import Seat
from insertgen.model.shape import Store
from insertgen.rules import CRUMB, FINGER_REACH, FINGER_WIDTH, SLIVER
from insertgen.seats.seat import FIT_TOLERANCE

__all__ = ["Judgement", "can_move", "cutter_radius", "filled", "finger_room", "judge",  "opened", "path_points", "path_region"]

#: Arcs are drawn by chords no further off than this, and distances judged to this.
SAG = 0.0005
EXACT = 0.002

#: Bends drawn by 32 chords a quarter turn lie short by r (1 - cos(pi / 128)), 0.002 at 1/2 in, and an opening draws them twice.
CHORDS = 0.005

#: The gap is due to this; a wall is called unreached from this depth on. The program says that its contours
#: follow what is meant within FIT_TOLERANCE, and opens with twice that more than the cutter.
UNREACHED_DEPTH = 2 * FIT_TOLERANCE

#: Wood cut away without need is called so from this depth on.
NEEDLESS = 0.1

#: Fingertips tried, mm; the least that must get in is common practice, no source.
FINGERTIPS = (20.0, 18.0, 16.0, 14.0, 12.0, 10.0)
FINGERTIP_LEAST = 14.0

#: Half of what a finger presses on, along the wall.
PAD = 4.0

#: As far as thumb and finger of one hand lift a thing; common practice, no source.
SPAN = 90.0


def path_points(path: Contour | Circle, sag: float = SAG) -> np.ndarray:
    """Points along a path, from the definition of a bulge: tan of a quarter of the arc's angle, counter-clockwise if positive."""
    if isinstance(path, Circle):
        radius = path.diameter / 2
        count = max(64, math.ceil(2 * math.pi / (2 * math.acos(1 - sag / radius))))
        turn = np.linspace(0, 2 * math.pi, count, endpoint=False)
        return np.column_stack([path.centre[0] + radius * np.cos(turn), path.centre[1] + radius * np.sin(turn)])
    runs = []
    for (x0, y0, bulge), (x1, y1, _) in itertools.pairwise((*path.vertices, path.vertices[0])):
        start, end = complex(x0, y0), complex(x1, y1)
        if bulge == 0:
            runs.append(np.array([start]))
            continue
        angle = 4 * math.atan(bulge)
        # centre: half a chord over tan(angle/2) to the left of the chord's middle
        centre = (start + end) / 2 + 1j * (end - start) / 2 / math.tan(angle / 2)
        radius = abs(start - centre)
        count = max(1, math.ceil(abs(angle) / (2 * math.acos(max(0.0, 1 - sag / radius)))))
        runs.append(centre + (start - centre) * np.exp(1j * angle * np.arange(count) / count))
    along = np.concatenate(runs)
    return np.column_stack([along.real, along.imag])


def path_region(path: Contour | Circle) -> Polygon:
    return Polygon(path_points(path))


def filled(outline: Outline) -> BaseGeometry:
    """An outline without its holes: no island of wood stands in a pocket."""
    return shapely.make_valid(Polygon(outline.outer)).buffer(0)


def opened(region: BaseGeometry, radius: float) -> BaseGeometry:
    return region.buffer(-radius, quad_segs=64).buffer(radius, quad_segs=64)


def cutter_radius(seat: Seat, tray: Tray) -> float:
    """What has to get round in a seat: nothing for a laser, nor for a saw where all is sawn."""
    cutting = tray.cutting
    if cutting.machine == "laser":
        return 0.0
    if cutting.machine == "hand" and cutting.template is None and all(step.through for step in seat.item.steps):
        return 0.0
    if seat.item.store is Store.SLOT:
        return cutting.cutter.diameter / 2
    return cutting.pocket_cutter.diameter / 2


@dataclass
class Judgement:
    """What is wrong with a seat, in words, and what was measured of it."""

    faults: list[str] = field(default_factory=list)
    least_gap: float = math.inf
    short_of_clearance: float = 0.0  # depth to which reachable clearance is missing
    unreached_depth: float = 0.0
    unreached_area: float = 0.0
    extra_area: float = 0.0
    needless: float = 0.0  # how deep wood is cut away that neither clearance, cutter nor steps ask for
    crossing: float = 0.0  # how far a deeper contour stands out of a shallower one


def judge(seat: Seat, tray: Tray) -> Judgement:
    """All that is due of a pocket, through-cut, slot or corner seat."""
    found = Judgement()
    steps = seat.item.steps
    if len(steps) != len(seat.cuts):
        found.faults.append(f"{len(steps)} steps, {len(seat.cuts)} cuts")
        return found
    regions = []
    for step, cut in zip(steps, seat.cuts, strict=True):
        depth = tray.thickness if step.through else min(step.depth, tray.thickness - tray.floor)
        if abs(cut.depth - depth) > 1e-9 or cut.through != step.through:
            found.faults.append(f"step to {step.depth} cut to {cut.depth}")
        _well_formed(cut.path, found)
        regions.append(path_region(cut.path))
    if not all(region.is_valid for region in regions):
        return found
    radius = cutter_radius(seat, tray)
    for number, (step, region) in enumerate(zip(steps, regions, strict=True)):
        _holds(seat, step, region, radius, found)
        if seat.item.grips == () and seat.item.store is not Store.SLOT:
            _needed(seat, step, region, regions[number + 1 :], radius, found)
    for shallow, deep in itertools.pairwise(regions):
        out = deep.difference(shallow)
        found.crossing = max(found.crossing, _depth(out, shallow))
    if found.crossing > 2 * FIT_TOLERANCE + EXACT:
        found.faults.append(f"a deeper contour stands {found.crossing:.3f} out of the one above it")
    if seat.item.store in (Store.POCKET, Store.THROUGH):
        _fingers(seat, regions, found)
    _says(seat, found)
    return found


def _well_formed(path: Contour | Circle, found: Judgement) -> None:
    if isinstance(path, Circle):
        return
    ring = path.vertices
    if len(ring) < 2:
        found.faults.append(f"a contour of {len(ring)} vertices")
        return
    if any(abs(bulge) > 1 for _, _, bulge in ring):
        found.faults.append("a bulge over 1")
    shortest = min(math.dist(a[:2], b[:2]) for a, b in itertools.pairwise((*ring, ring[0])))
    if shortest < CRUMB:
        found.faults.append(f"crumb: a segment of {shortest:.4f}")
    region = path_region(path)
    if not region.is_valid:
        found.faults.append(f"contour not simple: {shapely.is_valid_reason(region)}")


def _depth(out: BaseGeometry, core: BaseGeometry) -> float:
    """How far the farthest corner of ``out`` is from ``core``; 0 where there is none."""
    if out.is_empty or out.area < 1e-9:
        return 0.0
    parts = [part for part in getattr(out, "geoms", [out]) if part.area > 1e-9]
    if not parts or core.is_empty:
        return math.inf if parts else 0.0
    corners = shapely.points(np.concatenate([shapely.get_coordinates(part) for part in parts]))
    shapely.prepare(core)
    beyond = corners[~shapely.dwithin(core, corners, SAG)]  # most are noise of chords: the long way only for the rest
    return float(shapely.distance(beyond, core).max()) if len(beyond) else SAG


def _due(solid: BaseGeometry, clearance: float) -> BaseGeometry:
    """An item grown by its clearance; what it closes round counts as inside."""
    return _solid_of(solid.buffer(clearance, quad_segs=64))


def _solid_of(region: BaseGeometry) -> Polygon:
    """The largest piece, its holes filled."""
    return Polygon(max(getattr(region, "geoms", [region]), key=lambda piece: piece.area).exterior)


def _holds(seat: Seat, step: Step, region: Polygon, radius: float, found: Judgement) -> None:
    item, solid = seat.item, filled(step.outline)
    if not region.buffer(EXACT).covers(solid):
        found.faults.append(f"the item leaves its opening by {_depth(solid.difference(region), region):.3f}")
        return
    gap = float(shapely.distance(solid, region.boundary))
    found.least_gap = min(found.least_gap, gap)
    if gap < item.least_gap - EXACT:
        found.faults.append(f"gap {gap:.4f}, least gap {item.least_gap:.4f}")
    due = _due(solid, seat.clearance)
    if radius:
        core = opened(region, radius - SAG)
        left = region.difference(core)
        depth = _depth(left, core)
        found.unreached_depth, found.unreached_area = max(found.unreached_depth, depth), found.unreached_area + left.area
        if depth > UNREACHED_DEPTH:
            found.faults.append(f"unreached {depth:.3f} deep, {left.area:.3f} mm2")
    reachable = opened(due, radius + 2 * FIT_TOLERANCE) if radius else due
    short = _depth(reachable.difference(region), region)
    found.short_of_clearance = max(found.short_of_clearance, short)
    if short > CHORDS:
        found.faults.append(f"clearance short by {short:.4f} where the cutter reaches")


def _needed(
    seat: Seat, step: Step, region: BaseGeometry, below: list[Polygon], radius: float, found: Judgement
) -> None:
    """Nothing is cut beyond the clearance but where the cutter could not otherwise leave the least gap."""
    solid = filled(step.outline)
    due = _due(solid, seat.clearance)
    found.extra_area += region.difference(due).area
    reached = opened(due, radius + 2 * FIT_TOLERANCE) if radius else due
    missing = solid.buffer(seat.item.least_gap, quad_segs=64).difference(reached)
    # what reliefs close round is cut away with them: no island of wood; and wood too thin to stay
    asked = _solid_of(shapely.union_all([due, missing.buffer(2 * radius + 0.1), *below]))
    closed = asked.buffer(SLIVER / 2).buffer(-SLIVER / 2)
    tips = [tip for tip in getattr(closed.difference(asked), "geoms", []) if tip.area > 0.05]
    # where thin wood goes between two openings, the cutter goes through
    led = shapely.union_all([tip.buffer(2 * radius) for tip in tips])
    allowed = _solid_of(shapely.union_all([closed, led])).buffer(2 * FIT_TOLERANCE + EXACT)
    extra = region.difference(allowed)
    found.needless = _depth(extra, allowed)
    if found.needless > NEEDLESS:
        found.faults.append(f"{extra.area:.2f} mm2 cut up to {found.needless:.2f} deep where nothing asks for it")


def finger_room(seat: Seat, deepest: BaseGeometry, tips: tuple[float, ...] = FINGERTIPS) -> float:
    """Diameter of the largest fingertips, of those tried, that get down beside the item to the very bottom where they are due.

    Two of them with the item in between; 0 where none finds room.
    """
    solid = filled(seat.item.steps[0].outline)
    free = deepest.difference(solid)
    for tip in tips:
        room = free.buffer(-tip / 2)
        if not room.is_empty and _with_the_item_between(room, solid):
            return tip
    return 0.0


def _with_the_item_between(room: BaseGeometry, solid: BaseGeometry) -> bool:
    """Whether two points of a room see each other only through at least 1 mm of the item."""
    outlines = [shapely.get_coordinates(shapely.segmentize(piece.exterior, 5.0)) for piece in getattr(room, "geoms", [room])]
    points = np.concatenate(outlines)
    points = points[:: max(1, len(points) // 80)]
    first, second = np.triu_indices(len(points), 1)
    lines = shapely.linestrings(np.stack([points[first], points[second]], axis=1))
    plain = solid.simplify(0.05)
    shapely.prepare(plain)
    crossing = lines[shapely.intersects(plain, lines)]
    return any(
        bool((shapely.length(shapely.intersection(crossing[k : k + 50], plain)) >= 1.0).any())
        for k in range(0, len(crossing), 50)
    )


def _place_for_fingers(solid: BaseGeometry) -> str | None:
    """Two places opposite each other, near the balance point, where fingertips get by the item at all; None: nowhere."""
    x0, y0, x1, y1 = solid.bounds
    size = math.hypot(x1 - x0, y1 - y0)
    middle = np.array(solid.centroid.coords[0])
    tip = FINGERTIP_LEAST / 2
    for turn, off in itertools.product(np.arange(24) * math.pi / 24, (0.0, -0.06, 0.06, -0.12, 0.12)):
        way, across = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
        through = middle + off * size * across
        for ends in _stretches(solid, through, way, size):
            tips = [shapely.Point(ends[0] - (tip + 0.5) * way), shapely.Point(ends[1] + (tip + 0.5) * way)]
            if (
                np.hypot(*(ends.mean(axis=0) - middle)) < 0.15 * size
                and all(solid.distance(one) > tip for one in tips)
                and all(_as_wide(ends, _stretches(solid, through + side * PAD * across, way, size), way) for side in (-1, 1))
            ):
                return f"{np.round(ends, 1).tolist()}"
    return None


def _stretches(solid: BaseGeometry, through: np.ndarray, way: np.ndarray, size: float) -> list[np.ndarray]:
    """Ends of the stretches of a line inside a figure that one hand can span."""
    inside = shapely.LineString([through - size * way, through + size * way]).intersection(solid)
    lines = [piece for piece in getattr(inside, "geoms", [inside]) if 2 <= piece.length <= SPAN]
    return [np.array([line.coords[0], line.coords[-1]]) for line in lines]


def _as_wide(ends: np.ndarray, others: list[np.ndarray], way: np.ndarray) -> bool:
    """Whether a neighbouring stretch ends no more than 35 degrees off square: from walls that lean more a finger slips."""
    return any(np.abs((other - ends) @ way).max() <= math.tan(math.radians(35)) * PAD for other in others)


def _fingers(seat: Seat, regions: list[BaseGeometry], found: Judgement) -> None:
    """Bays as deep as a finger gets: one at each place asked for, or two with the item between."""
    solids = [filled(step.outline) for step in seat.item.steps]
    # down to the narrowest step that a finger gets to from wherever it is put to the item's edge
    lowest = [region for solid, region in zip(solids, regions, strict=True) if _overhang(solids[0], solid) < FINGER_REACH][-1]
    if seat.item.grips is None and not finger_room(seat, lowest, (FINGERTIP_LEAST,)):
        better = _place_for_fingers(solids[0])
        if better is not None:
            widest = finger_room(seat, lowest)
            found.faults.append(f"fingertips of {widest:g} mm at most, though there is room for 14 mm across {better}")
    for at in seat.item.grips or ():
        place = shapely.Point(at)
        edge = shapely.shortest_line(solids[0].exterior, place).coords[0]
        # a narrower step that the finger does not get to from the item's edge needs no bay
        touched = [
            region
            for solid, region in zip(solids, regions, strict=True)
            if solid.distance(shapely.Point(edge)) < FINGER_REACH - EXACT
        ]
        for region in touched:
            wide = region.buffer(0.05 - FINGER_WIDTH / 2)  # where the middle of a finger-wide disc may be
            if not region.buffer(EXACT).contains(place):
                found.faults.append(f"wood at the grip asked for, {at}")
            elif wide.is_empty or shapely.distance(wide, place) > FINGER_REACH:
                found.faults.append(f"no bay as wide as a finger at {at}")


def _overhang(wide: BaseGeometry, narrow: BaseGeometry) -> float:
    """How far the edge of a wider step stands out from a narrower one at most."""
    corners = shapely.points(shapely.get_coordinates(shapely.segmentize(wide.exterior, 1.0)))
    return float(shapely.distance(corners, narrow).max())


def _says(seat: Seat, found: Judgement) -> None:
    """What the seat says of itself, against what was measured here."""
    if seat.least_gap is None or abs(seat.least_gap - found.least_gap) > 0.005:
        found.faults.append(f"says a least gap of {seat.least_gap}, measured {found.least_gap:.4f}")
    if seat.unreached_area is None or seat.extra_area is None:
        found.faults.append("says nothing of its areas")


def can_move(pairs: list[tuple[BaseGeometry, BaseGeometry]], most: float, directions: int = 64) -> bool:
    """Whether a body, all its steps together, could lie moved by ``most`` in some direction and still be in its openings.

    ``pairs`` holds each step's outline, filled, and its opening.
    """
    for _, region in pairs:
        shapely.prepare(region)
    for turn in np.arange(directions) * 2 * math.pi / directions:
        dx, dy = most * math.cos(turn), most * math.sin(turn)
        if all(region.covers(affinity.translate(solid, dx, dy)) for solid, region in pairs):
            return True
    return False


def seated(seat: Seat) -> list[tuple[BaseGeometry, BaseGeometry]]:
    return [
        (filled(step.outline), path_region(cut.path)) for step, cut in zip(seat.item.steps, seat.cuts, strict=True)
    ]


def other_opening(solid: BaseGeometry, clearance: float, radius: float, least_gap: float) -> BaseGeometry:
    """An opening a cutter can follow, made another way than the program's: any in which an item stays put shows a refusal needless.

    The item is grown evenly, by as little as lets the cutter reach all of the
    least gap; of that, what the cutter cuts within its radius of what the plain
    opening misses is added to the plain opening. The cutter is taken as much larger, and the whole grown, as
    the program does it for the fit of its contours.
    """
    radius += 2 * FIT_TOLERANCE
    plain = opened(_due(solid, clearance), radius)
    need = solid.buffer(least_gap - EXACT, quad_segs=64)
    missing = need.difference(plain)
    if missing.is_empty:
        return plain.buffer(FIT_TOLERANCE)
    low, high = min(clearance, radius), radius  # grown by its radius, anything can be followed
    for _ in range(10):
        middle = (low + high) / 2
        covers = opened(solid.buffer(middle, quad_segs=64), radius - SAG).covers(need)
        low, high = (low, middle) if covers else (middle, high)
    centres = solid.buffer(high, quad_segs=64).buffer(SAG - radius, quad_segs=64).intersection(missing.buffer(radius))
    cut = shapely.union_all([plain, centres.buffer(radius, quad_segs=64)])
    # wood too thin to stay does not hold the item either
    return _solid_of(cut.buffer(SLIVER / 2)).buffer(FIT_TOLERANCE - SLIVER / 2)
