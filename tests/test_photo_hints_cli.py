"""Hints and several items as they are typed: what is written, and what is refused with exit 2."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from insertgen.cli.main import run
from insertgen.errors import PhotoError
from insertgen.files.shape import read_shape
from insertgen.photo.trace import look_at_items
from insertgen.pipeline import look as stage
from tests.photo_edit import PHOTOS, facts, second_place, with_second_item
from tests.photo_score import polygon, score, true_outline

NAME = "A1_wrench"
PHOTO = PHOTOS / NAME / "photo.jpg"


def command(*arguments: str) -> int:
    with pytest.raises(SystemExit) as ended:
        run(["trace", *arguments, "--square", "40mm"])
    assert isinstance(ended.value.code, int)
    return ended.value.code


def test_two_names_write_two_shapes_from_left_to_right_after_one_look(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    looks = []
    monkeypatch.setattr(stage, "look_at_items", lambda *given, **known: (looks.append(known["count"]), look_at_items(*given, **known))[1])
    both = tmp_path / "both.jpg"
    exif = Image.open(PHOTO).getexif()
    Image.fromarray(np.ascontiguousarray(with_second_item(NAME))).save(both, quality=95, exif=exif)
    height = f"{facts(NAME)['tool']['height_mm']}mm"
    into = tmp_path / "shapes"
    given = ("--name", "left wrench", "--name", "right wrench", "--height", height, "--into", str(into), "--json")
    assert command(str(both), *given) == 0
    assert looks == [2]
    figures = json.loads(capsys.readouterr().out)
    assert [Path(one["shape_file"]).name for one in figures] == ["left-wrench.toml", "right-wrench.toml"]
    assert all((into / f"{side}-wrench.trace.png").exists() for side in ("left", "right"))
    own = "left" if second_place(NAME)[0] > 0 else "right"
    part = read_shape((into / f"{own}-wrench.toml").read_text(), "shape").solid[0]  # type: ignore[index]
    assert score(polygon(part.outline), true_outline(facts(NAME))).mean < 1.0


def test_what_is_wrong_with_the_photo_of_several_items_is_said_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*given: object, **known: object) -> None:
        raise PhotoError("both.jpg: 3 names were given, but 2 items are seen on the bench")

    monkeypatch.setattr(stage, "look_at_items", refuse)
    assert command(str(PHOTO), "--name", "a", "--name", "b", "--name", "c", "--into", str(tmp_path / "shapes")) == 1
    assert capsys.readouterr().err.count("3 names were given") == 1
    assert not (tmp_path / "shapes").exists()


def test_heights_that_cannot_be_are_refused_before_the_photo_of_several_items_is_looked_at(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stage, "look_at_items", None)  # not to be called
    assert command(str(PHOTO), "--name", "a", "--name", "b", "--height", "6mm", "--edge-height", "3mm") == 1
    assert capsys.readouterr().err.count("not both") == 1


WRONG: dict[str, tuple[tuple[str, ...], str]] = {
    "no pixels": ((str(PHOTO), "--name", "a", "--inside", "left"), '"left" is not 2 numbers of pixels'),
    "one number": ((str(PHOTO), "--name", "a", "--outside", "12"), "is not 2 numbers"),
    "three of four": ((str(PHOTO), "--name", "a", "--crop", "1,2,3"), "is not 4 numbers"),
    "not finite": ((str(PHOTO), "--name", "a", "--inside", "nan,3"), "is not 2 numbers"),
    "hints for two photos": (
        (str(PHOTO), str(PHOTO), "--name", "a", "--name", "b", "--inside", "3,4"), "belong to one photo",
    ),
    "mask for two items": (
        (str(PHOTO), "--name", "a", "--name", "b", "--silhouette", "mask.png"), "belong to one item",
    ),
    "twice the same name": ((str(PHOTO), "--name", "a", "--name", "a"), "two items have the name"),
    "heights of others": (
        (str(PHOTO), "--name", "a", "--name", "b", "--name", "c", "--height", "1mm", "--height", "2mm"), "3 names and 2 heights",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", WRONG)
def test_what_cannot_be_is_a_usage_error(kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    given, said = WRONG[kind]
    assert command(*given) == 2
    assert said in " ".join(capsys.readouterr().err.split())


def test_a_photo_of_the_bench_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    missing = tmp_path / "empty.jpg"
    assert command(str(PHOTO), "--name", "a", "--into", str(tmp_path), "--bench-photo", str(missing)) == 1
    assert "there is no such file" in capsys.readouterr().err
    assert not list(tmp_path.iterdir())
