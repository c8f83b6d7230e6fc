"""Everything that is written to the disk: whole or not at all.

A single file is written beside its place and renamed into it. A build folder is
staged whole beside the old one, with whatever else stood in the old one, and
the two are exchanged by renaming; a build that was killed in between leaves the
old folder, at worst under the name that the next build looks for.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from insertgen.errors import OutputError

__all__ = ["sha256", "staged_folder", "write_file", "write_new"]


def sha256(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def write_new(files: Mapping[Path, bytes], *, overwrite: bool) -> None:
    """Write files, none of which may stand there already unless ``overwrite``.

    Raises
    ------
    OutputError
        One stands there, or cannot be written; nothing is written then.
    """
    for path in files:
        if path.exists() and not overwrite:
            raise OutputError(f"{path} stands there already; give another name, or --overwrite to replace it")
    for path, data in files.items():
        write_file(path, data)


def write_file(path: Path, data: bytes) -> None:
    """Write one file whole, making its folder if there is none."""
    with _readable_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        aside = Path(name)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            aside.chmod(0o666 & ~_umask())
            aside.replace(path)
        except BaseException:
            aside.unlink(missing_ok=True)
            raise


@contextmanager
def staged_folder(folder: Path, files: Mapping[str, bytes], *, drop: frozenset[str]) -> Iterator[Path]:
    """Stage a folder with ``files`` and the strangers of the old one; exchange the two on leaving.

    Parameters
    ----------
    folder : Path
        Where it goes; the folder that stands there stays whole until the end.
    files : mapping of str to bytes
        By path relative to the folder, with "/".
    drop : set of str
        Files of the old folder that are not taken along (an earlier build's).

    Yields
    ------
    Path
        The staged folder; more files may be put there before leaving.
    """
    with _readable_errors(folder):
        _recover(folder)
        if folder.exists() and not folder.is_dir():
            raise OutputError(f"{folder} is a file; give another folder with --out")
        folder.parent.mkdir(parents=True, exist_ok=True)
        staged = Path(tempfile.mkdtemp(prefix=f".{folder.name}.new-", dir=folder.parent))
        try:
            staged.chmod(0o777 & ~_umask())
            for name, data in files.items():
                write_file(staged / name, data)
            yield staged
            _take_along(folder, staged, drop)
            _exchange(folder, staged)
        finally:
            shutil.rmtree(staged, ignore_errors=True)


def _take_along(old: Path, new: Path, drop: frozenset[str]) -> None:
    if not old.is_dir():
        return
    for path in sorted(old.rglob("*")):
        name = path.relative_to(old).as_posix()
        target = new / name
        if path.is_dir() and not path.is_symlink():
            # folders that an earlier build alone filled are not kept empty
            if not any(path.iterdir()):
                target.mkdir(parents=True, exist_ok=True)
        elif name not in drop and not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            _link(path, target)


def _link(path: Path, target: Path) -> None:
    try:
        os.link(path, target, follow_symlinks=False)
    except OSError:  # no hard links on this file system
        shutil.copy2(path, target, follow_symlinks=False)


def _exchange(folder: Path, staged: Path) -> None:
    previous = _previous(folder)
    if folder.exists():
        folder.rename(previous)
    try:
        staged.rename(folder)
    except BaseException:
        if previous.exists() and not folder.exists():
            previous.rename(folder)
        raise
    shutil.rmtree(previous, ignore_errors=True)


def _recover(folder: Path) -> None:
    """Put back the old folder that a killed build left aside."""
    previous = _previous(folder)
    if previous.exists() and not folder.exists():
        previous.rename(folder)
    elif previous.exists():
        shutil.rmtree(previous)


def _previous(folder: Path) -> Path:
    return folder.with_name(f".{folder.name}.previous")


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


@contextmanager
def _readable_errors(path: Path) -> Iterator[None]:
    try:
        yield
    except OutputError:
        raise
    except OSError as error:
        place = error.filename or path
        raise OutputError(
            f"{path} cannot be written: {error.strerror or error} ({place}); "
            "choose a folder you may write to with --out or --into, or free some room"
        ) from error
