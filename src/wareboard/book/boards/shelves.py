"""The shelves of the workshop: how many there are, and what each is called."""

from __future__ import annotations

from wareboard.book.boards.codes import chosen

SHELVES, MOST_SHELVES = 12, 99


def how_many() -> int:
    """How many shelves the workshop has."""
    written = chosen("shelves")
    return int(written) if written.isdecimal() else SHELVES


def name_of(number: int) -> str:
    """What a shelf is called."""
    return f"Shelf {number}"
