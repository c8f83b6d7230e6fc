"""Text from the disk."""

from __future__ import annotations

from pathlib import Path

import pytest

from insertgen.errors import JobError
from insertgen.files.text import read_text


def test_utf8_with_and_without_byte_order_mark(tmp_path: Path) -> None:
    for prefix in (b"", b"\xef\xbb\xbf"):
        (tmp_path / "a.toml").write_bytes(prefix + 'name = "Säge"'.encode())
        assert read_text(tmp_path / "a.toml") == 'name = "Säge"'


def test_what_cannot_be_read_is_refused_with_its_place(tmp_path: Path) -> None:
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'format = 1\nname = "S\xe4ge"\n')
    with pytest.raises(JobError, match=r"latin\.toml, line 2: byte 0xE4 is not UTF-8"):
        read_text(latin)
    with pytest.raises(JobError, match=r"nowhere\.toml: there is no such file"):
        read_text(tmp_path / "nowhere.toml")
    with pytest.raises(JobError, match="is a folder"):
        read_text(tmp_path)
    with pytest.raises(JobError, match="cannot be read"):
        read_text(latin / "under-a-file.toml")


def test_a_huge_file_is_refused_unread(tmp_path: Path) -> None:
    huge = tmp_path / "huge.toml"
    with huge.open("wb") as file:
        file.truncate(20_000_001)
    with pytest.raises(JobError, match="over 20 MB"):
        read_text(huge)
