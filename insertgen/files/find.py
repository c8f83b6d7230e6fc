"""Where the shape file of a name lies: the job's folder, its shapes/, ./shapes/, those shipped; the first wins."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from insertgen.errors import JobError, ShapeNotFoundError
from insertgen.files.names import slug
from insertgen.files.shape import read_shape
from insertgen.files.text import decode, read_text
from insertgen.model.shape import Shape

__all__ = ["shape_finder", "shape_text"]


def shape_finder(job_folder: Path) -> Callable[[str], Shape]:
    """A function from the name of a shape, or its slug, to the shape; each file is read once.

    Raises (the function)
    ---------------------
    ShapeNotFoundError
        In none of the folders: lists them and the nearest names.
    JobError, NotYetError
        The file is there, but cannot be read.
    """
    read: dict[str, Shape] = {}

    def find(name: str) -> Shape:
        key = slug(name)
        if key not in read:
            file, text = shape_text(job_folder, name)
            read[key] = read_shape(text, file)
        return read[key]

    return find


def shape_text(job_folder: Path, name: str) -> tuple[str, str]:
    """Path, as it is to be shown, and text of the shape file of a name.

    Raises
    ------
    ShapeNotFoundError
        In none of the folders.
    JobError
        No letter or digit in the name; unreadable; not UTF-8.
    """
    wanted = f"{slug(name)}.toml"
    folders = list(_folders(job_folder))
    for folder in folders:
        file = folder / wanted
        if file.is_file():
            text = read_text(file) if isinstance(file, Path) else decode(file.read_bytes(), wanted)
            return str(file), text
    raise ShapeNotFoundError(_not_found(name, wanted, folders))


def _folders(job_folder: Path) -> Iterator[Traversable]:
    yield job_folder
    yield job_folder / "shapes"
    yield Path("shapes")
    yield from _shipped()


def _shipped() -> Iterator[Traversable]:
    """Package data of a wheel; for an editable install the folder beside the package."""
    package = files("insertgen")
    yield package / "shapes"
    if isinstance(package, Path) and (package.parent / "pyproject.toml").is_file():
        yield package.parent / "shapes"


def _not_found(name: str, wanted: str, folders: list[Traversable]) -> str:
    names = sorted({_stem(file.name) for folder in folders for file in _tomls(folder)})
    near = difflib.get_close_matches(_stem(wanted), names, n=3, cutoff=0.5)
    looked = ", ".join(dict.fromkeys(str(folder) for folder in folders if folder.is_dir()))
    hint = f"; near it: {', '.join(near)}" if near else ""
    return (
        f'there is no shape "{name}": no {wanted} in {looked}{hint}; '
        f'trace a photo with --name "{name}", or type the sizes in the job'
    )


def _tomls(folder: Traversable) -> Iterator[Traversable]:
    if folder.is_dir():
        yield from (file for file in folder.iterdir() if file.name.endswith(".toml") and _names_itself(file))


def _names_itself(file: Traversable) -> bool:
    """Whether a file could be found by name: those the slug rule cannot spell are never searched for."""
    try:
        return slug(_stem(file.name)) == _stem(file.name)
    except JobError:
        return False


def _stem(name: str) -> str:
    return name.removesuffix(".toml")
