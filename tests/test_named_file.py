"""A file that was named is read, or refused by its name with the mend."""

from __future__ import annotations

from pathlib import Path

import pytest

from wareboard.errors import Unreadable
from wareboard.named_file import bytes_of, text_of


def test_text_comes_without_the_mark_before_it_and_with_one_kind_of_line_end(tmp_path: Path) -> None:
    """Source: Unicode 15, section 23.8: the byte order mark of UTF-8 is EF BB BF and no part of the text."""
    file = tmp_path / "invented.csv"
    file.write_bytes(b"\xef\xbb\xbfh\xc3\xb6he\r\n12\r13\n")
    assert text_of(file) == "höhe\n12\n13\n"
    assert bytes_of(file).startswith(b"\xef\xbb\xbf")


def test_what_cannot_be_read_is_refused_by_its_name(tmp_path: Path) -> None:
    old = tmp_path / "old.csv"
    old.write_bytes("höhe".encode("latin-1"))
    for file, why in ((tmp_path / "gone.toml", "no such file"), (tmp_path, "cannot be read"), (old, "not plain text")):
        with pytest.raises(Unreadable, match=why) as found:
            text_of(file)
        assert file.name in str(found.value)


def test_a_file_larger_than_it_may_be_is_refused_and_one_as_large_is_read(tmp_path: Path) -> None:
    file = tmp_path / "log.csv"
    file.write_bytes(b"12345")
    assert bytes_of(file, most=5) == b"12345"
    with pytest.raises(Unreadable, match=r"log\.csv.*larger"):
        bytes_of(file, most=4)
