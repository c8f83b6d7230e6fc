"""A photo file to a shape file, or to one part of it, and a picture of what was traced."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from insertgen.errors import InsertgenError, OutputError
from insertgen.files.names import slug
from insertgen.files.shape import read_shape, write_shape
from insertgen.files.text import read_text
from insertgen.geometry.pose import move_outline
from insertgen.model.figures import Outline, Pose
from insertgen.model.shape import Part, Shape, Traced
from insertgen.photo.overlay import draw_overlay
from insertgen.photo.trace import Looked, Trace, trace_item
from insertgen.pipeline.asked import Asked, assumed_words, check_asked, picture_words, standing_of
from insertgen.pipeline.disk import write_file
from insertgen.pipeline.parts import Band, Spot, check_band, kept_comments, with_part
from insertgen.units import format_mm

__all__ = ["Outlined", "mirrored", "trace"]

_LOW, _HIGH = 0.2, 0.8  # of a band: between these its edge is thought to stand, as of the whole height
_SPAN = 3.0  # mm: an outline off by more than this holds nothing


@dataclass(frozen=True, slots=True)
class Outlined:
    """What was traced and written.

    Attributes
    ----------
    trace : Trace
        The outline seen from above, in its own frame; ``outline_px`` as in the photo, not mirrored.
    shape : Shape
        As written.
    replaced : bool
        Whether a part of that band stood in the shape before.
    notes : tuple of str
        What was assumed, and how to say otherwise.
    """

    trace: Trace
    shape: Shape
    asked: Asked
    shape_file: Path
    picture: Path
    replaced: bool = False
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Made:
    text: str
    shape: Shape
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def trace(
    looked: Callable[[], Looked],
    number: int = 1,
    *,
    name: str,
    height: float | None = None,
    edge_height: float | None = None,
    underside: bool = False,
    part: Band | None = None,
    at: Spot | None = None,
    upright: bool = False,
    into: Path = Path("shapes"),
    overwrite: bool = False,
) -> Outlined:
    """Trace one item of a photo into ``into``/<slug>.toml and <slug>.trace.png; of a part, <slug>.FROM-TO.trace.png.

    With ``part`` the rest of a shape file that stands there is kept.

    Parameters
    ----------
    looked : callable
        Gives what `look.look_at_photo` found; asked once all else is known to be right, since it takes seconds.
    number : int
        Which item of the photo, 1 the leftmost.
    name : str
    height, edge_height, underside, part, at, upright
        See `asked.Asked`.
    into : Path
    overwrite : bool

    Raises
    ------
    PhotoError
        The photo cannot be read or traced; says how to take it again.
    OutputError
        The shape, or the part, stands there already, or the folder cannot be written; the old files are left.
    InsertgenError
        A band that cannot be in this shape, or a shape file that cannot be read.
    """
    if not name.strip():
        raise InsertgenError("--name is empty; name the item, as in --name \"finish sander\"")
    shape_file = into / f"{slug(name)}.toml"
    band = "" if part is None else f".{format_mm(part[0])}-{format_mm(part[1])}"
    picture = into / f"{slug(name)}{band}.trace.png"
    text = read_text(shape_file) if part is not None and shape_file.exists() else None
    old = None if text is None else read_shape(text, str(shape_file))
    if height is None and old is not None:
        height = old.height
    asked = Asked(height, edge_height, underside, part, at, upright)
    check_asked(asked)
    replaced = part is not None and _check_part(shape_file, old, part, asked, overwrite)
    if part is not None:
        _refuse_standing([picture], overwrite)
    found = looked()
    seen = _traced(found, number, asked)
    fresh = _shape(name, seen, found, asked)
    made = _Made(write_shape(fresh), fresh) if part is None else _merge(old, text, fresh, asked)
    if part is None:
        _refuse_standing([shape_file, picture], overwrite)
    elif (read_text(shape_file) if shape_file.exists() else None) != text:
        raise OutputError(f"{shape_file} was changed while the photo was traced; trace it again")
    _write_together({shape_file: made.text.encode(), picture: draw_overlay(found.photo, seen, picture_words(asked))})
    return Outlined(
        seen, made.shape, asked, shape_file, picture, replaced,
        seen.assumed + assumed_words(asked, seen.edge_height) + made.notes, seen.warnings + made.warnings,
    )  # fmt: skip


def mirrored(outline: Outline) -> Outline:
    """Seen from the other side: x to -x, each ring turned round so that it runs as before.

    >>> mirrored(Outline(((0.0, 0.0), (2.0, 0.0), (0.0, 1.0)))).outer
    ((0.0, 1.0), (-2.0, 0.0), (0.0, 0.0))
    """
    moved = move_outline(outline, Pose(0.0, 0.0, mirror=True))
    return Outline(moved.outer[::-1], tuple(hole[::-1] for hole in moved.holes))


def _check_part(shape_file: Path, old: Shape | None, part: Band, asked: Asked, overwrite: bool) -> bool:
    """Whether the part stands there already; refused before the photo is looked at, which takes seconds."""
    try:
        return check_band(old, part, height=asked.height, overwrite=overwrite)
    except OutputError as error:
        raise OutputError(f"{shape_file}: {error}") from None
    except InsertgenError as error:
        raise InsertgenError(f"{shape_file}: {error}") from None


def _traced(looked: Looked, number: int, asked: Asked) -> Trace:
    seen = trace_item(looked, number, standing_of(asked))
    if asked.part is not None and asked.edge_height is None:
        seen = _doubt_band(seen, asked.part)
    return replace(seen, outline=mirrored(seen.outline)) if asked.underside else seen


def _doubt_band(seen: Trace, band: Band) -> Trace:
    """Add to the expected error what is open because the edge may stand elsewhere in its band.

    The ends of the outline move by half of what its length is off.
    """
    off = seen.error_per_10mm / 2 * (_HIGH - _LOW) / 2 * (band[1] - band[0]) / 10
    warnings = seen.warnings
    if off > _SPAN:
        warnings += (
            f"a high part for this photo: by where its edge stands, the outline may be {off:.1f} mm off; take the photo "
            "from farther away, or give the height of the edge",
        )
    return replace(seen, expected_error=math.hypot(seen.expected_error, off), warnings=warnings)


def _shape(name: str, seen: Trace, looked: Looked, asked: Asked) -> Shape:
    bottom, top = asked.part or (0.0, asked.height)
    return Shape(
        name=name,
        solid=(Part(seen.outline, bottom, top),),
        height=asked.height,
        traced=Traced(
            photos=((looked.photo.name, looked.photo.sha256),),
            square=looked.square,
            squares_used=sum(fit.used for fit in seen.squares),
            mm_per_pixel=seen.mm_per_pixel,
            tilt_deg=seen.tilt_deg,
            expected_error=seen.expected_error,
            camera_height=seen.camera_height,
            edge_height=seen.edge_height,
            warnings=seen.warnings,
            underside=asked.underside,
        ),
    )


def _merge(old: Shape | None, text: str | None, fresh: Shape, asked: Asked) -> _Made:
    merged = with_part(old, fresh, asked.at or (0.0, 0.0, 0.0))
    written, notes = write_shape(merged.shape), []
    if asked.at is None and merged.others:
        notes.append(
            "the part's middle was laid on the middle of the lowest part, its long side to the right; say otherwise with "
            "--at X,Y,ANGLE, as in --at 0,0,180 if it points the wrong way"
        )
    if merged.moved != (0.0, 0.0):
        x, y = (format_mm(-value) for value in merged.moved)
        notes.append(f"this part is the lowest: everything else of the shape was moved by {x}, {y} mm, so that its middle is the origin")
    if old is not None and old.height is not None and old.height != merged.shape.height:
        notes.append(f"the overall height was {format_mm(old.height)} mm, and is {format_mm(merged.shape.height or 0.0)} mm now")
    if text is not None:
        written, count = kept_comments(text, written)
        if count:
            comments = "1 comment of the file now stands" if count == 1 else f"{count} comments of the file now stand"
            notes.append(f"{comments} at its head, for it was written anew")
    read_shape(written, "the shape to be written")  # what could not be read back is not written
    return _Made(written, merged.shape, tuple(notes), merged.warnings)


def _refuse_standing(files: list[Path], overwrite: bool) -> None:
    for path in files:
        if path.exists() and not overwrite:
            raise OutputError(f"{path} stands there already; give another name, or --overwrite to replace it")


def _write_together(files: Mapping[Path, bytes]) -> None:
    """Write all of the files, or leave what stood there."""
    before = {path: path.read_bytes() if path.is_file() else None for path in files}
    written = []
    try:
        for path, data in files.items():
            write_file(path, data)
            written.append(path)
    except BaseException:
        for path in written:
            data_before = before[path]
            if data_before is None:
                path.unlink(missing_ok=True)
            else:
                write_file(path, data_before)
        raise
