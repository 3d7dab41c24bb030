"""How a kiln stands: what its last ten firings say, and the ONE change that is worth trying next."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from wareboard.book.firings import kiln_model, reckoning
from wareboard.book.firings.log_summary import schedule_from
from wareboard.book.firings.offsets import ByThermocouple, offsets
from wareboard.book.firings.reckoning import Fired, PartAge
from wareboard.errors import WareboardError
from wareboard.plan.workshop import Firing as FiringHabits
from wareboard.studio.kilns.firing_form import USUAL_CONES
from wareboard.studio.kilns.known_kilns import KnownKiln
from wareboard.studio.today import today

if TYPE_CHECKING:
    from wareboard.kiln.elements import ElementWear
    from wareboard.kiln.segment import Schedule
    from wareboard.kiln.witness import Trend

CARE = "Look into a hot kiln through welding-type glasses only, run the vent, and wear gloves for what is warm."


@dataclass(slots=True)
class Standing:
    """One kiln with what its records come to."""

    kiln: KnownKiln
    fired: list[Fired] = field(default_factory=list)
    count: int = 0
    ages: list[PartAge] = field(default_factory=list)
    offsets: list[ByThermocouple] = field(default_factory=list)
    drift: tuple[Trend, Trend] | None = None
    wear: ElementWear | None = None
    taken: str = ""
    troubles: list[str] = field(default_factory=list)
    care: str = CARE

    @property
    def last(self) -> Fired | None:
        """The newest firing."""
        return self.fired[-1] if self.fired else None

    @property
    def last_read(self) -> Fired | None:
        """The newest firing whose packs were read."""
        return next((each for each in reversed(self.fired) if each.review), None)

    @property
    def next_change(self) -> tuple[str, str]:
        """The one change for the next firing, and why."""
        read = self.last_read
        if read is None or read.review is None:
            return (
                "Stand a pack of three cones on every level",
                "no packs have been read, and without them nothing is known",
            )
        return read.review.advice.change, f"firing {read.firing.number}: {read.review.advice.why}"

    @property
    def part_words(self) -> list[tuple[str, str]]:
        """Each part with the firings it has served."""
        return [(each.words, f"{each.firings} firing{'' if each.firings == 1 else 's'}") for each in self.ages]


def standing_of(kiln: KnownKiln, habits: FiringHabits) -> Standing:
    """How a kiln stands; what contradicts itself is told, never in the way of the rest."""
    found = Standing(kiln)
    if kiln.record is None:
        return found
    every = reckoning.firings_of(kiln.record)
    found.fired, found.count = every[-reckoning.LOOKED_BACK :], len(every)
    found.ages = reckoning.part_ages(kiln.record)
    try:
        found.offsets = offsets(kiln.name, every, kiln.record.counted)
        found.drift = reckoning.drift(found.fired)
    except WareboardError as problem:
        found.troubles.append(str(problem))
    try:
        model = kiln_model.estimated(kiln.sizes, reckoning.newest_fit(kiln.record))
        found.taken = model.taken
        found.wear = reckoning.wear(kiln.record, every, model.model, _wanted(found.fired, habits), today())
    except WareboardError as problem:
        found.troubles.append(str(problem))
    found.troubles += [f"Firing {each.firing.number}: {each.trouble}" for each in found.fired if each.trouble]
    return found


def _wanted(fired: list[Fired], habits: FiringHabits) -> Schedule:
    """What the elements must still manage: the hottest schedule of late, else the workshop's glaze firing."""
    from wareboard.kiln.schedule import glaze_schedule

    kept = [schedule for each in fired if (schedule := schedule_from(each.firing.schedule))]
    if kept:
        return max(kept, key=lambda each: each.peak_c)
    return glaze_schedule(habits.glaze_cone or USUAL_CONES["glaze"])
