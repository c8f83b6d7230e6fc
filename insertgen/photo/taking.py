"""What was assumed of camera and lens, and what should be done otherwise when the photo is taken again."""

from __future__ import annotations

import math

import numpy as np

from insertgen.photo.agree import SquareFit
from insertgen.photo.bench import USUAL_FOCAL_35MM, Known, Solution
from insertgen.photo.camera import Array
from insertgen.photo.load import Photo
from insertgen.photo.standing import Stance, Standing

__all__ = ["say_assumed", "say_edge", "say_squares", "say_taking"]

_FOCAL_OFF = 0.08  # log: four times what EXIF's whole millimetres leave open
_FOCAL_OPEN = 0.05  # log: standard error of a focal length that nothing tells
_STEEP_DEG = 25.0
_COARSE = 0.25  # mm per pixel
_SMALL = 1 / 8  # square's side to item's length
_ALARM = 0.3  # px: squares that lie flat miss their places by less
_ONE_SIDE = 0.7  # length of the mean direction from the item to the squares: 1 all one way, 0 all round
_OFF_CENTRE = 0.5  # of half the photo's diagonal, to the item's farthest point
_TAPE_OFF = (30.0, 0.05)  # mm, and of the height: beyond this the tape and the lens contradict each other


def say_assumed(photo: Photo, known: Known, solution: Solution) -> tuple[str, ...]:
    """Where focal length and distortion came from."""
    count, lens = len(solution.side), solution.camera.lens
    if photo.focal_px is not None:
        focal = f"focal length from the photo's EXIF ({photo.focal_35mm:g} mm, 35 mm equivalent)"
    elif known.tape is not None:
        focal = f"focal length from the camera's height of {known.tape:g} mm"
    elif _focal_open(solution):
        focal = f"focal length assumed ({USUAL_FOCAL_35MM:g} mm, 35 mm equivalent), as usual for a phone"
    else:
        focal = "focal length from the squares"
    if lens.k1 != known.k1 and abs(lens.k1) > 1e-4:
        reach = math.hypot(photo.width_px, photo.height_px) / 2
        bend = lens.k1 * (reach / lens.focal_px) ** 2 * reach
        bent = f"the lens bends straight lines, by the squares: {bend:+.0f} px at the photo's corners, taken out"
    elif count > 1:
        bent = f"no bend of the lens seen by {count} squares"
    else:
        bent = "the lens taken to bend nothing, which one square cannot tell"
    at = f"; the squares {known.squares_at:g} mm above the bench" if known.squares_at else ""
    return (f"{focal}; {bent}{at}",)


def say_edge(standing: Standing, stance: Stance) -> tuple[str, ...]:
    """Between which heights the edge was taken to stand, if its look told."""
    if stance.together or standing.upright:
        return ()
    low, high = np.percentile(stance.edges[0].height, (5, 95))
    return (f"by the item's look its edge stands {low:.0f} to {high:.0f} mm above the bench",)


def say_taking(photo: Photo, known: Known, solution: Solution, ring: Array, *, scale: float) -> tuple[str, ...]:
    """Warnings of lens, distance and angle, each with its remedy."""
    said = []
    if photo.focal_px is None and known.tape is None:
        how = "a usual phone lens is assumed" if _focal_open(solution) else "it was found from the squares"
        said.append(
            f"the photo does not tell its focal length ({how}); use the photo as the camera wrote it, or measure from "
            "bench to lens with a tape and give the camera's height"
        )
    elif photo.focal_px is not None and abs(np.log(solution.camera.lens.focal_px / photo.focal_px)) > _FOCAL_OFF:
        said.append(
            f"the photo tells a lens of {photo.focal_35mm:g} mm (35 mm equivalent), the squares do not agree: was it "
            "cropped or zoomed? Use the photo as the camera wrote it, uncropped"
        )
    if known.tape is not None and abs(solution.camera.height - known.tape) > max(_TAPE_OFF[0], _TAPE_OFF[1] * known.tape):
        said.append(
            f"by the squares and the lens the camera was {solution.camera.height:.0f} mm above the bench, not "
            f"{known.tape:g} mm as typed; measure it again, and the side of the squares"
        )
    if solution.camera.tilt_deg > _STEEP_DEG:
        said.append(
            f"the photo was taken at {solution.camera.tilt_deg:.0f} degrees; hold the camera straight above"
        )
    if scale > _COARSE:
        said.append(f"a pixel is {scale:.2f} mm; come nearer or use the camera's full resolution")
    if (_focal_open(solution) or len(solution.side) == 1) and _reach(photo, ring) > _OFF_CENTRE:
        said.append(
            "the lens is not known, and the item lies off the photo's middle, where lenses bend; put the item in the "
            "middle, or lay four squares round it"
        )
    return tuple(said)


def say_squares(photo: Photo, solution: Solution, fits: tuple[SquareFit, ...], ring: Array, *, length: float) -> tuple[str, ...]:
    """Warnings of the squares: left out, too small, badly laid."""
    said = [f"square {at} left out: {fit.why}" for at, fit in enumerate(fits, 1) if not fit.used]
    used = [fit for fit in fits if fit.used]
    middle, quads = ring.mean(axis=0), np.array([fit.corners_px for fit in used])
    if used[0].side < _SMALL * length:
        said.append(
            f"the squares are small beside the item ({length:.0f} mm): use squares of {math.ceil(_SMALL * length / 5) * 5:d} mm "
            "or more" + ("" if len(used) > 2 else ", or four round the item")
        )
    if len(used) == 1:
        said.append("only one square: a bent lens cannot be noticed; lay four round the item")
    else:
        ways = quads.mean(axis=1) - middle
        mean = np.mean(ways / np.linalg.norm(ways, axis=1, keepdims=True), axis=0)
        if float(np.linalg.norm(mean)) > _ONE_SIDE:
            said.append("the squares lie all on one side of the item; lay them round it")
    worst = max(fit.residual_px for fit in used)
    if worst > _ALARM * max(1.0, max(photo.width_px, photo.height_px) / 2400):
        said.append(
            f"the squares miss their places by up to {worst:.1f} px, where {_ALARM:g} px is usual: lay them flat on one "
            "plane, tape down what curls, and hold the camera still"
        )
    return tuple(said)


def _focal_open(solution: Solution) -> bool:
    return math.sqrt(float(solution.covariance[3, 3])) > _FOCAL_OPEN


def _reach(photo: Photo, ring: Array) -> float:
    half = np.array([photo.width_px - 1, photo.height_px - 1]) / 2
    return float(np.linalg.norm(ring - half, axis=1).max() / np.linalg.norm(half))
