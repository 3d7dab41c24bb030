"""Minutes a piece: from boards that one person took to a stage one after another, and from times written by hand."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Any

from wareboard import reference
from wareboard.book.learning.briefs import FormFacts
from wareboard.book.learning.figures import Figure, Marks, Seen, standing
from wareboard.book.learning.from_boards import BoardsRead, Told, by_person, local_day
from wareboard.book.learning.models import HandTime
from wareboard.book.reckoning.learned import Learned, Prior, learning_figure, prior
from wareboard.book.reckoning.learned_minutes import Sitting, learn_minutes

WORK_TO = {
    "ball": "weigh",
    "thrown": "throw",
    "trimmed": "trim",
    "handled": "handle",
    "marked": "mark",
    "washed": "sand",
    "lined": "liner",
    "glazed": "dip",
    "ground": "grind",
    "packed": "pack",
}
BY_KIND = ("throw", "trim")
LONGEST_SITTING_MIN = 240.0
# A board that seems to have taken far more or far less than anyone takes was interrupted, or entered late: common practice.
FAR_FROM_USUAL = 3.0
LEAST_PIECES = 3


def task_key(task: str, kind: str) -> str:
    """The key of a task's minutes for a kind of form."""
    return f"minutes.{task}.{kind}" if task in BY_KIND else f"minutes.{task}"


def minute_figures(read: BoardsRead, marks: Marks) -> list[Figure]:
    """A figure for each task of which something is known."""
    found: dict[str, list[Seen]] = defaultdict(list)
    for key, seen in (*_from_boards(read), *_by_hand()):
        found[key].append(seen)
    return [_figure(key, seen, marks) for key, seen in sorted(found.items())]


def _from_boards(read: BoardsRead) -> Iterator[tuple[str, Seen]]:
    everything = (each for entries in read.entries.values() for each in entries)
    for person, own in by_person(everything).items():
        for before, after in pairwise(own):
            # Anything else that the person entered between the two says that other work came between.
            if not (_brings_to_work(before) and _brings_to_work(after)):
                continue
            form = read.forms.get(after.board_id)
            found = _sitting(before, after, form)
            if found is None or form is None:
                continue
            key, minutes = found
            board = read.boards[after.board_id].code
            words = f"{after.pieces} × {form.name} in {minutes * after.pieces:.0f} min, board {board}, {person}"
            day = local_day(after.happened)
            yield key, Seen(f"sitting/{after.pk}", minutes, words, day, ("board", board), after.pieces, person=person)


def _brings_to_work(entry: Told) -> bool:
    return entry.kind in ("begin", "move") and entry.stage_to != entry.stage_from and entry.other_id is None


def _sitting(before: Told, after: Told, form: FormFacts | None) -> tuple[str, float] | None:
    """Minutes a piece between two boards that came to the same stage by the same hands; None where that tells nothing.

    The time from one board's end to the next one's is the work on the second, if nothing came between.
    """
    task = WORK_TO.get(after.stage_to)
    if task is None or form is None or before.stage_to != after.stage_to or after.pieces < LEAST_PIECES:
        return None
    if (task == "throw" and form.has_lid) or (task == "mark" and form.marks != 1):
        return None
    key = task_key(task, form.kind)
    whole = (after.happened - before.happened).total_seconds() / 60.0
    usual, minutes = reference.default(key), whole / after.pieces
    if whole > LONGEST_SITTING_MIN or not usual.low / FAR_FROM_USUAL <= minutes <= usual.high * FAR_FROM_USUAL:
        return None
    return key, minutes


def _by_hand(code: str = "") -> Iterator[tuple[str, Seen]]:
    rows = HandTime.objects.filter(put_away=None)
    for row in rows.filter(commission_code=code) if code else rows:
        if row.pieces and row.minutes > 0.0 and reference.has_default(row.task):
            who = f", {row.person}" if row.person else ""
            words = f"{row.pieces} in {row.minutes:g} min{who}, written by hand"
            at = ("time", str(row.pk))
            seen = Seen(f"time/{row.pk}", row.minutes / row.pieces, words, row.day, at, row.pieces, person=row.person)
            yield row.task, seen


def timed(read: BoardsRead, code: str) -> dict[str, list[float]]:
    """Minutes a piece of every sitting on one commission, by task: its boards, and times written down for it."""
    found: dict[str, list[float]] = defaultdict(list)
    for key, seen in _from_boards(read):
        found[key].append(seen.value)
    for key, seen in _by_hand(code):
        found[key].append(seen.value)
    return dict(found)


def _figure(key: str, seen: Sequence[Seen], marks: Marks) -> Figure:
    marked, before = marks.on(key, seen), prior(key)
    sittings = tuple(
        Sitting(each.value, each.person, marks.age_days(each.day), each.record) for each in standing(marked)
    )
    people = {each.person for each in sittings}
    person = next(iter(people)) if len(people) == 1 else None
    learned = _learned(before.label, sittings, before, person)
    lot = marks.new_lots.get(key)
    return Figure(key, "minutes", before.label, "min", before, learned, marked, "sitting", lot=lot)


@lru_cache(maxsize=256)
def _learned(name: str, sittings: tuple[Sitting, ...], before: Prior, person: str | None) -> Learned[Any]:
    return learn_minutes(
        name,
        sittings,
        before,
        prior("scatter.minutes_log"),
        prior("spread.people_log").value,
        person,
        learning_figure("half_life.days"),
    )


def by_people(figure: Figure, marks: Marks) -> list[tuple[str, Learned[Any]]]:
    """The same minutes for each person who has sittings, where there are several."""
    sittings = tuple(
        Sitting(each.value, each.person, marks.age_days(each.day), each.record) for each in standing(figure.seen)
    )
    people = sorted({each.person for each in sittings if each.person})
    return (
        [(person, _learned(figure.name, sittings, figure.prior, person)) for person in people]
        if len(people) > 1
        else []
    )
