"""--keep-layout from the command line: same bytes with nothing new, nothing lost where it cannot be."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from insertgen.cli.main import run

JOB = """\
format = 1
name = "small shop"
units = "mm"
[cutting]
with = "router"
cutter = { diameter = 6 }
[stock.mdf]
thickness = 18
[[tray]]
name = "one"
inside = [251.0318, 201]
stack = ["mdf"]
[[tray.item]]
name = "block"
rectangle = { length = 90, width = 40, height = 30 }
count = 2
grips = 0
[[tray.item]]
name = "disc"
disc = { diameter = 50, height = 30 }
at = { x = 61.23456789, y = 140 }
[[tray]]
name = "two"
inside = [201, 151]
stack = ["mdf"]
[[tray.item]]
name = "plate"
rectangle = { length = 60, width = 30, height = 20 }
[[item]]
name = "spare"
rectangle = { length = 40, width = 20, height = 10 }
group = "spares"
count = 2
"""


def _build(folder: Path, job: str, *options: str) -> int:
    file = folder / "job.toml"
    file.write_text(job)
    with pytest.raises(SystemExit) as stopped:
        run(["build", str(file), "--out", str(folder / "out"), "--time", "120", *options])
    assert isinstance(stopped.value.code, int)
    return stopped.value.code


def _bytes(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("first")
    assert _build(folder, JOB) == 0
    return folder


@pytest.fixture
def built(first: Path, tmp_path: Path) -> Path:
    shutil.copytree(first, tmp_path, dirs_exist_ok=True)
    return tmp_path


def test_with_nothing_new_every_file_is_the_same(built: Path) -> None:
    before = _bytes(built / "out")
    assert _build(built, JOB, "--keep-layout", "--seed", "7") == 0
    assert _bytes(built / "out") == before


def test_one_more_keeps_the_others_and_their_numbers_follow(built: Path) -> None:
    def at() -> dict[str, tuple[float, float]]:
        placements = json.loads((built / "out" / "one" / "layout.json").read_text())["placements"]
        return {one["id"]: (one["x"], one["y"]) for one in placements}

    before = at()
    more = '[[tray.item]]\nname = "new"\nrectangle = { length = 30, width = 20, height = 10 }\n'
    job = JOB.replace('[[tray.item]]\nname = "disc"', f'{more}[[tray.item]]\nname = "disc"')
    assert _build(built, job, "--keep-layout") == 0
    now = at()
    assert [now[name] for name in ("one/01", "one/02", "one/04")] == [before[name] for name in ("one/01", "one/02", "one/03")]


def test_without_an_earlier_build_all_is_laid_out(tmp_path: Path) -> None:
    assert _build(tmp_path, JOB, "--keep-layout") == 0


@pytest.mark.parametrize(
    ("file", "pattern", "new", "said"),
    [
        ("one", r'"id": "one/02"', '"id": "one/01"', "names one/01 twice"),
        ("one", r'"tray": "one"', '"tray": "else"', 'is the layout of "else"'),
        ("two", r'"name": "[a-z]+"', '"name": "boat"', '"boat" is not in the job'),
        ("two", r'"blank": \[200.0,', '"blank": [210.0,', "was laid out on a blank of 210 x 150 mm, and two has one of 200 x 150 mm"),
        ("two", r"^\{", "[", "layout.json"),
    ],
)
def test_a_layout_that_cannot_be_held_is_named_and_nothing_is_lost(
    built: Path, capsys: pytest.CaptureFixture[str], file: str, pattern: str, new: str, said: str
) -> None:
    path = built / "out" / file / "layout.json"
    changed = re.sub(pattern, new, path.read_text())
    assert changed != path.read_text()
    path.write_text(changed)
    before = _bytes(built / "out")
    capsys.readouterr()
    assert _build(built, JOB, "--keep-layout", "--overwrite") == 1
    error = capsys.readouterr().err
    assert said in error
    assert str(path) in error
    assert _bytes(built / "out") == before


def test_an_edited_layout_is_held_where_it_may_lie(built: Path) -> None:
    path = built / "out" / "two" / "layout.json"
    layout = json.loads(path.read_text())
    plate = next(one for one in layout["placements"] if one["name"] == "plate")
    plate |= {"x": 60.0, "y": 70.0}
    path.write_text(json.dumps(layout))
    assert _build(built, JOB, "--keep-layout", "--overwrite") == 0
    now = {one["name"]: (one["x"], one["y"]) for one in json.loads(path.read_text())["placements"]}
    assert now["plate"] == (60.0, 70.0)
