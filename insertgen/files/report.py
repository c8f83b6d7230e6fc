"""report.json: what was made, figure by figure, to a `Report` and back."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass

from insertgen.files.json_text import maybe_point, point, read_json, rounded
from insertgen.files.table import Table
from insertgen.model.drawing import Operation
from insertgen.model.figures import Point
from insertgen.model.finding import Finding, Severity
from insertgen.model.job import Blank

__all__ = [
    "CutReport", "FenceReport", "LayerReport", "Report", "RoundedReport", "SeatReport", "SheetReport", "TrayReport", "findings_json", "read_report",
    "write_report",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class CutReport:
    """One cut of a seat as drawn; ``at`` in the blank frame, ``kind`` "circle" or "contour"."""

    sheet: int
    layer: str
    kind: str
    at: Point
    diameter: float | None  # of a circle
    depth: float
    through: bool
    passes: int | None = None  # of the router, one cutter diameter each (common practice, no source); None: not routed


@dataclass(frozen=True, slots=True)
class FenceReport:
    """How a slot is routed against a fence; see `insertgen.model.drawing.Fence`."""

    placement: str
    edge: str
    distance: float
    shift: float
    cutter: float


@dataclass(frozen=True, slots=True)
class RoundedReport:
    """A corner of wood that a router template rounds off; see `insertgen.model.drawing.Rounded`."""

    placement: str
    at: Point
    by: float


@dataclass(frozen=True, slots=True)
class SeatReport:
    """A seat by the id of its placement; ``asked_depth`` where a laser cuts another depth than asked."""

    placement: str
    clearance: float
    expected_error: float
    least_gap: float | None
    unreached_area: float | None
    cuts: tuple[CutReport, ...]
    extra_area: float | None = None  # cut beyond the outline grown by its clearance, finger recesses apart
    hang: float = 0.0  # how far the item reaches below insert and base
    asked_depth: float | None = None


@dataclass(frozen=True, slots=True)
class LayerReport:
    name: str
    operation: Operation
    depth: float
    through: bool
    count: int
    least_inside_radius: float | None  # None: no inside corner or arc


@dataclass(frozen=True, slots=True)
class SheetReport:
    """``file`` relative to the report; ``units`` are those of its coordinates, which an R12 file cannot say itself."""

    file: str
    stock: str
    thickness: float
    layers: tuple[LayerReport, ...]
    units: str = "mm"


@dataclass(frozen=True, slots=True)
class TrayReport:
    """``fill`` is the share of the blank that seats and their room take, 0 to 1."""

    name: str
    blank: Blank
    least_web: float | None  # None: fewer than two cuts
    least_margin: float | None
    fill: float
    sheets: tuple[SheetReport, ...]
    seats: tuple[SeatReport, ...]
    fences: tuple[FenceReport, ...] = ()
    rounded: tuple[RoundedReport, ...] = ()
    notes: tuple[str, ...] = ()  # what the user should know of the files


@dataclass(frozen=True, slots=True)
class Report:
    """``files``: path relative to the report, with "/", and sha256 in hex."""

    version: str
    files: tuple[tuple[str, str], ...]
    trays: tuple[TrayReport, ...]
    findings: tuple[Finding, ...] = ()
    cautions: tuple[str, ...] = ()


def write_report(report: Report) -> str:
    """JSON text, numbers to 1e-4; no times, no absolute paths: the same report gives the same text."""
    whole = {
        "format": 1,
        "version": report.version,
        "files": [{"path": path, "sha256": sha} for path, sha in report.files],
        "trays": [_tray(tray) for tray in report.trays],
        "findings": findings_json(report.findings),
        "cautions": list(report.cautions),
    }
    return json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _tray(tray: TrayReport) -> dict[str, object]:
    return {
        "name": tray.name,
        "blank": [rounded(tray.blank.width), rounded(tray.blank.depth)],
        "least_web": _maybe(tray.least_web),
        "least_margin": _maybe(tray.least_margin),
        "fill": rounded(tray.fill),
        "sheets": [_sheet(sheet) for sheet in tray.sheets],
        "seats": [_seat(seat) for seat in tray.seats],
        "fences": [
            {
                "placement": fence.placement,
                "edge": fence.edge,
                "distance": rounded(fence.distance),
                "shift": rounded(fence.shift),
                "cutter": rounded(fence.cutter),
            }
            for fence in tray.fences
        ],
        "rounded": [
            {"placement": one.placement, "at": _maybe_at(one.at), "by": rounded(one.by)} for one in tray.rounded
        ],
        "notes": list(tray.notes),
    }


def _sheet(sheet: SheetReport) -> dict[str, object]:
    layers = [
        {
            "name": layer.name,
            "operation": str(layer.operation),
            "depth": rounded(layer.depth),
            "through": layer.through,
            "count": layer.count,
            "least_inside_radius": _maybe(layer.least_inside_radius),
        }
        for layer in sheet.layers
    ]
    return {
        "file": sheet.file,
        "units": sheet.units,
        "stock": sheet.stock,
        "thickness": rounded(sheet.thickness),
        "layers": layers,
    }


def _seat(seat: SeatReport) -> dict[str, object]:
    cuts = [
        {
            "sheet": cut.sheet,
            "layer": cut.layer,
            "kind": cut.kind,
            "at": _maybe_at(cut.at),
            "diameter": _maybe(cut.diameter),
            "depth": rounded(cut.depth),
            "through": cut.through,
            "passes": cut.passes,
        }
        for cut in seat.cuts
    ]
    return {
        "placement": seat.placement,
        "clearance": rounded(seat.clearance),
        "expected_error": rounded(seat.expected_error),
        "least_gap": _maybe(seat.least_gap),
        "unreached_area": _maybe(seat.unreached_area),
        "extra_area": _maybe(seat.extra_area),
        "hang": rounded(seat.hang),
        "asked_depth": _maybe(seat.asked_depth),
        "cuts": cuts,
    }


def findings_json(findings: Iterable[Finding]) -> list[dict[str, object]]:
    """Each finding as an object with every field of `Finding`, null where there is nothing to say."""
    return [
        {
            "code": finding.code,
            "severity": str(finding.severity),
            "message": finding.message,
            "remedy": finding.remedy,
            "tray": finding.tray,
            "file": finding.file,
            "layer": finding.layer,
            "placement": finding.placement,
            "at": _maybe_at(finding.at),
            "figure": _maybe(finding.figure),
            "limit": _maybe(finding.limit),
            "others": list(finding.others),
        }
        for finding in findings
    ]


def _maybe(value: float | None) -> float | None:
    return None if value is None else rounded(value)


def _maybe_at(at: Point | None) -> list[float] | None:
    return None if at is None else [rounded(at[0]), rounded(at[1])]


# ---- reading -----------------------------------------------------------------------------------


def read_report(text: str, file: str) -> Report:
    """The report that `write_report` wrote.

    Raises
    ------
    JobError
        No JSON, or not of this format: names file and key.
    """
    table = read_json(text, file)
    table.format()
    table.only("format", "version", "files", "trays", "findings", "cautions")
    return Report(
        version=table.text("version"),
        files=tuple(
            (each.only("path", "sha256").text("path"), each.text("sha256")) for each in table.tables("files")
        ),
        trays=tuple(_read_tray(each) for each in table.tables("trays")),
        findings=tuple(_read_finding(each) for each in table.tables("findings")),
        cautions=_texts(table, "cautions"),
    )


def _read_tray(table: Table) -> TrayReport:
    table.only("name", "blank", "least_web", "least_margin", "fill", "sheets", "seats", "fences", "rounded", "notes")
    return TrayReport(
        name=table.text("name"),
        blank=Blank(*point(table, "blank")),
        least_web=table.maybe_number("least_web"),
        least_margin=table.maybe_number("least_margin"),
        fill=table.number("fill"),
        sheets=tuple(_read_sheet(each) for each in table.tables("sheets")),
        seats=tuple(_read_seat(each) for each in table.tables("seats")),
        fences=tuple(_read_fence(each) for each in table.tables("fences")),
        rounded=tuple(_read_rounded(each) for each in table.tables("rounded")),
        notes=_texts(table, "notes") if table.has("notes") else (),
    )


def _read_rounded(table: Table) -> RoundedReport:
    table.only("placement", "at", "by")
    return RoundedReport(table.text("placement"), point(table, "at"), table.number("by"))


def _read_fence(table: Table) -> FenceReport:
    table.only("placement", "edge", "distance", "shift", "cutter")
    return FenceReport(
        placement=table.text("placement"),
        edge=table.word("edge", ("front", "back", "left", "right")),
        distance=table.number("distance"),
        shift=table.number("shift"),
        cutter=table.number("cutter"),
    )


def _read_sheet(table: Table) -> SheetReport:
    table.only("file", "units", "stock", "thickness", "layers")
    layers = tuple(_read_layer(each) for each in table.tables("layers"))
    units = table.word("units", ("mm", "in")) if table.has("units") else "mm"
    return SheetReport(table.text("file"), table.text("stock"), table.number("thickness"), layers, units)


def _read_layer(table: Table) -> LayerReport:
    table.only("name", "operation", "depth", "through", "count", "least_inside_radius")
    return LayerReport(
        name=table.text("name"),
        operation=Operation(table.word("operation", [str(each) for each in Operation])),
        depth=table.number("depth"),
        through=table.flag("through"),
        count=table.whole("count", least=0, most=10**9),
        least_inside_radius=table.maybe_number("least_inside_radius"),
    )


def _read_seat(table: Table) -> SeatReport:
    table.only("placement", "clearance", "expected_error", "least_gap", "unreached_area", "extra_area", "hang", "asked_depth", "cuts")
    return SeatReport(
        placement=table.text("placement"),
        clearance=table.number("clearance"),
        expected_error=table.number("expected_error"),
        least_gap=table.maybe_number("least_gap"),
        unreached_area=table.maybe_number("unreached_area"),
        cuts=tuple(_read_cut(each) for each in table.tables("cuts")),
        extra_area=table.maybe_number("extra_area"),
        hang=table.number("hang"),
        asked_depth=table.maybe_number("asked_depth"),
    )


def _read_cut(table: Table) -> CutReport:
    table.only("sheet", "layer", "kind", "at", "diameter", "depth", "through", "passes")
    return CutReport(
        sheet=table.whole("sheet"),
        layer=table.text("layer"),
        kind=table.word("kind", ("circle", "contour")),
        at=point(table, "at"),
        diameter=table.maybe_number("diameter"),
        depth=table.number("depth"),
        through=table.flag("through"),
        passes=None if table.values.get("passes") is None else table.whole("passes"),
    )


def _read_finding(table: Table) -> Finding:
    table.only(
        "code",
        "severity",
        "message",
        "remedy",
        "tray",
        "file",
        "layer",
        "placement",
        "at",
        "figure",
        "limit",
        "others",
    )
    return Finding(
        code=table.text("code"),
        severity=Severity(table.word("severity", [str(each) for each in Severity])),
        message=_string(table, "message"),
        remedy=_string(table, "remedy"),
        tray=_maybe_string(table, "tray"),
        file=_maybe_string(table, "file"),
        layer=_maybe_string(table, "layer"),
        placement=_maybe_string(table, "placement"),
        at=maybe_point(table, "at"),
        figure=table.maybe_number("figure"),
        limit=table.maybe_number("limit"),
        others=_texts(table, "others"),
    )


def _string(table: Table, key: str) -> str:
    value = table.need(key, '""')
    if not isinstance(value, str):
        raise table.fault(key, "must be a text")
    return value


def _maybe_string(table: Table, key: str) -> str | None:
    return None if table.values.get(key) is None else _string(table, key)


def _texts(table: Table, key: str) -> tuple[str, ...]:
    values = table.elements(key, "of texts")
    if not all(isinstance(value, str) for value in values):
        raise table.fault(key, "must be a list of texts")
    return tuple(str(value) for value in values)
