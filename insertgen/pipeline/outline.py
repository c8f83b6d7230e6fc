"""A photo file to a shape file and a picture of what was traced."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from insertgen.errors import InsertgenError, PhotoError
from insertgen.files.names import slug
from insertgen.files.shape import write_shape
from insertgen.model import Part, Shape, Traced
from insertgen.photo.load import Photo, load_photo, load_silhouette
from insertgen.photo.overlay import draw_overlay
from insertgen.photo.trace import Trace, trace_photo
from insertgen.pipeline.disk import write_new

__all__ = ["Outlined", "trace"]


@dataclass(frozen=True, slots=True)
class Outlined:
    trace: Trace
    shape_file: Path
    picture: Path


def trace(
    photo_file: Path,
    *,
    name: str,
    square: float,
    height: float | None = None,
    edge_height: float | None = None,
    silhouette_file: Path | None = None,
    into: Path = Path("shapes"),
    overwrite: bool = False,
) -> Outlined:
    """Trace a photo into ``into``/<slug>.toml and <slug>.trace.png.

    Raises
    ------
    PhotoError
        The photo cannot be read or traced; says how to take it again.
    OutputError
        The shape stands there already, or the folder cannot be written.
    """
    shape_file = into / f"{slug(name)}.toml"
    picture = into / f"{slug(name)}.trace.png"
    photo = load_photo(_bytes(photo_file), photo_file.name)
    mask = None
    if silhouette_file is not None:
        mask = load_silhouette(_bytes(silhouette_file), silhouette_file.name, photo)
    traced = trace_photo(photo, square=square, height=height, edge_height=edge_height, silhouette=mask)
    shape = _shape(name, traced, photo, square, height)
    files = {shape_file: write_shape(shape).encode(), picture: draw_overlay(photo, traced)}
    write_new(files, overwrite=overwrite)
    return Outlined(traced, shape_file, picture)


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise PhotoError(f"{path}: there is no such file; check the name and the folder") from None
    except OSError as error:
        raise PhotoError(f"{path} cannot be read: {error.strerror or error}") from None


def _shape(name: str, traced: Trace, photo: Photo, square: float, height: float | None) -> Shape:
    if not name.strip():
        raise InsertgenError("--name is empty; name the item, as in --name \"finish sander\"")
    return Shape(
        name=name,
        solid=(Part(traced.outline, 0.0, height),),
        height=height,
        traced=Traced(
            photos=((photo.name, photo.sha256),),
            square=square,
            squares_used=sum(fit.used for fit in traced.squares),
            mm_per_pixel=traced.mm_per_pixel,
            tilt_deg=traced.tilt_deg,
            expected_error=traced.expected_error,
            camera_height=traced.camera_height,
            edge_height=traced.edge_height,
            warnings=traced.warnings,
        ),
    )
