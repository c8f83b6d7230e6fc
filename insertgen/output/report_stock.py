"""What the report shows of stock: the blanks set out on its sheets, a picture each."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from insertgen.model.drawing import Drawing
from insertgen.output.set_out import SAW, StockSheet, set_out
from insertgen.output.svg_path import number
from insertgen.output.words import counted, size_words
from insertgen.units import format_mm

__all__ = ["stock_section"]

_LETTERS = 44.0  # a stock sheet's width over the height of its texts


def stock_section(drawings: Sequence[Drawing]) -> str:
    """Empty where no stock says its size."""
    found = set_out(drawings)
    if not found.sheets and not found.left:
        return ""
    left = "".join(
        f"<li>{escape(piece.name)}, {escape(size_words(piece.width, piece.depth))}, goes on no sheet of {escape(stock.name)}: "
        f"the machine that cuts it out needs {format_mm(piece.beside)} mm more on every side. Use a larger sheet.</li>"
        for stock, piece in found.left
    )
    return (
        '<section id="stock-sheets"><h2>Blanks on their stock</h2>'
        f"<p>Every saw cut goes from edge to edge of what is left; {format_mm(SAW)} mm for the saw between two blanks. What the machine cuts out "
        "lies further apart. Sizes are finished sizes.</p>"
        f"{f'<ul>{left}</ul>' if left else ''}{''.join(_figure(sheet) for sheet in found.sheets)}</section>"
    )


def _figure(sheet: StockSheet) -> str:
    assert sheet.stock.size is not None
    wide, deep = sheet.stock.size
    title = (
        f"{sheet.stock.name}, sheet {sheet.number}, {size_words(wide, deep)}: {counted(len(sheet.pieces), 'blank')}, "
        f"{sheet.used * 100:.0f} % of it"
    )
    unit = wide / _LETTERS
    body = [f'<rect class="stock" x="0" y="0" width="{number(wide)}" height="{number(deep)}"/>']
    for piece in sheet.pieces:
        x, y = piece.at[0], deep - piece.at[1] - piece.depth
        body.append(f'<rect class="wood" x="{number(x)}" y="{number(y)}" width="{number(piece.width)}" height="{number(piece.depth)}"/>')
        lines = (piece.name, f"{format_mm(piece.width, 1)} x {format_mm(piece.depth, 1)} mm{', turned' if piece.turned else ''}")
        small = min(unit, 1.6 * piece.width / max(len(line) for line in lines), piece.depth / 3)
        for k, line in enumerate(lines):
            at = number(x + piece.width / 2), number(y + piece.depth / 2 + (k - 0.5) * 1.4 * small)
            body.append(f'<text x="{at[0]}" y="{at[1]}" style="font-size:{number(small)}px">{escape(line)}</text>')
    edge = number(unit / 4)
    box = f"-{edge} -{edge} {number(wide + unit / 2)} {number(deep + unit / 2)}"
    return (
        f'<figure class="view"><figcaption><h3>{escape(title)}</h3></figcaption>'
        f'<svg class="plan" viewBox="{box}" role="img" aria-label="{escape(title, quote=True)}" style="--u:{number(unit)}px">'
        f'{"".join(body)}</svg></figure>'
    )
