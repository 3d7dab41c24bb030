"""Places in a picture as they are written on the command line."""

from __future__ import annotations

from typing import Any

from wareboard.errors import Unreadable


def numbers_in(text: str, count: int) -> Any:
    """A tuple of so many numbers, of text with commas or spaces between them.

    Raises:
        Unreadable: if there are more or fewer, or one is no number.
    """
    try:
        found = tuple(float(part) for part in text.replace(",", " ").split())
    except ValueError:
        found = ()
    if len(found) != count:
        raise Unreadable(repr(text), f"it is not {count} numbers", "Write whole pixels with spaces between")
    return found
