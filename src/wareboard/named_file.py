"""A file that a person named: what it holds or is to hold, or a refusal by its name."""

from __future__ import annotations

import secrets
import shutil
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


def refuse_standing(file: Path, replace: bool = False) -> None:
    """Nothing, where a file may be written.

    Raises:
        Unreadable: if something of that name stands there already and it is not to be replaced.
    """
    if not replace and (file.is_file() or file.is_symlink()):
        why = "there is a file of that name already, and it is not written over"
        raise Unreadable(str(file), why, "Give another name, or add --replace to have it replaced")


def write_whole(file: Path, content: str | bytes, replace: bool = False) -> None:
    """The content written into a file, whole or not at all; what stood there stays until then.

    Text is written as UTF-8, its lines ended as they are.

    Raises:
        Unreadable: as `refuse_standing`, and if it cannot be written.
    """
    refuse_standing(file, replace)
    data = content.encode("utf-8") if isinstance(content, str) else content
    target = file.resolve()  # a link stays a link: what it leads to is replaced
    unfinished = target.with_name(f".{target.name[:100]}.{secrets.token_hex(6)}")
    try:
        if target.exists() and not target.is_file():
            target.write_bytes(data)  # a pipe or a printer is no file that could be replaced
            return
        try:
            unfinished.write_bytes(data)
            if target.exists():
                shutil.copymode(target, unfinished)
            unfinished.replace(target)
        finally:
            unfinished.unlink(missing_ok=True)
    except OSError as problem:
        why = f"it cannot be written ({problem.strerror})"
        raise Unreadable(str(file), why, "Check the folder, its rights and the room on the disk") from None
