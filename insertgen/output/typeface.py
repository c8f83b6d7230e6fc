"""The one typeface of pages and pictures: Bitstream Vera, which comes with reportlab and is embedded in the PDF."""

from __future__ import annotations

import unicodedata
from functools import cache
from importlib.resources import files

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

__all__ = ["BOLD", "PLAIN", "font_path", "legible", "shortened", "text_width", "wrapped"]

PLAIN, BOLD = "insertgen-plain", "insertgen-bold"
_FILES = {PLAIN: "Vera.ttf", BOLD: "VeraBd.ttf"}


def font_path(name: str) -> str:
    """Where the font file of ``PLAIN`` or ``BOLD`` is."""
    return str(files("reportlab") / "fonts" / _FILES[name])


@cache
def _font(name: str) -> TTFont:
    font = TTFont(name, font_path(name))
    pdfmetrics.registerFont(font)
    return font


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a text in the unit of ``size``; also makes sure that the font is known to reportlab."""
    return float(_font(BOLD if bold else PLAIN).stringWidth(text, size))


@cache
def legible(text: str) -> str:
    """The text with every sign the typeface lacks replaced by its plain letter, or else by "?".

    >>> legible("5 mm fräser"), legible("wiertło Ů"), legible("10 mm \N{EN DASH} long")
    ('5 mm fräser', 'wiertlo U', '10 mm - long')
    """
    known = _font(PLAIN).face.charToGlyph
    return "".join(_plain(sign, known) for sign in text)


_PLAIN = {"ł": "l", "Ł": "L", "\N{EN DASH}": "-", "\N{EM DASH}": "-", "\N{NON-BREAKING HYPHEN}": "-",
          "\N{PRIME}": "'", "\N{DOUBLE PRIME}": '"'}  # fmt: skip


def _plain(sign: str, known: dict[int, int]) -> str:
    if sign in _PLAIN:
        return _PLAIN[sign]
    if ord(sign) in known and sign.isprintable():
        return sign
    letters = [part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part)]
    return "".join(part if ord(part) in known and part.isprintable() else "?" for part in letters) or "?"


def shortened(text: str, width: float, size: float, *, bold: bool = False) -> str:
    """The text, cut with "..." if it is wider than ``width``."""
    if text_width(text, size, bold=bold) <= width:
        return text
    while text and text_width(text + "...", size, bold=bold) > width:
        text = text[:-1]
    return text.rstrip() + "..."


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """Lines no wider than ``width``, broken at blanks; a longer word is shortened."""
    lines: list[str] = []
    for word in text.split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(joined, size, bold=bold) <= width:
            lines[-1] = joined
        else:
            lines.append(shortened(word, width, size, bold=bold))
    return lines or [""]
