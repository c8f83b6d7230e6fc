"""The paper template of a tray: cover, legend and full-size pages to stick on the wood."""

from __future__ import annotations

from insertgen.model import Drawing
from insertgen.output.cover import cover_pages
from insertgen.output.page import finish, new_canvas
from insertgen.output.template import template_page
from insertgen.output.tiling import plan_tiles

__all__ = ["paper_pdf"]


def paper_pdf(drawing: Drawing, *, paper: str) -> bytes:
    """PDF of one tray, its base too if that is cut, on "a4" or "letter"; same drawing, same bytes.

    Raises
    ------
    UnitError
        Another paper.
    """
    tiling = plan_tiles(drawing.blank, paper)
    canvas, buffer = new_canvas(f"{drawing.tray.name}, full-size template")
    cover_pages(canvas, drawing, tiling, paper=paper)
    for sheet in (*drawing.sheets, *((drawing.base,) if drawing.base else ())):
        for tile in tiling.tiles:
            template_page(canvas, drawing, sheet, tiling, tile)
    return finish(canvas, buffer)
