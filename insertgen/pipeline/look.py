"""A photo file looked at: how it was taken, what tells its items from the bench, and what was found."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from insertgen.errors import PhotoError
from insertgen.photo.hints import NO_HINTS, Hints
from insertgen.photo.load import load_photo, load_silhouette
from insertgen.photo.trace import Looked, look_at_items

__all__ = ["Look", "Scene", "look_at_photo"]


@dataclass(frozen=True, slots=True)
class Scene:
    """How the photo was taken, for any item in it.

    Attributes
    ----------
    square : float
        Side of the squares.
    squares_at : float
        How high above the bench they lie.
    camera_height : float or None
        Of the lens above the bench, by a tape.
    """

    square: float
    squares_at: float = 0.0
    camera_height: float | None = None


@dataclass(frozen=True, slots=True)
class Look:
    """What tells item from bench beside the photo itself.

    Attributes
    ----------
    silhouette : Path or None
        The item's pixels, painted by hand.
    bench : Path or None
        A photo of the same view without the item.
    hints : Hints
        Places on the item and off it, and where it is.
    count : int
        How many items lie in the photo.
    """

    silhouette: Path | None = None
    bench: Path | None = None
    hints: Hints = NO_HINTS
    count: int = 1


def look_at_photo(photo_file: Path, taken: Scene, look: Look) -> Looked:
    """The items of a photo: what takes seconds, once for all of them.

    Raises
    ------
    PhotoError
        The photo cannot be read, or not so many items be found; says how to take it again.
    InsertgenError
        Lengths and hints that cannot be.
    """
    photo = load_photo(_bytes(photo_file), photo_file.name)
    mask = None
    if look.silhouette is not None:
        mask = load_silhouette(_bytes(look.silhouette), look.silhouette.name, photo)
    bench = None if look.bench is None else load_photo(_bytes(look.bench), look.bench.name)
    return look_at_items(
        photo, square=taken.square, squares_at=taken.squares_at, camera_height=taken.camera_height, silhouette=mask,
        hints=look.hints, bench_photo=bench, count=look.count,
    )  # fmt: skip


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise PhotoError(f"{path}: there is no such file; check the name and the folder") from None
    except OSError as error:
        raise PhotoError(f"{path} cannot be read: {error.strerror or error}") from None
