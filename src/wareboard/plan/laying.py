"""Laying work out by plain rules, one act after another, each as early as what is already laid allows.

`lay_by_rule` is how a careful person fills a wall calendar. The search starts from its best plan, so that there is always
one, and `lay_in_order` tidies what the search found: same order, nothing later, no idle corners.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from wareboard.plan.days import Crew
from wareboard.plan.work import Load, Shelved, Work

Busy = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Laid:
    """A plan in minutes from midnight of its first day: start and end of each act, whose hands, which kiln.

    ``worked`` is, for acts of hands, the working minutes of that person before it; -1 for acts by the clock. ``person``
    and ``crew`` are -1 for these too; ``kilns`` is one number a load, in the order of ``Work.loads``.
    """

    starts: tuple[int, ...]
    ends: tuple[int, ...]
    worked: tuple[int, ...]
    crew: tuple[int, ...]
    person: tuple[int, ...]
    kilns: tuple[int, ...]

    @property
    def finish(self) -> int:
        return max(self.ends, default=0)


@dataclass(slots=True)
class Sheet:
    """The calendar while it is being filled in."""

    work: Work
    crews: Sequence[Crew]
    busy_hands: dict[int, list[Busy]] = field(default_factory=dict)
    starts: list[int] = field(default_factory=list)
    ends: list[int] = field(default_factory=list)
    worked: list[int] = field(default_factory=list)
    crew: list[int] = field(default_factory=list)
    person: list[int] = field(default_factory=list)
    kilns: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        count = len(self.work.acts)
        self.starts, self.ends = [-1] * count, [-1] * count
        self.worked, self.crew, self.person = [-1] * count, [-1] * count, [-1] * count
        self.kilns = [-1] * len(self.work.loads)
        self.busy_hands = {person: [] for crew in self.crews for person in crew.people}

    def ready(self, act: int) -> int:
        """The minute at which all that the act waits for is over."""
        return max((self.ends[before] for before in self.work.acts[act].after), default=0)

    def place(self, act: int, not_before: int, only_crew: int | None = None) -> bool:
        """Lay an act as early as it goes from ``not_before`` on; False if the working days run out."""
        minutes = self.work.acts[act].minutes
        if not self.work.acts[act].by_hand:
            self.starts[act], self.ends[act] = not_before, not_before + minutes
            return True
        best: tuple[int, int, int, int] | None = None
        for number, crew in enumerate(self.crews):
            if only_crew is not None and number != only_crew:
                continue
            for person in crew.people:
                worked = _first_gap(self.busy_hands[person], crew.time.worked_before(not_before), minutes)
                if worked + minutes <= crew.time.total:
                    found = (crew.time.ends(worked + minutes), worked, number, person)
                    best = found if best is None else min(best, found)
        if best is None:
            return False
        end, worked, number, person = best
        self.starts[act], self.ends[act] = self.crews[number].time.begins(worked), end
        self.worked[act], self.crew[act], self.person[act] = worked, number, person
        insort(self.busy_hands[person], (worked, worked + minutes))
        return True

    def lift(self, act: int) -> None:
        """Take an act off again."""
        if self.worked[act] >= 0:
            self.busy_hands[self.person[act]].remove((self.worked[act], self.worked[act] + self.work.acts[act].minutes))
        self.starts[act] = self.ends[act] = self.worked[act] = self.crew[act] = self.person[act] = -1

    def room_from(self, ware: Shelved, ready: int) -> int | None:
        """The earliest minute from which the rack has room for good; None while others lie there without an end."""
        spans: list[tuple[int, int | None]] = []
        for other in self.work.shelved:
            if other.rack != ware.rack or other.task == ware.task or self.starts[other.first] < 0:
                continue
            if self._waits_for(other) == {ware.first}:
                # Its ware moves on to this very task, so it lies there only for others that took from it later.
                spans.append((other.pieces, max(self.starts[act] for act in other.taken_by)))
                continue
            spans.append((other.pieces, self._taken_away(other)))
        room = self.work.rack_room[ware.rack] - ware.pieces
        if sum(pieces for pieces, until in spans if until is None) > room:
            return None
        times = sorted({ready, *(until for _, until in spans if until is not None and until > ready)})
        return next(
            (
                minute
                for minute in times
                if sum(pieces for pieces, until in spans if until is None or until > minute) <= room
            ),
            None,
        )

    def _waits_for(self, ware: Shelved) -> set[int]:
        return {act for act in ware.taken_by if self.starts[act] < 0}

    def _taken_away(self, ware: Shelved) -> int | None:
        if not ware.taken_by:
            return self.ends[ware.last] if self.ends[ware.last] >= 0 else None
        if self._waits_for(ware):
            return None
        return max(self.starts[act] for act in ware.taken_by)

    def laid(self) -> Laid:
        return Laid(
            tuple(self.starts),
            tuple(self.ends),
            tuple(self.worked),
            tuple(self.crew),
            tuple(self.person),
            tuple(self.kilns),
        )


def still_ahead(work: Work) -> list[int]:
    """For each act the minutes from its start to the end of the longest row of acts behind it."""
    ahead = [0] * len(work.acts)
    followers = work.followers
    for act in reversed(range(len(work.acts))):
        ahead[act] = work.acts[act].minutes + max((ahead[later] for later in followers[act]), default=0)
    return ahead


def lay_by_rule(
    work: Work, crews: Sequence[Crew], booked: Sequence[Sequence[Busy]], first: Callable[[int], tuple[float, ...]]
) -> Laid | None:
    """A plan in which, of all that could come next, the task with the smallest ``first(task)`` is laid next.

    Args:
        work: what is to be done.
        crews: whose hands there are, and when.
        booked: for each kiln the spans already promised to other work.
        first: the rule, a sort key for a task; smaller goes first.
    Returns:
        None if the rule paints itself into a corner or the working days run out.
    """
    sheet = Sheet(work, crews)
    load_of = {load.task: number for number, load in enumerate(work.loads)}
    ware_of = {ware.task: ware for ware in work.shelved}
    kiln_free = [0] * len(booked)
    followers = work.followers

    def may_come(task: int) -> bool:
        return all(sheet.ends[before] >= 0 for before in work.acts[work.first_act[task]].after)

    # Kept from turn to turn: looking through every task of a long job at every turn took minutes.
    could_come = {task for task in range(len(work.tasks)) if may_come(task)}
    for _ in work.tasks:
        open_now = []
        for task in could_come:
            ready = sheet.ready(work.first_act[task])
            room = sheet.room_from(ware_of[task], ready) if task in ware_of else ready
            if room is not None:
                open_now.append((first(task), task, room))
        if not open_now:
            return None
        _, task, ready = min(open_now)
        could_come.remove(task)
        acts = range(work.first_act[task], work.last_act[task] + 1)
        if task in load_of:
            if not _lay_load(sheet, load_of[task], ready, booked, kiln_free):
                return None
        elif not _lay_row(sheet, acts, ready):
            return None
        freed = {work.acts[later].task for act in acts for later in followers[act]} - {task}
        could_come |= {later for later in freed if may_come(later)}
    return sheet.laid()


def lay_in_order(
    work: Work, crews: Sequence[Crew], booked: Sequence[Sequence[Busy]], laid: Laid, not_before: int = 0
) -> Laid:
    """The same plan pushed together: each act in the order of its start, no later than before, in the same kiln and crew.

    ``not_before`` is a minute that no act of ``laid`` begins before; none will then.
    """
    sheet = Sheet(work, crews)
    order = sorted(range(len(work.acts)), key=lambda act: (laid.starts[act], act))
    load_at = {load.first: number for number, load in enumerate(work.loads)}
    ware_at = {ware.first: ware for ware in work.shelved}
    kiln_free = [0] * len(booked)
    for act in order:
        ready = max(not_before, sheet.ready(act))
        if act in load_at:
            kiln = sheet.kilns[load_at[act]] = laid.kilns[load_at[act]]
            past = [end for _, end in booked[kiln] if end <= laid.starts[act]]
            ready = max([ready, kiln_free[kiln], *past])
        if act in ware_at:
            room = sheet.room_from(ware_at[act], ready)
            ready = laid.starts[act] if room is None else room
        if not sheet.place(act, ready, laid.crew[act] if laid.crew[act] >= 0 else None):
            return laid
        for number, load in enumerate(work.loads):
            if load.last == act:
                kiln_free[sheet.kilns[number]] = sheet.ends[act]
    return sheet.laid()


def _lay_row(sheet: Sheet, acts: Sequence[int], not_before: int) -> bool:
    for number, act in enumerate(acts):
        if not sheet.place(act, not_before if number == 0 else sheet.ready(act)):
            for laid in acts[:number]:
                sheet.lift(laid)
            return False
    return True


def _lay_load(sheet: Sheet, number: int, ready: int, booked: Sequence[Sequence[Busy]], kiln_free: list[int]) -> bool:
    load = sheet.work.loads[number]
    acts = range(load.first, load.last + 1)
    best: tuple[int, int] | None = None
    for kiln in load.kilns:
        end = _try_load(sheet, acts, load, max(ready, kiln_free[kiln]), booked[kiln])
        if end is not None:
            best = (end, kiln) if best is None else min(best, (end, kiln))
            for act in acts:
                sheet.lift(act)
    if best is None:
        return False
    kiln = best[1]
    end = _try_load(sheet, acts, load, max(ready, kiln_free[kiln]), booked[kiln])
    assert end is not None  # the same acts went in a moment ago
    kiln_free[kiln], sheet.kilns[number] = end, kiln
    return True


def _try_load(sheet: Sheet, acts: range, load: Load, not_before: int, booked: Sequence[Busy]) -> int | None:
    while True:
        if not _lay_row(sheet, acts, not_before):
            return None
        start, end = sheet.starts[load.first], sheet.ends[load.last]
        in_the_way = [until for begin, until in booked if begin < end and start < until]
        if not in_the_way:
            return end
        for act in acts:
            sheet.lift(act)
        not_before = max(in_the_way)


def _first_gap(busy: list[Busy], not_before: int, minutes: int) -> int:
    start = not_before
    for begin, end in busy:
        if begin >= start + minutes:
            break
        start = max(start, end)
    return start
