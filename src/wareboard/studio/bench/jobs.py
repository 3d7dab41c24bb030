"""What Today is made of: a job, something that waits, and the words for moments."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from wareboard.book.boards.models import Board
from wareboard.quantities import show_duration
from wareboard.studio import words

NOW_OR_NEVER, KILN, THEN = 0, 1, 2


@dataclass(slots=True)
class Job:
    """Something to do today: on which boards, why, how long, with how many days to spare, by whom."""

    what: str
    why: str
    rank: int
    spare: float
    commission: str
    code: str  # of the commission
    boards: list[Board] = field(default_factory=list)
    kind: str = ""  # the entry that one tap makes for each board
    to: str = ""
    minutes: float = 0.0
    tick: str = ""
    about: str = ""  # the form or the firing: with kind and stage it names the job, whichever boards are left of it
    link: str = ""
    link_words: str = ""
    shelves: str = ""  # where the shelves of its load are
    planned: str = ""  # whose hands the calendar has down for it
    ready: datetime | None = None  # since when, or from when, it can be done
    given: str = ""  # to whom it was given today
    fits: bool = True  # into what is left of the day's hours, those before it taken off

    @property
    def key(self) -> str:
        """What tells the job from the others of the day, also after one of its boards is done."""
        return f"{self.code}:{self.kind}:{self.to}:{self.about or self.tick or self.what}"[:120]

    @property
    def who(self) -> str:
        """Whose it is: as given, else as the calendar has it."""
        return self.given or self.planned

    @property
    def how_long(self) -> str:
        return how_long(self.minutes)

    @property
    def to_spare(self) -> str:
        days = int(self.spare // 1)
        if days < 0:
            return f"{words.in_days(-days)} late already"
        return "no day to spare" if days == 0 else f"{words.in_days(days)} to spare"


@dataclass(frozen=True, slots=True)
class Wait:
    """Something that cannot be done yet: what, and until when."""

    what: str
    until: str
    commission: str
    when: datetime


@dataclass(frozen=True, slots=True)
class Behind:
    """Pieces of a form that by the calendar should be further than they are."""

    commission: str
    words: str


@dataclass(frozen=True, slots=True)
class DaysWork:
    """The jobs in their order, what waits, and what is behind the calendar."""

    jobs: tuple[Job, ...]
    waits: tuple[Wait, ...]
    behind: tuple[Behind, ...] = ()


def how_long(minutes: float) -> str:
    """Minutes of hands as people say them; nothing under five."""
    return show_duration(round(minutes / 5) * 300.0) if minutes >= 5 else ""


def named(act: str, boards: list[Board]) -> str:
    """The act, the codes and what stands on them: "Trim H1, H2: 24 × Cup"."""
    codes = ", ".join(board.code for board in boards)
    what = f"{sum(board.pieces for board in boards)} × {boards[0].form}"
    if len({board.form for board in boards}) > 1:
        what = f"{sum(board.pieces for board in boards)} pieces"
    return f"{act} {codes}: {what}".strip()


def day_words(moment: datetime, now: datetime) -> str:
    """A day from today's: "tomorrow", "Thu 10 Dec"."""
    days = (moment.date() - now.date()).days
    if days in (-1, 0, 1):
        return ("yesterday", "today", "tomorrow")[days + 1]
    return words.day(moment.date()) if abs(days) > 300 else f"{moment:%a} {moment.day} {moment:%b}"


def moment_words(moment: datetime, now: datetime) -> str:
    """A moment from this one, to the half hour: "11:00", "16:30 tomorrow". Nothing here is known to the minute."""
    rounded = half_hour(moment)
    return f"{rounded:%H:%M} {day_words(rounded, now)}".replace(" today", "")


def half_hour(moment: datetime) -> datetime:
    """The nearest full or half hour."""
    over = timedelta(minutes=moment.minute % 30, seconds=moment.second, microseconds=moment.microsecond)
    return moment - over + (timedelta(minutes=30) if over >= timedelta(minutes=15) else timedelta(0))


def range_words(low: datetime, high: datetime, now: datetime) -> str:
    """A range of moments in brackets; nothing where both ends are one."""
    if low.date() != high.date():
        return f" ({day_words(low, now)} to {day_words(high, now)})"
    ends = f"{half_hour(low):%H:%M}", f"{half_hour(high):%H:%M}"
    return f" ({ends[0]} to {ends[1]})" if ends[0] != ends[1] else ""
