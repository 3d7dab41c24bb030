"""From what a form or a browser's list sends to what is asked of a board."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from wareboard.book.boards.asking import Asked
from wareboard.errors import Unreadable, WareboardError
from wareboard.quantities import mass_g

# What scales type before and after the figure: stable or not, gross or net, then sign, figure, unit.
FROM_A_SCALE = re.compile(r"^[A-Za-z,;:\s]*([+-]?)\s*(\d+(?:\.\d+)?)\s*(kg|g|lb|oz)?\W*$", re.IGNORECASE)
LONGEST_AWAY = timedelta(days=400)


def fresh_key() -> str:
    """A key for an entry that no other has."""
    return uuid4().hex


def asked_from(sent: Mapping[str, Any], key: str, who: str, now: datetime) -> Asked:
    """What was sent, as an entry.

    Args:
        sent: plain words by the names of `Asked`; ``made`` and ``sent`` as the sender's own clock had them, ms.
        now: the studio's clock, which alone counts: from the sender's only the time between the two is taken.
    Raises:
        Unreadable: for words where a number should be.
    """
    kind = _words(sent, "kind")
    return Asked(
        key=key,
        kind=kind,
        who=who[:80],
        happened=moment_of(sent, now),
        board=_words(sent, "board"),
        pieces=_whole(sent, "pieces"),
        to=_words(sent, "to"),
        other=_words(sent, "other"),
        reason=_words(sent, "own_reason") or _words(sent, "reason"),
        place=_words(sent, "place"),
        grams=read_weight(_words(sent, "grams")) if kind == "weigh" else None,
        undoes=_words(sent, "undoes"),
        stage_seen=_words(sent, "stage_seen"),
        pieces_seen=_whole(sent, "pieces_seen"),
        note=_long_words(sent, "note"),
        sheet=_words(sent, "sheet"),
    )


def read_weight(written: str) -> float:
    """A weight in g from what a person writes or a scale types.

    Raises:
        Unreadable: if it is neither.
    """
    try:
        return mass_g(written)
    except WareboardError:
        typed = FROM_A_SCALE.match(written)
        if typed is None:
            raise
    if typed[1] == "-":
        return -float(typed[2])  # a scale that was not zeroed: refused by name where weights are checked
    return mass_g(f"{typed[2]} {typed[3] or 'g'}")


def _words(sent: Mapping[str, Any], name: str) -> str:
    value = sent.get(name, "")
    return str(value).strip()[:200] if isinstance(value, str | int | float) else ""


def _long_words(sent: Mapping[str, Any], name: str) -> str:
    value = sent.get(name, "")
    return " ".join(value.split())[:500] if isinstance(value, str) else ""


def _whole(sent: Mapping[str, Any], name: str) -> int | None:
    written = _words(sent, name)
    if not written:
        return None
    if not re.fullmatch(r"[+-]?\d{1,6}", written):
        raise Unreadable(f"{name.replace('_', ' ')} {written[:20]!r}", "it is not a whole number", "Write digits")
    return int(written)


def moment_of(sent: Mapping[str, Any], now: datetime) -> datetime:
    """When something happened by the studio's clock: now, less the time that the sender's clock counted since."""
    try:
        ago = timedelta(milliseconds=float(sent["sent"]) - float(sent["made"]))
    except (KeyError, TypeError, ValueError, OverflowError):
        return now
    return now - ago if timedelta(0) <= ago <= LONGEST_AWAY else now
