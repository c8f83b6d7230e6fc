"""Where a laser's beam must run so that what it leaves is right: the one place that knows of kerf."""

from __future__ import annotations

from insertgen.geometry.arcs import fit_path
from insertgen.geometry.distance import farthest
from insertgen.geometry.offset import grown
from insertgen.geometry.region import Region, from_path, is_empty, minus, pieces, to_outlines
from insertgen.model.figures import Circle, Contour

__all__ = ["beam_path"]

#: Lines and arcs follow the offset contour within this; a tenth of what a beam's width varies by.
TOLERANCE = 0.01

#: What is further than so many kerfs from the way of the beam is not cut.
LOST_KERFS = 2.0

#: What is left of a bore's diameter is no circle to be followed any more.
NARROW = 0.01


def beam_path(path: Contour | Circle, by: float) -> Contour | Circle | None:
    """A path half of ``by`` further out, or further in where it is negative.

    The beam takes half its kerf on either side: an opening is drawn ``-kerf``,
    what is cut out of the sheet ``+kerf``. None: the opening, or a neck of it, is
    no wider than the beam.

    >>> beam_path(Circle((0.0, 0.0), 10.0), -0.2)
    Circle(centre=(0.0, 0.0), diameter=9.8)
    """
    if by == 0:
        return path
    if isinstance(path, Circle):
        return Circle(path.centre, path.diameter + by) if path.diameter + by > NARROW else None
    region = from_path(path)
    moved = pieces(grown(region, by / 2))
    if len(moved) != 1 or _lost(region, moved[0], by):
        return None
    return fit_path(to_outlines(moved[0])[0].outer, TOLERANCE)


def _lost(region: Region, moved: Region, by: float) -> bool:
    """Whether the beam gets nowhere near some of an opening; in its corners it always leaves a little."""
    if by > 0:
        return False
    left = minus(region, grown(moved, -by / 2))
    return not is_empty(left) and farthest(left, moved).distance > LOST_KERFS * -by
