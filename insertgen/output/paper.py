"""The paper template of a tray: cover, legend, full-size pages to stick on the wood, drill-hole schedule."""

from __future__ import annotations

from insertgen.model.drawing import Drawing
from insertgen.model.figures import Point
from insertgen.output.cover import base_tiles, cover_pages
from insertgen.output.page import finish, new_canvas
from insertgen.output.papers import TRUE
from insertgen.output.schedule_pages import schedule_pages
from insertgen.output.template import template_page
from insertgen.output.tiling import plan_tiles

__all__ = ["paper_pdf"]


def paper_pdf(drawing: Drawing, *, paper: str, printed: Point = TRUE) -> bytes:
    """PDF of one tray, its base too if that is cut; same drawing, same bytes.

    Parameters
    ----------
    paper : str
        "a4", "letter", "a3", "tabloid", a size such as "13x19in", or "one": one page as large as the blank asks for.
    printed : (float, float)
        What the check bars of 100 mm measured on the user's print, the one marked x and the one marked y: the
        template pages are drawn larger by 100 / printed along each.

    Raises
    ------
    InsertgenError
        A paper that is not known, or too small for its margins; a measure out of 80 to 120 mm.
    """
    tiling = plan_tiles(drawing.blank, paper, printed)
    canvas, buffer = new_canvas(f"{drawing.tray.name}, full-size template")
    cover_pages(canvas, drawing, tiling, paper=paper, printed=printed)
    for sheet in drawing.sheets:
        for tile in tiling.tiles:
            template_page(canvas, drawing, sheet, tiling, tile)
    if drawing.base:
        for tile in base_tiles(tiling, drawing.base):
            template_page(canvas, drawing, drawing.base, tiling, tile)
    schedule_pages(canvas, drawing, paper=paper)
    return finish(canvas, buffer)
