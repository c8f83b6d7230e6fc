"""What a text file on the disk says."""

from __future__ import annotations

from pathlib import Path

from insertgen.errors import JobError

__all__ = ["decode", "read_text"]

#: A job or shape file is written by hand or by trace; beyond this it is some other file.
LARGEST = 20_000_000


def read_text(path: Path) -> str:
    """The text of a file, UTF-8, with or without a byte order mark.

    Raises
    ------
    JobError
        Missing, a folder, unreadable, over 20 MB, or not UTF-8.
    """
    if path.is_dir():
        raise JobError(f"{path} is a folder; name the file in it")
    try:
        if path.stat().st_size > LARGEST:
            raise JobError(f"{path} is over {LARGEST // 1_000_000} MB; this is no job or shape file")
        data = path.read_bytes()
    except FileNotFoundError:
        raise JobError(f"{path}: there is no such file; check the name and the folder") from None
    except OSError as error:
        raise JobError(f"{path} cannot be read: {error.strerror or error}") from None
    return decode(data, str(path))


def decode(data: bytes, file: str) -> str:
    """Bytes to text; ``file`` is for the message.

    Raises
    ------
    JobError
        Not UTF-8: says the line of the first wrong byte.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise JobError(
            f"{file}, line {line}: byte 0x{data[error.start]:02X} is not UTF-8; "
            "save the file as plain text with UTF-8 encoding"
        ) from None
