"""Where a laser's beam must run so that what it leaves is right: the one place that knows of kerf."""

from __future__ import annotations

from insertgen.geometry.arcs import fit_path
from insertgen.geometry.offset import grown
from insertgen.geometry.region import from_path, pieces, to_outlines
from insertgen.model import Circle, Contour

__all__ = ["beam_path"]

#: Lines and arcs follow the offset contour within this; a tenth of what a beam's width varies by.
TOLERANCE = 0.01


def beam_path(path: Contour | Circle, by: float) -> Contour | Circle:
    """A path half of ``by`` further out, or further in where it is negative.

    The beam takes half its kerf on either side: an opening is drawn ``-kerf``,
    what is cut out of the sheet ``+kerf``.

    >>> beam_path(Circle((0.0, 0.0), 10.0), -0.2)
    Circle(centre=(0.0, 0.0), diameter=9.8)
    """
    if by == 0:
        return path
    if isinstance(path, Circle):
        return Circle(path.centre, path.diameter + by)
    moved = pieces(grown(from_path(path), by / 2))
    return fit_path(to_outlines(moved[0])[0].outer, TOLERANCE) if moved else path
