"""The work of a commission taken apart: tasks as a potter names them, and the acts of hands, clock and kiln inside them.

A task has up to three acts, one after the other: hands begin it, then it runs by the clock (drying, firing, cooling), then
hands end it (unloading). A load holds its kiln from the first act to the last.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from wareboard.errors import OutOfRange, Problems, WareboardError
from wareboard.plan.shortest import order_of_waiting

Kind = Literal["hands", "waiting", "unloading"]
HANDS = "hands"
ANY_KILN = "kiln"
MOST_MINUTES = 400 * 24 * 60


@dataclass(frozen=True, slots=True)
class Task:
    """One task: ``minutes_hands_on`` of work, then ``elapsed_h`` by the clock, then ``minutes_unloading`` of work.

    ``needs`` is a kiln's name, ``"kiln"`` for whichever kiln is free, a rack's name, or ``"hands"`` for nothing else.
    ``after`` holds the keys of the tasks that must be over first; ``pieces`` how many pieces it moves on.
    """

    key: str
    name: str
    form: str = ""
    stage: str = ""
    minutes_hands_on: float = 0.0
    elapsed_h: float = 0.0
    needs: str = HANDS
    after: tuple[str, ...] = ()
    pieces: int = 0
    minutes_unloading: float = 0.0


@dataclass(frozen=True, slots=True)
class Act:
    """One stretch of a task: whose it is, of which kind, how many minutes, and the acts that must be over first."""

    task: int
    kind: Kind
    minutes: int
    after: tuple[int, ...]

    @property
    def by_hand(self) -> bool:
        return self.kind != "waiting"


@dataclass(frozen=True, slots=True)
class Load:
    """A load: it holds one of ``kilns`` from its first act to its last."""

    task: int
    first: int
    last: int
    kilns: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Shelved:
    """Ware on a rack, from its first act until the last of the acts in ``taken_by`` takes it away."""

    task: int
    first: int
    last: int
    rack: int
    pieces: int
    taken_by: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Work:
    """All acts in an order in which none comes before one that it waits for, with what they hold."""

    tasks: tuple[Task, ...]
    acts: tuple[Act, ...]
    first_act: tuple[int, ...]
    last_act: tuple[int, ...]
    loads: tuple[Load, ...]
    shelved: tuple[Shelved, ...]
    rack_room: tuple[int, ...]

    @property
    def followers(self) -> tuple[tuple[int, ...], ...]:
        """For each act the acts that wait for it."""
        found: list[list[int]] = [[] for _ in self.acts]
        for number, act in enumerate(self.acts):
            for before in act.after:
                found[before].append(number)
        return tuple(tuple(later) for later in found)

    @property
    def final_tasks(self) -> tuple[int, ...]:
        """The tasks that no other waits for."""
        awaited = {key for task in self.tasks for key in task.after}
        return tuple(number for number, task in enumerate(self.tasks) if task.key not in awaited)


def take_apart(tasks: Sequence[Task], kilns: Sequence[str], racks: Mapping[str, int]) -> Work:
    """The tasks as acts.

    Args:
        tasks: in any order; keys must differ.
        kilns: names of the kilns there are.
        racks: name of each rack and how many pieces it holds.
    Raises:
        Problems: naming every task whose numbers, needs or waits will not do.
        OutOfRange: if tasks wait for themselves.
    """
    _check(tasks, kilns, racks)
    number_of = {task.key: number for number, task in enumerate(tasks)}
    successors: list[list[int]] = [[] for _ in tasks]
    for number, task in enumerate(tasks):
        for key in task.after:
            successors[number_of[key]].append(number)
    order = order_of_waiting(successors, [task.key for task in tasks])
    acts: list[Act] = []
    first, last = [0] * len(tasks), [0] * len(tasks)
    for number in order:
        before = tuple(last[number_of[key]] for key in dict.fromkeys(tasks[number].after))
        first[number] = len(acts)
        for kind, minutes in _acts_of(tasks[number]):
            acts.append(Act(number, kind, minutes, before))
            before = (len(acts) - 1,)
        last[number] = len(acts) - 1
    names = list(kilns)
    return Work(
        tuple(tasks),
        tuple(acts),
        tuple(first),
        tuple(last),
        tuple(
            Load(number, first[number], last[number], _kilns_for(task, names))
            for number, task in enumerate(tasks)
            if task.needs == ANY_KILN or task.needs in names
        ),
        tuple(
            Shelved(
                number,
                first[number],
                last[number],
                list(racks).index(task.needs),
                task.pieces,
                tuple(first[later] for later in successors[number]),
            )
            for number, task in enumerate(tasks)
            if task.needs in racks
        ),
        tuple(racks.values()),
    )


def _acts_of(task: Task) -> list[tuple[Kind, int]]:
    found: list[tuple[Kind, int]] = []
    if task.minutes_hands_on > 0:
        found.append(("hands", math.ceil(task.minutes_hands_on)))
    if task.elapsed_h > 0:
        found.append(("waiting", math.ceil(task.elapsed_h * 60)))
    if task.minutes_unloading > 0:
        found.append(("unloading", math.ceil(task.minutes_unloading)))
    return found or [("waiting", 0)]


def _kilns_for(task: Task, kilns: list[str]) -> tuple[int, ...]:
    # A kiln that is itself called "kiln" is meant when it is named.
    return (kilns.index(task.needs),) if task.needs in kilns else tuple(range(len(kilns)))


def _check(tasks: Sequence[Task], kilns: Sequence[str], racks: Mapping[str, int]) -> None:
    keys = [task.key for task in tasks]
    known = set(keys)
    problems: list[WareboardError] = [
        OutOfRange(f"task {key!r}", "two tasks have this key", "Give each a key of its own")
        for key in sorted({key for key in keys if keys.count(key) > 1})
    ]
    problems += [
        OutOfRange(f"{name!r}", "a kiln and a rack have this name", "Rename one of them")
        for name in sorted(set(kilns) & set(racks))
    ]
    for task in tasks:
        problems.extend(_problems_of(task, known, kilns, racks))
    if problems:
        raise Problems(problems, "The tasks cannot be laid out")


def _problems_of(
    task: Task, known: Collection[str], kilns: Sequence[str], racks: Mapping[str, int]
) -> list[WareboardError]:
    problems: list[WareboardError] = []
    spans = (
        ("minutes of hands-on work", task.minutes_hands_on, 1),
        ("hours by the clock", task.elapsed_h, 60),
        ("minutes of unloading", task.minutes_unloading, 1),
    )
    for words, span, in_minutes in spans:
        if not (math.isfinite(span) and 0 <= span * in_minutes <= MOST_MINUTES):
            problems.append(
                OutOfRange(
                    f"task {task.key!r} has {span:g} {words}", "it must be 0 or more, at most 400 days", "Mend it"
                )
            )
    problems += [
        OutOfRange(f"task {task.key!r} waits for {key!r}", "there is no such task", "Check the key")
        for key in task.after
        if key not in known
    ]
    if task.pieces < 0:
        problems.append(OutOfRange(f"task {task.key!r} moves {task.pieces} pieces", "it must be 0 or more", "Mend it"))
    if task.needs in ("", HANDS) or task.needs in kilns:
        return problems
    if task.needs == ANY_KILN:
        if not kilns:
            problems.append(OutOfRange(f"task {task.key!r} needs a kiln", "there is none", "Name a kiln"))
    elif task.needs not in racks:
        problems.append(
            OutOfRange(f"task {task.key!r} needs {task.needs!r}", "no kiln or rack has this name", "Check the name")
        )
    elif task.pieces > racks[task.needs]:
        problems.append(
            OutOfRange(
                f"task {task.key!r} lays {task.pieces} pieces on {task.needs!r}",
                f"there is room for {racks[task.needs]}",
                "Make smaller batches or find more boards",
            )
        )
    return problems
