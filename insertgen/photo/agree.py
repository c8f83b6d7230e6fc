"""Which squares agree with each other, and the camera they give together."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from insertgen.errors import PhotoError
from insertgen.photo.bench import Known, Solution, solve_bench
from insertgen.photo.camera import Array
from insertgen.photo.load import Bool
from insertgen.photo.squares import Candidate

__all__ = ["SquareFit", "agree", "choose_lens"]

_RESIDUAL = 1.0  # px: a flat square on the bench is far below
_DOUBTFUL = 0.4  # px: one worse than this is left out if the others agree far better without it
_BETTER = 0.5  # of their residual before
_SIDE_OFF = 0.03  # of the side: another size, or a curled sheet
_LENS_TELLS = 4.0  # by how much the weighted squares must fall before a bent lens is believed: two standard errors
_RETAKE = "lay the squares flat on the bench, all printed at one size, hold the camera still, and take the photo again"


@dataclass(frozen=True, slots=True, eq=False)
class SquareFit:
    """One square as the solution sees it.

    Attributes
    ----------
    corners_px : array, 4 x 2
    side : float
        mm, as its corners measure on the bench.
    residual_px : float
        Root mean square distance of the corners from where the solution puts them; of a
        square left out, from where a square of the right side would fit best.
    used, coded : bool
    why : str
        Why it was left out; "" if used.
    """

    corners_px: tuple[tuple[float, float], ...]
    side: float
    residual_px: float
    used: bool
    coded: bool
    why: str


def agree(
    candidates: list[Candidate], side: float, known: Known, name: str
) -> tuple[Solution, tuple[SquareFit, ...]]:
    """Camera from all squares that agree; the others named.

    Raises
    ------
    PhotoError
        Two squares that contradict each other, or no majority that agrees.
    """
    quads = np.array([candidate.corners.px for candidate in candidates])
    sigmas = np.array([candidate.corners.sigma_px for candidate in candidates])
    use = list(range(len(candidates)))
    while True:
        solution = choose_lens(quads[use], sigmas[use], side, known)
        wrong = bool(_bad(solution, side).any())
        if not wrong and (len(use) == 2 or solution.residual_px.max() < _DOUBTFUL):
            break
        if wrong and len(use) <= 2:
            raise PhotoError(_contradiction(name, len(candidates), solution, side))
        if len(use) == 1:
            break
        rest = _without_worst(use, quads, sigmas, side, known)
        if not wrong and not _far_better(choose_lens(quads[rest], sigmas[rest], side, known), solution):
            break  # no single square is to blame
        use = rest
    if 2 * len(use) < len(candidates):
        raise PhotoError(
            f"{name}: only {len(use)} of {len(candidates)} squares agree with each other; {_RETAKE}"
        )
    return solution, _fits(candidates, quads, use, solution, side, known.squares_at)


def choose_lens(quads: Array, sigmas: Array, side: float, known: Known) -> Solution:
    """Camera with the lens as expected, unless the squares say clearly that it bends otherwise.

    What is open of the lens stays in the covariance either way.
    """
    bent = solve_bench(quads, sigmas, side, known, fit_lens=True)
    straight = solve_bench(quads, sigmas, side, known, fit_lens=False)
    # one square cannot tell a lens from a tilt
    if len(quads) > 1 and bent.chi < straight.chi - _LENS_TELLS:
        return bent
    return replace(straight, covariance=bent.covariance)


def _bad(solution: Solution, side: float) -> Bool:
    bad: Bool = (solution.residual_px > _RESIDUAL) | (np.abs(solution.side - side) > _SIDE_OFF * side)
    return bad


def _far_better(rest: Solution, whole: Solution) -> bool:
    return len(rest.side) > 2 and float(rest.residual_px.max()) < _BETTER * float(whole.residual_px.max())


def _without_worst(use: list[int], quads: Array, sigmas: Array, side: float, known: Known) -> list[int]:
    """The squares less the one without which the rest agree best."""
    rests = [[kept for kept in use if kept != left] for left in use]
    return min(rests, key=lambda rest: choose_lens(quads[rest], sigmas[rest], side, known).chi)


def _contradiction(name: str, count: int, solution: Solution, side: float) -> str:
    if len(solution.side) == 1:
        return (
            f"{name}: the one dark square found is not square: its corners miss a {side:g} mm square by "
            f"{solution.residual_px[0]:.1f} px; {_RETAKE}"
        )
    sizes = " and ".join(f"{found:.1f} mm" for found in solution.side)
    return (
        f"{name}: the squares contradict each other ({count} found; two left measure {sizes} where "
        f"{side:g} mm was typed); {_RETAKE}"
    )


def _fits(
    candidates: list[Candidate], quads: Array, use: list[int], solution: Solution, side: float, squares_at: float
) -> tuple[SquareFit, ...]:
    fits = []
    for index, candidate in enumerate(candidates):
        spots = solution.camera.cast(quads[index], squares_at)
        measured = float(np.linalg.norm(spots - np.roll(spots, -1, axis=0), axis=1).mean())
        corners = tuple((float(x), float(y)) for x, y in quads[index])
        if index in use:
            fits.append(
                SquareFit(
                    corners, measured, float(solution.residual_px[use.index(index)]), True, candidate.coded, ""
                )
            )
            continue
        misfit = float(np.sqrt(((spots - _nearest_square(spots, side)) ** 2).sum(axis=1).mean()))
        residual = misfit / solution.camera.mm_per_pixel(quads[index].mean(axis=0), squares_at)
        wrong_size = abs(measured - side) > _SIDE_OFF * side
        why = (
            f"measures {measured:.1f} mm, not {side:g} mm"
            if wrong_size
            else "is not flat on the bench like the others"
        )
        fits.append(SquareFit(corners, measured, residual, False, candidate.coded, why))
    return tuple(fits)


def _nearest_square(spots: Array, side: float) -> Array:
    """The square of that side that fits four bench points best (Procrustes, Kabsch 1976)."""
    half = side / 2
    base = np.array([[-half, half], [half, half], [half, -half], [-half, -half]])
    middle = spots.mean(axis=0)
    left, _, right = np.linalg.svd((spots - middle).T @ base)
    sign = np.diag([1.0, np.sign(np.linalg.det(left @ right))])
    fitted: Array = base @ (left @ sign @ right).T + middle
    return fitted
