"""What a kiln takes and how long it heats, over what is usually reckoned, from meters and logs; how its levels differ."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from wareboard import reference
from wareboard.book.firings.kiln_model import whole
from wareboard.book.firings.log_summary import schedule_from
from wareboard.book.firings.models import Firing, FiringLog
from wareboard.book.learning.figures import Figure, Marks, Seen
from wareboard.book.learning.measured_figures import measured_figure
from wareboard.book.reckoning.learned import prior
from wareboard.errors import WareboardError
from wareboard.plan.assume import Assumer
from wareboard.plan.kiln_heat import kiln_heat
from wareboard.plan.own import energy_key, hours_key, wall_key
from wareboard.plan.slug import slug
from wareboard.plan.workshop import Kiln, Workshop

if TYPE_CHECKING:
    from wareboard.kiln.segment import Schedule

MOST_FIRINGS = 400
KINDS = ("bisque", "glaze")
USUAL_THICKNESS_MM = 6.0
LEAST_HOURS = 1.0


def kiln_figures(workshop: Workshop, marks: Marks) -> list[Figure]:
    """Energy over the usual reckoning and hours over the schedule's, for each kiln and kind of firing that tells of them."""
    kilns = {slug(kiln.name): kiln for kiln in workshop.kilns}
    energy: dict[tuple[str, str], list[Seen]] = defaultdict(list)
    hours: dict[tuple[str, str], list[Seen]] = defaultdict(list)
    rows = Firing.objects.filter(put_away=None).select_related("kiln").order_by("-day", "-pk")[:MOST_FIRINGS]
    late = _late([firing.pk for firing in rows])
    for firing in rows:
        for found, seen in ((energy, _energy(firing, kilns)), (hours, _hours(firing, late.get(firing.pk)))):
            if seen is not None:
                found[firing.kiln.name, firing.kind].append(seen)
    note = (
        "The schedule's hours, the plate's power and the usual share of full power make 1; a held cooling is left out."
    )
    return [
        measured_figure(
            energy_key(kind, kiln), "kiln", f"energy of a {kind} firing in {kiln}, over the usual reckoning",
            prior("kiln.energy_factor"), "scatter.energy_factor", seen, "firing", marks, note=note,
        )
        for (kiln, kind), seen in sorted(energy.items())
    ] + [
        measured_figure(
            hours_key(kind, kiln), "kiln", f"hours to the top of a {kind} firing in {kiln}, over the schedule’s",
            prior("kiln.hours_factor"), "scatter.hours_factor", seen, "firing", marks,
        )
        for (kiln, kind), seen in sorted(hours.items())
    ] + [
        measured_figure(
            wall_key(kiln), "kiln", f"what the wall of {kiln} conducts, over brick of 64 mm",
            prior("kiln.wall_factor"), "scatter.wall_factor", seen, "log", marks,
            note="Fitted to logs with their cooling. Energy and times of the kiln’s firings are reckoned with it.",
        )
        for kiln, seen in sorted(_walls().items())
    ]  # fmt: skip


def _walls() -> dict[str, list[Seen]]:
    """What fits to each kiln's logs said of its wall."""
    rows = FiringLog.objects.filter(put_away=None, firing__put_away=None, fit__isnull=False)
    found: dict[str, list[Seen]] = defaultdict(list)
    for log in (
        rows.defer("samples", "summary").select_related("firing__kiln").order_by("-firing__day", "-pk")[:MOST_FIRINGS]
    ):
        firing, (value, low, high) = log.firing, (log.fit or {})["wall"]
        words = f"{value:.2f} ({low:.2f} to {high:.2f}), {firing.kiln.name} firing {firing.number}"
        at = ("firing", f"{firing.kiln.slug}/{firing.number}")
        found[firing.kiln.name].append(Seen(f"log/{log.pk}/wall", value, words, firing.day, at))
    return found


def _late(firings: list[int]) -> dict[int, tuple[float, float]]:
    """For each firing with a log that met its schedule's top: hours when it was reached, and hours planned."""
    found: dict[int, tuple[float, float]] = {}
    rows = FiringLog.objects.filter(firing__in=firings, put_away=None, summary__isnull=False).order_by("pk")
    for pk, summary in rows.values_list("firing", "summary"):
        channels = (summary or {}).get("channels") or [{}]
        met = [
            each for each in channels[0].get("met", []) if each.get("reached_h") and each.get("late_min") is not None
        ]
        if met:
            top = max(met, key=lambda each: each["planned"]["target"])
            planned = top["reached_h"] - top["late_min"] / 60.0
            if planned > LEAST_HOURS:
                found[pk] = top["reached_h"], planned
    return found


def _hours(firing: Firing, late: tuple[float, float] | None) -> Seen | None:
    if late is None or firing.kind not in KINDS:
        return None
    reached, planned = late
    words = f"{reached:.1f} h to the top, where {planned:.1f} were planned, {firing.kiln.name} firing {firing.number}"
    at = ("firing", f"{firing.kiln.slug}/{firing.number}")
    return Seen(f"firing/{firing.pk}/hours", reached / planned, words, firing.day, at)


def _energy(firing: Firing, kilns: Mapping[str, Kiln]) -> Seen | None:
    kwh = firing.energy_kwh
    if kwh is None or kwh <= 0.0 or firing.kind not in KINDS:
        return None
    reckoned, held = _reckoned(firing, kilns.get(slug(firing.kiln.name)) or Kiln(name=firing.kiln.name))
    if reckoned is None or held >= kwh:
        return None
    cooling = f" and {held:.0f} hold the cooling back" if held else ""
    words = f"{kwh:.0f} kWh, where {reckoned:.0f} are reckoned{cooling}, {firing.kiln.name} firing {firing.number}"
    at = ("firing", f"{firing.kiln.slug}/{firing.number}")
    return Seen(f"firing/{firing.pk}/kwh", (kwh - held) / reckoned, words, firing.day, at)


def _reckoned(firing: Firing, kiln: Kiln) -> tuple[float | None, float]:
    """kWh of the firing's own schedule, or of the usual one for its cone, by the duty method; and what held its cooling.

    A plan adds the second by the kiln's model whatever the meter said of the first, so it is no part of what is learned.
    """
    from wareboard.kiln.energy import firing_energy

    power_kw = kiln.power_kw or reference.default("kiln.power_kw").value
    try:
        planned = schedule_from(firing.schedule)
        if planned is None:
            return _usual_kwh(firing.kind, firing.cone, firing.form, power_kw), 0.0
        return firing_energy(power_kw, planned, kind=firing.kind).kwh, _held_kwh(planned, kiln)
    except (WareboardError, KeyError, TypeError, ValueError):
        return None, 0.0


def _held_kwh(planned: Schedule, kiln: Kiln) -> float:
    from wareboard.kiln.held_cooling import held_cooling

    if planned.heating is planned:
        return 0.0
    # To 5 °C, so that firings whose peaks differ by the offset of the day are followed once.
    about = (replace(each, target_c=5.0 * round(each.target_c / 5.0)) for each in planned.segments)
    alike = replace(planned, name="", segments=tuple(about))
    return held_cooling(kiln_heat(whole(kiln), Assumer()).model, alike).kwh


@lru_cache(maxsize=64)
def _usual_kwh(kind: str, cone: str, form: str, power_kw: float) -> float:
    from wareboard.kiln.energy import firing_energy
    from wareboard.kiln.schedule import bisque_schedule, glaze_schedule

    if kind == "bisque":
        return firing_energy(power_kw, bisque_schedule(cone, USUAL_THICKNESS_MM, form=form)).kwh
    hold = reference.default("firing.hold_min").value
    return firing_energy(power_kw, glaze_schedule(cone, hold, False, USUAL_THICKNESS_MM, form=form)).kwh
