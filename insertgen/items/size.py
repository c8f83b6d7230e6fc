"""How big an item is, in the words of a legend."""

from __future__ import annotations

from insertgen.model.shape import Collet, Disc, Rectangle, RingPile, Shank, Slot, Solid
from insertgen.units import format_inch, format_mm, parse_length

__all__ = ["diameter_text", "size_text"]


def size_text(solid: Solid) -> str:
    """
    >>> size_text(Disc(125.0)), size_text(Rectangle(120.0, 60.0, 30.0))
    ('dia 125 mm', '120 x 60 mm')
    >>> size_text(Shank(6.35, 35.0)), size_text(RingPile(12.7, 28.0, 8.0, pile=2))
    ('1/4 in shank, 35 mm head', '1/2 in bore, dia 28 mm ring, pile of 2')
    >>> size_text(Collet(6.35, 21.0, None, 31.5, "ER20"))
    '1/4 in bore, ER20 collet'
    """
    match solid:
        case Disc():
            return f"dia {diameter_text(solid.diameter)}"
        case Rectangle() | Slot():
            return _sides(solid.length, solid.width)
        case Shank():
            return f"{diameter_text(solid.diameter)} shank, {diameter_text(solid.head)} head"
        case Collet():
            return f"{diameter_text(solid.bore)} bore, {solid.series or diameter_text(solid.large)} collet"
        case RingPile():
            pile = f", pile of {solid.pile}" if solid.pile > 1 else ""
            return f"{diameter_text(solid.bore)} bore, dia {diameter_text(solid.diameter)} ring{pile}"
        case _:
            points = [point for part in solid for point in part.outline.outer]
            xs, ys = [x for x, _ in points], [y for _, y in points]
            return _sides(max(xs) - min(xs), max(ys) - min(ys))


def diameter_text(diameter: float) -> str:
    """Inches where it is a whole number of 64ths and no whole number of mm.

    >>> diameter_text(6.35), diameter_text(25.4), diameter_text(8.0), diameter_text(6.6)
    ('1/4 in', '1 in', '8 mm', '6.6 mm')
    """
    inches = f"{format_inch(diameter)} in"
    whole = abs(diameter - round(diameter)) < 0.005
    near = abs(parse_length(inches, zero=True) - diameter) <= 0.01
    return inches if near and not whole and diameter > 0.1 else f"{format_mm(diameter)} mm"


def _sides(length: float, width: float) -> str:
    return f"{format_mm(length, 1)} x {format_mm(width, 1)} mm"
