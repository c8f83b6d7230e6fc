"""A build's files read back by name: all that is due, and what should not lie there."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

import pytest

from insertgen.model.finding import Finding, Severity
from insertgen.pipeline.build import build
from insertgen.pipeline.verify import check_folder, check_written

JOB = """
format = 1
name = "invented shop"
units = "mm"
[cutting]
with = "hand"
cutter = { diameter = "1/4 in", reach = 25 }
[cutting.template]
guide = "bush"
diameter = "5/8 in"
cutter = "1/4 in"
thickness = 6
[stock.mdf]
thickness = 18
[stock.hardboard]
thickness = 6
[[tray]]
name = "bench"
inside = [301, 221]
stack = ["mdf"]
base = "hardboard"
room_below = 60
[[tray.item]]
name = "saw"
rectangle = { length = 100, width = 10, height = 90 }
store = "slot"
depth = 60
at = { x = 90, y = 190 }
[[tray.item]]
name = "tape"
disc = { diameter = 60, height = 20 }
grips = 0
at = { x = 230, y = 60 }
[[tray.item]]
name = "wrench"
rectangle = { length = 100, width = 12, height = 6 }
store = "posts"
at = { x = 90, y = 100 }
[[tray.item]]
name = "pad"
rectangle = { length = 60, width = 40, height = 30 }
store = "corner"
at = { x = 31, y = 21 }
"""


@cache
def written() -> dict[str, bytes]:
    """The files of a build, by name; made once."""
    with tempfile.TemporaryDirectory() as name:
        job = Path(name) / "job.toml"
        job.write_text(JOB)
        out = Path(name) / "out"
        build(job, out=out, seconds=60.0)
        assert check_folder(out) == ()
        return {path.relative_to(out).as_posix(): path.read_bytes() for path in sorted(out.rglob("*")) if path.is_file()}


def judged(**changes: bytes | None) -> tuple[Finding, ...]:
    """Keys are file names of the tray, with "_" for "-" and without ``.dxf``."""
    files: dict[str, bytes | None] = dict(written())
    files |= {f"bench/{name.replace('_', '-')}.dxf": data for name, data in changes.items()}
    return check_written("source/job.toml", files.get)


def test_a_build_with_every_kind_of_drawing_is_clean() -> None:
    assert {name for name in written() if name.endswith(".dxf")} == {
        "bench/base.dxf", "bench/sheet-1.dxf", "bench/template-1.dxf",
    }  # fmt: skip
    assert judged() == ()


@pytest.mark.parametrize("name", ["base", "template_1", "sheet_1"])
def test_a_drawing_deleted(name: str) -> None:
    found = judged(**{name: None})
    assert [(one.code, one.file, one.severity) for one in found] == [
        ("cut-missing", f"{name.replace('_', '-')}.dxf", Severity.ERROR)
    ]


@pytest.mark.parametrize("name", ["sheet_2", "template_2"])
def test_a_drawing_that_should_not_be_there(name: str) -> None:
    """What lies beside the build would be cut too."""
    source = name.split("_")[0] + "-1.dxf"
    found = judged(**{name: written()[f"bench/{source}"]})
    assert {(one.code, one.file) for one in found} == {("cut-extra", f"{name.replace('_', '-')}.dxf")}


def test_a_base_that_is_not_due() -> None:
    job = JOB.replace('base = "hardboard"\n', "").encode()
    files: dict[str, bytes | None] = dict(written()) | {"source/job.toml": job}
    found = check_written("source/job.toml", files.get)
    assert ("cut-extra", "base.dxf") in {(one.code, one.file) for one in found}


def test_another_drawing_s_bytes() -> None:
    """The base's drawing in the place of the sheet's: all of it is missed, and told by the right file."""
    found = judged(sheet_1=written()["bench/base.dxf"])
    missing = {one.placement for one in found if one.code == "cut-missing" and one.file == "sheet-1.dxf"}
    assert {"bench/02", "bench/03"} <= missing
