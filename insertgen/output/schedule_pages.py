"""The drill-hole schedule on paper."""

from __future__ import annotations

from itertools import groupby

from reportlab.pdfgen.canvas import Canvas

from insertgen.model.drawing import Drawing
from insertgen.output.drilling import DrillGroup, drill_plan
from insertgen.output.flow import Flow, column_widths
from insertgen.output.words import counted, size_words

__all__ = ["is_drilled", "schedule_pages"]

_SUMMARY = (("drill", 40.0), ("diameter", 40.0), ("holes", 16.0), ("for", 70.0), ("through", 18.0))
_ROWS = (("tag", 10.0), ("what for", 78.0), ("depth", 36.0), ("X mm (in)", 31.0), ("Y mm (in)", 31.0))


def is_drilled(drawing: Drawing) -> bool:
    """Whether a tray has holes that somebody has to set out: a laser cuts them from its own file."""
    return any(hole.bore.drill or drawing.tray.cutting.machine != "laser" for hole in drawing.holes)


def schedule_pages(canvas: Canvas, drawing: Drawing, *, paper: str) -> None:
    """Draw the schedule, on as many pages as it needs; nothing where no hole is drilled."""
    if not is_drilled(drawing):
        return
    plan = drill_plan(drawing)
    flow = Flow(canvas, paper)
    flow.line(f"{drawing.tray.name}: drill-hole schedule", 5.0, bold=True)
    flow.gap(1)
    flow.line(f"blank {size_words(drawing.blank.width, drawing.blank.depth)}, width x front to back, face up")
    flow.line("X from the left edge, Y from the front edge, each measured from the edge itself, never from the hole before. "
              "Inch fractions to 1/64.")  # fmt: skip
    flow.line("In the order of the fewest drill changes; with one drill the shallowest first, right through last, then the "
              "short way from the front left corner.")  # fmt: skip
    flow.gap(3)
    _summary(flow, plan)
    several = len({group.when for group in plan}) > 1
    for when, groups in groupby(plan, key=lambda group: group.when):
        flow.gap(4)
        flow.need(24)
        flow.line(f"Bore {when}" if several or not when.startswith("at any") else "Holes", 3.6, bold=True)
        for group in groups:
            _group(flow, group)
    canvas.showPage()


def _summary(flow: Flow, plan: tuple[DrillGroup, ...]) -> None:
    widths, head = column_widths(flow, _SUMMARY), [title for title, _ in _SUMMARY]
    flow.line("Summary by drill", 3.6, bold=True)
    flow.gap(1)
    flow.row(head, widths, bold=True)
    for group in plan:
        through = sum(row.hole.through for row in group.rows)
        cells = (group.drill, group.size, str(len(group.rows)), group.uses, str(through) if through else "none")
        flow.row(cells, widths, head)


def _group(flow: Flow, group: DrillGroup) -> None:
    widths, head = column_widths(flow, _ROWS), [title for title, _ in _ROWS]
    flow.gap(3)
    flow.need(18)
    flow.line(f"{group.drill}: {counted(len(group.rows), 'hole')}{', ' + group.why if group.why else ''}", 3.2, bold=True)
    flow.gap(0.8)
    flow.row(head, widths, bold=True)
    for row in group.rows:
        sheet = f"sheet {row.sheet}: " if row.sheet else ""
        label = f"{row.label}: " if row.label else ""
        why = "" if group.why else f". {row.why}"
        flow.row((row.tag, f"{sheet}{label}{row.purpose}{why}", row.depth, row.x, row.y), widths, head)
