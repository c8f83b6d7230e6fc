"""Every writer of the table, held to the same contract; a build in every drawing style read back by the check."""

from __future__ import annotations

import re
import tempfile
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import pytest

from insertgen.arrange.arrange import arrange
from insertgen.errors import OutputError
from insertgen.exchange.dxf import RELEASES, UNITS, DxfStyle
from insertgen.files.job import read_job
from insertgen.items.resolve import items_of
from insertgen.model.drawing import Drawing
from insertgen.model.finding import Finding
from insertgen.model.shape import Shape
from insertgen.pipeline.build import Built, build
from insertgen.pipeline.verify import check_folder, check_written
from insertgen.pipeline.writers import WRITERS, Options, Writer, files_of, notes_of
from insertgen.seats.seat import seat_for
from insertgen.sheets.draw import draw
from tests.test_pipeline_verify import JOB

STYLES = [DxfStyle(release, unit) for release, unit in product(RELEASES, UNITS)]
EVERYTHING = Options(paper="letter", printed=(98.6, 99.1), dxf=DxfStyle("r12", "in"), marks=True)
NAMES = """[layers]
outside = "CONTOUR"
pocket = "RECESS_{depth}"
bore = "HOLE_{depth}"
bore_through = "HOLE"
[[tray]]
"""

writers = pytest.mark.parametrize("writer", WRITERS, ids=lambda writer: writer.name)


def no_shape(name: str) -> Shape:
    raise AssertionError(name)


@cache
def drawing() -> Drawing:
    (tray,) = read_job(JOB, "job.toml", no_shape).trays
    tray = replace(tray, items=items_of(tray))
    seats = tuple(seat_for(item, tray) for item in tray.items)
    return draw(tray, seats, arrange(tray, seats, seed=0, seconds=2.0))


@cache
def rendered(writer: Writer) -> dict[str, bytes]:
    return dict(writer.render(drawing(), EVERYTHING))


# ---- the contract ------------------------------------------------------------------------------


@writers
def test_it_writes_something_under_its_suffix(writer: Writer) -> None:
    files = rendered(writer)
    assert files
    for name, data in files.items():
        assert Path(name).suffix == writer.suffix
        assert re.fullmatch(r"[a-z0-9][a-z0-9.-]*", name), "a plain name, in no folder"
        assert data


@writers
def test_the_same_drawing_gives_the_same_bytes(writer: Writer) -> None:
    assert dict(writer.render(drawing(), EVERYTHING)) == rendered(writer)


@writers
def test_nothing_of_this_machine_stands_in_it(writer: Writer) -> None:
    for data in rendered(writer).values():
        for path in (tempfile.gettempdir(), str(Path.home()), str(Path.cwd()), str(Path(__file__).parent)):
            assert path.encode() not in data


@writers
def test_it_says_what_it_is_for(writer: Writer) -> None:
    assert writer.help
    assert writer.help == writer.help.strip().rstrip(".")


def test_no_two_writers_share_a_name_or_a_file() -> None:
    assert len({writer.name for writer in WRITERS}) == len(WRITERS)
    names = [name for writer in WRITERS for name in rendered(writer)]
    assert sorted(names) == sorted(set(names)) == sorted(files_of(drawing(), EVERYTHING))


def test_marks_are_written_only_if_asked() -> None:
    plain = files_of(drawing(), Options())
    assert set(plain) == {
        "sheet-1.dxf", "sheet-1.svg", "base.dxf", "base.svg", "template-1.dxf", "template-1.svg", "holes.csv",
        "preview.png", "paper-a4.pdf",
    }  # fmt: skip
    assert set(files_of(drawing(), Options(marks=True))) == {*plain, "marks-1.dxf"}


def test_the_unit_of_an_r12_file_is_said_and_no_other_needs_it() -> None:
    assert notes_of(drawing(), Options()) == notes_of(drawing(), Options(dxf=DxfStyle("r2000", "in"))) == ()
    (note,) = notes_of(drawing(), Options(dxf=DxfStyle("r12", "in")))
    assert "inches" in note
    assert "sheet-1-in.dxf" in note


# ---- built and read back -----------------------------------------------------------------------


@cache
def made(style: DxfStyle, text: str = JOB, *, marks: bool = False) -> tuple[Built, dict[str, bytes]]:
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job.toml"
        job.write_text(text, encoding="utf-8")
        built = build(job, out=Path(folder) / "out", seconds=2.0, dxf=style, marks=marks)
        assert built.folder is not None
        assert check_folder(built.folder) == ()
        paths = [path for path in built.folder.rglob("*") if path.is_file()]
        return built, {path.relative_to(built.folder).as_posix(): path.read_bytes() for path in paths}


def judged(files: dict[str, bytes]) -> list[tuple[str, str | None]]:
    found: tuple[Finding, ...] = check_written("source/job.toml", files.get)
    return [(one.code, one.file) for one in found]


@pytest.mark.parametrize("style", STYLES, ids=str)
def test_a_build_in_any_style_is_judged_faultless(style: DxfStyle) -> None:
    built, files = made(style)
    (tray,) = built.report.trays
    assert built.report.findings == ()
    assert {sheet.units for sheet in tray.sheets} == {style.units}
    assert all(f"bench/{sheet.file}" in files for sheet in tray.sheets)


def test_a_build_with_layer_names_of_its_own_is_judged_faultless() -> None:
    built, files = made(DxfStyle(), JOB.replace("[[tray]]\n", NAMES))
    layers = {layer.name for tray in built.report.trays for sheet in tray.sheets for layer in sheet.layers}
    assert {"CONTOUR", "RECESS_10", "HOLE_15"} <= layers
    assert not {"OUTSIDE_THROUGH", "POCKET_10MM"} & layers
    house = files | {"bench/sheet-1.dxf": files["bench/sheet-1.dxf"].replace(b"RECESS_10\n", b"POCKET_10MM\n")}
    assert ("layer-unknown", "bench/sheet-1.dxf") in [(code, f"bench/{file}") for code, file in judged(house)]


@pytest.mark.parametrize("style", [DxfStyle("r2000", "in"), DxfStyle("r12", "in"), DxfStyle("r12", "mm")], ids=str)
def test_a_unit_mistaken_is_convicted(style: DxfStyle) -> None:
    """The file of another unit put in its place; of R12 the other unit in the name, of R2000 in the header."""
    _, files = made(style)
    name = next(name for name in files if name.startswith("bench/sheet-1") and name.endswith(".dxf"))
    if style.release == "r12":
        other = name.replace("-in.", "-mm.") if style.units == "in" else name.replace("-mm.", "-in.")
        changed = {**files, other: files[name]}
        del changed[name]
    else:
        other, changed = name, {**files, name: files[name].replace(b"$INSUNITS\n 70\n1\n", b"$INSUNITS\n 70\n4\n")}
        assert changed != files
    assert judged(changed)[0] == ("units-wrong", other.removeprefix("bench/"))


def test_an_r12_file_that_says_no_unit_is_convicted() -> None:
    _, files = made(DxfStyle("r12", "mm"))
    changed = {name.replace("sheet-1-mm", "sheet-1"): data for name, data in files.items()}
    assert judged(changed) == [("units-wrong", "sheet-1.dxf")]


def test_the_same_sheet_in_two_styles_is_one_too_many() -> None:
    _, files = made(DxfStyle())
    _, others = made(DxfStyle("r12", "in"))
    both = {**files, "bench/sheet-1-in.dxf": others["bench/sheet-1-in.dxf"]}
    assert judged(both) == [("cut-extra", "sheet-1-in.dxf")]


def test_another_style_replaces_the_files_of_the_last_build(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(JOB, encoding="utf-8")
    out = tmp_path / "out"
    build(job, out=out, seconds=2.0, dxf=DxfStyle("r12"), marks=True)
    assert (out / "bench" / "marks-1-mm.dxf").is_file()
    build(job, out=out, seconds=2.0)
    drawings = {path.name for path in (out / "bench").glob("*.dxf")}
    assert drawings == {"sheet-1.dxf", "base.dxf", "template-1.dxf"}
    (out / "bench" / "marks-1.dxf").write_bytes(b"the user's own")
    with pytest.raises(OutputError, match=r"marks-1\.dxf"):
        build(job, out=out, seconds=2.0, marks=True)
    assert (out / "bench" / "marks-1.dxf").read_bytes() == b"the user's own"
