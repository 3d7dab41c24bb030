"""Codes that survive the kiln: a letter and a number, short enough to scratch into a foot or write in iron oxide."""

from __future__ import annotations

import re
import unicodedata

from wareboard.book.boards.models import Board
from wareboard.errors import Unreadable

# Scratched into clay an I reads as 1, an O or a Q as 0: the form's next letter is taken.
EASILY_MISREAD = frozenset("IOQ")
CODE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,5})")
SPARE_LETTER = "K"


def read_code(written: str) -> str:
    """A board's code as it is kept: capitals and figures without anything between.

    Raises:
        Unreadable: if it is not up to three letters and a number.
    """
    plain = re.sub(r"[\s.\-/]+", "", unicodedata.normalize("NFKC", written)).upper()
    if not CODE.fullmatch(plain):
        raise Unreadable(
            f"board {written.strip()[:20]!r}",
            "a code is one to three letters and a number, so that it can be scratched or written in oxide",
            "Write it like C12, or leave it empty for the next free one",
        )
    return plain


def apart(code: str) -> tuple[str, int]:
    """The letters and the number of a code that was read."""
    found = CODE.fullmatch(code)
    if found is None:
        raise Unreadable(f"board {code!r}", "it is not a letter and a number", "Write it like C12")
    return found[1], int(found[2])


def letter_of(form: str) -> str:
    """The first letter of a form's name that cannot be misread, without its accents."""
    plain = unicodedata.normalize("NFKD", form).encode("ascii", "ignore").decode().upper()
    return next((each for each in plain if each.isalpha() and each not in EASILY_MISREAD), SPARE_LETTER)


def next_code(form: str) -> str:
    """The next free code for a board of this form; numbers are never used twice."""
    letter = letter_of(form)
    last = Board.objects.filter(letters=letter).order_by("-number").values_list("number", flat=True).first() or 0
    return f"{letter}{last + 1}"
