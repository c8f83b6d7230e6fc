"""Which shape file a name finds."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import insertgen
from insertgen.errors import JobError, ShapeNotFoundError
from insertgen.files.find import shape_finder, shape_text
from insertgen.model.shape import Disc, Shape


def _write(folder: Path, name: str, diameter: int) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.toml").write_text(
        f'format = 1\nname = "finish sander"\ndisc = {{ diameter = {diameter} }}\n'
    )


def _diameter(shape: Shape) -> float:
    assert isinstance(shape.solid, Disc)
    return shape.solid.diameter


def test_the_first_folder_wins(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job, here = tmp_path / "job", tmp_path / "here"
    job.mkdir()
    here.mkdir()
    monkeypatch.chdir(here)
    places = [job, job / "shapes", here / "shapes"]
    for number, folder in reversed(list(enumerate(places, 1))):
        _write(folder, "finish-sander", number)
        assert _diameter(shape_finder(job)("finish sander")) == number
    assert shape_finder(job)("Finish-Sander").source == "finish-sander"


def test_shipped_shapes_are_found_beside_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # stands for a wheel: package data in insertgen/shapes
    package = tmp_path / "site" / "insertgen"
    monkeypatch.setattr("insertgen.files.find.files", lambda _: package)
    monkeypatch.chdir(tmp_path)
    _write(tmp_path / "site" / "shapes", "pad", 3)
    with pytest.raises(ShapeNotFoundError):  # a folder called shapes in site-packages is not ours
        shape_finder(tmp_path)("pad")
    (tmp_path / "site" / "pyproject.toml").write_text("")  # an editable install: the repository root
    assert _diameter(shape_finder(tmp_path)("pad")) == 3
    _write(package / "shapes", "pad", 4)
    assert _diameter(shape_finder(tmp_path)("pad")) == 4


def test_the_package_is_where_this_test_thinks() -> None:
    assert (Path(insertgen.__file__).parent / "starters").is_dir()


def test_an_unknown_shape_lists_folders_and_near_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    _write(tmp_path / "job" / "shapes", "finish-sander", 1)
    _write(tmp_path / "job" / "shapes", "jig saw (old)", 1)  # can never be found by name, so never proposed
    with pytest.raises(ShapeNotFoundError) as raised:
        shape_finder(tmp_path / "job")("finish sandr")
    message = str(raised.value)
    assert message.startswith('there is no shape "finish sandr": no finish-sandr.toml in ')
    assert str(tmp_path / "job" / "shapes") in message
    assert re.search(r"near it: finish-sander[;,]", message)  # the nearest first; shipped shapes may follow
    assert "jig saw" not in message
    assert "trace a photo" in message


def test_a_name_cannot_leave_the_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    _write(tmp_path, "secret", 1)
    (tmp_path / "job" / "deep").mkdir(parents=True)
    with pytest.raises(ShapeNotFoundError):
        shape_text(tmp_path / "job" / "deep", "../../secret")


def test_a_shape_that_cannot_be_read_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pad.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(JobError, match=r"pad\.toml, line 1: byte 0xFF is not UTF-8"):
        shape_finder(tmp_path)("pad")
    with pytest.raises(JobError, match="no letter or digit"):
        shape_finder(tmp_path)("../")
