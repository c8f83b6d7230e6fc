"""What cannot be laid out as asked, from the command line: named, nothing lost, no traceback."""

from __future__ import annotations

from pathlib import Path

import pytest

from insertgen.cli.main import run

HEAD = """\
format = 1
name = "odd"
units = "mm"
[cutting]
with = "router"
cutter = { diameter = 6.35, reach = 30 }
[stock.mdf]
thickness = 18
[[tray]]
name = "one"
inside = [400, 300]
headroom = 150
stack = ["mdf"]
web = 6
margin = 10
"""


def thing(name: str, length: float, width: float, more: str = "") -> str:
    size = f"rectangle = {{ length = {length}, width = {width}, height = 30 }}"
    return f'[[tray.item]]\nname = "{name}"\n{size}\ngrips = 0\n{more}\n'


def built(tmp_path: Path, capsys: pytest.CaptureFixture[str], *parts: str, time: str = "60") -> tuple[object, str]:
    """Exit code, and all that was said; a traceback would not be a SystemExit."""
    file = tmp_path / "odd.toml"
    file.write_text(HEAD + "".join(parts))
    with pytest.raises(SystemExit) as stopped:
        run(["build", str(file), "--out", str(tmp_path / "out"), "--time", time, "--dry-run"])
    said = capsys.readouterr()
    return stopped.value.code, said.out + said.err


def test_longer_than_the_tray_at_every_turn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said = built(tmp_path, capsys, thing("long", 500, 20, 'turn = "half"'), thing("short", 100, 20))
    assert code == 3
    assert "one/01" in said
    assert "larger than the tray at every turn it may have" in said
    assert "one: all would find room on a blank of" in said
    assert "one: 1 items" in said


def test_pins_that_overlap(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pins = thing("a", 100, 60, "at = { x = 100, y = 100 }"), thing("b", 100, 60, "at = { x = 130, y = 110 }")
    code, said = built(tmp_path, capsys, *pins, thing("c", 50, 50))
    assert code == 3
    assert "01 a and 02 b take the same room" in said
    assert "one: 3 items" in said


def test_a_pin_that_leaves_the_blank(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said = built(tmp_path, capsys, thing("a", 100, 60, "at = { x = 390, y = 100 }"), thing("c", 50, 50))
    assert code == 3
    assert "outside-blank: one/01" in said
    assert "one: 2 items" in said


def test_keep_outs_over_the_whole_tray(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    keep_out = 'keep_out = [{ at = [0, 0], size = [400, 300], why = "all of it" }]\n'
    code, said = built(tmp_path, capsys, keep_out, thing("a", 100, 60), thing("c", 50, 50))
    assert code == 3
    assert "one/01 found no room" in said
    assert "against keep-out: all of it" in said
    assert "left-out: one/02" in said


def test_a_group_that_cannot_stay_together(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two of a group pinned at both ends, a bar right across between them."""
    ends = [thing(name, 60, 60, f'group = "g"\nat = {{ x = {x}, y = 150 }}') for name, x in (("a", 60), ("b", 340))]
    code, said = built(tmp_path, capsys, *ends, thing("bar", 40, 270, "at = { x = 200, y = 149.5 }"))
    assert code == 0
    assert "warning wish-unmet: one/02" in said
    assert "02 b is parted from the rest of its group (01 a) by 03 bar" in said


@pytest.mark.parametrize("count", [0, 1])
def test_none_and_one(tmp_path: Path, capsys: pytest.CaptureFixture[str], count: int) -> None:
    code, said = built(tmp_path, capsys, *[thing("a", 100, 60)] * count)
    assert code == 0
    assert f"one: {count} items" in said


def test_no_time_is_never_called_no_room(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Sixty things that fit, in a tenth of a second: all that is not placed is said to have had no turn yet."""
    things = [thing(f"t{k}", 20 + k % 7, 15 + k % 11) for k in range(60)]
    code, said = built(tmp_path, capsys, *things, time="0.1")
    assert code in (0, 3)
    assert "the search was stopped before its end" in said
    assert "0 mm are missing" not in said
    if code == 3:
        assert "that does not say that they have no room" in said
        assert "was left out: there is no room" not in said
        assert "a longer --time" in said
