"""``insertgen trace``: outline an item, or a part of it, from a photo with reference squares."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from insertgen.cli.options import LENGTH, Progress, say, write_json
from insertgen.errors import InsertgenError, NotYetError, PhotoError, UnitError
from insertgen.units import format_length, format_mm, parse_length

if TYPE_CHECKING:
    from insertgen.pipeline.outline import Outlined

    # generic for the type checker only: older releases of click are not
    _BandType = click.ParamType[tuple[float, float]]
    _SpotType = click.ParamType[tuple[float, float, float]]
else:
    _BandType = _SpotType = click.ParamType

__all__ = ["parse_band", "parse_spot", "trace"]


def parse_band(text: str) -> tuple[float, float]:
    """A height band in mm: two lengths with a hyphen between; a unit said once is both's, none is mm.

    >>> parse_band("0-25mm"), parse_band("0-1 in"), parse_band("25 - 60")
    ((0.0, 25.0), (0.0, 25.4), (25.0, 60.0))
    >>> parse_band('1-3/8 - 2-1/2 in')
    (34.925, 63.5)

    Raises
    ------
    UnitError
        No band, or one that does not go up.
    """
    found = []
    for hyphen in re.finditer("[-\N{EN DASH}]", text):
        first, second = text[: hyphen.start()].strip(), text[hyphen.end() :].strip()
        unit = _unit(second) or _unit(first) or "mm"
        try:
            found.append(tuple(
                parse_length(each if _unit(each) else f"{each} {unit}", zero=True) for each in (first, second)
            ))  # fmt: skip
        except UnitError:
            continue  # not the hyphen between the two
    if len(found) != 1:
        raise UnitError(f'"{text}" is not a height band; write it like 0-25mm or "0 in - 1-3/8 in"')
    bottom, top = found[0]
    if not bottom < top:
        raise UnitError(f'"{text}" goes from {format_mm(bottom)} mm to {format_mm(top)} mm; the second must be higher')
    return bottom, top


def parse_spot(text: str) -> tuple[float, float, float]:
    """A place and a turn: X,Y or X,Y,ANGLE; lengths without a unit are mm.

    >>> parse_spot("-5,10"), parse_spot("1/2 in, 0, 90")
    ((-5.0, 10.0, 0.0), (12.7, 0.0, 90.0))

    Raises
    ------
    UnitError
    """
    words = [word.strip() for word in text.split(",")]
    if len(words) not in (2, 3):
        raise UnitError(f'"{text}" is not a place; write X,Y or X,Y,ANGLE, as in --at 12,-5 or --at 0,0,180')
    x, y = (parse_length(word, unit="mm", negative=True) for word in words[:2])
    try:
        angle = float(words[2]) if len(words) == 3 else 0.0
    except ValueError:
        angle = math.nan
    if not -360 <= angle <= 360:
        raise UnitError(f'"{words[2]}" is no angle; write degrees, -360 to 360, counter-clockwise')
    return x, y, angle


def _unit(text: str) -> str | None:
    match = re.search(r"[^\d\s./¼½¾⅛⅜⅝⅞][^\d]*$", text)
    return match[0].strip() if match else None


class _Band(_BandType):
    """FROM-TO, to mm."""

    name = "from-to"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float]:
        try:
            return value if isinstance(value, tuple) else parse_band(str(value))
        except UnitError as error:
            self.fail(str(error), param, ctx)


class _Spot(_SpotType):
    """X,Y[,ANGLE], to mm and degrees."""

    name = "spot"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float, float]:
        try:
            return value if isinstance(value, tuple) else parse_spot(str(value))
        except UnitError as error:
            self.fail(str(error), param, ctx)


@click.command()
@click.argument("photos", metavar="PHOTO", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--square", type=LENGTH, required=True, metavar="LENGTH", help="Side of the squares as measured on the paper.")
@click.option("--name", "names", required=True, multiple=True, help="What the item is called; names the shape file. Once for each photo, in their order.")
@click.option("--height", "heights", type=LENGTH, multiple=True, metavar="LENGTH", help="Overall height of the item; the outline is taken at half of it, that of a part at the part's middle. With several photos once for all, or once for each.")
@click.option("--edge-height", type=LENGTH, metavar="LENGTH", help="Height above the bench at which the visible edge really stands as the item lies in the photo, instead of --height (with --part or --underside: beside it). The edge of a sole or pad turned up stands at the item's overall height.")
@click.option("--upright", is_flag=True, help="The item is flat with upright walls, like a wrench or a box: sides that look away from the camera are cast high, the others low. Not for round things.")
@click.option("--squares-at", type=LENGTH, metavar="LENGTH", help="How high above the bench all the squares lie, as on blocks.  [default: on the bench]")
@click.option("--camera-height", type=LENGTH, metavar="LENGTH", help="From the bench to the lens, measured with a tape; tells the focal length where the photo does not.")
@click.option("--underside", is_flag=True, help="The item lies turned over: its outline is mirrored back, so that it is seen from above.")
@click.option("--part", type=_Band(), metavar="FROM-TO", help="Outline of this height band only, measured from the item's lowest point as it is stored; put into the shape file, the rest of which is kept. As in 0-25mm.")
@click.option("--at", "at", type=_Spot(), metavar="X,Y[,ANGLE]", help="Where the middle of the part goes, from the middle of the lowest part: X to the right, Y to the back, ANGLE counter-clockwise.  [default: 0,0,0]")
@click.option("--silhouette", type=click.Path(path_type=Path), metavar="PNG", help="The item's pixels in white, painted by hand, the photo's size.")
@click.option("--into", type=click.Path(path_type=Path), default=Path("shapes"), show_default=True, help="Folder for the shape file.")
@click.option("--overwrite", is_flag=True, help="Replace a shape of that name; with --part only the part of that band.")
@click.option("--json", "as_json", is_flag=True, help="Write the figures as JSON.")
def trace(
    photos: tuple[Path, ...],
    square: float,
    names: tuple[str, ...],
    heights: tuple[float, ...],
    edge_height: float | None,
    upright: bool,
    squares_at: float | None,
    camera_height: float | None,
    underside: bool,
    part: tuple[float, float] | None,
    at: tuple[float, float, float] | None,
    silhouette: Path | None,
    into: Path,
    overwrite: bool,
    as_json: bool,
) -> None:
    """Outline an item from a photo with reference squares beside it.

    Writes shapes/NAME.toml, and NAME.trace.png: the photo with the outline and the squares
    drawn on it. Look at that picture before you trust the outline.

    An item that is wider above than where it stands is traced in parts, one photo each, with
    --part; the pictures are then NAME.FROM-TO.trace.png.

    Several photos, of one item each, take a --name each, in their order.

    \b
    Example:
      insertgen trace sander.jpg --square 40mm --name "finish sander" --height 118mm
      insertgen trace sole.jpg --square 40mm --name "finish sander" --height 118mm \\
          --part 0-25mm --underside --edge-height 118mm
      insertgen trace body.jpg --square 40mm --name "finish sander" --part 25-118mm --at 8,0
    """
    _check_counts(photos, names, heights)
    if at is not None and part is None:
        raise click.UsageError("--at says where a part goes; give it with --part FROM-TO")
    if len(photos) > 1 and (part is not None or silhouette is not None):
        raise click.UsageError("--part and --silhouette belong to one photo; trace that photo by itself")
    from insertgen.pipeline.outline import trace as run_trace

    options: dict[str, Any] = {
        "square": square, "edge_height": edge_height, "upright": upright, "squares_at": squares_at or 0.0,
        "camera_height": camera_height, "silhouette_file": silhouette, "underside": underside, "part": part, "at": at,
        "into": into, "overwrite": overwrite,
    }  # fmt: skip
    shared = heights[0] if len(heights) == 1 else None
    asked = [(photo, name, heights[at] if len(heights) > 1 else shared) for at, (photo, name) in enumerate(zip(photos, names, strict=True))]
    done = _each(asked, lambda photo, name, height: run_trace(photo, name=name, height=height, **options), as_json)
    if as_json:
        write_json(_figures(done[0]) if len(photos) == 1 else [_figures(one) for one in done])
    if len(done) < len(photos):
        raise PhotoError(f"{len(photos) - len(done)} of {len(photos)} photos were not traced; see above")


def _check_counts(photos: tuple[Path, ...], names: tuple[str, ...], heights: tuple[float, ...]) -> None:
    if len(names) == 1 < len(photos):
        raise NotYetError(
            "several photos of one item are not joined yet: trace one photo of it, or give each photo a --name of its own"
        )
    if len(photos) == 1 < len(names):
        raise NotYetError("several items in one photo are not told apart yet: photograph them one by one")
    if len(names) != len(photos):
        raise click.UsageError(f"{len(photos)} photos and {len(names)} names; give one --name for each photo, in their order")
    if len(heights) > 1 and len(heights) != len(photos):
        raise click.UsageError(f"{len(photos)} photos and {len(heights)} heights; give --height once for all, or for each")
    doubled = sorted({name for name in names if names.count(name) > 1})
    if doubled:
        raise click.UsageError(f'two photos have the name "{doubled[0]}"; each shape needs its own')


def _each(
    asked: list[tuple[Path, str, float | None]], run: Callable[[Path, str, float | None], Outlined], as_json: bool
) -> list[Outlined]:
    """Trace one after the other; of several, one that fails does not hold up the rest."""
    progress, done = Progress(), []
    for at, (photo, name, height) in enumerate(asked, 1):
        if len(asked) > 1:
            progress(f"photo {at} of {len(asked)}: {photo.name}")
        try:
            one = run(photo, name, height)
        except InsertgenError as error:
            progress.end()
            if len(asked) == 1:
                raise
            say(f"not traced: {error}")
            continue
        progress.end()
        head = f"{name}: " if len(asked) > 1 else ""
        if not as_json:
            click.echo(_words(one) if not head else f"{name}\n{_words(one)}\n")
        for note in one.notes:
            say(f"{head}note: {note}")
        for warning in one.warnings:
            say(f"{head}warning: {warning}")
        done.append(one)
    return done


def _figures(done: Outlined) -> dict[str, object]:
    traced = done.trace
    return {
        "shape_file": done.shape_file.as_posix(),
        "picture": done.picture.as_posix(),
        "squares": [
            {
                "corners_px": [[round(float(x), 3), round(float(y), 3)] for x, y in fit.corners_px],
                "side": round(fit.side, 4),
                "residual_px": round(fit.residual_px, 4),
                "used": fit.used,
                "coded": fit.coded,
                "why": fit.why,
            }
            for fit in traced.squares
        ],
        "mm_per_pixel": round(traced.mm_per_pixel, 6),
        "tilt_deg": round(traced.tilt_deg, 3),
        "camera_height": None if traced.camera_height is None else round(traced.camera_height, 2),
        "edge_height": round(traced.edge_height, 3),
        "upright": done.asked.upright,
        "assumed": list(traced.assumed),
        "underside": done.asked.underside,
        "part": _part_figures(done),
        "length": round(traced.length, 3),
        "width": round(traced.width, 3),
        "area": round(traced.area, 2),
        "expected_error": round(traced.expected_error, 3),
        "error_per_10mm": round(traced.error_per_10mm, 3),
        "notes": list(done.notes),
        "warnings": list(done.warnings),
    }


def _part_figures(done: Outlined) -> dict[str, object] | None:
    if done.asked.part is None:
        return None
    x, y, angle = done.asked.at or (0.0, 0.0, 0.0)
    return {
        "from": done.asked.part[0],
        "to": done.asked.part[1],
        "at": [x, y],
        "angle_deg": angle,
        "replaced": done.replaced,
        "all": [[bottom, top] for bottom, top in _bands(done)],
    }


def _bands(done: Outlined) -> list[tuple[float, float | None]]:
    solid = done.shape.solid
    return [(part.bottom, part.top) for part in solid] if isinstance(solid, tuple) else []


def _words(done: Outlined) -> str:
    traced, asked = done.trace, done.asked
    used = sum(fit.used for fit in traced.squares)
    lines = [] if asked.part is None else [_part_words(done)]
    if asked.underside:
        lines.append("underside: the outline is mirrored back, seen from above")
    lines += [
        f"length {format_length(traced.length)}, width {format_length(traced.width)}",
        f"expected error {format_mm(traced.expected_error)} mm (19 of 20 points of the outline lie nearer than that)",
        f"squares {used} of {len(traced.squares)} used, {format_mm(traced.mm_per_pixel, 3)} mm a pixel, "
        f"tilt {format_mm(traced.tilt_deg, 1)} degrees",
    ]
    if asked.height is None and asked.edge_height is None and asked.part is None:
        lines.append(
            f"no height given: the outline may be up to {format_mm(traced.error_per_10mm, 1)} mm too long for every "
            "10 mm that the item's edge stands above the bench; give --height"
        )
    lines += [f"shape   {done.shape_file}", f"picture {done.picture} (look at it before you trust the outline)"]
    return "\n".join(lines)


def _part_words(done: Outlined) -> str:
    bottom, top = done.asked.part or (0.0, 0.0)
    every = ", ".join(
        f"{format_mm(low)} mm up" if high is None else f"{format_mm(low)}-{format_mm(high)}" for low, high in _bands(done)
    )
    verb = "replaced" if done.replaced else "written"
    return f"part {format_mm(bottom)}-{format_mm(top)} mm {verb}; the shape's parts: {every} mm"
