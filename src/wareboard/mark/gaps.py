"""Angles at which marks go round a piece, clear of each other and of what stands on its wall: handle, spout, pulled lip."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from wareboard.errors import OutOfRange
from wareboard.given import not_negative
from wareboard.working import in_a_row

TURN = 360.0
EXACT = 1e-9


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands on the wall besides the handle: where its middle is and half of what it takes up of the way round.

    ``turn_deg`` is counted as the marks' angles are; it is in the way of marks that reach heights from ``low_mm`` to
    ``high_mm`` above the foot.
    """

    name: str
    turn_deg: float
    half_deg: float
    low_mm: float = 0.0
    high_mm: float = math.inf

    def __post_init__(self) -> None:
        not_negative(self.half_deg, f"half of what the {self.name} takes up", "degrees")

    def meets(self, low_mm: float, high_mm: float) -> bool:
        """Whether it is in the way of something that reaches from one height to another."""
        return self.low_mm < high_mm and low_mm < self.high_mm


@dataclass(frozen=True, slots=True)
class Bar:
    """A part of the way round that no mark may touch: its middle and half of it, degrees, and what is there."""

    name: str
    turn_deg: float
    half_deg: float

    def clears(self, angle_deg: float, half_mark_deg: float) -> bool:
        """Whether a mark with its middle at an angle leaves it free."""
        apart = abs((angle_deg - self.turn_deg + TURN / 2) % TURN - TURN / 2)
        return apart >= self.half_deg + half_mark_deg - EXACT


def angles_clear_of(n: int, half_mark_deg: float, bars: Sequence[Bar], at_origin: str) -> tuple[list[float], str] | int:
    """Angles of the middles of n marks, degrees from the origin, and how they were found; or the most that would go.

    They stand evenly all the way round with the origin in the middle of one gap where that leaves every bar free; else
    evenly, turned so that it does; else evenly in what is left free.

    Args:
        n: how many, 1 or more.
        half_mark_deg: half of the angle that one takes up.
        bars: what must be left free.
        at_origin: what stands at angle 0; empty for nothing, when the first mark does.
    Source: common practice (evenly); the largest free part of a turn, exact.
    """
    preferred = TURN / 2 / n if at_origin else 0.0
    evenly = [preferred + TURN * k / n for k in range(n)]
    fits = 2 * half_mark_deg * n <= TURN + EXACT
    if fits and all(bar.clears(angle, half_mark_deg) for bar in bars for angle in evenly):
        words = f", the {at_origin} in the middle of one gap" if at_origin else ""
        others = [bar.name for bar in bars if bar.name != at_origin]
        return evenly, f"evenly all the way round{words}{f', clear of the {named(others)}' if others else ''}"
    names = named([bar.name for bar in bars])
    free = _free(TURN / n, [(bar.turn_deg, bar.half_deg + half_mark_deg) for bar in bars])
    if fits and free and len(bars) > 1:
        begin, length = max(free, key=lambda part: (round(part[1], 6), -part[0]))
        first = (begin + length / 2) % (TURN / n)
        return [first + TURN * k / n for k in range(n)], f"evenly all the way round, turned clear of {names}"
    parts = _free(TURN, [(bar.turn_deg, bar.half_deg) for bar in bars])
    if len(parts) == 1:
        return _in_one(n, half_mark_deg, *parts[0], names)
    return _in_several(n, half_mark_deg, parts, names)


def named(names: Sequence[str]) -> str:
    """Names in a row, each once: "handle, lip and spout"."""
    return in_a_row(list(dict.fromkeys(names)))


def _free(around: float, taken: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Where a way round of that length is left free, as (begin, length), of parts taken given by (middle, half)."""
    if not taken or any(2 * half >= around - EXACT for _, half in taken):
        return [] if taken else [(0.0, around)]
    start = taken[0][0] - taken[0][1]
    spans = sorted(((middle - half - start) % around, 2 * half) for middle, half in taken)
    # What reaches round past the beginning takes that up again.
    reached, found = max(0.0, max(begin + length for begin, length in spans) - around), []
    for begin, length in [*spans, (around, 0.0)]:
        if begin > reached + EXACT:
            found.append((start + reached, begin - reached))
        reached = max(reached, begin + length)
    return found


def _in_one(n: int, half_mark: float, begin: float, length: float, names: str) -> tuple[list[float], str] | int:
    if 2 * half_mark * n > length + EXACT:
        return int((length + EXACT) / (2 * half_mark))
    first, room = begin + half_mark, length - 2 * half_mark
    angles = [first + room * k / (n - 1) for k in range(n)] if n > 1 else [first + room / 2]
    leaves = "leave" if " and " in names else "leaves"
    words = f"evenly in what the {names} {leaves} free, the outer two up against its gap"
    return sorted(angle % TURN for angle in angles), words


def _in_several(
    n: int, half_mark: float, parts: Sequence[tuple[float, float]], names: str
) -> tuple[list[float], str] | int:
    most = [int((length + EXACT) / (2 * half_mark)) for _, length in parts]
    if sum(most) < n:
        return sum(most)
    held = [0] * len(parts)
    for _ in range(n):
        # Each goes where those that stand there are left furthest apart.
        room = [
            length / (count + 1) if count < top else -1.0
            for (_, length), count, top in zip(parts, held, most, strict=True)
        ]
        held[room.index(max(room))] += 1
    angles = [
        (begin + length * (k + 0.5) / count) % TURN
        for (begin, length), count in zip(parts, held, strict=True)
        for k in range(count)
    ]
    return sorted(angles), f"evenly in each part that {names} leave free"


def refused(n: int, width_mm: float, most: int, free_mm: float, bars: Sequence[Bar]) -> OutOfRange:
    """That so many marks do not go beside what stands on the wall, and how many would."""
    names = named([bar.name for bar in bars])
    return OutOfRange(
        f"{n} mark{'s' if n > 1 else ''} of {width_mm:.1f} mm",
        why=f"the {names} {'leave' if ' and ' in names else 'leaves'} {free_mm:.1f} mm free round the piece",
        mend=f"Use at most {most}, or make them narrower" if most else "Make the mark narrower",
    )


def free_deg(bars: Sequence[Bar]) -> float:
    """How much of the way round the bars leave free, degrees."""
    return sum(length for _, length in _free(TURN, [(bar.turn_deg, bar.half_deg) for bar in bars]))
