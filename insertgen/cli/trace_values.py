"""What options of ``trace`` take: a height band, a place with a turn, pixels."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

import click

from insertgen.errors import UnitError
from insertgen.units import format_mm, parse_length

if TYPE_CHECKING:
    # generic for the type checker only: older releases of click are not
    _BandType = click.ParamType[tuple[float, float]]
    _SpotType = click.ParamType[tuple[float, float, float]]
    _PixelsType = click.ParamType[tuple[float, ...]]
else:
    _BandType = _SpotType = _PixelsType = click.ParamType

__all__ = ["Band", "Pixels", "Spot", "parse_band", "parse_spot"]


def parse_band(text: str) -> tuple[float, float]:
    """A height band in mm: two lengths with a hyphen between; a unit said once is both's, none is mm.

    >>> parse_band("0-25mm"), parse_band("0-1 in"), parse_band("25 - 60")
    ((0.0, 25.0), (0.0, 25.4), (25.0, 60.0))
    >>> parse_band('1-3/8 - 2-1/2 in')
    (34.925, 63.5)

    Raises
    ------
    UnitError
        No band, or one that does not go up.
    """
    found = []
    for hyphen in re.finditer("[-\N{EN DASH}]", text):
        first, second = text[: hyphen.start()].strip(), text[hyphen.end() :].strip()
        unit = _unit(second) or _unit(first) or "mm"
        try:
            found.append(tuple(
                parse_length(each if _unit(each) else f"{each} {unit}", zero=True) for each in (first, second)
            ))  # fmt: skip
        except UnitError:
            continue  # not the hyphen between the two
    if len(found) != 1:
        raise UnitError(f'"{text}" is not a height band; write it like 0-25mm or "0 in - 1-3/8 in"')
    bottom, top = found[0]
    if not bottom < top:
        raise UnitError(f'"{text}" goes from {format_mm(bottom)} mm to {format_mm(top)} mm; the second must be higher')
    return bottom, top


def parse_spot(text: str) -> tuple[float, float, float]:
    """A place and a turn: X,Y or X,Y,ANGLE; lengths without a unit are mm.

    >>> parse_spot("-5,10"), parse_spot("1/2 in, 0, 90")
    ((-5.0, 10.0, 0.0), (12.7, 0.0, 90.0))

    Raises
    ------
    UnitError
    """
    words = [word.strip() for word in text.split(",")]
    if len(words) not in (2, 3):
        raise UnitError(f'"{text}" is not a place; write X,Y or X,Y,ANGLE, as in --at 12,-5 or --at 0,0,180')
    x, y = (parse_length(word, unit="mm", negative=True) for word in words[:2])
    try:
        angle = float(words[2]) if len(words) == 3 else 0.0
    except ValueError:
        angle = math.nan
    if not -360 <= angle <= 360:
        raise UnitError(f'"{words[2]}" is no angle; write degrees, -360 to 360, counter-clockwise')
    return x, y, angle


def _unit(text: str) -> str | None:
    match = re.search(r"[^\d\s./¼½¾⅛⅜⅝⅞][^\d]*$", text)
    return match[0].strip() if match else None


class Band(_BandType):
    """FROM-TO, to mm."""

    name = "from-to"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float]:
        try:
            return value if isinstance(value, tuple) else parse_band(str(value))
        except UnitError as error:
            self.fail(str(error), param, ctx)


class Spot(_SpotType):
    """X,Y[,ANGLE], to mm and degrees."""

    name = "spot"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float, float]:
        try:
            return value if isinstance(value, tuple) else parse_spot(str(value))
        except UnitError as error:
            self.fail(str(error), param, ctx)


class Pixels(_PixelsType):
    """So many numbers with commas between."""

    name = "pixels"

    def __init__(self, count: int) -> None:
        self._count = count

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, ...]:
        if isinstance(value, tuple):
            return value
        try:
            found = tuple(float(word) for word in str(value).split(","))
        except ValueError:
            found = ()
        if len(found) != self._count or not all(map(math.isfinite, found)):
            example = ",".join(("820", "440", "1900", "1300")[: self._count])
            self.fail(f'"{value}" is not {self._count} numbers of pixels with commas between, as in {example}', param, ctx)
        return found
