"""Which dowel goes through a bearing."""

from __future__ import annotations

from insertgen.errors import JobError
from insertgen.model.item import Dowel
from insertgen.model.shape import RingPile
from insertgen.rules import DOWELS, PEG_EASE, PEG_GRIP
from insertgen.units import format_length

__all__ = ["peg_for"]


def peg_for(ring: RingPile, depth: float, where: str) -> Dowel:
    """The thickest dowel the rings slide over, long enough to stand out above the pile.

    Parameters
    ----------
    depth : float
        How deep the peg sits.
    where : str
        "file, line N" for the message.

    Raises
    ------
    JobError
        No dowel sold is thin enough.

    Examples
    --------
    >>> peg_for(RingPile(8.0, 22.0, 7.0, pile=2), 20.0, "")  # 5/16 in is 7.94: too tight
    Dowel(name='1/4 in', diameter=6.35, length=40.0)
    """
    fitting = [(diameter, name) for name, diameter in DOWELS if diameter <= ring.bore - PEG_EASE + 1e-9]
    if not fitting:
        thinnest = min(diameter for _, diameter in DOWELS)
        raise JobError(
            f"{where}: a ring with a bore of {format_length(ring.bore)} goes over no dowel: the thinnest is "
            f'{format_length(thinnest)} and must be {PEG_EASE} mm under the bore; use store = "stand" or "pocket" '
            "with a disc"
        )
    diameter, name = max(fitting)
    return Dowel(name, diameter, depth + ring.pile * ring.thickness + PEG_GRIP)
