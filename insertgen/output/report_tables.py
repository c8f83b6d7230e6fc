"""Tables and lists of the report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from html import escape
from itertools import groupby

from insertgen.model.drawing import Drawing
from insertgen.model.finding import Finding
from insertgen.output.cut_list import cut_list, tenths
from insertgen.output.drilling import DrillGroup, drill_plan
from insertgen.output.report_page import Spot, TrayPage
from insertgen.output.report_svg import figure_words, spot_letter, told
from insertgen.output.schedule_pages import is_drilled
from insertgen.output.words import counted, size_words, stack_words
from insertgen.units import format_inch, format_mm

__all__ = ["cut_list_table", "findings_list", "glance_table", "legend_table", "schedule", "spots_table", "table"]

#: Columns: what stands over it, and its look: "n" figures, "w" a line of its own on a phone, "t" without its head there.
Columns = Sequence[tuple[str, str]]


def table(columns: Columns, rows: Iterable[Sequence[str]], caption: str = "", kind: str = "") -> str:
    """A table whose cells are HTML already; on a phone its rows become lines of text."""
    head = "".join(f'<th scope="col"{_look(look)}>{escape(title)}</th>' for title, look in columns)
    body = []
    for row in rows:
        cells = "".join(
            f"<td{_look(look)}{_named(title, look)}>{cell}</td>"
            for (title, look), cell in zip(columns, row, strict=True)
        )
        body.append(f"<tr>{cells}</tr>")
    said = f"<caption>{escape(caption)}</caption>" if caption else ""
    return f'<table class="{f"stack {kind}".strip()}">{said}<thead><tr>{head}</tr></thead><tbody>{"".join(body)}</tbody></table>'


def _look(look: str) -> str:
    kinds = " ".join(kind for kind in look if kind in "nw")
    return f' class="{kinds}"' if kinds else ""


def _named(title: str, look: str) -> str:
    """What a phone puts before a cell, whose column has no head there."""
    return "" if "t" in look else f' data-h="{escape(title, quote=True)}"'


def glance_table(pages: Sequence[TrayPage]) -> str:
    rows = []
    for page in pages:
        drawing = page.drawing
        least = {spot.what: figure_words(spot.figure) for spot in page.spots}
        rows.append((
            f'<a href="#{escape(drawing.tray.slug, quote=True)}"><strong>{escape(drawing.tray.name)}</strong></a>',
            str(len(drawing.marks)), escape(size_words(drawing.blank.width, drawing.blank.depth)), escape(stack_words(drawing)),
            least.get("least web", "none"), least.get("least margin", "none"), least.get("least gap", "none"),
        ))  # fmt: skip
    columns = (("tray", "t"), ("items", "n"), ("blank, width x front to back", "w"), ("sheets", "w"), ("least web", "n"),
               ("least margin", "n"), ("least gap", "n"))  # fmt: skip
    return table(columns, rows, kind="many")


def findings_list(findings: Sequence[tuple[int, Finding]]) -> str:
    """Numbered as on the drawings, errors first; each with what to do."""
    if not findings:
        return "<p>Nothing to mend: every written file was read back and checked.</p>"
    return f'<ol class="findings">{"".join(_finding(finding) for _, finding in findings)}</ol>'


def _finding(finding: Finding) -> str:
    where = [finding.placement or finding.tray or "", *(f"with {other}" for other in finding.others)]
    if finding.file:
        where.append(finding.file)
    if finding.layer:
        where.append(f"layer {finding.layer}")
    if finding.at is not None:
        where.append(f"at x {format_mm(finding.at[0], 1)}, y {format_mm(finding.at[1], 1)} mm")
    said = ", ".join(part for part in where if part)
    figures = []
    if finding.figure is not None:
        figures.append(f"found {format_mm(finding.figure)}")
    if finding.limit is not None:
        figures.append(f"limit {format_mm(finding.limit)}")
    figured = f" ({', '.join(figures)})" if figures else ""
    return (
        f'<li class="{finding.severity}"><span class="severity">{escape(str(finding.severity))}</span> '
        f"<strong>{escape(finding.code)}</strong>: {escape(finding.message)}"
        f'{figured}<br><span class="where">{escape(said)}</span><br>'
        f"What to do: {escape(finding.remedy)}</li>"
    )


def spots_table(spots: Sequence[Spot]) -> str:
    """What is marked on the tray's drawing."""
    rows = (
        (f"<strong>{spot_letter(k)}</strong>", escape(spot.what), figure_words(spot.figure),
         f"x {format_mm(spot.at[0], 1)}, y {format_mm(spot.at[1], 1)} mm")
        for k, spot in enumerate(spots)
    )  # fmt: skip
    return table((("mark", "t"), ("what", "t"), ("figure", "nt"), ("where", "n")), rows)


def legend_table(drawing: Drawing) -> str:
    rows = []
    for mark in sorted(drawing.marks, key=lambda mark: (len(mark.tag), mark.tag)):
        tag, label, size, depth, held = map(escape, told(drawing, mark))
        button = f'<button type="button" class="tag" data-show="{escape(mark.placement, quote=True)}">{tag}</button>'
        rows.append((button, f"<strong>{label}</strong>", size, depth, held))
    return table((("tag", "t"), ("what", "t"), ("size", "n"), ("depth", "n"), ("how it is held", "w")), rows, kind="many legend")


def schedule(drawing: Drawing) -> str:
    """The drill-hole schedule: a summary, then a table for each drill; empty where no hole is drilled."""
    if not is_drilled(drawing):
        return ""
    plan = drill_plan(drawing)
    rows = (
        (f"<strong>{escape(group.drill)}</strong>", escape(group.size), str(len(group.rows)), escape(group.uses),
         str(sum(row.hole.through for row in group.rows) or "none"))
        for group in plan
    )  # fmt: skip
    parts = [
        "<h3>Drill-hole schedule</h3><p>X from the left edge, Y from the front edge, each from the edge itself. In the order of "
        "the fewest drill changes; with one drill the shallowest first, right through last.</p>",
        table((("drill", "t"), ("diameter", "n"), ("holes", "n"), ("for", ""), ("through", "n")), rows, "Summary by drill"),
    ]
    for when, groups in groupby(plan, key=lambda group: group.when):
        parts += [_group(group, when) for group in groups]
    return "".join(parts)


def _group(group: DrillGroup, when: str) -> str:
    head = f"{group.drill}: {counted(len(group.rows), 'hole')}, {when}"
    rows = []
    for row in group.rows:
        words = [*([f"sheet {row.sheet}"] if row.sheet else []), row.label, row.purpose, *([] if group.why else [row.why])]
        said = escape("; ".join(word for word in words if word))
        rows.append((f"<strong>{escape(row.tag)}</strong>", said, escape(row.depth), row.x, row.y))
    columns = (("tag", "t"), ("what for", "t"), ("depth", "n"), ("X mm (in)", "n"), ("Y mm (in)", "n"))
    return f'<div class="drill"><h4>{escape(head)}</h4>{table(columns, rows, group.why)}</div>'


def cut_list_table(drawings: Sequence[Drawing]) -> str:
    rows: Iterator[tuple[str, ...]] = (
        (
            f"<strong>{escape(one.part)}</strong>", str(one.quantity), f"{tenths(one.length)} ({format_inch(one.length)})",
            f"{tenths(one.width)} ({format_inch(one.width)})", tenths(one.thickness), escape(one.material), escape(one.grain),
            escape(one.tray), escape(one.note),
        )
        for one in cut_list(drawings)
    )  # fmt: skip
    columns = (("part", "t"), ("quantity", "n"), ("length mm (in)", "n"), ("width mm (in)", "n"), ("thickness mm", "n"),
               ("material", ""), ("grain", ""), ("tray", "w"), ("note", "wt"))  # fmt: skip
    return table(columns, rows, kind="many")
