"""The shelves of the workshop: how many there are, and what each is called."""

from __future__ import annotations

import re

from wareboard.book.boards.codes import chosen
from wareboard.errors import OutOfRange

SHELVES, MOST_SHELVES = 12, 99


def how_many() -> int:
    """How many shelves the workshop has."""
    written = chosen("shelves")
    return int(written) if written.isdecimal() else SHELVES


def name_of(number: int) -> str:
    """What a shelf is called."""
    return f"Shelf {number}"


def place_meant(written: str) -> str:
    """What a shelf is called, for its number or its name; any other place as it was written.

    Raises:
        OutOfRange: for a number that no shelf has.
    """
    numbered = re.fullmatch(r"(?:shelf\s*)?(\d{1,4})", written.strip().casefold())
    if numbered is None:
        return written.strip()
    if not 1 <= int(numbered[1]) <= how_many():
        raise OutOfRange(f"shelf {int(numbered[1])}", f"there are shelves 1 to {how_many()}", "Say on Paper how many")
    return name_of(int(numbered[1]))
