"""``insertgen sizes``: data on stdout, talk on stderr, exit codes, and that what it shows can be typed into a job."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from insertgen.cli.main import run
from insertgen.sizes.tables import read_table, table_names


def command(*arguments: str) -> int:
    with pytest.raises(SystemExit) as stopped:
        run(list(arguments))
    assert isinstance(stopped.value.code, int)
    return stopped.value.code


def test_lists_the_tables_a_line_each(capsys: pytest.CaptureFixture[str]) -> None:
    assert command("sizes") == 0
    out, err = capsys.readouterr()
    assert [line.split()[0] for line in out.splitlines()] == list(table_names())
    assert "insertgen sizes bearings" in err


def test_lists_the_tables_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert command("sizes", "--json") == 0
    out, err = capsys.readouterr()
    assert [table["name"] for table in json.loads(out)] == list(table_names())
    assert err == ""


@pytest.mark.parametrize("name", table_names())
def test_shows_a_table_aligned_with_every_row_source_and_note(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert command("sizes", name) == 0
    out, err = capsys.readouterr()
    assert err == ""
    table = read_table(name)
    head, use, body, foot = out.split("\n\n")[0], *_blocks(out)
    assert head.startswith(f"{name}: ")
    assert "in a job: " in use
    lines = body.splitlines()
    assert len(lines) == 1 + len(table.rows)
    at = lines[0].index("source")
    assert all(line[at] == "[" and line[at - 2 : at] == "  " for line in lines[1:])  # the column stands under its heading
    assert [line.startswith("*") for line in lines[1:]] == [not row.seen for row in table.rows]
    assert ("* from memory" in foot) == any(not row.seen for row in table.rows)
    flat = " ".join(foot.split())
    for text in {row.source for row in table.rows} | {row.note for row in table.rows}:
        assert flat.count(" ".join(text.split())) >= 1
    for source in {row.source for row in table.rows}:
        place = flat.index(f"] {source}")
        assert flat[:place].rsplit("[", 1)[1].isdigit()


def _blocks(out: str) -> tuple[str, str, str]:
    head, body, foot = out.split("\n\n")
    return head, body, foot


def test_inch_sizes_are_shown_in_both_units(capsys: pytest.CaptureFixture[str]) -> None:
    assert command("sizes", "bearings", "R8", "shielded") == 0
    out, _ = capsys.readouterr()
    assert "12.7 (1/2 in)  28.575 (1-1/8 in)  7.938 (5/16 in)" in out


@pytest.mark.parametrize("words", [("608",), ("bearings", "608"), ("bearing", "22 mm", "8 mm", "7 mm")])
def test_search_finds_the_bearing(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert command("sizes", *words, "--json") == 0
    (row,) = json.loads(capsys.readouterr().out)
    assert row == {
        "table": "bearings",
        "columns": {"name": "608", "bore": "8 mm", "diameter": "22 mm", "thickness": "7 mm", "closure": None},
        "mm": {"bore": 8.0, "diameter": 22.0, "thickness": 7.0},
        "source": "bd_warehouse 0.4.0, MCAD 2019.05, BOSL2 2.0.716",
        "seen": True,
        "note": "",
    }


def test_json_of_a_table_holds_all_its_rows(capsys: pytest.CaptureFixture[str]) -> None:
    assert command("sizes", "drills", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert [row["columns"]["name"] for row in found] == [row.cells["name"] for row in read_table("drills").rows]
    assert all(set(row) == {"table", "columns", "mm", "source", "seen", "note"} for row in found)


def test_a_search_over_all_tables_shows_each_that_has_something(capsys: pytest.CaptureFixture[str]) -> None:
    assert command("sizes", "1/2", "in") == 0
    out, _ = capsys.readouterr()
    shown = [name for name in table_names() if f"\n{name}: " in f"\n{out}"]
    assert shown == ["shanks", "drills", "bearings", "hex-keys", "across-flats"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("bearngs",), "did you mean the table bearings?"),
        (("nonsense",), "the tables: shanks, collets"),
        (("drills", "608"), "there is in: bearings"),
        (("batteries", "LR44"), "near to it: R44"),
        (("bearings", "999 mm"), "insertgen sizes bearings"),
    ],
)
def test_nothing_found_is_said_and_is_an_error(words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    for extra in ((), ("--json",)):
        assert command("sizes", *words, *extra) == 1
        out, err = capsys.readouterr()
        assert out == ""
        assert said in err


def test_help_shows_an_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert command("sizes", "--help") == 0
    assert "insertgen sizes drills 17/64" in capsys.readouterr().out


#: What the foot of a table says goes into a job, as an item or as a setting of its tray or cutting.
JOB = """format = 1
name = "demo shop"
units = "in"
[cutting]
with = "router"
cutter = {{ diameter = "1/4 in", reach = "1 in" }}
{cutting}
[stock.mdf]
thickness = "18 mm"
[[tray]]
name = "one"
inside = [10, 8]
stack = ["mdf"]
{tray}
  [[tray.item]]
  name = "thing"
  {item}
"""
DISC = 'disc = { diameter = "60 mm", height = "20 mm" }'


@pytest.mark.parametrize("name", [name for name in table_names() if name != "across-flats"])
def test_what_a_table_says_of_its_use_reads_as_a_job(name: str, tmp_path: Path) -> None:
    from insertgen.files.job import read_job

    use = read_table(name).use
    line = use[: use.rindex("}") + 1].split("; ")[0] if "{" in use else use
    if name == "discs":
        line = line[: line.index("}") + 1]
    line = line.split(" in a tray")[0].split(" under ")[0].split(" for the long")[0]
    assert tomllib.loads(line)
    where = {"drills": "cutting", "fingers": "tray"}.get(name, "item")
    job = JOB.format(**{"cutting": "", "tray": "", "item": DISC} | {where: line})
    read_job(job, "demo.toml", lambda shape: pytest.fail(f"asks for the shape {shape}"))
