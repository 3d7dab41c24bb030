"""Between when and when each act must lie, and days in which the work plainly has no room.

Plain counting before any search: if the hands, or the kilns, have fewer hours between two moments than the work that must be
done between them, no plan exists. That gives a bound that a search starts from and often cannot better.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from wareboard.plan.days import DAY, Crew
from wareboard.plan.laying import Busy
from wareboard.plan.work import Act, Load, Work

HOLD_STEP = 15
Minutes = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Question:
    """What is to be laid out: the work, whose hands, the kilns' promised spans, and between which minutes all must lie."""

    work: Work
    crews: tuple[Crew, ...]
    booked: tuple[tuple[Busy, ...], ...]
    over_by: int
    not_before: int = 0


@dataclass(frozen=True, slots=True)
class Windows:
    """For each act the earliest start, the earliest end and the latest end, were hands and kilns free."""

    soonest: tuple[int, ...]
    soonest_end: tuple[int, ...]
    latest_end: tuple[int, ...]


def windows(question: Question) -> Windows | None:
    """The windows of all acts; None if some act has none."""
    acts, followers = question.work.acts, question.work.followers
    soonest, soonest_end = [0] * len(acts), [0] * len(acts)
    for number, act in enumerate(acts):
        ready = max([question.not_before, *(soonest_end[before] for before in act.after)])
        if not act.by_hand:
            soonest[number], soonest_end[number] = ready, ready + act.minutes
            continue
        fits = [
            (crew.time.begins(worked), crew.time.ends(worked + act.minutes))
            for crew in question.crews
            if (worked := crew.time.worked_before(ready)) + act.minutes <= crew.time.total
        ]
        if not fits:
            return None
        soonest[number], soonest_end[number] = min(begin for begin, _ in fits), min(end for _, end in fits)
    latest_end, latest_start = [0] * len(acts), [0] * len(acts)
    for number in reversed(range(len(acts))):
        latest = min([question.over_by, *(latest_start[later] for later in followers[number])])
        if soonest_end[number] > latest:
            return None
        latest_end[number] = latest
        latest_start[number] = _latest_start(question.crews, acts[number].by_hand, acts[number].minutes, latest)
    return Windows(tuple(soonest), tuple(soonest_end), tuple(latest_end))


def _latest_start(crews: Sequence[Crew], by_hand: bool, minutes: int, end: int) -> int:
    if not by_hand:
        return end - minutes
    fits = [
        crew.time.begins(worked)
        for crew in crews
        if 0 <= (worked := crew.time.worked_before(end) - minutes) < crew.time.total
    ]
    return max(fits, default=-1)


def least_stays(question: Question) -> tuple[int, ...]:
    """For each load a number of minutes that it holds its kiln at least, nights without hands counted."""
    known: dict[tuple[int, ...], int] = {}
    found = []
    for load in question.work.loads:
        acts = question.work.acts[load.first : load.last + 1]
        kind = tuple(act.minutes * (1 if act.by_hand else -1) for act in acts)
        if kind not in known:
            known[kind] = _least_stay(question, load)
        found.append(known[kind])
    return tuple(found)


def _least_stay(question: Question, load: Load) -> int:
    acts = question.work.acts[load.first : load.last + 1]
    plain = sum(act.minutes for act in acts)
    if not acts[-1].by_hand:
        return plain
    # Only every so many minutes are tried: a start between two of them is over no sooner than the earlier one, so taking
    # the step off again keeps the number a true least.
    stays = [
        end - start - HOLD_STEP
        for start in range(question.not_before, question.over_by, HOLD_STEP)
        if (end := _soonest_end(question.crews, acts, start)) is not None
    ]
    return max([plain, min(stays, default=plain)])


def _soonest_end(crews: Sequence[Crew], acts: Sequence[Act], start: int) -> int | None:
    ready = start
    for act in acts:
        if not act.by_hand:
            ready += act.minutes
            continue
        ends = [
            crew.time.ends(worked + act.minutes)
            for crew in crews
            if (worked := crew.time.worked_before(ready)) + act.minutes <= crew.time.total
        ]
        if not ends:
            return None
        ready = min(ends)
    return ready


def has_room(question: Question, stays: Sequence[int]) -> bool:
    """Whether plain counting leaves room for the work; False is a proof that there is no plan."""
    found = windows(question)
    if found is None:
        return False
    work = question.work
    hands = [number for number, act in enumerate(work.acts) if act.by_hand]
    if not _fits(
        np.array([found.soonest[number] for number in hands], dtype=np.int64),
        np.array([found.latest_end[number] for number in hands], dtype=np.int64),
        np.array([work.acts[number].minutes for number in hands], dtype=np.int64),
        partial(_hands_until, question.crews),
    ):
        return False
    groups = {load.kilns for load in work.loads} | {tuple(range(len(question.booked)))}
    for kilns in groups:
        inside = [number for number, load in enumerate(work.loads) if set(load.kilns) <= set(kilns)]
        if not _fits(
            np.array([found.soonest[work.loads[number].first] for number in inside], dtype=np.int64),
            np.array([found.latest_end[work.loads[number].last] for number in inside], dtype=np.int64),
            np.array([stays[number] for number in inside], dtype=np.int64),
            partial(_kilns_until, question, kilns),
        ):
            return False
    return True


def soonest_possible(question: Question, stays: Sequence[int], known_finish: int) -> int:
    """A minute before which, by plain counting, no plan can be over; at most ``known_finish``."""
    low, high = 0, known_finish
    while low < high:
        middle = (low + high) // 2
        if has_room(replace(question, over_by=middle), stays):
            high = middle
        else:
            low = middle + 1
    return low


def latest_possible_day(question: Question, stays: Sequence[int], latest_day: int) -> int:
    """A day after which, by plain counting, no plan can begin and still be over in time; at least 0."""
    low, high = 0, latest_day
    while low < high:
        middle = (low + high + 1) // 2
        if has_room(replace(question, not_before=middle * DAY), stays):
            low = middle
        else:
            high = middle - 1
    return low


def _fits(begins: Minutes, ends: Minutes, needed: Minutes, there_until: Callable[[Minutes], Minutes]) -> bool:
    """Whether, between every begin and every end, what must lie between them is no more than what there is."""
    if not len(needed):
        return True
    order = np.argsort(ends, kind="stable")
    begins, ends, needed = begins[order], ends[order], needed[order]
    moments = np.unique(begins)
    inside = np.where(begins[None, :] >= moments[:, None], needed[None, :], 0).cumsum(axis=1)
    there = there_until(ends)[None, :] - there_until(moments)[:, None]
    # Ends before the moment hold nothing that begins after it, and what is there is then below nought: leave them out.
    return bool(((inside <= there) | (inside == 0)).all())


def _hands_until(crews: Sequence[Crew], moments: Minutes) -> Minutes:
    total = np.zeros(len(moments), dtype=np.int64)
    for crew in crews:
        total += len(crew.people) * np.array(
            [crew.time.worked_before(int(moment)) for moment in moments], dtype=np.int64
        )
    return total


def _kilns_until(question: Question, kilns: Sequence[int], moments: Minutes) -> Minutes:
    total = len(kilns) * moments
    for kiln in kilns:
        for begin, end in question.booked[kiln]:
            total = total - np.clip(moments - begin, 0, end - begin)
    return total
