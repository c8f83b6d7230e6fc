"""The one item of a photo: its rings in pixels, and how sure they are."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np

from insertgen.errors import PhotoError
from insertgen.photo.bench_lines import bench_lines, is_thin_line
from insertgen.photo.boundary import Boundary, inside_of, rings_of_mask, signed_area, untangled
from insertgen.photo.brink import Brink, look_closely
from insertgen.photo.bystanders import part_left_out, refuse_bystanders
from insertgen.photo.camera import Array, Camera
from insertgen.photo.contour import Snapped, snap
from insertgen.photo.hints import (
    NO_HINTS,
    Hints,
    check_hints,
    fits_hints,
    holds_any,
    mended_holes,
    reaches_crop,
    with_hints,
)
from insertgen.photo.light import Float
from insertgen.photo.likeness import log_odds
from insertgen.photo.load import Bool, Photo
from insertgen.photo.openings import doubted_openings, find_openings
from insertgen.photo.pieces import (
    at_frame,
    filled,
    item_pieces,
    midst,
    pieces_as_one,
    smooth_region,
    with_near_parts,
)
from insertgen.photo.profiles import Departures
from insertgen.photo.settled import settled_holes
from insertgen.photo.surety import Sureness, by_hand, looseness, sureness
from insertgen.photo.surface import Surface, look_at_bench
from insertgen.photo.tips import with_tips
from insertgen.photo.wires import with_wires

__all__ = ["Silhouette", "find_item", "find_items", "from_mask"]

_LEAST_OF_SEVERAL = 0.2  # of the smallest item asked for: what is smaller is a chip or a screw
_LEAST_ITEM = 150.0  # mm2 on the bench: a 12 mm disc and more
_SECOND_ITEM = 0.15  # of the first one's area
_LEAST_HOLE = 20.0  # mm2: smaller ones are not looked for in a photo
_WEAK_SHARE = 0.15
_ONE_ITEM = 12.0  # mm: parts nearer to each other are of one item
_LOOSE = 0.7  # mm; see `_doubtful`
_LEAST_RIM = 1.5  # px between hole and outside
_LEAST_KEPT = 0.8  # of the rough ring's area
_MARK = "check the outline in the picture"


@dataclass(frozen=True, slots=True, eq=False)
class Silhouette:
    """Rings in the photo.

    Attributes
    ----------
    boundary : Boundary
    sure : Sureness
        How far the boundary may be off, as far as the pixels tell.
    warnings : tuple of str
        Doubts about what is item and what is bench.
    """

    boundary: Boundary
    sure: Sureness
    warnings: tuple[str, ...] = ()


def from_mask(mask: Bool, name: str) -> Silhouette:
    """Rings of a mask made by hand.

    Raises
    ------
    PhotoError
        It touches the frame, or shows more than one item.
    """
    count, label, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8))
    areas = stats[1:, cv2.CC_STAT_AREA]
    order = np.argsort(-areas)
    if count > 2 and areas[order[1]] > _SECOND_ITEM * areas[order[0]]:
        raise PhotoError(
            f"{name}: the silhouette shows more than one item; paint one item white, all else black"
        )
    mask = label == 1 + int(order[0])
    if at_frame(mask, 1):
        raise PhotoError(f"{name}: the silhouette touches the edge of the photo; the whole item must be in it")
    boundary = rings_of_mask(mask, least_hole=8.0)
    return Silhouette(boundary, by_hand(boundary))


def find_item(
    photo: Photo, quads: list[Array], camera: Camera, hints: Hints = NO_HINTS, bench: Photo | None = None
) -> Silhouette:
    """The one item that lies on the bench.

    Parameters
    ----------
    photo : Photo
    quads : list of arrays, 4 x 2
        Squares to leave out, pixels.
    camera : Camera
        For sizes on the bench.
    hints : Hints
        What the user says of the photo.
    bench : Photo, optional
        The same view without the item.

    Raises
    ------
    PhotoError
        No item, two, or one at the frame; hints that cannot be, or that no outline fits; another view of the bench.
    """
    view = _look(photo, quads, camera, hints, bench)
    pieces = _pieces(view)
    lines = _lines_beside(view, pieces)
    pieces = [piece for piece in pieces if not any(piece is line for line in lines)]
    pieces = with_near_parts(pieces, view.odds, _ONE_ITEM / math.sqrt(view.mm2))
    if not hints:
        refuse_bystanders(pieces, view.odds, view.mm2, photo.name, view.surface.to_photo)
    named = [piece for piece in pieces if holds_any(view.surface, filled(piece), hints.inside)]
    if named:
        pieces.insert(0, pieces_as_one(named))
    if not pieces or filled(pieces[0]).sum() * view.mm2 < _LEAST_ITEM:
        raise PhotoError(
            f"{photo.name}: no item was found on the bench; lay it on a plain sheet of another colour, in soft light, "
            "all of it in the photo, and take the photo again, or give its silhouette"
        )
    if reaches_crop(view.surface, pieces[0], hints):
        raise PhotoError(f"{photo.name}: the item reaches the edge of --crop; give a crop with bench all round the item")
    return _outline(view, pieces[0], [], lines)


def find_items(
    photo: Photo, quads: list[Array], camera: Camera, count: int, hints: Hints = NO_HINTS, bench: Photo | None = None
) -> list[Silhouette]:
    """So many items that lie apart on the bench, from left to right (by the middle of their extent).

    Raises
    ------
    PhotoError
        As `find_item`; fewer or more items than that.
    """
    if count == 1:
        return [find_item(photo, quads, camera, hints, bench)]
    view = _look(photo, quads, camera, hints, bench)
    pieces = [piece for piece in _pieces(view) if not at_frame(piece, 3)]
    pieces = [piece for piece in pieces if filled(piece).sum() * view.mm2 >= _LEAST_ITEM]
    large = [piece for piece in pieces if piece.sum() >= _LEAST_OF_SEVERAL * pieces[min(count, len(pieces)) - 1].sum()]
    if len(large) != count:
        raise PhotoError(
            f"{photo.name}: {count} names were given, but {_count(large)} on the bench; lay them at least "
            "20 mm apart, clear other things away, or trace them one by one with --crop"
        )
    large.sort(key=lambda piece: float(np.nonzero(piece.any(axis=0))[0][[0, -1]].mean()))
    return [_outline(view, piece, large) for piece in large]


def _count(items: list[Bool]) -> str:
    return "1 item is seen" if len(items) == 1 else f"{len(items)} items are seen"


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """The photo as it is looked at: against the bench, the odds of each pixel, mm2 a working pixel; ``bare``: less its bench."""

    photo: Photo
    surface: Surface
    odds: Float
    mm2: float
    hints: Hints
    bare: bool


def _look(photo: Photo, quads: list[Array], camera: Camera, hints: Hints, bench: Photo | None) -> _View:
    check_hints(hints, photo, quads)
    surface = look_at_bench(photo, quads, bench)
    mm2 = (camera.mm_per_pixel(np.array([photo.width_px / 2, photo.height_px / 2])) / surface.scale) ** 2
    odds = with_hints(surface, log_odds(surface, photo if bench is None else None), hints)
    return _View(photo, surface, odds, mm2, hints, bench is not None)


def _pieces(view: _View) -> list[Bool]:
    return item_pieces(smooth_region(view.surface, view.odds), view.odds)


def _lines_beside(view: _View, pieces: list[Bool]) -> list[Bool]:
    """Thin lines beside the first piece, which a bridge would make a part of it; not those named inside."""
    mm = math.sqrt(view.mm2)
    return [piece for piece in pieces[1:] if is_thin_line(piece, mm) and not holds_any(view.surface, piece, view.hints.inside)]


def _holes(view: _View, body: Bool) -> Bool:
    return _mended(view, body, find_openings(view.surface, body, _LEAST_HOLE / view.mm2, view.odds))


def _mended(view: _View, body: Bool, holes: Bool) -> Bool:
    return mended_holes(view.surface, view.odds, body, holes, view.hints) if view.hints else holes


def _outline(view: _View, piece: Bool, items: list[Bool], beside: list[Bool] | None = None) -> Silhouette:
    """``items``: all that lie there, if they are several; ``beside``: thin lines that were left out already."""
    surface, body = view.surface, filled(piece)
    mm = math.sqrt(view.mm2)
    lines = bench_lines(body, mm)
    if holds_any(surface, lines, view.hints.inside):
        lines = np.zeros_like(lines)
    body = body & ~lines
    left = [line for line in (lines, *(beside or [])) if line.any()]
    said = [_say_lines(left, mm)] if left else []
    holes = _holes(view, body)
    doubted = doubted_openings(body, holes, view.odds, _LEAST_HOLE / view.mm2)
    brink = None if view.bare else look_closely(view.photo, surface, view.odds, body & ~holes & ~doubted)
    if brink is not None:
        holes, doubted = settled_holes(body, holes, doubted, brink, surface)
        holes = _mended(view, body, holes)  # what the user says holds against the close look too
    said += _say_unsure(view, doubted)
    if view.hints and not fits_hints(surface, body, view.hints, holes):
        raise PhotoError(
            f"{view.photo.name}: no outline takes in every place named with --inside and none named with --outside; name more "
            "places, one on each surface of the item that is missing, or give its silhouette"
        )
    outer = rings_of_mask(body).outer
    rough = rings_of_mask(body & ~holes, least_hole=0.5 * _LEAST_HOLE / view.mm2)
    rings = Boundary(surface.to_photo(outer), tuple(surface.to_photo(hole) for hole in rough.holes))
    left_out = part_left_out(piece, items, view.odds, surface.paper)
    found = _on_edges(view, body & ~holes, rings, brink, left_out=left_out)
    return replace(found, warnings=(*said, *found.warnings))


def _say_lines(lines: list[Bool], mm: float) -> str:
    rows, columns = np.nonzero(max(lines, key=np.sum))
    span = mm * math.hypot(np.ptp(rows), np.ptp(columns))
    return (
        f"a thin line beside the item or joined to it ({span:.0f} mm) was left out, as one drawn on the bench; if it is part of "
        "the item, name a place on it with --inside"
    )


def _say_unsure(view: _View, doubted: Bool) -> list[str]:
    """Of the largest place that may be a hole, less those that are named."""
    _, label, stats, _ = cv2.connectedComponentsWithStats(doubted.astype(np.uint8), connectivity=4)
    order = 1 + np.argsort(-stats[1:, cv2.CC_STAT_AREA])
    place = next((one for one in (np.asarray(label == at) for at in order) if not holds_any(view.surface, one, view.hints.inside)), None)
    if place is None:
        return []
    x, y = np.round(view.surface.to_photo(midst(place)))
    return [
        f"a place inside the outline ({place.sum() * view.mm2:.0f} mm2) may be a hole: {_MARK}; if the bench is seen through it, "
        f"give --outside {x:.0f},{y:.0f}, else --inside {x:.0f},{y:.0f}"
    ]


def _on_edges(view: _View, region: Bool, rough: Boundary, brink: Brink | None, *, left_out: bool) -> Silhouette:
    photo, unit = view.photo, _unit(view.photo)
    seen = Departures(photo.rgb, view.surface, view.odds, rough.outer, unit)
    item = inside_of(rough)
    outer = snap(photo.rgb, rough.outer, seen, unit, brink, item)
    drawn = [(ring, snap(photo.rgb, ring, seen, unit, brink, item, hole=True)) for ring in rough.holes]
    holes = [hole for ring, snapped in drawn for hole in _hole(snapped, ring, outer.ring, unit)]
    rings = [outer, *holes]
    clean = _clean(rings, rough.outer)
    if not _LEAST_KEPT < abs(signed_area(clean.outer)) / abs(signed_area(rough.outer)) < 1 / _LEAST_KEPT:
        # both sides of a neck on one edge: as found, then, and no edge is claimed
        rings[0] = Snapped(rough.outer, *np.zeros((2, len(rough.outer))))
        clean = _clean(rings, rough.outer)
    if brink is not None:
        least = _LEAST_HOLE / view.mm2 / view.surface.scale**2
        clean = with_wires(with_tips(clean, brink, least), brink, least)
    weak = float((np.concatenate([ring.strength for ring in rings]) < 0.35).mean())
    said = [f"{100 * weak:.0f} % of the outline lies on no clear edge; {_MARK}"] if weak > _WEAK_SHARE else []
    loose = looseness(view.surface, view.odds, region)
    doubt = _doubtful(loose.mean * view.surface.scale * math.sqrt(view.mm2), left_out=left_out)
    if doubt:
        said.append(f"{doubt}: {_MARK}, else lay the item on a plain sheet of another colour, or give its silhouette")
    return Silhouette(clean, sureness(view.surface, loose, rings, clean, unit), tuple(said))


def _clean(rings: list[Snapped], rough: Array) -> Boundary:
    return untangled(Boundary(rings[0].ring, tuple(ring.ring for ring in rings[1:])), rough)


def _unit(photo: Photo) -> float:
    """Photo pixels a pixel of a 2400 px photo."""
    return float(max(photo.rgb.shape)) / 2400.0


def _hole(snapped: Snapped, rough: Array, outer: Array, unit: float) -> list[Snapped]:
    """A hole on its edges; as found, where those lead it out of the item; none, if it is not inside at all."""
    body = outer.astype(np.float32).reshape(-1, 1, 2)
    nothing = np.zeros(len(rough))
    for ring in (snapped, Snapped(rough, nothing, nothing)):
        depth = min(cv2.pointPolygonTest(body, (float(x), float(y)), True) for x, y in ring.ring)
        grown = abs(signed_area(ring.ring)) / abs(signed_area(rough))
        if depth > _LEAST_RIM * unit and 0.5 < grown < 2.0:
            return [ring]
    return []


def _doubtful(loose: float, *, left_out: bool) -> str:
    """Why the outline may be a wrong one, "" if nothing says so. Edges alone do not notice a missing half.

    ``loose``: by how many mm the boundary would move were each pixel put where it likely belongs.
    """
    if left_out:
        return "part of the item may be missing"
    return "item and bench look alike in places" if loose > _LOOSE else ""
