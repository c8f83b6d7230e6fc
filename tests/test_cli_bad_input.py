"""Bad input, one table: one clear message, the right exit code, nothing half-written, no traceback."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from insertgen.cli.main import run

JOB = """format = 1
name = "bench"
units = "in"
[cutting]
with = "router"
cutter = { diameter = "1/4 in", reach = "1 in" }
[stock.mdf]
thickness = "18 mm"
[[tray]]
name = "one"
inside = [10, 8]
stack = ["mdf"]
  [[tray.item]]
  name = "tin"
  disc = { diameter = "60 mm", height = "20 mm" }
"""


def command(*arguments: object) -> int:
    with pytest.raises(SystemExit) as stopped:
        run([str(argument) for argument in arguments])
    assert isinstance(stopped.value.code, int)
    return stopped.value.code


def files_in(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


JOBS = {
    "empty": ("", 1, "empty"),
    "no tray": (JOB[: JOB.index("[[tray]]")], 1, "tray"),
    "two trays of one name": (JOB + JOB[JOB.index("[[tray]]") :], 1, "one"),
    "misspelt key": (JOB.replace("inside", "insyde"), 1, "inside"),
    "broken quote": (JOB.replace('name = "bench"', 'name = "bench'), 1, "line 2"),
    "bare inch mark": (JOB.replace('diameter = "1/4 in"', 'diameter = 1/4"'), 1, "line 6"),
    "inch mark in quotes": (JOB.replace('"1/4 in"', '"1/4""'), 1, "line 6"),
    "negative": (JOB.replace("60 mm", "-60 mm"), 1, "-60 mm"),
    "zero": (JOB.replace("60 mm", "0 mm"), 1, "0 mm"),
    "not a number": (JOB.replace("[10, 8]", "[nan, 8]"), 1, "nan"),
    "infinite": (JOB.replace("[10, 8]", "[inf, 8]"), 1, "inf"),
    "huge": (JOB.replace("[10, 8]", "[100000, 8]"), 1, "10 m"),
    "unknown unit": (JOB.replace("60 mm", "60 furlong"), 1, "furlong"),
    "unknown shape": (JOB.replace('name = "tin"', 'shape = "no-such-thing"').replace("  disc", "# disc"), 1, "no-such-thing"),
    "unknown format": (JOB.replace("format = 1", "format = 7"), 1, "format"),
    "not yet": (JOB + "[cabinet]\nwidth = 3\n", 1, "does not do that yet"),
    "no floor under dowels": (
        JOB.replace('["mdf"]', '["mdf", "thin"]\nassembly = "cut-first"').replace("[[tray]]", '[stock.thin]\nthickness = "5 mm"\n[[tray]]'),
        1, "use a thicker sheet at the bottom",
    ),
    "a template and sheets cut first": (
        JOB.replace('["mdf"]', '["mdf", "mdf"]\nassembly = "cut-first"').replace(
            "[stock.mdf]", '[cutting.template]\nguide = "bush"\ndiameter = "5/8 in"\ncutter = "1/4 in"\nthickness = "6 mm"\n[stock.mdf]'
        ), 1, 'write assembly = "glue-first"',
    ),
    "larger than its tray": (JOB.replace("60 mm", "300 mm"), 3, "left-out"),
    "deeper than its stack": (JOB + 'depth = "17 mm"\n', 3, "too-deep"),
    "taller than its headroom": (JOB.replace('stack = ["mdf"]', 'stack = ["mdf"]\nheadroom = "20 mm"'), 3, "left-out"),
    "pinned items that overlap": (
        JOB + "at = { x = 4, y = 4 }\n" + '[[tray.item]]\nname = "tub"\ndisc = { diameter = "50 mm", height = "20 mm" }\n'
        "at = { x = 4.5, y = 4 }\n", 3, "overlap",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", JOBS)
def test_bad_jobs(case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    text, code, said = JOBS[case]
    monkeypatch.chdir(tmp_path)
    Path("bench.toml").write_text(text, encoding="utf-8")
    assert command("build", "bench.toml") == code
    shown = capsys.readouterr()
    assert said in shown.err
    assert "Traceback" not in shown.err
    if code == 1:
        assert shown.err.startswith("insertgen: ")
        assert len(shown.err.strip().splitlines()) == 1
        assert files_in(tmp_path) == {"bench.toml"}
    else:
        assert "out/bench/report.json" in files_in(tmp_path)
        assert command("check", "out/bench") == 3
        assert said in capsys.readouterr().err


def picture(mode: str, size: tuple[int, int] = (640, 480), format_: str = "PNG") -> bytes:
    shade = np.full((size[1], size[0]), 200, np.uint16 if mode == "I;16" else np.uint8)
    image = Image.fromarray(shade * 200 if mode == "I;16" else shade)
    out = io.BytesIO()
    (image if mode == "I;16" else image.convert(mode)).save(out, format_)
    return out.getvalue()


def huge() -> bytes:
    out = io.BytesIO()
    Image.new("1", (11_000, 10_000)).save(out, "PNG")
    return out.getvalue()


PHOTOS = {
    "missing": (None, "no such file"),
    "empty": (b"", "empty"),
    "truncated": (picture("RGB", format_="JPEG")[:900], "photo"),
    "not an image": (b"format = 1\n", "not"),
    "1 x 1": (picture("RGB", (1, 1)), "1 x 1"),
    "16-bit": (picture("I;16"), "square"),
    "greyscale": (picture("L"), "square"),
    "CMYK": (picture("CMYK", format_="JPEG"), "square"),
    "110 megapixels": (huge(), "megapixel"),
}


@pytest.mark.parametrize("case", PHOTOS)
def test_bad_photos(case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    data, said = PHOTOS[case]
    monkeypatch.chdir(tmp_path)
    if data is not None:
        Path("photo.jpg").write_bytes(data)
    assert command("trace", "photo.jpg", "--square", "40mm", "--name", "thing") == 1
    shown = capsys.readouterr()
    assert said in shown.err
    assert "photo.jpg" in shown.err
    assert len(shown.err.strip().splitlines()) == 1
    assert files_in(tmp_path) <= {"photo.jpg"}


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["build"], 2, "JOB"),
        (["build", "nothing.toml"], 1, "nothing.toml"),
        (["build", "."], 1, "folder"),
        (["build", "bench.toml", "--seed", "-1"], 2, "seed"),
        (["build", "bench.toml", "--paper", "b5"], 1, "letter"),
        (["build", "bench.toml", "--printed", "70x100"], 1, "70"),
        (["check", "nothing"], 1, "nothing"),
        (["check", "."], 1, "report.json"),
        (["trace", "a.jpg", "--name", "x"], 2, "--square"),
        (["trace", "a.jpg", "--name", "x", "--square", "40"], 2, "no unit"),
        (["trace", "a.jpg", "b.jpg", "--name", "x", "--square", "40mm"], 1, "not joined yet"),
        (["trace", "a.jpg", "--name", "///", "--square", "40mm"], 1, "///"),
        (["squares", "x.pdf", "--side", "33mm"], 1, "33"),
        (["start", "no-such"], 2, "fitted-pockets"),
        (["frobnicate"], 2, "frobnicate"),
    ],
)
def test_usage(arguments: list[str], code: int, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
               capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    Path("bench.toml").write_text(JOB, encoding="utf-8")
    assert command(*arguments) == code
    shown = capsys.readouterr()
    assert said in shown.err
    assert files_in(tmp_path) == {"bench.toml"}


def test_an_output_folder_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                                 capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    Path("bench.toml").write_text(JOB, encoding="utf-8")
    Path("file").write_bytes(b"")
    assert command("build", "bench.toml", "--out", "file/out") == 1
    assert "cannot be written" in capsys.readouterr().err
    assert files_in(tmp_path) == {"bench.toml", "file"}


def test_interrupted_in_the_middle_the_old_output_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                                           capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    from insertgen.pipeline import build as building

    monkeypatch.chdir(tmp_path)
    Path("bench.toml").write_text(JOB, encoding="utf-8")
    assert command("build", "bench.toml") == 0
    before = {name: (tmp_path / name).read_bytes() for name in files_in(tmp_path)}

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(building, "check_written", stop)  # after staging, before the exchange
    assert command("build", "bench.toml") == 130
    assert "interrupted" in capsys.readouterr().err
    assert {name: (tmp_path / name).read_bytes() for name in files_in(tmp_path)} == before


def test_an_edited_file_stops_the_build_unless_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                                    capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    Path("bench.toml").write_text(JOB, encoding="utf-8")
    assert command("build", "bench.toml") == 0
    edited = tmp_path / "out/bench/one/holes.csv"
    edited.write_text(edited.read_text() + "# mine\n")
    (tmp_path / "out/bench/one/mine.nc").write_text("G0")
    assert command("build", "bench.toml") == 1
    assert "edited since the last build" in capsys.readouterr().err
    assert edited.read_text().endswith("# mine\n")
    assert command("build", "bench.toml", "--overwrite") == 0
    assert not edited.read_text().endswith("# mine\n")
    assert (tmp_path / "out/bench/one/mine.nc").read_text() == "G0"
