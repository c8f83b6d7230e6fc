"""Text as single strokes for an engraving cutter: the only door to the stroke font.

The font is the plain sans serif of the Hershey fonts, digitised by A. V. Hershey at the
U. S. National Bureau of Standards; it holds the printable signs of ASCII.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import cache
from typing import Any

from HersheyFonts import HersheyFonts

from insertgen.model.figures import Point

__all__ = ["StrokeText", "engravable", "stroke_text"]

_FONT = "futural"

#: In the font's units: capitals stand from the base line 9 up to -12, y down.
_BASE, _CAPITAL = 9, 21

_FIRST, _LAST = 0x20, 0x7E

#: What is written for signs that no decomposition leads to plain ones; a crossed O is taken for the diameter sign.
_PLAIN = {
    "ß": "ss", "ø": "o", "Ø": "dia ", "ł": "l", "Ł": "L", "æ": "ae", "Æ": "AE", "œ": "oe", "đ": "d", "\N{MULTIPLICATION SIGN}": "x", "±": "+-",
    "°": " deg", "µ": "u", "\N{EN DASH}": "-", "\N{EM DASH}": "-", "\N{NON-BREAKING HYPHEN}": "-", "\N{MINUS SIGN}": "-",
    "\N{FRACTION SLASH}": "/", "\N{PRIME}": "'", "\N{DOUBLE PRIME}": '"', "\N{RIGHT SINGLE QUOTATION MARK}": "'",
    "\N{LEFT DOUBLE QUOTATION MARK}": '"', "\N{RIGHT DOUBLE QUOTATION MARK}": '"', "\N{DIAMETER SIGN}": "dia ",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class StrokeText:
    """A text on one line, its base line along x from the origin; ``strokes`` are open runs of points.

    ``box`` is least x, least y, greatest x, greatest y of the strokes.
    """

    strokes: tuple[tuple[Point, ...], ...]
    box: tuple[float, float, float, float]


def engravable(text: str) -> tuple[str, tuple[str, ...]]:
    """The text in signs of the font, and the signs that others stand for.

    >>> engravable("1/4 in fräser"), engravable("½ in"), engravable("鑿 12")
    (('1/4 in fraser', ('ä',)), ('1/2 in', ('½',)), ('? 12', ('鑿',)))
    """
    written = [_in_font(sign) for sign in text]
    lacked = dict.fromkeys(sign for sign, plain in zip(text, written, strict=True) if sign != plain)
    return "".join(written), tuple(lacked)


def _in_font(sign: str) -> str:
    if _FIRST <= ord(sign) <= _LAST:
        return sign
    if sign in _PLAIN:
        return _PLAIN[sign]
    parts = [part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part)]
    plain = "".join(_PLAIN.get(part, part) for part in parts)
    return plain if plain and all(_FIRST <= ord(part) <= _LAST for part in plain) else "?"


def stroke_text(text: str, height: float) -> StrokeText:
    """The strokes of a text of `engravable` signs, capitals ``height`` tall.

    >>> stroke_text("H", 21.0).strokes[0]
    ((4.0, 21.0), (4.0, 0.0))
    """
    scale, pen = height / _CAPITAL, 0
    strokes: list[tuple[Point, ...]] = []
    glyphs = _glyphs()
    for sign in text:
        glyph = glyphs[sign]
        across = pen - glyph.left_offset
        for stroke in glyph.strokes:
            strokes.append(tuple(((across + x) * scale, (_BASE - y) * scale) for x, y in stroke))
        pen += glyph.char_width
    drawn = [point for stroke in strokes for point in stroke] or [(0.0, 0.0)]
    xs, ys = zip(*drawn, strict=True)
    return StrokeText(tuple(strokes), (min(xs), min(ys), max(xs), max(ys)))


@cache
def _glyphs() -> dict[str, Any]:
    font = HersheyFonts()
    font.load_default_font(_FONT)
    return dict(font.all_glyphs)
