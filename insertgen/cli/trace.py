"""``insertgen trace``: outline an item, or a part of it, from a photo with reference squares."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from insertgen.cli.options import LENGTH, Progress, say, write_json
from insertgen.cli.trace_values import Band, Pixels, Spot, parse_band, parse_spot
from insertgen.errors import InsertgenError, NotYetError, PhotoError
from insertgen.units import format_length, format_mm

if TYPE_CHECKING:
    from insertgen.photo.trace import Looked
    from insertgen.pipeline.outline import Outlined

__all__ = ["parse_band", "parse_spot", "trace"]


@click.command()
@click.argument("photos", metavar="PHOTO", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--square", type=LENGTH, required=True, metavar="LENGTH", help="Side of the squares as measured on the paper.")
@click.option("--name", "names", required=True, multiple=True, help="What the item is called; names the shape file. Once for each photo, in their order; or once for each item in one photo, from left to right.")
@click.option("--height", "heights", type=LENGTH, multiple=True, metavar="LENGTH", help="Overall height of the item. How high its edge stands below that is told by its look; that of a part is taken at the part's middle. With several items once for all, or once for each.")
@click.option("--edge-height", type=LENGTH, metavar="LENGTH", help="Height above the bench at which the visible edge really stands as the item lies in the photo, instead of --height (with --part or --underside: beside it). The edge of a sole or pad turned up stands at the item's overall height.")
@click.option("--upright", is_flag=True, help="Take the walls for upright whatever the item looks like: sides that look away from the camera are cast high, the others low. For wrenches and boxes, not for round things.")
@click.option("--squares-at", type=LENGTH, metavar="LENGTH", help="How high above the bench all the squares lie, as on blocks.  [default: on the bench]")
@click.option("--camera-height", type=LENGTH, metavar="LENGTH", help="From the bench to the lens, measured with a tape; tells the focal length where the photo does not.")
@click.option("--underside", is_flag=True, help="The item lies turned over: its outline is mirrored back, so that it is seen from above.")
@click.option("--part", type=Band(), metavar="FROM-TO", help="Outline of this height band only, measured from the item's lowest point as it is stored; put into the shape file, the rest of which is kept. As in 0-25mm.")
@click.option("--at", "at", type=Spot(), metavar="X,Y[,ANGLE]", help="Where the middle of the part goes, from the middle of the lowest part: X to the right, Y to the back, ANGLE counter-clockwise.  [default: 0,0,0]")
@click.option("--silhouette", type=click.Path(path_type=Path), metavar="PNG", help="The item's pixels in white, painted by hand, the photo's size.")
@click.option("--inside", type=Pixels(2), multiple=True, metavar="X,Y", help="A place on the item where part of it was missed: pixels of the photo shown upright, from its top left corner. May be repeated.")
@click.option("--outside", type=Pixels(2), multiple=True, metavar="X,Y", help="A place on the bench, in a hole or in a shadow, that was taken for the item. May be repeated.")
@click.option("--crop", type=Pixels(4), metavar="X0,Y0,X1,Y1", help="The item lies within this part of the photo; what else lies on the bench is left out.")
@click.option("--bench-photo", type=click.Path(path_type=Path), metavar="PHOTO", help="The same view without the item, squares left as they lie: tells item from bench nearly for certain.")
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
    inside: tuple[tuple[float, float], ...],
    outside: tuple[tuple[float, float], ...],
    crop: tuple[float, float, float, float] | None,
    bench_photo: Path | None,
    into: Path,
    overwrite: bool,
    as_json: bool,
) -> None:
    """Outline an item from a photo with reference squares beside it.

    Writes shapes/NAME.toml, and NAME.trace.png: the photo with the outline and the squares
    drawn on it. Look at that picture before you trust the outline.

    An item that is wider above than where it stands is traced in parts, one photo each, with
    --part; the pictures are then NAME.FROM-TO.trace.png.

    Several photos, of one item each, take a --name each, in their order; several items in one
    photo, lying apart, take a --name each from left to right.

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
    if len(names) > 1 and (part is not None or silhouette is not None):
        raise click.UsageError("--part and --silhouette belong to one item in one photo; trace that one by itself")
    if len(photos) > 1 and (inside or outside or crop or bench_photo):
        raise click.UsageError("--inside, --outside, --crop and --bench-photo belong to one photo; trace that photo by itself")
    from insertgen.photo.hints import Hints
    from insertgen.pipeline.asked import Asked, check_asked
    from insertgen.pipeline.look import Look, Scene, look_at_photo
    from insertgen.pipeline.outline import trace as run_trace

    several = len(names) if len(photos) == 1 else 1
    taken, look = Scene(square, squares_at or 0.0, camera_height), Look(silhouette, bench_photo, Hints(inside, outside, crop), several)
    look_at = partial(look_at_photo, taken=taken, look=look)
    options: dict[str, Any] = {"edge_height": edge_height, "upright": upright, "underside": underside, "part": part, "at": at}
    shared = heights[0] if len(heights) == 1 else None
    every = photos if len(photos) > 1 else photos * len(names)
    asked = [(photo, name, heights[at] if len(heights) > 1 else shared) for at, (photo, name) in enumerate(zip(every, names, strict=True))]
    number = {name: at if several > 1 else 1 for at, name in enumerate(names, 1)}
    found = None
    if several > 1:
        for _, _, height in asked:
            check_asked(Asked(height, **options))
        found = _found(look_at, photos[0], several)

    def one(photo: Path, name: str, height: float | None) -> Outlined:
        return run_trace(lambda: found or look_at(photo), number[name], name=name, height=height, into=into, overwrite=overwrite, **options)

    done = _each(asked, one, as_json)
    if as_json:
        write_json(_figures(done[0]) if len(asked) == 1 else [_figures(one) for one in done])
    if len(done) < len(asked):
        raise PhotoError(f"{len(asked) - len(done)} of {len(asked)} items were not traced; see above")


def _found(look_at: Callable[[Path], Looked], photo: Path, count: int) -> Looked:
    """Several items of one photo, looked at once: what is wrong with the photo is said once, too."""
    progress = Progress()
    progress(f"looking for {count} items in {photo.name}")
    try:
        return look_at(photo)
    finally:
        progress.end()


def _check_counts(photos: tuple[Path, ...], names: tuple[str, ...], heights: tuple[float, ...]) -> None:
    if len(names) == 1 < len(photos):
        raise NotYetError(
            "several photos of one item are not joined yet: trace one photo of it, or give each photo a --name of its own"
        )
    if len(names) != len(photos) > 1:
        raise click.UsageError(f"{len(photos)} photos and {len(names)} names; give one --name for each photo, in their order")
    if len(heights) > 1 and len(heights) != len(names):
        raise click.UsageError(f"{len(names)} names and {len(heights)} heights; give --height once for all, or for each")
    doubled = sorted({name for name in names if names.count(name) > 1})
    if doubled:
        raise click.UsageError(f'two items have the name "{doubled[0]}"; each shape needs its own')


def _each(
    asked: list[tuple[Path, str, float | None]], run: Callable[[Path, str, float | None], Outlined], as_json: bool
) -> list[Outlined]:
    """Trace one after the other; of several, one that fails does not hold up the rest."""
    progress, done = Progress(), []
    for at, (photo, name, height) in enumerate(asked, 1):
        if len(asked) > 1:
            progress(f"item {at} of {len(asked)}: {name}, {photo.name}")
        try:
            one = run(photo, name, height)
        except InsertgenError as error:
            progress.end()
            if len(asked) == 1:
                raise
            say(f"{name}: not traced: {error}")
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
        "expected_mean": round(traced.expected_mean, 3),
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
