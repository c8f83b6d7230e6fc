"""report.json, read back by json (an independent reader) and by our own."""

from __future__ import annotations

import dataclasses
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.errors import JobError
from insertgen.files.report import (
    CutReport,
    LayerReport,
    Report,
    SeatReport,
    SheetReport,
    TrayReport,
    findings_json,
    read_report,
    write_report,
)
from insertgen.model.drawing import Operation
from insertgen.model.finding import Finding, Severity
from insertgen.model.job import Blank

ONE = Report(
    version="0.1.0",
    files=(("sanding/sheet-1.dxf", "ab" * 32), ("source/north.toml", "cd" * 32)),
    trays=(
        TrayReport(
            name="sanding",
            blank=Blank(354.6, 456.2),
            least_web=6.12345,
            least_margin=None,
            fill=0.45,
            sheets=(
                SheetReport(
                    "sanding/sheet-1.dxf",
                    "mdf",
                    18.0,
                    (
                        LayerReport("POCKET_12MM", Operation.POCKET, 12.0, False, 3, 3.175),
                        LayerReport("EDGE", Operation.EDGE, 18.0, True, 1, None),
                    ),
                    "in",
                ),
            ),
            seats=(
                SeatReport(
                    "sanding/01",
                    1.4,
                    0.4,
                    0.1,
                    2.5,
                    (CutReport(1, "POCKET_12MM", "contour", (10.0, 20.0), None, 12.0, False),),
                ),
                SeatReport(
                    "sanding/02",
                    0.0,
                    0.0,
                    None,
                    None,
                    (CutReport(1, "BORE_THROUGH", "circle", (30.0, 20.0), 6.7469, 18.0, True),),
                ),
            ),
            notes=("choose inches when you open sheet-1-in.dxf",),
        ),
    ),
    findings=(
        Finding("web-thin", Severity.ERROR, "two\nlines", "", "sanding", at=(1.0, 2.0), figure=5.0, limit=6.0),
        Finding(
            "left-out", Severity.ERROR, "no room", "larger tray", placement="sanding/03", others=("a", "b")
        ),
    ),
    cautions=("always", "mdf-dust"),
)


def test_written_and_read_back_it_is_the_same_to_a_tenth_of_a_micrometre() -> None:
    text = write_report(ONE)
    back = read_report(text, "report.json")
    assert write_report(back) == text
    (tray,) = back.trays
    assert tray.least_web == 6.1234 or tray.least_web == 6.1235
    assert dataclasses.replace(back, trays=(dataclasses.replace(tray, least_web=6.12345),)) == ONE


def test_the_published_keys_and_no_others() -> None:
    data = json.loads(write_report(ONE))
    assert set(data) == {"format", "version", "files", "trays", "findings", "cautions"}
    (tray,) = data["trays"]
    assert set(tray) == {"name", "blank", "least_web", "least_margin", "fill", "sheets", "seats", "fences", "rounded", "notes"}
    (sheet,) = tray["sheets"]
    assert set(sheet) == {"file", "units", "stock", "thickness", "layers"}
    assert set(sheet["layers"][0]) == {"name", "operation", "depth", "through", "count", "least_inside_radius"}
    assert set(tray["seats"][0]) == {
        "placement", "clearance", "expected_error", "least_gap", "unreached_area", "extra_area", "hang", "asked_depth",
        "cuts",
    }  # fmt: skip
    assert set(tray["seats"][0]["cuts"][0]) == {
        "sheet", "layer", "kind", "at", "diameter", "depth", "through", "passes",
    }  # fmt: skip
    assert data["files"][0] == {"path": "sanding/sheet-1.dxf", "sha256": "ab" * 32}


def test_findings_carry_every_field_of_the_noun() -> None:
    fields = {field.name for field in dataclasses.fields(Finding)}
    for finding in findings_json(ONE.findings):
        assert set(finding) == fields
    assert json.loads(json.dumps(findings_json(ONE.findings)))[0]["at"] == [1.0, 2.0]


optional = st.none() | st.integers(-(10**9), 10**9).map(lambda n: n / 1e4)
texts = st.none() | st.text(max_size=10)
findings = st.builds(
    Finding,
    code=st.sampled_from(["overlap", "crumb"]),
    severity=st.sampled_from(Severity),
    message=st.text(max_size=20),
    remedy=st.text(max_size=20),
    tray=texts,
    file=texts,
    layer=texts,
    placement=texts,
    at=st.none() | st.tuples(st.integers(-9999, 9999).map(float), st.integers(-9999, 9999).map(float)),
    figure=optional,
    limit=optional,
    others=st.lists(st.text(max_size=5), max_size=3).map(tuple),
)


@given(st.lists(findings, max_size=3).map(tuple))
def test_any_finding_comes_back(found: tuple[Finding, ...]) -> None:
    report = Report("1", (), (), found)
    assert read_report(write_report(report), "report.json") == report


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (
            '"contour"',
            '"countour"',
            'trays[0].seats[0].cuts[0].kind: unknown word "countour"; did you mean "contour"?',
        ),
        ('"pocket"', '"pocked"', 'trays[0].sheets[0].layers[0].operation: unknown word "pocked"; did you mean'),
        ('"fill": 0.45', '"fill": null', "trays[0].fill: null must be a finite number"),
        ('"severity": "error"', '"severity": "bad"', "findings[0].severity"),
        ('"cautions"', '"caution"', 'unknown key "caution"; did you mean "cautions"?'),
        ('"message": "two', '"message": 3, "x": "', "findings[0].x"),
    ],
)
def test_a_damaged_report_is_refused(old: str, new: str, expected: str) -> None:
    text = write_report(ONE)
    assert old in text
    with pytest.raises(JobError) as raised:
        read_report(text.replace(old, new, 1), "report.json")
    assert expected in str(raised.value)


def test_a_number_that_is_none_is_never_written() -> None:
    bad = Finding("crumb", Severity.WARNING, "m", "r", figure=float("nan"))
    with pytest.raises(ValueError, match="JSON"):
        write_report(Report("1", (), (), (bad,)))
