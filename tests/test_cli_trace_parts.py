"""``trace --part``, ``--underside`` and ``--at`` as they are typed, and what is said and written."""

from __future__ import annotations

import json
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from insertgen.cli.main import run
from insertgen.cli.trace import parse_band, parse_spot
from insertgen.errors import UnitError

PHOTO = Path(__file__).parent / "data" / "photos" / "A7_pliers"


def command(*arguments: str) -> int:
    with pytest.raises(SystemExit) as ended:
        run(arguments)
    assert isinstance(ended.value.code, int)
    return ended.value.code


# ---- bands and spots: 1 in = 25.4 mm (international yard and pound agreement, 1959) --------------


@pytest.mark.parametrize(
    ("text", "band"),
    [
        ("0-25mm", (0, 25)), ("0-25", (0, 25)), ("0mm-25mm", (0, 25)), ("0 mm - 25 mm", (0, 25)), ("0mm-25", (0, 25)),
        ("0-1 in", (0, 25.4)), ("0in-1", (0, 25.4)), ('0-1"', (0, 25.4)), ("0.5in-50mm", (12.7, 50)),
        ("1/2-1 in", (12.7, 25.4)), ("0-1-3/8 in", (0, 34.925)), ("1-3/8-2-1/2 in", (34.925, 63.5)),
        ("1 3/8 in - 2 1/2 in", (34.925, 63.5)), ("2.5-6cm", (25, 60)), ("25\N{EN DASH}60 mm", (25, 60)),
        ("0-1½ in", (0, 38.1)), (".5-12", (0.5, 12)), ("0-1 ft", (0, 304.8)),
    ],
)  # fmt: skip
def test_bands(text: str, band: tuple[float, float]) -> None:
    assert parse_band(text) == pytest.approx(band)


@given(st.integers(0, 5000), st.integers(1, 4999), st.sampled_from(["", "mm", " mm", "in"]))
def test_any_band_of_plain_numbers(low: int, more: int, unit: str) -> None:
    bottom, top = low / 100, (low + more) / 100
    scale = 25.4 if unit == "in" else 1.0
    assert parse_band(f"{bottom}-{top}{unit}") == pytest.approx((bottom * scale, top * scale))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("25-25", "second must be higher"), ("25-0mm", "25 mm to 0 mm"), ("1-3/8 in", "second must be higher"),
        ("25", "not a height band"), ("", "not a height band"), ("-", "not a height band"), ("0-", "not a height band"),
        ("-5-10", "not a height band"), ("a-b", "not a height band"), ("0-25-60", "not a height band"),
        ("0-25 furlongs", "not a height band"), ("0-nan", "not a height band"), ("0-inf", "not a height band"),
        ("0-1e3", "not a height band"), ("0-20m", "not a height band"), ("0,5-1,5", "not a height band"),
    ],
)  # fmt: skip
def test_what_is_no_band(text: str, said: str) -> None:
    with pytest.raises(UnitError, match=said):
        parse_band(text)


@given(st.text(max_size=12))
def test_any_text_is_a_band_or_refused(text: str) -> None:
    try:
        bottom, top = parse_band(text)
    except UnitError:
        return
    assert 0 <= bottom < top <= 10_000


@pytest.mark.parametrize(
    ("text", "spot"),
    [
        ("12,-5", (12, -5, 0)), ("0,0,180", (0, 0, 180)), (" 1/2 in , -1 in, -90", (12.7, -25.4, -90)),
        ("3mm,0,12.5", (3, 0, 12.5)),
    ],
)  # fmt: skip
def test_spots(text: str, spot: tuple[float, float, float]) -> None:
    assert parse_spot(text) == pytest.approx(spot)


@pytest.mark.parametrize("text", ["", "5", "1,2,3,4", "a,b", "1,2,x", "1,2,nan", "1,2,400", "1,,2", "inf,0", "1,2,"])
def test_what_is_no_spot(text: str) -> None:
    with pytest.raises(UnitError):
        parse_spot(text)


HEAD = ("trace", "a.jpg", "--square", "40mm", "--name", "x")


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (("--part", "25-0"), 2, "must be higher"),
        (("--part", "low"), 2, "not a height band"),
        (("--part", "0-25", "--at", "here"), 2, "not a place"),
        (("--at", "0,0,90"), 2, "--part"),
        (("--part", "0-25", "--height", "20mm"), 1, "25 mm is higher than the item"),
        (("--part", "0-25", "--underside"), 1, "--edge-height"),
        (("--underside", "--height", "20mm", "--edge-height", "25mm"), 1, "stands higher than the item"),
        (("--part", "0-25"), 1, "no such file"),
    ],
)
def test_refused(
    arguments: tuple[str, ...], code: int, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert command(*HEAD, *arguments) == code
    shown = capsys.readouterr()
    assert said in shown.err
    assert "Traceback" not in shown.err
    assert list(tmp_path.iterdir()) == []


# ---- one photo all the way, its mask given -----------------------------------------------------


@pytest.fixture(scope="module")
def ran(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[tuple[int, str, str]]]:
    """The item as it lies, whole; then its underside as the part 0 to 6 mm, laid over a hand-made part above."""
    from contextlib import redirect_stderr, redirect_stdout
    from io import StringIO

    folder = tmp_path_factory.mktemp("parts")
    (folder / "pliers.toml").write_text(
        '# measured\nformat = 1\nname = "pliers"\nstore = "through"\n[[part]]\nfrom = 6\nto = 12\n'
        "outline = [[-30, -8], [30, -8], [30, 8], [-30, 8]]\n"
    )
    photo = ("trace", str(PHOTO / "photo.jpg"), "--silhouette", str(PHOTO / "photo_toolmask.png"), "--square", "40mm")
    said = []
    for arguments in (
        ("--name", "whole", "--edge-height", "9mm", "--json"),
        ("--name", "pliers", "--height", "12mm", "--part", "0-6mm", "--underside", "--at", "0,0,180", "--json"),
        ("--name", "pliers", "--part", "0-6", "--underside", "--at", "0,0,180", "--overwrite"),
    ):
        out, err = StringIO(), StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            code = command(*photo, "--into", str(folder), *arguments)
        said.append((code, out.getvalue(), err.getvalue()))
    return folder, said


def figures(said: tuple[int, str, str]) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(said[1])
    return read


def shape_of(part: dict[str, Any]) -> shapely.Polygon:
    return shapely.Polygon(part["outline"], part.get("holes", []))


def test_json_says_the_part_and_the_mirror(ran: tuple[Path, list[tuple[int, str, str]]]) -> None:
    _, said = ran
    assert [code for code, _, _ in said] == [0, 0, 0]
    whole, part = figures(said[0]), figures(said[1])
    assert (whole["part"], whole["underside"]) == (None, False)
    assert part["underside"] is True
    assert part["part"] == {
        "from": 0.0, "to": 6.0, "at": [0.0, 0.0], "angle_deg": 180.0, "replaced": False, "all": [[0.0, 6.0], [6.0, 12.0]],
    }  # fmt: skip
    # the band's middle, 3 mm, lies 12 - 3 mm above the bench; casts at one height have one area
    assert (whole["edge_height"], part["edge_height"]) == (9.0, 9.0)
    assert part["area"] == whole["area"]
    # and where in its band of 6 mm the edge stands is open: 0.3 of the band either way, half of that at each end
    open_of_it = part["error_per_10mm"] / 2 * 0.3 * 6 / 10
    assert part["expected_error"] == pytest.approx(math.hypot(whole["expected_error"], open_of_it), abs=2e-3)
    assert Path(part["picture"]).name == "pliers.0-6.trace.png"


def test_words_say_the_part_and_the_mirror(ran: tuple[Path, list[tuple[int, str, str]]]) -> None:
    _, out, err = ran[1][2]
    assert "part 0-6 mm replaced; the shape's parts: 0-6, 6-12 mm" in out
    assert "underside: the outline is mirrored back" in out
    assert "no height given" not in out
    assert "9 mm above the bench, the middle of the part, as the item lay turned over" in err
    assert "page of a book" in err
    assert "1 comment of the file now stands at its head" in ran[1][1][2]
    assert "at its head" not in err  # it stands there already


def test_the_part_is_the_whole_mirrored_and_turned(ran: tuple[Path, list[tuple[int, str, str]]]) -> None:
    """By shapely: mirrored left to right and turned by 180 degrees is mirrored front to back."""
    folder, _ = ran
    text = (folder / "pliers.toml").read_text()
    whole, pliers = tomllib.loads((folder / "whole.toml").read_text()), tomllib.loads(text)
    true = affinity.scale(shape_of(whole["part"][0]), 1, -1, origin=(0, 0))
    assert shape_of(pliers["part"][0]).hausdorff_distance(true) < 0.03  # both rounded to 0.01 mm, middles too
    assert math.isclose(shape_of(pliers["part"][0]).area, true.area, rel_tol=2e-4)
    assert shape_of(pliers["part"][1]).bounds == (-30, -8, 30, 8)
    assert (pliers["store"], pliers["height"], pliers["traced"]["underside"]) == ("through", "12 mm", True)
    assert text.splitlines()[1] == "# measured"
    assert {path.name for path in folder.iterdir()} == {
        "whole.toml", "whole.trace.png", "pliers.toml", "pliers.0-6.trace.png",
    }  # fmt: skip
