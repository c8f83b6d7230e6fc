"""The report of a job: one file that needs nothing beside it, to be read on a phone in the shop or printed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from insertgen.model.drawing import Drawing, SheetDrawing
from insertgen.model.finding import Finding, Severity
from insertgen.output.cautions import caution_text
from insertgen.output.dowels import dowel_words
from insertgen.output.report_page import TrayPage
from insertgen.output.report_stock import stock_section
from insertgen.output.report_style import SCRIPT, STYLE
from insertgen.output.report_svg import sheet_svg, tray_svg
from insertgen.output.report_tables import (
    cut_list_table,
    findings_list,
    glance_table,
    legend_table,
    schedule,
    spots_table,
)
from insertgen.output.routing import template_words
from insertgen.output.words import counted, fence_words, sheet_words, size_words, stack_words
from insertgen.rules import CAUTION_TAIL

__all__ = ["report_html"]

# nothing may be fetched, so that the file works from anywhere and tells nobody that it is read
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:"
_HOME = "Hover over an item, tap it, or go to it with the tab key: tag, label, size, depth and how it is held are said here."

Numbered = Sequence[tuple[int, Finding]]


def report_html(
    job_name: str, pages: Sequence[TrayPage], findings: Sequence[Finding], cautions: Sequence[str], version: str
) -> str:
    """One HTML file with all trays of a job; same input, same bytes.

    Parameters
    ----------
    pages : sequence of TrayPage
        In job order; their trays' slugs differ.
    findings : sequence of Finding
        In any order; errors are put first.
    cautions : sequence of str
        Codes of `insertgen.rules.CAUTIONS`.

    Raises
    ------
    OutputError
        A caution that is not known.
    """
    ordered = sorted(findings, key=lambda finding: finding.severity is not Severity.ERROR)
    numbered = list(enumerate(ordered, 1))
    drawings = [page.drawing for page in pages]
    body = [
        f"<header><h1>{escape(job_name)}</h1><p>Fitted inserts for {counted(len(pages), 'tray')}.</p></header>",
        _contents(drawings),
        f"<main><h2>At a glance</h2>{glance_table(pages)}",
        f'<section id="findings"><h2>Findings</h2>{_count(ordered)}{findings_list(numbered)}</section>',
        f'<section id="cautions"><h2>Before you cut</h2>{_cautions(cautions)}</section>',
        *(_tray(page, _of_tray(numbered, page.drawing)) for page in pages),
        f'<section id="cut-list" class="cut-list"><h2>Cut list</h2><p>Blanks, router templates, and what stands in bores. '
        f"Finished sizes.</p>{cut_list_table(drawings)}</section>{stock_section(drawings)}</main>",
        f"<footer>Made by insertgen {escape(version)}. Lengths in mm, inch fractions to 1/64.</footer>",
    ]
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        '<meta name="viewport" content="width=device-width,initial-scale=1"><link rel="icon" href="data:,">'
        f"<title>{escape(job_name)}: fitted inserts</title><style>{STYLE}</style></head>\n"
        f"<body>{chr(10).join(body)}\n<script>{SCRIPT}</script></body></html>\n"
    )


def _contents(drawings: Sequence[Drawing]) -> str:
    links = [("findings", "Findings"), ("cautions", "Before you cut")]
    links += [(drawing.tray.slug, drawing.tray.name) for drawing in drawings]
    stock = [("stock-sheets", "Stock")] if any(sheet.size for drawing in drawings for sheet in drawing.tray.stack) else []
    items = "".join(
        f'<li><a href="#{escape(anchor, quote=True)}">{escape(words)}</a></li>' for anchor, words in (*links, ("cut-list", "Cut list"), *stock)
    )
    return f'<nav aria-label="Contents"><ul>{items}</ul></nav>'


def _count(findings: Sequence[Finding]) -> str:
    if not findings:
        return ""
    errors = sum(finding.severity is Severity.ERROR for finding in findings)
    return f"<p>{errors} to mend, {len(findings) - errors} to look at. Those with a place are marked by their number.</p>"


def _cautions(codes: Sequence[str]) -> str:
    texts = [caution_text(code).replace(CAUTION_TAIL, "").strip() for code in codes]
    items = "".join(f"<li>{escape(words)}</li>" for words in texts)
    return f"<ul>{items}</ul><p><strong>{escape(CAUTION_TAIL)}</strong></p>"


def _of_tray(numbered: Numbered, drawing: Drawing) -> Numbered:
    names = {drawing.tray.slug, drawing.tray.name}
    return [(count, finding) for count, finding in numbered if finding.tray in names]


def _tray(page: TrayPage, findings: Numbered) -> str:
    drawing = page.drawing
    tray, slug = drawing.tray, escape(drawing.tray.slug, quote=True)
    parts = [
        f'<section class="tray" id="{slug}"><h2>{escape(tray.name)}</h2>',
        f"<p>Blank {escape(size_words(drawing.blank.width, drawing.blank.depth))}, width x front to back; "
        f"{escape(stack_words(drawing))}.</p>",
        *_views(page, findings),
        f'<p class="said" role="status">{_HOME}</p>',
        f"<h3>Marked on the drawing</h3>{spots_table(page.spots)}" if page.spots else "",
        f"<h3>Legend</h3>{legend_table(drawing)}" if drawing.marks else "",
        schedule(drawing),
        _list("Registration dowels", [escape(line) for line in dowel_words(drawing)]),
        _list("Slots, routed against a fence", [escape(fence_words(fence)) for fence in drawing.fences]),
        _list("Router templates", [escape(line) for line in template_words(drawing)]),
        _list("Files", [f'<a href="{escape(name, quote=True)}">{escape(name)}</a>' for name in page.files]),
        "</section>",
    ]
    return "".join(parts)


def _list(title: str, lines: Sequence[str]) -> str:
    if not lines:
        return ""
    return f"<h3>{escape(title)}</h3><ul>{''.join(f'<li>{line}</li>' for line in lines)}</ul>"


def _views(page: TrayPage, findings: Numbered) -> Iterator[str]:
    """The tray, then every sheet, the base and the templates; the script shows them one by one."""
    drawing, slug = page.drawing, page.drawing.tray.slug
    whole = tray_svg(drawing, page.spots, findings, f"{slug}-tray")
    yield _view(f"{slug}-tray", "Tray", f"{drawing.tray.name}, items in their seats", whole)
    for sheet, tab, title in _sheets(drawing):
        name = f"{slug}-{sheet.name}"
        yield _view(name, tab, title, sheet_svg(drawing, sheet, title, name))


def _sheets(drawing: Drawing) -> Iterator[tuple[SheetDrawing, str, str]]:
    for sheet in drawing.sheets:
        block = len(drawing.sheets) == 1
        yield sheet, "Cuts" if block else f"Sheet {sheet.number}", f"Cuts of {sheet_words(drawing, sheet)}"
    if drawing.base:
        yield drawing.base, "Base", sheet_words(drawing, drawing.base)
    for sheet in drawing.templates:
        yield sheet, sheet.name.replace("-", " ").capitalize(), f"Router {sheet.name.replace('-', ' ')}, dashed: the blank"


def _view(name: str, tab: str, title: str, svg: str) -> str:
    name = escape(name, quote=True)
    return f'<figure class="view" id="{name}" data-tab="{escape(tab, quote=True)}"><figcaption><h3>{escape(title)}</h3></figcaption>{svg}</figure>'
