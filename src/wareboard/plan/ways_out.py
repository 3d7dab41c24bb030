"""Ways out when the date cannot be kept, each tried by laying the work out again."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from wareboard.plan.calendar_model import Effort, most_pieces_by
from wareboard.plan.calendar_search import Answer, Bench, finish_soon, promised
from wareboard.plan.days import DAY, day_at, in_words
from wareboard.plan.shortest import Status
from wareboard.plan.windows import Question
from wareboard.plan.work import ANY_KILN, Work, take_apart

SECOND_KILN = "a second kiln"


@dataclass(frozen=True, slots=True)
class Mend:
    """One way out of being late: what it is, when all is then over, how late that is, and how sure that is.

    ``pieces_in_time`` is how many pieces are finished by the due date where the way out is to deliver a part.
    """

    what: str
    finish: date
    late_days: int
    status: Status
    pieces_in_time: int | None = None
    date_moved: bool = False

    @property
    def keeps_the_date(self) -> bool:
        return self.late_days == 0

    def __str__(self) -> str:
        if self.pieces_in_time is not None or self.date_moved:
            return self.what
        late = f", {self.late_days} day{'s' if self.late_days != 1 else ''} late" if self.late_days else ", in time"
        return f"{self.what}: all is over on {in_words(self.finish)}{late}"


def ways_out(answer: Answer, bench: Bench, due: date) -> tuple[Mend, ...]:
    """What could be done, cheapest first: those that keep the date, then those that come nearer to it, then a later date.

    What is cheap is common practice: an hour of one's own before a part delivery, that before another kiln.
    """
    tried = (
        an_hour_more_a_day(answer, bench, due),
        deliver_a_part(answer, bench, due),
        another_kiln(answer, bench, due),
    )
    before = _late(_finish(answer), due)
    useful = [mend for mend in tried if mend is not None and (mend.pieces_in_time or mend.late_days < before)]
    in_time = [mend for mend in useful if mend.keeps_the_date]
    nearer = [mend for mend in useful if not mend.keeps_the_date]
    return (*in_time, *nearer, a_later_date(answer, due))


def an_hour_more_a_day(answer: Answer, bench: Bench, due: date) -> Mend | None:
    """The first person works one hour more on each working day."""
    if not bench.people:
        return None
    first = bench.people[0]
    longer = tuple(hours and min(hours + 1.0, 24.0 - first.begins_h) for hours in first.hours)
    people = (replace(first, hours=longer), *bench.people[1:])
    return _again(answer.work, replace(bench, people=people), answer, due, f"{first.name} works one hour more a day")


def another_kiln(answer: Answer, bench: Bench, due: date) -> Mend | None:
    """The use of one kiln more; any load may then go into any kiln."""
    if not answer.work.loads:
        return None
    name = SECOND_KILN if SECOND_KILN not in bench.kilns else f"{SECOND_KILN} more"
    loads = {load.task for load in answer.work.loads}
    tasks = [
        replace(task, needs=ANY_KILN) if number in loads else task for number, task in enumerate(answer.work.tasks)
    ]
    wider = replace(bench, kilns=(*bench.kilns, name))
    # "kiln" must mean any of them, even where one is itself called so.
    wider = replace(
        wider,
        kilns=tuple(f"{kiln} 1" if kiln == ANY_KILN else kiln for kiln in wider.kilns),
        booked=tuple(replace(one, kiln=f"{one.kiln} 1") if one.kiln == ANY_KILN else one for one in bench.booked),
    )
    words = f"use {name}" if len(bench.kilns) == 1 else "use one kiln more"
    return _again(take_apart(tasks, wider.kilns, dict(bench.racks)), wider, answer, due, words)


def deliver_a_part(answer: Answer, bench: Bench, due: date) -> Mend | None:
    """As many pieces as can be finished are delivered on the due date, the rest when all is over."""
    work, laid = answer.work, answer.found.laid
    whole = sum(work.tasks[task].pieces for task in work.final_tasks)
    due_minute = ((due - answer.origin).days + 1) * DAY
    if not whole or laid is None or due_minute <= 0:
        return None
    question = Question(work, answer.team, promised(bench, answer.origin), laid.finish)
    found = most_pieces_by(question, due_minute, laid, Effort(bench.seconds / 4, bench.workers, bench.seed))
    if found.laid is None or not found.value:
        return None
    finish = day_at(answer.origin, found.laid.finish)
    words = f"deliver {found.value} of {whole} pieces on the due date, the rest on {in_words(finish)}"
    return Mend(words, finish, _late(finish, due), found.status, found.value)


def a_later_date(answer: Answer, due: date) -> Mend:
    """The due date is moved to the day on which all is over."""
    finish = _finish(answer)
    days = _late(finish, due)
    words = f"move the due date by {days} day{'s' if days != 1 else ''}, to {in_words(finish)}"
    return Mend(words, finish, 0, answer.found.status, date_moved=True)


def _again(work: Work, bench: Bench, answer: Answer, due: date, words: str) -> Mend | None:
    tried = finish_soon(work, replace(bench, seconds=bench.seconds / 4), answer.origin)
    if tried.found.laid is None:
        return None
    finish = _finish(tried)
    return Mend(words, finish, _late(finish, due), tried.found.status)


def _finish(answer: Answer) -> date:
    assert answer.found.laid is not None  # only answers that hold a plan are mended
    return day_at(answer.origin, answer.found.laid.finish)


def _late(finish: date, due: date) -> int:
    return max(0, (finish - due).days)
