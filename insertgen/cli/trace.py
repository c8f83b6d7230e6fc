"""``insertgen trace``: outline an item from a photo with reference squares."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from insertgen.cli.options import LENGTH, say, write_json
from insertgen.errors import NotYetError
from insertgen.units import format_length, format_mm

if TYPE_CHECKING:
    from insertgen.pipeline.outline import Outlined

__all__ = ["trace"]


@click.command()
@click.argument("photos", metavar="PHOTO", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--square", type=LENGTH, required=True, metavar="LENGTH", help="Side of the squares as measured on the paper.")
@click.option("--name", required=True, help="What the item is called; names the shape file.")
@click.option("--height", type=LENGTH, metavar="LENGTH", help="Overall height of the item as it lies; the outline is taken at half of it.")
@click.option("--edge-height", type=LENGTH, metavar="LENGTH", help="Height at which the visible edge really stands, instead of --height.")
@click.option("--silhouette", type=click.Path(path_type=Path), metavar="PNG", help="The item's pixels in white, painted by hand, the photo's size.")
@click.option("--into", type=click.Path(path_type=Path), default=Path("shapes"), show_default=True, help="Folder for the shape file.")
@click.option("--overwrite", is_flag=True, help="Replace a shape of that name.")
@click.option("--json", "as_json", is_flag=True, help="Write the figures as JSON.")
def trace(
    photos: tuple[Path, ...],
    square: float,
    name: str,
    height: float | None,
    edge_height: float | None,
    silhouette: Path | None,
    into: Path,
    overwrite: bool,
    as_json: bool,
) -> None:
    """Outline an item from a photo with reference squares beside it.

    Writes shapes/NAME.toml, and NAME.trace.png: the photo with the outline and the squares
    drawn on it. Look at that picture before you trust the outline.

    \b
    Example:
      insertgen trace sander.jpg --square 40mm --name "finish sander" --height 118mm
    """
    if len(photos) > 1:
        raise NotYetError("several photos of one item are not joined yet; trace one photo at a time")
    from insertgen.pipeline.outline import trace as run_trace

    done = run_trace(
        photos[0],
        name=name,
        square=square,
        height=height,
        edge_height=edge_height,
        silhouette_file=silhouette,
        into=into,
        overwrite=overwrite,
    )
    if as_json:
        write_json(_figures(done))
    else:
        click.echo(_words(done, told_height=height is not None or edge_height is not None))
    for warning in done.trace.warnings:
        say(f"warning: {warning}")


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
        "length": round(traced.length, 3),
        "width": round(traced.width, 3),
        "area": round(traced.area, 2),
        "expected_error": round(traced.expected_error, 3),
        "error_per_10mm": round(traced.error_per_10mm, 3),
        "warnings": list(traced.warnings),
    }


def _words(done: Outlined, *, told_height: bool) -> str:
    traced = done.trace
    used = sum(fit.used for fit in traced.squares)
    lines = [
        f"length {format_length(traced.length)}, width {format_length(traced.width)}",
        f"expected error {format_mm(traced.expected_error)} mm (19 of 20 points of the outline lie nearer than that)",
        f"squares {used} of {len(traced.squares)} used, {format_mm(traced.mm_per_pixel, 3)} mm a pixel, "
        f"tilt {format_mm(traced.tilt_deg, 1)} degrees",
    ]
    if not told_height:
        lines.append(
            f"no height given: the outline may be up to {format_mm(traced.error_per_10mm, 1)} mm too long for every "
            "10 mm that the item's edge stands above the bench; give --height"
        )
    lines += [f"shape   {done.shape_file}", f"picture {done.picture} (look at it before you trust the outline)"]
    return "\n".join(lines)
