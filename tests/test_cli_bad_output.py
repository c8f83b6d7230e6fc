"""What a build cannot write, or be asked to: named in one line, and the last build's folder stays as it was, byte for byte."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from insertgen.pipeline.build import build
from tests.test_cli_bad_input import command, files_in

JOB = """
format = 1
name = "bench"
units = "mm"
[cutting]
with = "laser"
[stock.ply]
thickness = 6
kerf = 0.2
[[tray]]
name = "one"
inside = [254, 203]
stack = ["ply"]
  [[tray.item]]
  name = "tin"
  disc = { diameter = 60, height = 20 }
  [[tray.item]]
  name = "rule"
  slot = { length = 100, width = 4 }
"""
MARKS = ("build", "bench.toml", "--marks")

Whole = dict[str, bytes]


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("once")
    (folder / "bench.toml").write_text(JOB, encoding="utf-8")
    assert build(folder / "bench.toml", out=folder / "out" / "bench", seconds=0.3).report.findings == ()
    return folder


@pytest.fixture
def built(once: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of a build, with its job beside it; a copy for each test."""
    shutil.copytree(once, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path / "out" / "bench"


def whole(folder: Path) -> Whole:
    return {name: (folder / name).read_bytes() for name in files_in(folder)}


def layers(*lines: str) -> str:
    return JOB.replace("[[tray]]", "[layers]\n" + "\n".join(lines) + "\n[[tray]]", 1)


JOBS = {
    "a layer name twice": (layers('edge = "CUT"', 'through = "CUT"'), ("bench.toml, line 12", '"CUT" may be the same layer as')),
    "an illegal layer name": (layers('through = "cut here"'), ("bench.toml, line 11", '"cut here" is no layer name that every program reads')),
    "a layer name without its depth": (layers('pocket = "POCKET"'), ("bench.toml, line 11", "must hold {depth} once")),
    "a stack of unknown stock": (JOB.replace('stack = ["ply"]', 'stack = ["ply", "oak"]'), ("bench.toml, line 13", 'no [stock.*] called "oak"', "ply")),
    "a kerf wider than a slot": (JOB.replace("kerf = 0.2", "kerf = 7"), ("bench.toml, line 17", "02 rule", "the kerf of 7 mm is wider than its cut")),
}  # fmt: skip


@pytest.mark.parametrize("case", JOBS)
def test_jobs_that_cannot_be_written(case: str, built: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text, said = JOBS[case]
    before = whole(built)
    Path("bench.toml").write_text(text, encoding="utf-8")
    assert command("build", "bench.toml") == 1
    shown = capsys.readouterr().err
    assert all(part in shown for part in said), shown
    assert "Traceback" not in shown
    assert whole(built) == before
    assert files_in(built.parent) == {f"bench/{name}" for name in before}, "nothing half-done is left beside it"


@pytest.mark.parametrize(("asked", "said"), [
    (("--paper", "30x40mm"), ("30", "40")), (("--paper", "2x3in"), ("2",)), (("--printed", "79.9x100"), ("79.9", "80", "120")),
    (("--printed", "100x120.5"), ("120.5", "80", "120")), (("--printed", "ninety"), ("ninety",)), (("--dxf", "r14"), ("r14", "r12")),
    (("--dxf-units", "cm"), ("cm", "in")),
])  # fmt: skip
def test_what_no_printer_or_drawing_is(asked: tuple[str, ...], said: tuple[str, ...], built: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = whole(built)
    assert command("build", "bench.toml", *asked) in (1, 2)
    shown = capsys.readouterr().err
    assert all(part in shown for part in said), shown
    assert "Traceback" not in shown
    assert whole(built) == before


def test_signs_that_the_stroke_font_lacks(built: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """They are no error: what is engraved instead is said."""
    Path("bench.toml").write_text(JOB.replace('name = "tin"', 'name = "tin"\n  label = "Dose ½ 鑿"'), encoding="utf-8")
    assert command(*MARKS) == 0
    shown = capsys.readouterr()
    said = shown.out + shown.err
    assert 'label "Dose ½ 鑿": the engraving font lacks ½, 鑿; it is engraved "01 Dose 1/2 ?"' in said, said
    assert (built / "one" / "marks-1.dxf").is_file()


def test_files_of_the_user_s_own_are_kept_and_a_stranger_of_the_same_name_stops_it(built: Path, capsys: pytest.CaptureFixture[str]) -> None:
    own = built / "one" / "toolpath.nc"
    own.write_bytes(b"G0 X0\n")
    assert command("build", "bench.toml") == 0
    assert own.read_bytes() == b"G0 X0\n"
    stranger = built / "one" / "marks-1.dxf"
    stranger.write_bytes(b"mine")
    before = whole(built)
    capsys.readouterr()
    assert command(*MARKS) == 1
    shown = capsys.readouterr().err
    assert "marks-1.dxf stands there already" in shown
    assert "--overwrite" in shown
    assert whole(built) == before
    assert command(*MARKS, "--overwrite") == 0
    assert stranger.read_bytes() != b"mine"
    assert own.read_bytes() == b"G0 X0\n"


LIMITED = """
import resource, signal, sys
from insertgen.cli.main import run
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
run(["build", "bench.toml"])
"""


def test_a_file_that_finds_no_room_on_the_disk(built: Path) -> None:
    """No file may grow beyond 20 kB, as on a disk that is full by then: the first files are written, the paper is not."""
    before = whole(built)
    assert max(map(len, before.values())) > 20_000
    done = subprocess.run([sys.executable, "-c", LIMITED], capture_output=True, text=True, check=False)
    assert done.returncode == 1, done.stderr
    assert "cannot be written" in done.stderr
    assert "free some room" in done.stderr
    assert "Traceback" not in done.stderr
    assert whole(built) == before
    assert files_in(built.parent) == {f"bench/{name}" for name in before}, "nothing half-done is left beside it"


def test_a_disk_that_fills_while_the_report_is_written(built: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """The last files go into the staged folder after all others."""
    before = whole(built)
    real = Path.write_bytes

    def full(self: Path, data: bytes) -> int:
        if self.name == "report.html":
            raise OSError(28, os.strerror(28), str(self))  # ENOSPC
        return real(self, data)

    monkeypatch.setattr(Path, "write_bytes", full)
    assert command("build", "bench.toml") == 1
    monkeypatch.undo()
    shown = capsys.readouterr().err
    assert "No space left on device" in shown
    assert "Traceback" not in shown
    assert whole(built) == before
    assert files_in(built.parent) == {f"bench/{name}" for name in before}


def test_the_limit_of_the_other_test_is_no_limit_of_this_process() -> None:
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] != 20_000
