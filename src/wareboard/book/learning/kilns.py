"""What a kiln takes and how long it heats, over what is usually reckoned, from meters and logs; how its levels differ."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from functools import lru_cache

from wareboard import reference
from wareboard.book.firings.log_summary import schedule_from
from wareboard.book.firings.models import Firing
from wareboard.book.learning.figures import Figure, Marks, Seen
from wareboard.book.learning.measured_figures import measured_figure
from wareboard.book.reckoning.learned import prior
from wareboard.errors import WareboardError
from wareboard.plan.own import energy_key
from wareboard.plan.slug import slug
from wareboard.plan.workshop import Workshop

MOST_FIRINGS = 400
KINDS = ("bisque", "glaze")
USUAL_THICKNESS_MM = 6.0


def kiln_figures(workshop: Workshop, marks: Marks) -> list[Figure]:
    """Energy over the usual reckoning, for each kiln and kind of firing whose meter was read."""
    power = {slug(kiln.name): kiln.power_kw for kiln in workshop.kilns}
    energy: dict[tuple[str, str], list[Seen]] = defaultdict(list)
    rows = Firing.objects.filter(put_away=None).select_related("kiln").order_by("-day", "-pk")[:MOST_FIRINGS]
    for firing in rows:
        seen = _energy(firing, power)
        if seen is not None:
            energy[firing.kiln.name, firing.kind].append(seen)
    note = "The schedule's hours, the plate's power and the usual share of full power make 1."
    return [
        measured_figure(
            energy_key(kind, kiln), "kiln", f"energy of a {kind} firing in {kiln}, over the usual reckoning",
            prior("kiln.energy_factor"), "scatter.energy_factor", seen, "firing", marks, note=note,
        )
        for (kiln, kind), seen in sorted(energy.items())
    ]  # fmt: skip


def _energy(firing: Firing, power: Mapping[str, float | None]) -> Seen | None:
    kwh = firing.energy_kwh
    if kwh is None or kwh <= 0.0 or firing.kind not in KINDS:
        return None
    reckoned = _reckoned(firing, power.get(slug(firing.kiln.name)) or reference.default("kiln.power_kw").value)
    if reckoned is None:
        return None
    words = f"{kwh:.0f} kWh, where {reckoned:.0f} are reckoned, {firing.kiln.name} firing {firing.number}"
    at = ("firing", f"{firing.kiln.slug}/{firing.number}")
    return Seen(f"firing/{firing.pk}/kwh", kwh / reckoned, words, firing.day, at)


def _reckoned(firing: Firing, power_kw: float) -> float | None:
    """Energy of the firing's own schedule, or of the usual one for its cone, by the duty method."""
    from wareboard.kiln.energy import firing_energy

    try:
        planned = schedule_from(firing.schedule)
        if planned is None:
            return _usual_kwh(firing.kind, firing.cone, firing.form, power_kw)
        return firing_energy(power_kw, planned, kind=firing.kind).kwh
    except (WareboardError, KeyError, TypeError, ValueError):
        return None


@lru_cache(maxsize=64)
def _usual_kwh(kind: str, cone: str, form: str, power_kw: float) -> float:
    from wareboard.kiln.energy import firing_energy
    from wareboard.kiln.schedule import bisque_schedule, glaze_schedule

    if kind == "bisque":
        return firing_energy(power_kw, bisque_schedule(cone, USUAL_THICKNESS_MM, form=form)).kwh
    hold = reference.default("firing.hold_min").value
    return firing_energy(power_kw, glaze_schedule(cone, hold, False, USUAL_THICKNESS_MM, form=form)).kwh
