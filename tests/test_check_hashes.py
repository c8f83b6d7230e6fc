"""Files changed or missing since they were written."""

from __future__ import annotations

import pytest

from insertgen.check.hashes import check_hashes
from insertgen.model.finding import Severity

EMPTY = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
LISTED = [("rack/sheet-1.dxf", ABC), ("rack/marks-1.dxf", EMPTY)]


def test_files_as_written_have_no_findings() -> None:
    files = {"rack/sheet-1.dxf": b"abc", "rack/marks-1.dxf": b"", "rack/of-the-shop.nc": b"not listed"}
    assert check_hashes(LISTED, files.get) == ()


@pytest.mark.parametrize(("data", "said"), [(b"abd", "changed"), (b"abc\n", "changed"), (None, "missing")])
def test_a_file_changed_or_missing(data: bytes | None, said: str) -> None:
    files = {"rack/sheet-1.dxf": data, "rack/marks-1.dxf": b""}
    found = check_hashes(LISTED, files.get)
    assert [(one.code, one.file, one.severity) for one in found] == [
        ("file-changed", "rack/sheet-1.dxf", Severity.WARNING)
    ]
    assert said in found[0].message
    assert "rack/sheet-1.dxf" in found[0].message
    assert found[0].remedy


def test_each_file_is_named() -> None:
    found = check_hashes(LISTED, {"rack/marks-1.dxf": b"x"}.get)
    assert [one.file for one in found] == ["rack/sheet-1.dxf", "rack/marks-1.dxf"]
