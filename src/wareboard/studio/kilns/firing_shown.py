"""A firing as its page shows it: packs with their ranges, the log beside its plan and last time's, what is odd, energy."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from wareboard.book.firings import reckoning
from wareboard.book.firings.log_summary import heat_work_from, schedule_from
from wareboard.book.firings.models import Change, ConeReading, Firing, FiringLog
from wareboard.kiln.chart import cone_order, cones
from wareboard.studio.drawing import drawing
from wareboard.studio.kilns import degrees
from wareboard.studio.kilns.log_plot import log_svg
from wareboard.studio.kilns.standing import CARE
from wareboard.working import Step, signed

NAMED = {
    "cone": "cone",
    "kwh": "kWh",
    "day": "day",
    "meter_before_kwh": "meter before",
    "meter_after_kwh": "meter after",
    "resistance_ohm": "elements, ohm",
    "guide_deg": "guide leans",
    "target_deg": "target leans",
    "guard_deg": "guard leans",
    "commission_code": "commission",
    "put_away": "put away",
    "photo_id": "photograph",
    "left_out": "left out of the offsets",
    "load_number": "load",
}


def context(firing: Firing, shown: str = degrees.C) -> dict[str, Any]:
    """Everything that the page of a firing shows, in the degrees asked for."""
    fired = reckoning.fired(firing)
    logs = [each for each in firing.logs.defer("samples", "file__content").select_related("file") if not each.put_away]
    return {
        "fired": fired,
        "levels": list(_levels(fired, shown)),
        "logs": logs,
        "unread": [each for each in logs if each.trouble],
        "logged": _logged(firing, fired.log, shown),
        "planned": schedule_from(firing.schedule),
        "care": CARE,
        "per_cone": _spread(fired, shown),
        "review_steps": _review_steps(fired, shown),
        "usual_rate": degrees.rate(reckoning.USUAL_RATE, shown),
    }


def _levels(fired: reckoning.Fired, shown: str) -> Iterator[tuple[ConeReading, Step | None, str, str, list[str]]]:
    """Each pack from the top down, as it stood: its reading, its range in cones, and its leans."""
    readings = fired.review.levels if fired.review else ()
    rows = [row for row in fired.firing.cones.all() if row.put_away is None]
    read = iter(readings)
    pairs = [(row, next(read, None) if reckoning.leans(row) else None) for row in rows]
    for row, level in reversed(pairs):
        told, between = (
            (level.words.removeprefix(f"{level.level}: "), _between(level.low, level.high)) if level else ("", "")
        )
        step = degrees.step_in(level.steps[0], shown, difference=False) if level else None
        yield row, step, told, between, [_lean(lean) for lean in (row.guide_deg, row.target_deg, row.guard_deg)]


def _lean(lean: float | None) -> str:
    return "–" if lean is None else f"{lean:.0f}°"


def _spread(fired: reckoning.Fired, shown: str) -> str:
    if fired.review is None:
        return ""
    low, high = (degrees.span(each, shown) for each in (fired.review.uneven_c_low, fired.review.uneven_c_high))
    return f"{low.split(' ')[0]} to {high}"


def _review_steps(fired: reckoning.Fired, shown: str) -> dict[str, Step]:
    """Unevenness and distance from the target, by short names, with their working."""
    named = {"hottest less coldest level": "uneven", "mean of the levels less the target": "off"}
    steps = fired.review.steps if fired.review else ()
    return {named[step.name]: degrees.step_in(step, shown) for step in steps if step.name in named}


def position_words(position: float) -> str:
    """A place between cones in the potter's words: "cone 6 +0.3"."""
    whole = min((each for each in cones() if "." not in each), key=lambda each: abs(cone_order(each) - position))
    part = position - cone_order(whole)
    return f"cone {whole}" + (f" {signed(part, 1)}" if abs(part) >= 0.05 else "")


@dataclass(frozen=True, slots=True)
class Told:
    """One thermocouple of a log, as the table shows it, with last time's figure beside each where there is one."""

    name: str
    cells: tuple[tuple[str, str, str, str], ...]  # label, value, range, last time
    trouble: str


def _logged(firing: Firing, log: FiringLog | None, shown: str) -> dict[str, Any] | None:
    """The log's plot and tables; None where none could be read."""
    if log is None or log.summary is None:
        return None
    last = reckoning.before(firing)
    last_log = reckoning.log_of(last) if last else None
    earlier = (last_log.summary or {}).get("channels", []) if last_log else []
    channels = log.summary["channels"]
    planned = schedule_from(firing.schedule)
    before = (f"firing {last.number}", earlier[0]["curve"]) if last and earlier else None
    return {
        "log": log,
        "plot": drawing(log_svg(channels, planned, before, title=f"{firing}: temperature against hours", shown=shown)),
        "told": [_told(each, _like(earlier, each, at), firing.cone, shown) for at, each in enumerate(channels)],
        "met": [
            (each["name"], [_met_row(number, met, shown) for number, met in enumerate(each["met"], 1)])
            for each in channels
            if each.get("met")
        ],
        "stretches": [
            (each["name"], [_stretch_row(number, one, shown) for number, one in enumerate(each["stretches"], 1)])
            for each in channels
            if each.get("stretches")
        ],
        "last": last if before else None,
        "first": channels[0]["name"],
        "fit": reckoning.fit_of(log),
    }


def _like(earlier: list[dict[str, Any]], each: Mapping[str, Any], at: int) -> Mapping[str, Any]:
    """Last time's thermocouple of the same name, else of the same place."""
    named = next((other for other in earlier if other["name"] == each["name"]), None)
    return named or (earlier[at] if at < len(earlier) else {})


def _told(each: Mapping[str, Any], last: Mapping[str, Any], cone: str, shown: str) -> Told:
    if "held" not in each:
        return Told(each["name"], (), each.get("trouble", ""))
    held, found = heat_work_from(each["held"]), heat_work_from(each["found"])
    late, over = _those_late(each), _overshoot(each)
    cells = (
        ("To the end of the hold", held.words, _between(held.low, held.high), _words(last, "held")),
        ("With the fall, as cones are found", found.words, _between(found.low, found.high), _words(last, "found")),
        (f"Cone {cone} leans some", f"{each['lean_deg']:.0f}°", "90° is its end point", _figure(last, "lean_deg", "°")),
        ("Peak", degrees.level(each["peak_c"], shown), f"at {each['peak_at_h']:.1f} h", _peak(last, shown)),
        (
            f"Over the last {degrees.span(100.0, shown)}",
            f"{each['last_100_h']:.2f} h",
            "",
            _figure(last, "last_100_h", " h", 2),
        ),
        ("Furthest beyond a target", "–" if over is None else degrees.span(over, shown), "", _beyond(last, shown)),
        (
            "Late at the peak",
            _late(late),
            "against the plan from switching on"
            if late
            else "no plan is kept"
            if not each.get("met")
            else "not reached",
            _late(_those_late(last)) if _those_late(last) else "",
        ),
    )
    return Told(each["name"], cells, "")


def _overshoot(each: Mapping[str, Any]) -> float | None:
    """The furthest that a thermocouple went beyond a target where it was to turn."""
    seen = [met["overshoot_c"] for met in each.get("met", []) if met["overshoot_c"] is not None]
    return max(seen, default=None)


def _beyond(last: Mapping[str, Any], shown: str) -> str:
    over = _overshoot(last)
    return "" if over is None else degrees.span(over, shown)


def _peak(last: Mapping[str, Any], shown: str) -> str:
    return degrees.level(last["peak_c"], shown) if last.get("peak_c") is not None else ""


def _those_late(each: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    return [met for met in each.get("met", []) if met["late_min"] is not None]


def _between(low: float, high: float) -> str:
    return f"{position_words(low)} to {position_words(high)}"


def _words(last: Mapping[str, Any], which: str) -> str:
    return heat_work_from(last[which]).words if which in last else ""


def _figure(last: Mapping[str, Any], which: str, unit: str, places: int = 0) -> str:
    return f"{last[which]:.{places}f}{unit}" if last.get(which) is not None else ""


def _late(late: list[Mapping[str, Any]]) -> str:
    if not late:
        return "–"
    top = max(late, key=lambda met: met["planned"]["target"])["late_min"]
    return f"{abs(top):.0f} min {'late' if top >= 0 else 'early'}"


def _met_row(number: int, met: Mapping[str, Any], shown: str) -> tuple[str, ...]:
    plan = met["planned"]
    planned = f"{degrees.rate(plan['rate'], shown)} to {degrees.level(plan['target'], shown)}" + (
        f", hold {plan['hold']:g} min" if plan["hold"] else ""
    )
    if met["reached_h"] is None:
        return str(number), planned, "not seen", "", "", ""
    hold = f"{met['hold_min']:.0f} min" if plan["hold"] and met["hold_min"] is not None else ""
    over = degrees.span(met["overshoot_c"], shown) if met["overshoot_c"] is not None else ""
    late = f"{abs(met['late_min']):.0f} min {'late' if met['late_min'] >= 0 else 'early'}"
    return str(number), planned, degrees.rate(abs(met["rate_c_per_h"]), shown), hold, over, late


def _stretch_row(number: int, each: Mapping[str, Any], shown: str) -> tuple[str, ...]:
    span = each["end_h"] - each["start_h"]
    rate = (each["to_c"] - each["from_c"]) / span if span else 0.0
    took = f"{60 * span:.0f} min" if each["kind"] == "hold" else degrees.rate(rate, shown)
    return (
        str(number),
        each["kind"],
        f"{each['start_h']:.1f} to {each['end_h']:.1f} h",
        f"{degrees.level(each['from_c'], shown).split(' ')[0]} to {degrees.level(each['to_c'], shown)}",
        took,
    )


def differences(change: Change) -> list[tuple[str, str, str]]:
    """What a change altered: the name of the field, what it was, what it became."""
    before, found = change.before or {}, []
    for name, now in change.after.items():
        was = before.get(name)
        if was != now and (now not in ("", None) or was not in ("", None)):
            found.append((NAMED.get(name, name.replace("_", " ")), _short(was), _short(now)))
    return found


def _short(value: Any) -> str:
    if isinstance(value, dict):
        return str(value.get("name") or ", ".join(f"{key} {each}" for key, each in value.items())) or "none"
    plain = "none" if value in (None, "", []) else str(value)
    return plain if len(plain) <= 80 else plain[:79] + "…"
