"""Slugs: what POSIX calls a portable file name (IEEE 1003.1, 3.282), less dot and underscore."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from insertgen.errors import JobError
from insertgen.files.names import slug


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("finish sander", "finish-sander"),
        ("Finish  Sander", "finish-sander"),
        ("finish-sander", "finish-sander"),
        ('1/4" collet', "1-4-collet"),
        ("../../etc/passwd", "etc-passwd"),
        ("Stoßaxt", "stossaxt"),
        ("Füller Ø3", "fuller-3"),
        ("½ in cove", "1-2-in-cove"),
    ],
)
def test_slug(name: str, expected: str) -> None:
    assert slug(name) == expected


@given(st.text(max_size=100))
def test_slug_is_portable_and_settles(name: str) -> None:
    try:
        made = slug(name)
    except JobError:
        assert not re.search(r"[A-Za-z0-9]", name)
        return
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", made)
    assert slug(made) == made


@pytest.mark.parametrize("name", ["", "  ", "--", "日本"])
def test_a_name_without_letter_or_digit_is_refused(name: str) -> None:
    with pytest.raises(JobError, match="no letter or digit"):
        slug(name)


def test_a_name_too_long_for_a_file_is_refused() -> None:
    with pytest.raises(JobError, match="101 characters"):
        slug("a" * 101)
