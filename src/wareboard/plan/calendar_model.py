"""The calendar as a constraint model: one function for each rule of the workshop.

Whole minutes from midnight of the first day. Hands are laid out along *working* time, where a piece of work is one unbroken
bar although the clock sees it stop at closing time; one choice of day a bar ties its working time to the clock.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from wareboard.plan.days import DAY
from wareboard.plan.laying import Laid, lay_in_order
from wareboard.plan.shortest import Status, counted_solver, watched
from wareboard.plan.windows import Question, Windows, has_room, least_stays, windows

# Without its linear relaxation the solver's counted second lasts four to five by the clock (measured on two slow cores).
COUNTED_PER_SECOND = 0.2


@dataclass(frozen=True, slots=True)
class Found:
    """What the search says: the plan (None if none was found), how sure it is, and the bound on what was asked.

    ``ruled_out`` says that there is no plan at all, not merely that none was found in the time allowed.
    """

    laid: Laid | None
    status: Status
    bound: int
    value: int | None = None
    ruled_out: bool = False


@dataclass(frozen=True, slots=True)
class Effort:
    """How long a search may take, how, and who is told."""

    seconds: float
    workers: int = 1
    seed: int = 0
    on_progress: Callable[[int, int], None] | None = None
    stop: Callable[[], bool] | None = None


@dataclass(slots=True)
class Draft:
    """The model being written: clock start and end of each act, and the bars of hands by crew."""

    question: Question
    model: Any
    lie: Windows
    stays: tuple[int, ...]
    starts: list[Any] = field(default_factory=list)
    ends: list[Any] = field(default_factory=list)
    worked: list[dict[int, Any]] = field(default_factory=list)
    by_crew: list[dict[int, Any]] = field(default_factory=list)
    in_kiln: list[dict[int, Any]] = field(default_factory=list)
    start_days: list[dict[int, list[tuple[int, Any]]]] = field(default_factory=list)
    end_days: list[dict[int, list[tuple[int, Any]]]] = field(default_factory=list)


def soonest_finish(
    question: Question, known: Laid | None, effort: Effort, stays: tuple[int, ...] | None = None, at_least: int = 0
) -> Found:
    """The plan that is over soonest; the bound is a minute before which no plan can be over.

    ``stays`` are the loads' least stays where they are known, ``at_least`` a minute before which it is already known that
    no plan can be over.
    """
    draft = write(question, stays)
    if draft is None:
        return Found(None, "no plan", question.over_by + 1, ruled_out=True)
    finish = draft.model.new_int_var(min(at_least, question.over_by), question.over_by, "finish")
    for end in draft.ends:
        draft.model.add(finish >= end)
    draft.model.minimize(finish)
    return _search(draft, known, effort)


def latest_first_day(
    question: Question, known: Laid | None, latest_day: int, effort: Effort, stays: tuple[int, ...] | None = None
) -> Found:
    """The plan that begins on the latest day; the bound is a day after which no plan can begin and still be over in time."""
    draft = write(question, stays)
    if draft is None:
        return Found(None, "no plan", -1, ruled_out=True)
    first = draft.model.new_int_var(question.not_before // DAY, latest_day, "first day")
    for act, one in enumerate(question.work.acts):
        if not one.after:
            draft.model.add(draft.starts[act] >= DAY * first)
    draft.model.maximize(first)
    return _search(draft, known, effort, begins_on=first)


def any_plan(question: Question, effort: Effort, stays: tuple[int, ...] | None = None) -> Found:
    """Some plan between the question's two minutes, or word that there is none."""
    draft = write(question, stays)
    if draft is None:
        return Found(None, "no plan", 0, ruled_out=True)
    return _search(draft, None, effort)


def most_pieces_by(question: Question, due_minute: int, known: Laid | None, effort: Effort) -> Found:
    """The plan that has most pieces finished by the due minute; pieces count at the tasks that no other waits for."""
    draft = write(question)
    if draft is None:
        return Found(None, "no plan", 0, ruled_out=True)
    in_time = []
    for task in question.work.final_tasks:
        ready = draft.model.new_bool_var(f"task {task} in time")
        draft.model.add(draft.ends[question.work.last_act[task]] <= due_minute).only_enforce_if(ready)
        in_time.append(question.work.tasks[task].pieces * ready)
    draft.model.maximize(sum(in_time))
    return _search(draft, known, effort)


def write(question: Question, stays: tuple[int, ...] | None = None) -> Draft | None:
    """The model with every rule in it; None if plain counting rules out that the work has room."""
    from ortools.sat.python import cp_model

    lie = windows(question)
    stays = least_stays(question) if stays is None else stays
    if lie is None or not has_room(question, stays):
        return None
    draft = Draft(question, cp_model.CpModel(), lie, stays)
    for act in range(len(question.work.acts)):
        _open(draft, act)
    hands_work_only_in_working_time(draft)
    one_pair_of_hands_does_one_thing_at_a_time(draft)
    nothing_begins_before_what_it_waits_for(draft)
    one_load_in_the_kiln_at_a_time(draft)
    ware_stays_on_the_rack_until_it_is_taken(draft)
    return draft


def hands_work_only_in_working_time(draft: Draft) -> None:
    """Work by hand begins and ends within someone's working day, and stands still from closing time to the next."""
    for act, one in enumerate(draft.question.work.acts):
        if not one.by_hand:
            continue
        chosen = draft.by_crew[act]
        if len(chosen) > 1:
            draft.model.add_exactly_one(chosen.values())
        for number, present in chosen.items():
            time = draft.question.crews[number].time
            worked = draft.worked[act][number]
            begins, ends = draft.start_days[act][number], draft.end_days[act][number]
            for days in (begins, ends):
                draft.model.add(sum(literal for _, literal in days) == present)
            tied = [
                draft.model.add(worked >= sum(time.before[day] * literal for day, literal in begins)),
                draft.model.add(worked <= sum((time.before[day + 1] - 1) * literal for day, literal in begins)),
                draft.model.add(worked + one.minutes >= sum((time.before[day] + 1) * literal for day, literal in ends)),
                draft.model.add(worked + one.minutes <= sum(time.before[day + 1] * literal for day, literal in ends)),
                draft.model.add(draft.starts[act] == worked + _clock_over_worked(time, begins)),
                draft.model.add(draft.ends[act] == worked + one.minutes + _clock_over_worked(time, ends)),
            ]
            if len(chosen) > 1:
                for rule in tied:
                    rule.only_enforce_if(present)


def one_pair_of_hands_does_one_thing_at_a_time(draft: Draft) -> None:
    """Along a crew's working time there are never more pieces of work at once than people."""
    for number, crew in enumerate(draft.question.crews):
        bars = []
        for act, one in enumerate(draft.question.work.acts):
            if number in draft.by_crew[act]:
                worked, present = draft.worked[act][number], draft.by_crew[act][number]
                bars.append(
                    draft.model.new_optional_fixed_size_interval_var(
                        worked, one.minutes, present, f"hands {act} {number}"
                    )
                )
        if len(crew.people) == 1:
            draft.model.add_no_overlap(bars)
        elif bars:
            draft.model.add_cumulative(bars, [1] * len(bars), len(crew.people))


def nothing_begins_before_what_it_waits_for(draft: Draft) -> None:
    """An act begins when all that it waits for is over; what runs by the clock begins the moment the hands leave it."""
    for act, one in enumerate(draft.question.work.acts):
        for before in one.after:
            same_task = draft.question.work.acts[before].task == one.task
            if same_task and one.kind == "waiting":
                draft.model.add(draft.starts[act] == draft.ends[before])
                continue
            draft.model.add(draft.starts[act] >= draft.ends[before])
            # The same along working time, where one crew does both: it follows, but lets the search see it sooner.
            for number in draft.by_crew[act].keys() & draft.by_crew[before].keys():
                if len(draft.by_crew[act]) == len(draft.by_crew[before]) == 1:
                    earlier = draft.worked[before][number] + draft.question.work.acts[before].minutes
                    draft.model.add(draft.worked[act][number] >= earlier)


def one_load_in_the_kiln_at_a_time(draft: Draft) -> None:
    """A kiln is taken from the beginning of loading until it is unloaded; promised spans are kept free."""
    bars: list[list[Any]] = [
        [
            draft.model.new_fixed_size_interval_var(begin, end - begin, f"promised {kiln} {begin}")
            for begin, end in spans
            if end > begin
        ]
        for kiln, spans in enumerate(draft.question.booked)
    ]
    for load, least in zip(draft.question.work.loads, draft.stays, strict=True):
        start, end = draft.starts[load.first], draft.ends[load.last]
        most = draft.lie.latest_end[load.last] - draft.lie.soonest[load.first]
        length = draft.model.new_int_var(least, max(least, most), f"in kiln {load.task}")
        chosen = {kiln: draft.model.new_bool_var(f"load {load.task} in {kiln}") for kiln in load.kilns}
        draft.model.add_exactly_one(chosen.values())
        for kiln, present in chosen.items():
            bars[kiln].append(
                draft.model.new_optional_interval_var(start, length, end, present, f"load {load.task} {kiln}")
            )
        draft.in_kiln.append(chosen)
    for spans_and_loads in bars:
        draft.model.add_no_overlap(spans_and_loads)


def ware_stays_on_the_rack_until_it_is_taken(draft: Draft) -> None:
    """A rack never holds more pieces than it has room for; ware leaves it when the last that takes from it begins."""
    for rack, room in enumerate(draft.question.work.rack_room):
        bars, pieces = [], []
        for ware in draft.question.work.shelved:
            if ware.rack != rack:
                continue
            start = draft.starts[ware.first]
            gone = draft.model.new_int_var(0, draft.question.over_by, f"gone {ware.task}")
            stay = draft.model.new_int_var(0, draft.question.over_by, f"stay {ware.task}")
            leaves = [draft.starts[act] for act in ware.taken_by] or [draft.ends[ware.last]]
            draft.model.add_max_equality(gone, leaves)
            bars.append(draft.model.new_interval_var(start, stay, gone, f"on rack {ware.task}"))
            pieces.append(ware.pieces)
        if bars:
            draft.model.add_cumulative(bars, pieces, room)


def _clock_over_worked(time: Any, days: list[tuple[int, Any]]) -> Any:
    return sum((time.starts[day] - time.before[day]) * literal for day, literal in days)


def _open(draft: Draft, act: int) -> None:
    """The variables of one act: clock start and end, and for hands a bar and its choice of day in each crew."""
    one = draft.question.work.acts[act]
    low, high = draft.lie.soonest[act], draft.lie.latest_end[act]
    draft.starts.append(draft.model.new_int_var(low, high - one.minutes, f"start {act}"))
    draft.worked.append({})
    draft.by_crew.append({})
    draft.start_days.append({})
    draft.end_days.append({})
    if not one.by_hand:
        draft.ends.append(draft.starts[act] + one.minutes)
        return
    draft.ends.append(draft.model.new_int_var(low + one.minutes, high, f"end {act}"))
    fitting = []
    for number, crew in enumerate(draft.question.crews):
        first, last = crew.time.worked_before(low), crew.time.worked_before(high) - one.minutes
        if first <= last:
            fitting.append((number, crew.time, first, last))
    for number, time, first, last in fitting:
        always = len(fitting) == 1
        draft.by_crew[act][number] = 1 if always else draft.model.new_bool_var(f"act {act} by crew {number}")
        draft.worked[act][number] = draft.model.new_int_var(first, last, f"worked {act} {number}")
        for days, begin, end in (
            (draft.start_days, time.day_of(first), time.day_of(last)),
            (draft.end_days, time.day_of(first + one.minutes - 1), time.day_of(last + one.minutes - 1)),
        ):
            days[act][number] = [
                (day, draft.model.new_bool_var(f"act {act} crew {number} day {day}")) for day in range(begin, end + 1)
            ]


def _hint(draft: Draft, known: Laid) -> None:
    for act, one in enumerate(draft.question.work.acts):
        draft.model.add_hint(draft.starts[act], known.starts[act])
        if not one.by_hand:
            continue
        draft.model.add_hint(draft.ends[act], known.ends[act])
        for number, present in draft.by_crew[act].items():
            time, mine = draft.question.crews[number].time, number == known.crew[act]
            if not isinstance(present, int):
                draft.model.add_hint(present, mine)
            if mine:
                draft.model.add_hint(draft.worked[act][number], known.worked[act])
            first, last = time.day_of(known.worked[act]), time.day_of(known.worked[act] + one.minutes - 1)
            for day, literal in draft.start_days[act][number]:
                draft.model.add_hint(literal, mine and day == first)
            for day, literal in draft.end_days[act][number]:
                draft.model.add_hint(literal, mine and day == last)
    for number, chosen in enumerate(draft.in_kiln):
        for kiln, present in chosen.items():
            draft.model.add_hint(present, kiln == known.kilns[number])


def _search(draft: Draft, known: Laid | None, effort: Effort, begins_on: Any = None) -> Found:
    if known is not None:
        _hint(draft, known)
    solver = counted_solver(effort.seconds, effort.workers, effort.seed, COUNTED_PER_SECOND)
    # The linear relaxation of these models is weak and slow; without it they are proved some twenty times sooner.
    solver.parameters.linearization_level = 0
    status, ruled_out = watched(solver, draft.model, effort.on_progress, effort.stop)
    bound = round(solver.best_objective_bound)
    if status == "no plan":
        return Found(None, status, bound, ruled_out=ruled_out)
    question = draft.question
    starts = tuple(solver.value(start) for start in draft.starts)
    crew = [next((number for number, on in one.items() if solver.boolean_value(on)), -1) for one in draft.by_crew]
    raw = Laid(
        starts,
        tuple(solver.value(end) for end in draft.ends),
        tuple(solver.value(draft.worked[act][number]) if number >= 0 else -1 for act, number in enumerate(crew)),
        tuple(crew),
        (-1,) * len(starts),
        tuple(next(kiln for kiln, on in one.items() if solver.boolean_value(on)) for one in draft.in_kiln),
    )
    first_minute = question.not_before if begins_on is None else DAY * solver.value(begins_on)
    pushed = lay_in_order(question.work, question.crews, question.booked, raw, first_minute)
    return Found(pushed, status, bound, round(solver.objective_value))
