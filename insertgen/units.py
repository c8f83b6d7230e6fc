"""Text to millimetres and back.

Text becomes a length once, at the edge of the program; inside, every length is
a float in mm. The arithmetic on the way is exact: 1 in = 25.4 mm exactly
(international yard and pound agreement of 1959), fractions are kept as
`fractions.Fraction` until the last step.

Examples
--------
>>> parse_length("1-3/8 in")
34.925
>>> parse_length('1/4"'), parse_length("1 3/8 in"), parse_length(".5 in")
(6.35, 34.925, 12.7)
>>> parse_length(2, unit="in"), parse_length("38 mm", unit="in")
(50.8, 38.0)
>>> parse_length("38")
Traceback (most recent call last):
    ...
insertgen.errors.UnitError: "38" has no unit; write 38 mm or 38 in
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

from insertgen.errors import UnitError

__all__ = ["MM_PER_INCH", "format_inch", "format_length", "format_mm", "parse_length"]

MM_PER_INCH = Fraction(254, 10)

#: Longest length accepted anywhere: 10 m. Beyond it a unit was mistaken.
LONGEST = 10_000.0

_UNITS = {
    "mm": Fraction(1),
    "millimetre": Fraction(1),
    "millimetres": Fraction(1),
    "millimeter": Fraction(1),
    "millimeters": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": MM_PER_INCH,
    "in.": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "''": MM_PER_INCH,
    "ft": MM_PER_INCH * 12,
    "foot": MM_PER_INCH * 12,
    "feet": MM_PER_INCH * 12,
    "'": MM_PER_INCH * 12,
}

# Typographic spellings that word processors, phones and catalogues put in.
_TYPOGRAPHY = str.maketrans({
    "\N{DOUBLE PRIME}": '"',
    "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
    "\N{LEFT DOUBLE QUOTATION MARK}": '"',
    "\N{PRIME}": "'",
    "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{FRACTION SLASH}": "/",
    "\N{EN DASH}": "-",
    "\N{NON-BREAKING HYPHEN}": "-",
    "\N{NO-BREAK SPACE}": " ",
    "\N{NARROW NO-BREAK SPACE}": " ",
})
_VULGAR = {
    "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
}  # fmt: skip

_AMOUNT = r"(?:\d+(?:\s*-\s*|\s+)\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+\.?\d*|\.\d+)"
_TERM = re.compile(rf"\s*(?P<amount>{_AMOUNT})\s*(?P<unit>[a-z]+\.?|''|'|\")", re.IGNORECASE)
_BARE = re.compile(rf"\s*{_AMOUNT}\s*", re.IGNORECASE)


def parse_length(
    value: str | float, *, unit: str | None = None, zero: bool = False, negative: bool = False
) -> float:
    """Length in mm of a text or a bare number.

    Parameters
    ----------
    value : str or float
        "12 mm", "1-3/8 in", "1 3/8 in", '1/4"', "1' 2-1/2\\"", or a number.
    unit : {"mm", "in"}, optional
        What a number without a unit is in; without it, a unit must be given.
    zero, negative : bool
        Whether zero, or a length below zero (a position, say), may be.

    Returns
    -------
    float
        Millimetres.

    Raises
    ------
    UnitError
        No length, no unit, not finite, not allowed here, or over 10 m.
    """
    shown = f'"{value}"' if isinstance(value, str) else f"{value}"
    exact = _exact(value, unit, shown)
    if exact < 0 and not negative:
        raise UnitError(f"{shown} is below zero; a length here must {'not be' if zero else 'be above zero'}")
    if exact == 0 and not (zero or negative):
        raise UnitError(f"{shown} is zero; a length must be above zero")
    if abs(exact) > LONGEST:
        # hundreds of digits would overflow a float
        size = f"{float(exact) / 1000:.6g} m" if abs(exact) < 10**12 else "far over 10 m"
        raise UnitError(f"{shown[:60]} is {size}; the longest length here is 10 m: check the unit")
    return float(exact)


def _exact(value: str | float, unit: str | None, shown: str) -> Fraction:
    if isinstance(value, str):
        return _exact_of_text(value, unit, shown)
    if isinstance(value, bool) or not math.isfinite(value):
        raise UnitError(f"{shown} is not a length; write a finite number")
    if unit is None:
        raise UnitError(f"{shown} has no unit; write {shown} mm or {shown} in")
    # str, not the binary value: 0.1 in a file means a tenth exactly
    return Fraction(str(value)) * _UNITS[unit]


def _exact_of_text(text: str, unit: str | None, shown: str) -> Fraction:
    plain = text.translate(_TYPOGRAPHY).strip()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    plain = plain.strip()
    negative = plain.startswith(("-", "\N{MINUS SIGN}"))
    if negative:
        plain = plain[1:].strip()
    if re.search(r"\d,\d", plain):
        raise UnitError(f"{shown} has a comma; write decimals with a point, as in 12.5 mm")
    total, end, last = Fraction(0), 0, Fraction(0)
    while match := _TERM.match(plain, end):
        factor = _UNITS.get(match["unit"].lower())
        if factor is None:
            raise UnitError(f"{shown}: unknown unit \"{match['unit']}\"; use mm, cm, m, in or ft")
        if end and not (last == _UNITS["ft"] and factor == MM_PER_INCH):
            raise UnitError(f"{shown} has two lengths in it; only feet and inches may be joined")
        total, end, last = total + _amount(match["amount"], shown) * factor, match.end(), factor
    if end == 0 and _BARE.fullmatch(plain):
        if unit is None:
            raise UnitError(f"{shown} has no unit; write {plain} mm or {plain} in")
        total, end = _amount(plain.strip(), shown) * _UNITS[unit], len(plain)
    if not plain or plain[end:].strip():
        raise UnitError(f"{shown} is not a length; write it like 12 mm, 1-3/8 in or 0.5 in")
    return -total if negative else total


def _amount(text: str, shown: str) -> Fraction:
    """Exact value of "1-3/8", "1 3/8", "3 / 8", "1.375" or ".5"."""
    joined = re.sub(r"\s*/\s*", "/", re.sub(r"\s*-\s*", " ", text))
    try:
        return sum((Fraction(part) for part in joined.split()), Fraction(0))
    except ZeroDivisionError:
        raise UnitError(f"{shown} divides by zero; check the fraction") from None


def format_mm(length: float, places: int = 2) -> str:
    """Millimetres without trailing zeros, never "-0".

    >>> format_mm(12.50), format_mm(30.0), format_mm(-0.001)
    ('12.5', '30', '0')
    """
    text = f"{length:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def format_inch(length: float, denominator: int = 64) -> str:
    """Nearest inch fraction, in lowest terms, without the unit.

    >>> format_inch(34.925), format_inch(6.35), format_inch(25.4), format_inch(0.1)
    ('1-3/8', '1/4', '1', '0')
    """
    parts = round(Fraction(str(round(abs(length), 9))) / MM_PER_INCH * denominator)
    whole, rest = divmod(parts, denominator)
    sign = "-" if length < 0 and parts else ""
    if rest == 0:
        return f"{sign}{whole}"
    fraction = Fraction(rest, denominator)
    head = f"{whole}-" if whole else ""
    return f"{sign}{head}{fraction.numerator}/{fraction.denominator}"


def format_length(length: float) -> str:
    """Both units, as a woodworker reads them: '38 mm (1-1/2 in)'.

    >>> format_length(38.1)
    '38.1 mm (1-1/2 in)'
    """
    return f"{format_mm(length)} mm ({format_inch(length)} in)"
