"""The work of a job as tasks for the calendar: batches of a sitting, drying, loads, glazing, packing.

A batch is what is made in one sitting; it moves through the stages together. Losses are taken as they are expected, so a
later stage of a batch moves fewer pieces. A load waits for every batch that it holds pieces of.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from wareboard.plan.assume import Assumer
from wareboard.plan.firings import KindOfFiring
from wareboard.plan.result import FiringPlan, FormPlan, GlazePlan, slug
from wareboard.plan.work import ANY_KILN, Task
from wareboard.working import in_a_row

WASHED_DRY_H = 12.0  # overnight after washing; common practice
LINED_DRY_H = 12.0  # the liner dries before the outside is glazed, or the wall takes thin; common practice
GLAZED_DRY_H = 18.0  # 12 to 24 h before loading (3rd Coast Clay)
COVERED_OVERNIGHT_H = 16.0  # joins even out under cover; published habits: overnight


@dataclass(frozen=True, slots=True)
class Sitting:
    """One batch of a form: how many pieces are in it at each stage."""

    form: FormPlan
    number: int
    of: int
    started: int

    @property
    def key(self) -> str:
        return f"{slug(self.form.name)}-{self.number}"

    @property
    def name(self) -> str:
        return self.form.name if self.of == 1 else f"{self.form.name}, batch {self.number} of {self.of}"

    def pieces(self, stage: str) -> int:
        """Pieces expected to go into ``stage``."""
        return max(1, math.ceil(self.form.going_into(stage) * self.started / self.form.start - 1e-9))

    @property
    def finished(self) -> int:
        return max(1, math.ceil(self.started * self.form.overage.good_share.value))

    def minutes(self, pieces: int, *tasks: str) -> float:
        """Hands-on minutes for ``pieces`` over the named tasks of the form."""
        return pieces * sum(self.form.minutes[task].value for task in tasks if task in self.form.minutes)


def sittings(forms: Sequence[FormPlan], assume: Assumer) -> tuple[Sitting, ...]:
    """Each form's pieces in batches of about a sitting, as even as they come."""
    most = max(1, round(assume.figure("calendar.batch_pieces").value))
    found: list[Sitting] = []
    for form in forms:
        of = math.ceil(form.start / most)
        edges = [round(form.start * number / of) for number in range(of + 1)]
        found += [Sitting(form, number + 1, of, edges[number + 1] - edges[number]) for number in range(of)]
    return tuple(found)


def tasks_of(
    forms: Sequence[FormPlan],
    glazes: Sequence[GlazePlan],
    bisque: FiringPlan,
    glaze_firing: FiringPlan,
    assume: Assumer,
    any_kiln: bool = False,
) -> tuple[Task, ...]:
    """Every task of the job, each waiting for what must be over first.

    ``any_kiln`` says that all kilns are alike, so that a load may go into whichever is free.
    """
    batches = sittings(forms, assume)
    tasks = [task for batch in batches for task in _making(batch)]
    bisqued = _loads(bisque, batches, "dried", "bisque", assume, any_kiln)
    tasks += bisqued.tasks
    mixing = tuple(_mixing(glazes, assume))
    tasks += mixing
    for batch in batches:
        tasks += _finishing(batch, bisqued.of_batch[batch.key], mixing)
    fired = _loads(glaze_firing, batches, "glazed", "fired", assume, any_kiln)
    tasks += fired.tasks
    for batch in batches:
        tasks.append(_packing(batch, fired.of_batch[batch.key]))
    return tuple(tasks)


def _making(batch: Sitting) -> Iterator[Task]:
    form, key = batch.form, batch.key
    drying = form.drying
    yield Task(
        f"{key}.thrown",
        f"Weigh and throw {batch.started} × {batch.name}",
        form.name,
        "thrown",
        batch.minutes(batch.started, "weigh", "throw", "lid", "spout"),
        elapsed_h=drying.leather_hard_h.value,
        pieces=batch.started,
    )
    handled = batch.pieces("handled")
    work = [word for word, task in (("trim", "trim"), ("handle", "handle"), ("carve", "mark")) if task in form.minutes]
    yield Task(
        f"{key}.dried",
        f"{in_a_row(work).capitalize()} {handled} × {batch.name}, then dry under cover",
        form.name,
        "dried",
        batch.minutes(handled, "trim", "handle", "mark"),
        elapsed_h=max(COVERED_OVERNIGHT_H, drying.bone_dry_days.value * 24 - drying.leather_hard_h.value),
        after=(f"{key}.thrown",),
        pieces=handled,
    )


@dataclass(frozen=True, slots=True)
class _Loads:
    tasks: tuple[Task, ...]
    of_batch: dict[str, tuple[str, ...]]  # batch key -> keys of the loads that hold its pieces


def _loads(
    firing: FiringPlan, batches: Sequence[Sitting], ready: str, stage: str, assume: Assumer, any_kiln: bool
) -> _Loads:
    """Loads as tasks: each waits for the batches whose pieces it holds, filled in the order of the loads."""
    waits: dict[int, list[str]] = {}
    of_batch: dict[str, list[str]] = {batch.key: [] for batch in batches}
    for form in dict.fromkeys(batch.form.name for batch in batches):
        queue = [(batch, batch.pieces(stage)) for batch in batches if batch.form.name == form]
        place, left = 0, queue[0][1]
        for number, load in enumerate(firing.loads.loads):
            room = sum(layout.counts.get(form, 0) for layout in load)
            while room > 0 and place < len(queue):
                batch = queue[place][0]
                waits.setdefault(number, []).append(f"{batch.key}.{ready}")
                of_batch[batch.key].append(_load_key(firing.kind, number))
                taken = min(room, left)
                room, left = room - taken, left - taken
                if left == 0:
                    place += 1
                    left = queue[place][1] if place < len(queue) else 0
        last = _load_key(firing.kind, firing.firings - 1)
        for batch, _ in queue[place:]:  # rounding may leave a piece over: it goes with the last load
            waits.setdefault(firing.firings - 1, []).append(f"{batch.key}.{ready}")
            of_batch[batch.key].append(last)
    minutes = assume.figure(f"minutes.load_{firing.kind}").value
    unloading = assume.figure("minutes.unload").value
    tasks = tuple(
        Task(
            _load_key(firing.kind, number),
            f"{firing.kind.capitalize()} load {number + 1} of {firing.firings}: load, fire to cone {firing.cone}, cool",
            stage=firing.kind,
            minutes_hands_on=minutes,
            elapsed_h=firing.in_load(number + 1).heating_h + firing.cooling_h.value,
            needs=ANY_KILN if any_kiln else firing.home(number + 1).kiln.name,
            after=tuple(dict.fromkeys(waits.get(number, ()))),
            pieces=sum(layout.pieces for layout in load),
            minutes_unloading=unloading,
        )
        for number, load in enumerate(firing.loads.loads)
    )
    return _Loads(tasks, {key: tuple(dict.fromkeys(loads)) for key, loads in of_batch.items()})


def _load_key(kind: KindOfFiring, number: int) -> str:
    return f"{kind}-load-{number + 1}"


def _mixing(glazes: Sequence[GlazePlan], assume: Assumer) -> Iterator[Task]:
    mixed = [plan for plan in glazes if plan.glaze.recipe]
    for plan in mixed:
        yield Task(
            f"mix-{slug(plan.glaze.name)}",
            f"Weigh out, mix and sieve {plan.glaze.name}",
            stage="mixing",
            minutes_hands_on=assume.figure("minutes.mix_glaze").value,
            elapsed_h=24.0,  # rest before use (Big Ceramic Store)
        )


def _finishing(batch: Sitting, bisqued: tuple[str, ...], mixing: Sequence[Task]) -> Iterator[Task]:
    form, key = batch.form, batch.key
    pieces = batch.pieces("glazed")
    yield Task(
        f"{key}.washed",
        f"Sand (wet) and wash {pieces} × {batch.name}",
        form.name,
        "washed",
        batch.minutes(pieces, "sand"),
        elapsed_h=WASHED_DRY_H,
        after=bisqued,
        pieces=pieces,
    )
    before = f"{key}.washed"
    mixed = tuple(task.key for task in mixing)
    if "liner" in form.minutes:
        yield Task(
            f"{key}.lined",
            f"Pour the liner in {pieces} × {batch.name}",
            form.name,
            "lined",
            batch.minutes(pieces, "liner"),
            elapsed_h=LINED_DRY_H,
            after=(before, *mixed),
            pieces=pieces,
        )
        before = f"{key}.lined"
    yield Task(
        f"{key}.glazed",
        f"{_verb(form)} {pieces} × {batch.name}",
        form.name,
        "glazed",
        batch.minutes(pieces, "dip", "paint"),
        elapsed_h=GLAZED_DRY_H,
        after=(before, *mixed),
        pieces=pieces,
    )


def _verb(form: FormPlan) -> str:
    if "paint" in form.minutes:
        return "Paint"
    return "Dip" if "dip" in form.minutes else "Wipe the feet of"


def _packing(batch: Sitting, fired: tuple[str, ...]) -> Task:
    pieces = batch.pieces("fired")
    good = min(batch.finished, pieces)
    return Task(
        f"{batch.key}.packed",
        f"Grind, look over and grade {pieces}, pack {good} × {batch.name}",
        batch.form.name,
        "packed",
        batch.minutes(pieces, "grind") + batch.minutes(good, "pack"),
        after=fired,
        pieces=good,
    )
