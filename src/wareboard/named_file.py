"""A file that a person named: what it holds, or a refusal by its name."""

from __future__ import annotations

from pathlib import Path

from wareboard.errors import Unreadable

MOST_BYTES, MOST_BYTES_OF_TEXT = 80_000_000, 2_000_000
NAME_OR_FOLDER = "Check the name and the folder"


def bytes_of(file: Path, most: int = MOST_BYTES) -> bytes:
    """All of a file's bytes.

    Args:
        most: bytes; a larger file is refused before any of it is read.
    Raises:
        Unreadable: if there is no such file, it cannot be read, or it is larger than ``most``.
    """
    try:
        if file.stat().st_size > most:
            raise Unreadable(str(file), f"it is larger than {most / 1e6:g} MB", "Check that it is the file you mean")
        return file.read_bytes()
    except FileNotFoundError:
        raise Unreadable(str(file), "there is no such file", NAME_OR_FOLDER) from None
    except OSError as problem:
        raise Unreadable(str(file), f"it cannot be read ({problem.strerror})", NAME_OR_FOLDER) from None


def text_of(file: Path, most: int = MOST_BYTES_OF_TEXT) -> str:
    """The text of a file, without the mark that some programs set before it, its lines ended in one way.

    Raises:
        Unreadable: as `bytes_of`, and if it is no plain text in UTF-8.
    """
    try:
        text = bytes_of(file, most).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Unreadable(str(file), "it is not plain text in UTF-8", "Save it as UTF-8 text") from None
    return text.replace("\r\n", "\n").replace("\r", "\n")
