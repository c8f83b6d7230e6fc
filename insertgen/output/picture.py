"""The preview's canvas: colours, the way from mm to pixels, fonts."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from PIL import ImageFont

from insertgen.model.figures import Point, Ring
from insertgen.output.typeface import BOLD, PLAIN, font_path

__all__ = ["DEEP", "FAINT", "GREY", "INK", "ITEM", "OVER", "PAPER", "SHALLOW", "THROUGH", "WOOD", "Colour", "View", "font"]

Colour = tuple[int, int, int]

PAPER: Colour = (252, 251, 248)
WOOD: Colour = (224, 203, 167)
SHALLOW: Colour = (201, 174, 131)
DEEP: Colour = (150, 119, 79)
THROUGH: Colour = (74, 60, 47)
INK: Colour = (38, 33, 28)
GREY: Colour = (110, 100, 88)
FAINT: Colour = (176, 164, 148)
ITEM: Colour = (255, 252, 244)

OVER = 2  # drawn this much larger, then brought down


@dataclass(frozen=True, slots=True)
class View:
    """mm to pixels of the large picture."""

    left: float
    top: float
    scale: float
    depth: float

    def at(self, point: Point) -> Point:
        return self.left + point[0] * self.scale, self.top + (self.depth - point[1]) * self.scale

    def ring(self, ring: Ring) -> list[Point]:
        return [self.at(point) for point in ring]


@cache
def font(bold: bool, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(font_path(BOLD if bold else PLAIN), size, layout_engine=ImageFont.Layout.BASIC)
