"""Papers to print on, and how a printer that prints them too small or large is put right."""

from __future__ import annotations

import re

from insertgen.errors import InsertgenError, UnitError
from insertgen.model.figures import Point
from insertgen.units import format_mm, parse_length

__all__ = ["ONE", "PAPERS", "TRUE", "paper_size", "paper_slug", "parse_printed", "print_scale", "refuse_longer"]

#: Width and height, upright. Sources: ISO 216 (A4, A3); letter is 8-1/2 x 11 in, tabloid 11 x 17 in (ANSI Y14.1 A and B).
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "a3": (297.0, 420.0), "tabloid": (279.4, 431.8)}

#: One page as large as the blank asks for.
ONE = "one"

#: What the bars of 100 mm measure on the print of a printer that is right.
TRUE: Point = (100.0, 100.0)

#: Bars of 4 in, what is written beside them, and the margins round them.
_LEAST_SIDE = 150.0

#: The longest side that a PDF page may have: 14,400 units of 1/72 in. Source: ISO 32000-1, annex C.
_LONGEST_SIDE = 200 * 25.4

_LEAST_PRINTED, _MOST_PRINTED = 80.0, 120.0

_SIZE = re.compile(r"\s*(?P<width>[^x]+?)\s*x\s*(?P<height>[^x]+?)\s*(?P<unit>mm|in)\s*", re.IGNORECASE)


def paper_size(paper: str) -> tuple[float, float]:
    """Short and long side of a paper: one of the table, or a size such as "13 x 19 in".

    Raises
    ------
    UnitError
        No such paper, or one too small for margins and check bars, or too large for a PDF page.

    Examples
    --------
    >>> paper_size("a4"), paper_size("17x11in")
    ((210.0, 297.0), (279.4, 431.8))
    """
    if paper in PAPERS:
        return PAPERS[paper]
    size = _SIZE.fullmatch(paper)
    if size is None:
        raise UnitError(f'paper "{paper}" is not known here; take one of {", ".join(PAPERS)}, or a size such as 330x483mm')
    sides = [parse_length(size[side], unit=size["unit"].lower()) for side in ("width", "height")]
    short, long = min(sides), max(sides)
    if short < _LEAST_SIDE:
        raise UnitError(
            f'paper "{paper}" is {format_mm(short)} mm wide; margins, check bars and what is written beside them take '
            f"{format_mm(_LEAST_SIDE)} mm: take a larger one, as a4 or letter"
        )
    refuse_longer(long, f'paper "{paper}"')
    return short, long


def refuse_longer(side: float, what: str) -> None:
    """
    Raises
    ------
    UnitError
        A side longer than a PDF page can be.
    """
    if side > _LONGEST_SIDE + 1e-6:
        raise UnitError(
            f"{what} is {format_mm(side)} mm long; a page goes up to {format_mm(_LONGEST_SIDE)} mm (200 in): "
            "take a paper that is put together from pages, such as a3"
        )


def paper_slug(paper: str) -> str:
    """How a paper is called in a file name.

    >>> paper_slug("letter"), paper_slug("13 x 19 in")
    ('letter', '13x19in')
    """
    return re.sub(r"\s", "", paper).lower()


def parse_printed(text: str) -> Point:
    """What the bars of 100 mm measured, of "98.6x99.1": the bar marked x first, in mm.

    Raises
    ------
    InsertgenError
        No two measures, or one that no printer is off by.

    Examples
    --------
    >>> parse_printed("98.6x99.1"), parse_printed("100 x 99.5 mm")
    ((98.6, 99.1), (100.0, 99.5))
    """
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*x\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*", text)
    if found is None:
        raise InsertgenError(
            f'printed "{text}": write what the two check bars of 100 mm measured, the one marked x first, as in 98.6x99.1'
        )
    printed = float(found[1]), float(found[2])
    print_scale(printed)
    return printed


def print_scale(printed: Point) -> Point:
    """How much larger to draw for a printer whose bars of 100 mm measure ``printed``.

    Raises
    ------
    InsertgenError
        A measure that no printer is off by.

    Examples
    --------
    >>> print_scale((80.0, 100.0))
    (1.25, 1.0)
    """
    for axis, measured in zip("xy", printed, strict=True):
        if not _LEAST_PRINTED <= measured <= _MOST_PRINTED:
            raise InsertgenError(
                f"printed {axis}: the check bar of 100 mm is said to measure {format_mm(measured)} mm; "
                f"{format_mm(_LEAST_PRINTED)} to {format_mm(_MOST_PRINTED)} mm can be put right: measure the bar marked "
                f"{axis} again, in mm, or print at 100 % first"
            )
    return 100.0 / printed[0], 100.0 / printed[1]
