"""Codes that survive the kiln: a letter and a number, scratched into a foot, written in iron oxide or pressed with stamps.

The workshop chooses how its codes are made. Incised: the form's first letter and a number, few strokes. Iron oxide: numbers
alone, brushed on; one run of them for the whole workshop. Foot-ring stamp: one letter for all ware of a commission, and a
number.
"""

from __future__ import annotations

import re
import unicodedata

from wareboard.book.boards.models import BenchChoice, Board
from wareboard.book.models import Commission
from wareboard.errors import Unreadable

# Scratched into clay an I reads as 1, an O or a Q as 0: the form's next letter is taken.
# An N stands before the numbers that are written alone.
EASILY_MISREAD = frozenset("IOQN")
CODE = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,5})")
SPARE_LETTER = "K"
NUMBERS_ALONE = "N"  # stands before a number written in iron oxide, where a letter must; on the ware there is none
INCISED, OXIDE, STAMP = "incised", "oxide", "stamp"
SCHEMES = {
    INCISED: "Incised: a letter for the form and a number, such as C12",
    OXIDE: "Iron oxide: a number alone, such as 41",
    STAMP: "Foot-ring stamp: a letter stamp for the commission and a number, such as B7",
}
STAMPS = "ABCDEFGHJKLMPRSTUVWXYZ"  # without what is misread, and without the letter of the numbers alone


def read_code(written: str) -> str:
    """A board's code as it is kept: capitals and figures without anything between.

    Raises:
        Unreadable: if it is not up to three letters and a number.
    """
    plain = re.sub(r"[\s.\-/]+", "", unicodedata.normalize("NFKC", written)).upper()
    if re.fullmatch(r"[1-9][0-9]{0,5}", plain):
        plain = NUMBERS_ALONE + plain
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


def next_code(form: str, commission: Commission | None = None) -> str:
    """The next free code for a board of this form by the workshop's scheme; numbers are never used twice."""
    scheme = chosen("codes") or INCISED
    letter = letter_of(form)
    if scheme == OXIDE:
        letter = NUMBERS_ALONE
    elif scheme == STAMP and commission is not None:
        letter = stamp_of(commission)
    last = Board.objects.filter(letters=letter).order_by("-number").values_list("number", flat=True).first() or 0
    return f"{letter}{last + 1}"


def stamp_of(commission: Commission) -> str:
    """The letter stamp of a commission: the one its boards have, else the next in turn."""
    held = Board.objects.filter(commission=commission, letters__in=list(STAMPS)).order_by("pk").first()
    return held.letters if held else STAMPS[(commission.pk - 1) % len(STAMPS)]


def on_the_ware(code: str) -> str:
    """The code as it stands on the ware: a number in iron oxide has no letter."""
    return code.removeprefix(NUMBERS_ALONE) if apart(code)[0] == NUMBERS_ALONE else code


def chosen(name: str) -> str:
    """What the workshop chose last under a name; empty where nothing was."""
    return BenchChoice.objects.filter(name=name).order_by("-pk").values_list("value", flat=True).first() or ""
