"""What the records of a kiln come to: packs read, unevenness and drift, the newest fit, wear of the elements."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from wareboard.book.firings.kiln_model import Fit
from wareboard.book.firings.kiln_names import line_of
from wareboard.book.firings.log_summary import heat_work_from, schedule_from
from wareboard.book.firings.models import PARTS, ConeReading, Firing, FiringLog, Kiln, PartsChange
from wareboard.errors import WareboardError

if TYPE_CHECKING:
    from wareboard.kiln.cone import HeatWork
    from wareboard.kiln.elements import ElementFiring, ElementWear
    from wareboard.kiln.segment import Schedule
    from wareboard.kiln.thermal import KilnModel
    from wareboard.kiln.witness import ConePack, PackReview, Trend

USUAL_RATE = 60.0
LOOKED_BACK = 10
LEAST_FOR_DRIFT = 3


@dataclass(frozen=True, slots=True)
class Fired:
    """One firing with what its records come to; ``trouble`` where its packs contradict one another.

    ``raised`` is added to its number where the kiln's records were joined under a later name, so that its place in the
    whole line is known.
    """

    firing: Firing
    log: FiringLog | None
    review: PackReview | None
    trouble: str
    raised: int = 0

    @property
    def number(self) -> int:
        """Its number in the line of the kiln's joined records."""
        return self.firing.number + self.raised

    @property
    def channels(self) -> list[dict[str, Any]]:
        """What is kept of each thermocouple of its log."""
        found: list[dict[str, Any]] = (self.log.summary or {}).get("channels", []) if self.log else []
        return found

    def channel(self, name: str, at: int = 0, of: int = 1) -> dict[str, Any] | None:
        """The thermocouple of that name, else the one in that place where the log has as many as ``of``."""
        named = next((each for each in self.channels if each["name"] == name), None)
        return named or (self.channels[at] if len(self.channels) == of and at < of else None)

    def heat_work(self, name: str, at: int = 0, of: int = 1) -> HeatWork | None:
        """Heat work of that thermocouple, the fall from the peak counted, as cones feel it."""
        told = self.channel(name, at, of)
        return heat_work_from(told["found"]) if told and "found" in told else None

    @property
    def last_100_h(self) -> float | None:
        """Hours over the last 100 °C of rise, by the first thermocouple."""
        if self.log is None or self.log.summary is None:
            return None
        hours: float | None = self.log.summary["channels"][0].get("last_100_h")
        return hours or None

    @property
    def logged(self) -> HeatWork | None:
        """The heat work of the first thermocouple, the fall from the peak counted, as cones feel it."""
        if self.log is None or self.log.summary is None or "found" not in self.log.summary["channels"][0]:
            return None
        return heat_work_from(self.log.summary["channels"][0]["found"])


def firings_of(kiln: Kiln, most: int | None = None) -> list[Fired]:
    """The kiln's firings that stand, under all its names, oldest first; the last ``most`` of them."""
    found: list[Fired] = []
    for record, raised in reversed(line_of(kiln)):
        rows = record.firings.filter(put_away=None).order_by("-number").prefetch_related("cones", "logs__file")
        rows = rows.defer("notes") if most is None else rows[: most - len(found)]
        found += [fired(row, raised) for row in rows]
    return found[::-1]


def fired(firing: Firing, raised: int = 0) -> Fired:
    """A firing with its newest readable log and its packs read."""
    log = log_of(firing)
    cones = standing_cones(firing)
    if not cones:
        return Fired(firing, log, None, "", raised)
    try:
        return Fired(firing, log, packs_review(firing, cones), "", raised)
    except WareboardError as problem:
        return Fired(firing, log, None, str(problem), raised)


def log_of(firing: Firing) -> FiringLog | None:
    """The firing's newest log that stands and could be read."""
    logs = firing.logs.defer("samples", "file__content").select_related("file")
    return next((log for log in logs if log.put_away is None and log.summary), None)


def standing_cones(firing: Firing) -> list[ConeReading]:
    """The packs that stand and of which at least one cone was read, from the bottom up."""
    return [row for row in firing.cones.all() if row.put_away is None and leans(row)]


def leans(row: ConeReading) -> dict[str, float]:
    """Lean of each cone that was read, by its name."""
    named = ((row.guide, row.guide_deg), (row.target, row.target_deg), (row.guard, row.guard_deg))
    return {cone: lean for cone, lean in named if cone and lean is not None}


def pack_of(row: ConeReading) -> ConePack:
    """The reading as the kiln room takes it."""
    from wareboard.kiln.witness import ConePack

    return ConePack(row.level, leans(row), row.firing.form, row.by_clock)


def packs_review(firing: Firing, cones: Sequence[ConeReading]) -> PackReview:
    """A firing's packs read together.

    Raises:
        OutOfRange: if a harder cone leans much further than a softer one.
    """
    from wareboard.kiln.witness import review_packs

    return review_packs([pack_of(row) for row in cones], firing.cone, last_rate(firing))


def last_rate(firing: Firing) -> float:
    """Programmed rate of the ramp to the peak, °C/h; 60 where no schedule is kept."""
    planned = schedule_from(firing.schedule)
    if planned is None:
        return USUAL_RATE
    rates = [each.rate_c_per_h for each in planned.segments if each.target_c == planned.peak_c]
    return min(max(rates[0], 5.0), 600.0)


def before(firing: Firing) -> Firing | None:
    """Last time's firing of the same kind in the same kiln, under any of its names, if it has a log."""
    kept = {"kind": firing.kind, "put_away": None, "logs__put_away": None, "logs__summary__isnull": False}
    for record, _ in reversed(line_of(firing.kiln)):
        rows = Firing.objects.filter(kiln=record, **kept).order_by("-number")
        last = (rows.filter(number__lt=firing.number) if record == firing.kiln else rows).first()
        if last is not None:
            return last
    return None


# --- drift and fit ----------------------------------------------------------------------------------------------------


def drift(found: Sequence[Fired]) -> tuple[Trend, Trend] | None:
    """How calibration and evenness move over the firings; None for fewer than three."""
    from wareboard.kiln.witness import drifts

    reviews = [each.review for each in found if each.review]
    return drifts(reviews) if len(reviews) >= LEAST_FOR_DRIFT else None


def newest_fit(kiln: Kiln | None) -> Fit | None:
    """The newest fit of the kiln's model to one of its logs, where one was made."""
    if kiln is None:
        return None
    for record, _ in reversed(line_of(kiln)):
        logs = FiringLog.objects.filter(firing__kiln=record, put_away=None, firing__put_away=None, fit__isnull=False)
        newest = logs.order_by("-firing__number", "-pk").defer("samples", "summary").select_related("firing").first()
        if newest is not None:
            return fit_of(newest)
    return None


def fit_of(log: FiringLog) -> Fit | None:
    """The fit that a log keeps, if it keeps one."""
    if not log.fit:
        return None
    return Fit(log.firing.number, tuple(log.fit["wall"]), tuple(log.fit["load"]), log.fit["rms_c"])


# --- parts and wear ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PartAge:
    """A part of a kiln: how many firings it has served, and since when; None where no change was ever recorded."""

    part: str
    words: str
    firings: int
    since: date | None


def part_ages(kiln: Kiln) -> list[PartAge]:
    """Firings that each part has served since it was changed, or since the first firing recorded."""
    line = line_of(kiln)
    numbers = [
        number + raised
        for record, raised in line
        for number in record.firings.filter(put_away=None).values_list("number", flat=True)
    ]
    ages = []
    for part, words in PARTS:
        last, after = last_change(line, part)
        ages.append(PartAge(part, words, sum(each > after for each in numbers), last.day if last else None))
    return ages


def last_change(line: Sequence[tuple[Kiln, int]], part: str) -> tuple[PartsChange | None, int]:
    """The latest change of a part under any of a kiln's names, and after which firing of the whole line it was."""
    for record, raised in reversed(line):
        change = record.parts_changes.filter(put_away=None, part=part).first()
        if change is not None:
            return change, change.after_firing + raised
    return None, 0


def wear(kiln: Kiln, found: Sequence[Fired], model: KilnModel, schedule: Schedule, today: date) -> ElementWear:
    """Wear of the elements since they were last changed, with the forecast for this schedule."""
    change, after = last_change(line_of(kiln), "elements")
    told = tuple(_element_firing(each, after) for each in found if each.number > after)
    days = [each.firing.day for each in found]
    span = (days[-1] - days[0]).days if len(days) > 1 else 0
    weekly = 7.0 * (len(days) - 1) / span if span > 0 else None
    new_ohm = change.resistance_ohm if change else None
    return _wear(told, model, schedule, new_ohm, weekly, today if weekly else None)


def _element_firing(each: Fired, after: int) -> ElementFiring:
    from wareboard.kiln.elements import ElementFiring

    kwh = each.firing.energy_kwh
    return ElementFiring(
        each.number - after, each.last_100_h, kwh if kwh and kwh > 0.0 else None, each.firing.resistance_ohm
    )


@lru_cache(maxsize=32)
def _wear(
    told: tuple[ElementFiring, ...],
    model: KilnModel,
    schedule: Schedule,
    new_ohm: float | None,
    weekly: float | None,
    today: date | None,
) -> ElementWear:
    from wareboard.kiln.elements import element_wear

    return element_wear(told, model, schedule, new_ohm, weekly, today)
