"""Claims: what a client says is wrong with a delivered piece, what it shares with others, and what came of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction
from django.db.models import Q

from wareboard.book.firings.recording import keep_photo
from wareboard.book.firings.signing import Signed, begin, change
from wareboard.book.pieces import tracing
from wareboard.book.pieces.models import FAILED, OUTCOMES, Claim, Piece
from wareboard.book.pieces.tracing import Origin, Reach
from wareboard.errors import OutOfRange, Unreadable


@dataclass(frozen=True, slots=True)
class Shared:
    """One thing that a claimed piece has in common with others: its trace, pieces it went into, claims among them."""

    words: str
    kind: str
    key: str
    pieces: int
    delivered: int
    claims: int


def claim(piece: Piece, day: date, what: str, words: str, photo: tuple[bytes, str] | None, by: Signed) -> Claim:
    """A claim against a piece, with a photograph where there is one, kept without place and time.

    Raises:
        OutOfRange: for a piece that was not delivered, or a day before its delivery or to come.
        Unreadable: without a word for what is wrong, or a picture that cannot be read.
    """
    if piece.delivered is None or piece.put_away is not None:
        raise OutOfRange(
            f"a claim against {piece}", "it was never delivered, or is put away", "Look at its number, or say it went"
        )
    if not piece.delivered <= day <= by.when.date():
        raise OutOfRange(
            f"a claim of {day}", f"{piece} went on {piece.delivered}", "Choose a day since then, up to today"
        )
    if not what.strip():
        raise Unreadable("a claim without a reason", "one word is enough to learn from", "Say what is wrong")
    with transaction.atomic():
        file = keep_photo(*photo, by) if photo else None
        row = Claim(piece=piece, day=day, what=what.strip()[:30], words=words.strip()[:400], photo=file)
        return begin(row, f"Claim: {what.strip()[:30]}", by)


def settle(here: Claim, outcome: str, words: str, replacement: Piece | None, day: date, by: Signed) -> Claim:
    """The claim with what came of it.

    Raises:
        Unreadable: for an outcome that there is not, or a refusal without words.
        OutOfRange: for a replacement that cannot be one.
    """
    if outcome not in dict(OUTCOMES):
        raise Unreadable(f"outcome {outcome[:20]!r}", "there is none of that name", "Choose one of the list")
    if outcome == "declined" and not words.strip():
        raise Unreadable("a claim declined without words", "the client will ask why", "Write a word or two")
    if replacement is not None:
        _check_replacement(here, replacement)
    fields: Mapping[str, Any] = {
        "outcome": outcome,
        "outcome_words": words.strip()[:400],
        "replaced_by_id": replacement.pk if replacement and outcome == "replaced" else None,
        "settled": None if outcome == "open" else day,
    }
    return change(here, fields, f"Outcome: {outcome}", by)


def _check_replacement(here: Claim, piece: Piece) -> None:
    taken = Claim.objects.filter(replaced_by=piece, put_away=None).exclude(pk=here.pk).first()
    why = ""
    if piece.pk == here.piece_id:
        why = "a piece does not replace itself"
    elif piece.put_away is not None or piece.grade == FAILED:
        why = "it is put away, or failed"
    elif taken is not None:
        why = f"it replaces {taken.piece} already"
    elif Claim.objects.filter(piece=piece, put_away=None).exists():
        why = "there is a claim against it"
    if why:
        raise OutOfRange(f"{piece} as a replacement", why, "Choose another piece")


def shared(piece: Piece, origin: Origin | None = None) -> list[Shared]:
    """Lots, batches and firings that the piece comes from, with how far each reached and how many claims it has."""
    here = origin or tracing.origin_of(piece)
    rows: list[tuple[str, str, str, Reach]] = [
        (str(lot), "clay", str(lot.pk), tracing.from_clay(lot)) for lot in here.clay
    ]
    rows += [(f"{b.version}, batch {b.number}", "batch", str(b.number), tracing.from_batch(b)) for b in here.batches]
    firings = {row.firing.pk: row.firing for row in here.firings}
    if piece.firing is not None:
        firings.setdefault(piece.firing.pk, piece.firing)
    rows += [(str(each), "firing", str(each.pk), tracing.from_firing(each)) for each in firings.values()]
    return [_shared(*row) for row in rows]


def _shared(words: str, kind: str, key: str, reach: Reach) -> Shared:
    claims = Claim.objects.filter(Q(piece__in=reach.pieces), put_away=None).count()
    return Shared(words, kind, key, len(reach.pieces), len(reach.delivered), claims)
