"""The best-matched n of m firsts of a form and why others are left out; what is short, and when to begin it again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from wareboard.book.pieces.models import Piece
from wareboard.book.reckoning.matched import MatchedSet, best_matched
from wareboard.errors import OutOfRange

if TYPE_CHECKING:
    from wareboard.book.boards.counting import FormStanding

MEASURES = {"height_mm": "height", "width_mm": "width", "weight_g": "weight"}
COLOUR = ("colour_l", "colour_a", "colour_b")
WAYS = {
    "height_mm": ("taller", "shorter", "mm"),
    "width_mm": ("wider", "narrower", "mm"),
    "weight_g": ("heavier", "lighter", "g"),
    "colour_l": ("lighter in colour", "darker in colour", ""),
    "colour_a": ("redder", "greener", ""),
    "colour_b": ("yellower", "bluer", ""),
}


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A piece that is not in the set, and why."""

    piece: Piece
    why: str


@dataclass(frozen=True, slots=True)
class Match:
    """The set chosen, what is left out, and what was measured of every piece that could be chosen."""

    chosen: tuple[Piece, ...]
    left_out: tuple[LeftOut, ...]
    measured: tuple[str, ...]
    found: MatchedSet | None


def match(pieces: Sequence[Piece], wanted: int, just_seen: Mapping[str, float], work: float = 5.0) -> Match:
    """The ``wanted`` pieces most alike in everything that was measured of most of them.

    Args:
        pieces: the firsts of one form.
        wanted: how many make the set, 1 or more.
        just_seen: by measure (`height_mm`, `width_mm`, `weight_g`, `colour_l`, …) the difference that is just seen.
    Raises:
        OutOfRange: for a number below 1, or a difference that is not above 0.
    Source: `wareboard.book.reckoning.matched.best_matched`.
    """
    if wanted < 1:
        raise OutOfRange(f"{wanted} wanted", "a set has one piece at least", "Write how many make the set")
    measured = measures_of(pieces, just_seen)
    whole = [each for each in pieces if all(getattr(each, name) is not None for name in measured)]
    bare = [LeftOut(each, "not measured") for each in pieces if each not in whole]
    if not measured or len(whole) < wanted:
        return Match((), tuple(bare), measured, None)
    rows = [[getattr(each, name) for name in measured] for each in whole]
    found = best_matched(rows, [just_seen[name] for name in measured], wanted, work=work)
    chosen = tuple(whole[at] for at in found.chosen)
    others = [each for at, each in enumerate(whole) if at not in set(found.chosen)]
    out = [LeftOut(each, _why(each, chosen, measured, just_seen)) for each in others]
    return Match(chosen, (*out, *bare), measured, found)


def measures_of(pieces: Sequence[Piece], just_seen: Mapping[str, float]) -> tuple[str, ...]:
    """What was measured of at least half of the pieces; a colour only as a whole."""
    half = max(1, (len(pieces) + 1) // 2)

    def known(name: str) -> bool:
        return name in just_seen and sum(getattr(each, name) is not None for each in pieces) >= half

    plain = tuple(name for name in MEASURES if known(name))
    return plain + (COLOUR if all(map(known, COLOUR)) else ())


def _why(piece: Piece, chosen: Sequence[Piece], measured: Sequence[str], just_seen: Mapping[str, float]) -> str:
    """In which measure the piece lies furthest from the middle of the set, in words."""
    apart = {}
    for name in measured:
        middle = float(np.median([getattr(each, name) for each in chosen]))
        apart[name] = getattr(piece, name) - middle
    worst = max(measured, key=lambda name: abs(apart[name]) / just_seen[name])
    more, less, unit = WAYS[worst]
    size = f"{abs(apart[worst]):.1f} {unit}".strip()
    if abs(apart[worst]) / just_seen[worst] < 0.05:
        return "as like as the others; one too many"
    return f"{size} {more if apart[worst] > 0 else less} than the middle of the set"


@dataclass(frozen=True, slots=True)
class MakeUp:
    """What is short of a form, how many to throw again, and when: ``begin_by`` is the last day that keeps the date."""

    form: str
    wanted: int
    good: int
    standing: int
    short: int
    throw: int
    due: date
    packed: date | None
    packed_low: date | None
    packed_high: date | None
    begin_by: date | None


def make_up(standing: FormStanding, firsts: int, due: date, now: datetime) -> MakeUp | None:
    """The plan for a shortfall, or None where there are enough firsts or what stands is likely to be enough.

    Args:
        standing: the form as it stands; its packed day counts the pieces that are still to be thrown.
        firsts: firsts that were graded.
        due: when the commission is due.
    """
    throw = standing.enough.more
    if not throw or firsts >= standing.wanted:
        return None
    packed = standing.packed
    last = packed.value.date() if packed else None
    begin_by = due - timedelta(days=(last - now.date()).days) if last else None
    low, high = (packed.low.date(), packed.high.date()) if packed else (None, None)
    on_boards = standing.on_boards
    return MakeUp(
        standing.form,
        standing.wanted,
        firsts,
        on_boards,
        max(0, standing.wanted - on_boards),
        throw,
        due,
        last,
        low,
        high,
        begin_by,
    )


def message(plan: MakeUp, client: str, title: str) -> str:
    """A message to the client with the facts in it, to be changed before it is sent."""
    late = plan.packed is not None and plan.packed > plan.due
    stands = (
        f"of the {plan.wanted} × {plan.form} ordered for {title or 'your commission'}, {min(plan.standing, plan.wanted)} "
        f"are in hand. I am making {plan.throw} more, so that the set is complete."
    )
    lines = [f"Dear {client}," if client else "Hello,", "", stands]
    if plan.packed is None:
        lines.append("I will write again with a date.")
    elif late and plan.packed_high:
        lines.append(
            f"They should be packed on {plan.packed:%-d %B %Y}, at the latest by {plan.packed_high:%-d %B}; "
            f"that is later than {plan.due:%-d %B}, which we had agreed."
        )
        lines.append("If you like, I can send what is ready on the day agreed and the others after it.")
    else:
        lines.append(f"The date agreed, {plan.due:%-d %B %Y}, stands.")
    return "\n".join([*lines, "", "With kind regards"])
