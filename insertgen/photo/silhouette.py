"""The one item of a photo: its rings in pixels, and how sure they are."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from insertgen.errors import PhotoError
from insertgen.photo.boundary import Boundary, rings_of_mask, signed_area, untangled
from insertgen.photo.bystanders import refuse_bystanders
from insertgen.photo.camera import Array, Camera
from insertgen.photo.contour import Snapped, snap
from insertgen.photo.frame import least_rectangle
from insertgen.photo.hypotheses import Guess, best_guesses, overlap
from insertgen.photo.load import Bool, Photo
from insertgen.photo.openings import find_openings
from insertgen.photo.sharpness import look_at_edges
from insertgen.photo.surface import Surface, look_at_bench

__all__ = ["Silhouette", "find_item", "from_mask"]

_LEAST_ITEM = 150.0  # mm2 on the bench: a 12 mm disc and more
_SECOND_ITEM = 0.15  # of the first one's area
_LEAST_HOLE = 20.0  # mm2: smaller ones are not looked for in a photo
_SIGMA_MASK = 0.5
# px of a 2400 px photo: measured on rendered photos (half of them never looked at), where the boundary lies
# 1 to 2 px off its mask on a good outline, but for tips and hollows; ten times that where another outline competes
_SIGMA_CLEAR, _SIGMA_DOUBT, _SIGMA_WEAK = 3.0, 12.0, 10.0
_WEAK_SHARE = 0.15
_CLOSE, _RIVAL = 0.2, 0.75  # log score and overlap of a guess that is another outline, nearly as good
_LONGER, _FAR = 1.25, 1.4  # length and log score of a guess that would say part of the item is missing
_FAINT, _SOFT = 0.03, 0.88  # strength and sharpness of an outline that may be shade or grain
_LEAST_RIM = 1.5  # px between hole and outside
_MARK = "check the outline in the picture"


@dataclass(frozen=True, slots=True, eq=False)
class Silhouette:
    """Rings in the photo.

    Attributes
    ----------
    boundary : Boundary
    sigma_px : float
        Standard error of the boundary's place, estimated.
    warnings : tuple of str
        Doubts about what is item and what is bench.
    """

    boundary: Boundary
    sigma_px: float
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
    if _at_frame(mask, 1):
        raise PhotoError(f"{name}: the silhouette touches the edge of the photo; the whole item must be in it")
    return Silhouette(rings_of_mask(mask, least_hole=8.0), _SIGMA_MASK)


def find_item(photo: Photo, quads: list[Array], camera: Camera) -> Silhouette:
    """The one item that lies on the bench.

    Parameters
    ----------
    photo : Photo
    quads : list of arrays, 4 x 2
        Squares to leave out, pixels.
    camera : Camera
        For sizes on the bench.

    Raises
    ------
    PhotoError
        No item, two, or one at the frame.
    """
    surface, view = look_at_bench(photo, quads), look_at_edges(photo.rgb)
    mm2 = (camera.mm_per_pixel(np.array([photo.width_px / 2, photo.height_px / 2])) / surface.scale) ** 2
    guesses = best_guesses(view, surface)
    refuse_bystanders(surface, guesses, photo.name)
    if not guesses or guesses[0].region.sum() * mm2 < _LEAST_ITEM:
        raise PhotoError(
            f"{photo.name}: no item was found on the bench; lay it on a plain sheet of another colour, in soft light, "
            "all of it in the photo, and take the photo again, or give its silhouette"
        )
    best = guesses[0]
    holes = find_openings(surface, best.region, _LEAST_HOLE / mm2)
    rough = rings_of_mask(best.region & ~holes, least_hole=0.5 * _LEAST_HOLE / mm2)
    return _on_edges(
        photo, surface, Boundary(best.ring, tuple(surface.to_photo(hole) for hole in rough.holes)), guesses
    )


def _at_frame(mask: Bool, gap: int) -> bool:
    return bool(mask[:gap].any() or mask[-gap:].any() or mask[:, :gap].any() or mask[:, -gap:].any())


def _on_edges(photo: Photo, surface: Surface, rough: Boundary, guesses: list[Guess]) -> Silhouette:
    unit = max(photo.rgb.shape) / 2400.0
    outer = snap(photo.rgb, rough.outer, unit)
    holes = [hole for ring in rough.holes for hole in _hole(photo, ring, outer.ring, unit)]
    rings = [outer, *holes]
    strength = np.concatenate([ring.strength for ring in rings])
    weak = float((strength < 0.35).mean())
    said = [f"{100 * weak:.0f} % of the outline lies on no clear edge; {_MARK}"] if weak > _WEAK_SHARE else []
    doubtful = _doubtful(guesses)
    if doubtful:
        said.append(
            f"{doubtful}: {_MARK}, else lay the item on a plain sheet of another colour, or give its silhouette"
        )
    sigma = float(np.hypot(_SIGMA_DOUBT if doubtful else _SIGMA_CLEAR, _SIGMA_WEAK * weak))
    clean = untangled(Boundary(rings[0].ring, tuple(ring.ring for ring in rings[1:])))
    return Silhouette(clean, sigma * unit, tuple(said))


def _hole(photo: Photo, rough: Array, outer: Array, unit: float) -> list[Snapped]:
    """A hole on its edges; as found, where those lead it out of the item; none, if it is not inside at all."""
    snapped = snap(photo.rgb, rough, unit)
    body = outer.astype(np.float32).reshape(-1, 1, 2)
    for ring in (snapped, Snapped(rough, np.zeros(len(rough)))):
        depth = min(cv2.pointPolygonTest(body, (float(x), float(y)), True) for x, y in ring.ring)
        grown = abs(signed_area(ring.ring)) / abs(signed_area(rough))
        if depth > _LEAST_RIM * unit and 0.5 < grown < 2.0:
            return [ring]
    return []


def _doubtful(guesses: list[Guess]) -> str:
    """Why the best guess may be the wrong one, "" if nothing says so. Edges alone do not notice a missing half."""
    best = guesses[0]
    top = max(guess.score for guess in guesses)
    length = least_rectangle(best.ring)[1]
    for guess in guesses[1:]:
        if guess.score > top - _CLOSE and overlap(guess.region, best.region) < _RIVAL:
            return "another outline is nearly as likely"
        if guess.score > top - _FAR and least_rectangle(guess.ring)[1] > _LONGER * length:
            return "part of the item may be missing"
    if best.strength < _FAINT or best.sharp < _SOFT:
        return "the outline stands out faintly from the bench"
    return ""
