"""The printed codes of coded reference squares: a table, so that this room needs no image library.

Source: OpenCV's ArUco dictionary DICT_4X4_50 (50 codes of 4 x 4 cells); a test compares the table with it.
"""

from __future__ import annotations

__all__ = ["CELLS", "PATTERNS", "code_cells"]

#: Cells along a side: 4 of the code, and a black frame one cell wide.
CELLS = 6

#: The 16 inner cells of each id, row by row from the top left, 1 = white, as hexadecimal digits (one a row).
PATTERNS = (
    "b532", "0f9a", "332d", "9946", "549e", "79cd", "9e2e", "c4f2", "feda", "cf56",
    "f991", "11a7", "0eb7", "2a0f", "24b1", "263e", "4665", "6600", "6c5e", "76af",
    "868b", "b02b", "ccd5", "dd82", "fe47", "9471", "ace4", "a554", "2123", "346f",
    "4415", "57b2", "9ecf", "f0cb", "08ae", "0929", "1875", "04ff", "0df6", "1c5a",
    "1718", "2a28", "328c", "38b2", "24e8", "2eeb", "2d3f", "4b64", "502e", "5013",
)  # fmt: skip


def code_cells(number: int) -> tuple[tuple[bool, ...], ...]:
    """Rows of cells from the top, black frame included; True is white.

    >>> ["".join("#." [white] for white in row) for row in code_cells(0)]
    ['######', '#.#..#', '##.#.#', '###..#', '###.##', '######']
    """
    black = (False,) * CELLS
    rows = tuple(
        (False, *(bool(int(digit, 16) >> (3 - column) & 1) for column in range(4)), False) for digit in PATTERNS[number]
    )
    return (black, *rows, black)
