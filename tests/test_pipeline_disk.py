"""Whole or not at all: folders exchanged, strangers kept, killed builds recovered."""

from __future__ import annotations

from pathlib import Path

import pytest

from insertgen.errors import OutputError
from insertgen.pipeline.disk import staged_folder, write_file, write_new

NOTHING: frozenset[str] = frozenset()


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_new_folder_is_written_whole(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    with staged_folder(out, {"a/x.txt": b"1", "y.txt": b"2"}, drop=NOTHING) as staged:
        assert not out.exists()
        write_file(staged / "report.json", b"3")
    assert contents(out) == {"a/x.txt": b"1", "y.txt": b"2", "report.json": b"3"}
    assert [path.name for path in out.parent.iterdir()] == ["out"]


def test_strangers_are_kept_and_the_last_build_is_replaced(tmp_path: Path) -> None:
    out = tmp_path / "out"
    for name, data in {"a/old.dxf": b"old", "a/machine.nc": b"mine", "notes.txt": b"mine"}.items():
        write_file(out / name, data)
    with staged_folder(out, {"a/new.dxf": b"new"}, drop=frozenset({"a/old.dxf"})):
        pass
    assert contents(out) == {"a/new.dxf": b"new", "a/machine.nc": b"mine", "notes.txt": b"mine"}


@pytest.mark.parametrize("stop", [KeyboardInterrupt, RuntimeError])
def test_an_interrupted_build_leaves_the_old_folder(tmp_path: Path, stop: type[BaseException]) -> None:
    out = tmp_path / "out"
    write_file(out / "sheet.dxf", b"old")
    with pytest.raises(stop), staged_folder(out, {"sheet.dxf": b"new"}, drop=NOTHING):
        raise stop
    assert contents(tmp_path) == {"out/sheet.dxf": b"old"}


def test_a_build_killed_between_the_two_renames_is_recovered(tmp_path: Path) -> None:
    write_file(tmp_path / ".out.previous" / "machine.nc", b"mine")
    with staged_folder(tmp_path / "out", {"sheet.dxf": b"new"}, drop=NOTHING):
        pass
    assert contents(tmp_path) == {"out/machine.nc": b"mine", "out/sheet.dxf": b"new"}


def test_nothing_is_overwritten_unasked(tmp_path: Path) -> None:
    first, second = tmp_path / "a.toml", tmp_path / "b.png"
    write_file(second, b"old")
    with pytest.raises(OutputError, match="--overwrite"):
        write_new({first: b"1", second: b"2"}, overwrite=False)
    assert contents(tmp_path) == {"b.png": b"old"}
    write_new({first: b"1", second: b"2"}, overwrite=True)
    assert contents(tmp_path) == {"a.toml": b"1", "b.png": b"2"}


def test_a_place_that_cannot_be_written_is_one_clear_error(tmp_path: Path) -> None:
    # a file where a folder must be: refused by every file system, whoever runs the test
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match="cannot be written"):
        write_file(tmp_path / "file" / "x.toml", b"1")
    with pytest.raises(OutputError), staged_folder(tmp_path / "file" / "out", {"x": b""}, drop=NOTHING):
        pass
    with pytest.raises(OutputError, match="is a file"), staged_folder(tmp_path / "file", {"x": b""}, drop=NOTHING):
        pass
    assert contents(tmp_path) == {"file": b""}
