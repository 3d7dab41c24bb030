"""Loads, firings and calendar of a plan as their pages show them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from wareboard.plan.kiln_energy import energy_words
from wareboard.plan.result import Plan, slug
from wareboard.quantities import show_share
from wareboard.sheets.degrees import F, in_degrees, level, notices_shown, rate
from wareboard.studio import words
from wareboard.studio.answer import Row, Steps
from wareboard.studio.drawing import drawing
from wareboard.studio.headline import figures_of
from wareboard.studio.kilns.degrees import step_in
from wareboard.studio.small_steps import heating

if TYPE_CHECKING:
    from wareboard.kiln.inside import Load, ShelfLayout
    from wareboard.plan.result import FiringPlan

Asked = Mapping[str, str]


def firing_answer(firing: FiringPlan, steps: Steps) -> Row:
    label = f"{firing.kind.capitalize()}, cone {firing.cone}"
    shown = f"{firing.firings} load{'' if firing.firings == 1 else 's'}"
    return steps.row(label, f"{_stem(firing)}.{firing.kind}-firings", shown)


def _why_that_day(plan: Plan) -> str:
    if plan.brief.start is not None and plan.calendar.first_day == plan.brief.start:
        return "The day on which work can begin, given in the brief."
    return "The brief names no later day, so the work begins today." if plan.workshop.today else "Laid out backwards."


def _stem(firing: FiringPlan) -> str:
    return "bisque" if firing.kind == "bisque" else "glaze-firing"


def when_rows(plan: Plan, steps: Steps) -> list[Row]:
    """Begin, end, days to spare."""
    calendar = plan.calendar
    rows = [
        Row("Begin", words.day(calendar.first_day), note=_why_that_day(plan)),
        steps.row("All done", "calendar.days-the-plan-takes", words.day(calendar.finish)),
        Row("Wanted by", words.day(calendar.due), note="Given in the brief."),
    ]
    if calendar.slack_days is not None:
        rows.append(steps.row("To spare", "calendar.days-left-before-the-due-date", words.in_days(calendar.slack_days)))
        rows.append(
            steps.row(
                "Kept free to make again",
                "calendar.days-wanted-free-for-making-again",
                words.in_days(calendar.buffer_days),
            )
        )
    sure = {
        "proved": "It is proved that no later day does.",
        "best found": "A later day may still do; this is the best found.",
    }
    rows.append(
        Row(
            "Begin at the latest",
            words.day(calendar.latest_start),
            note="The last day on which the work can begin and still end by the day wanted, with no time kept free. "
            + sure.get(calendar.latest_start_status, "None was found."),
        )
    )
    return rows


def loads(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """How many loads, what stands in each, and the shelves of the load that was asked for."""
    from wareboard.kiln.shelf_map import load_side_svg, shelf_key, shelf_svg

    names = tuple(form.name for form in plan.forms)
    every = [(firing, number) for firing in (plan.bisque, plan.glaze_firing) for number in range(firing.firings)]
    wanted = asked.get("load", "")
    keys = {f"{firing.kind}-{number + 1}": (firing, number) for firing, number in every}
    firing, number = keys.get(wanted, every[0]) if every else (plan.bisque, 0)
    load = firing.loads.loads[number] if every else ()
    title = f"{firing.kind.capitalize()} load {number + 1} of {firing.firings}"
    title += f", in {firing.home(number + 1).kiln.name}" if firing.homes else ""
    return {
        "firings": [
            {
                "firing": firing,
                "row": firing_answer(firing, steps),
                "bound": firing.loads.bound_firings,
                "bound_step": steps.by_key.get(f"{_stem(firing)}.firings-that-no-plan-can-do-without"),
                "shelf": _by_form(firing, plan, steps),
                "links": [f"{firing.kind}-{each + 1}" for each in range(firing.firings)],
            }
            for firing in (plan.bisque, plan.glaze_firing)
        ],
        "load_key": f"{firing.kind}-{number + 1}",
        "load_kind": firing.kind,
        "load_number": number + 1,
        "load_title": title,
        "load_counts": _counts(load),
        "side": drawing(
            load_side_svg(load, firing.home(number + 1).inside, title=title, forms=names, name="side", legend=False)
        )
        if load
        else "",
        "shelves": [
            (
                _shelf_named(layout, load),
                shelf_key(layout, names),
                f"Its face {layout.level_mm:.0f} mm above the floor, "
                + (f"posts of {layout.post_mm:.0f} mm on it" if layout.post_mm else "no posts on it"),
                drawing(shelf_svg(layout, forms=names, name=f"shelf-{place}", legend=False)),
            )
            for place, layout in enumerate(load)
        ],
    }


def _shelf_named(layout: ShelfLayout, load: Load) -> str:
    half = f", {'left' if layout.half == 0 else 'right'} half" if any(each.half for each in load) else ""
    return f"Shelf {layout.level + 1}{half}"


def _by_form(firing: FiringPlan, plan: Plan, steps: Steps) -> list[tuple[str, Row, Row]]:
    stem = _stem(firing)
    return [
        (
            form.name,
            steps.row("on a shelf", f"{stem}.{slug(form.name)}-pieces-on-one-shelf"),
            steps.row("in a load of it alone", f"{stem}.{slug(form.name)}-pieces-in-a-load-of-nothing-else"),
        )
        for form in plan.forms
    ]


def _counts(load: Any) -> list[tuple[str, int]]:
    found: dict[str, int] = {}
    for layout in load:
        for form, count in layout.counts.items():
            found[form] = found.get(form, 0) + count
    return list(found.items())


def firings(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """Each kind of firing: the schedule, the end point, energy, cooling."""
    from wareboard.kiln.schedule_plot import schedule_svg

    found, degrees, told = [], plan.brief.show_temperatures, notices_shown(plan)
    for firing in (plan.bisque, plan.glaze_firing):
        stem = _stem(firing)
        end = next((step for step in steps.about(stem) if ".end-point-of-cone" in step.key), None)
        cooling = next((step for step in reversed(steps.about(stem)) if ".cooling" in step.key), None)
        found.append(
            {
                "firing": firing,
                "rows": [
                    Row(
                        f"Cone {firing.cone} goes down at",
                        level(firing.end_point.temp_c, degrees),
                        step_in(end, degrees, difference=False) if end else None,
                    ),
                    _in_degrees(steps.row("Peak to program", f"{stem}.peak-to-program"), degrees),
                    Row("Heating", f"{firing.schedule.heating_h:.1f} h", heating(firing.schedule)),
                    Row(
                        in_degrees(words.capital(cooling.name), degrees, rough=True) if cooling else "Cooling",
                        f"{firing.cooling_h.value:.0f} h",
                        cooling,
                    ),
                    steps.row("Electricity, one firing", f"{stem}.energy-of-the-{firing.kind}-firing"),
                    steps.row("Electricity, all of them", f"{stem}.energy-of-all-{firing.kind}-firings"),
                ],
                "energy": energy_words(firing.energy),
                "plot": drawing(schedule_svg(firing.schedule, f"schedule-{firing.kind}", fahrenheit=degrees == F)),
                "segments": [
                    (
                        rate(each.rate_c_per_h, degrees),
                        level(each.target_c, degrees),
                        each.hold_min,
                        in_degrees(each.why, degrees, rough=True),
                    )
                    for each in firing.schedule.segments
                ],
                "notices": [notice for notice in told if notice.about == f"{firing.kind} firing"],
            }
        )
    return {"firings": found, "care": [notice for notice in told if notice.about == "kiln"]}


def _in_degrees(row: Row, degrees: str) -> Row:
    """A row whose figure is a temperature, in the degrees asked for."""
    if row.step is None or degrees != F:
        return row
    turned = step_in(row.step, degrees, difference=False)
    return Row(row.label, level(row.step.value, degrees), turned, words.spread(turned, ""))


def calendar(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """When all is done, ways out where it is late, and the work day by day."""
    from wareboard.studio.calendar_strip import strip_svg

    return {
        "figures": figures_of(plan),
        "rows": [
            *when_rows(plan, steps),
            steps.row("Work by hand", "calendar.hours-of-work-by-hand"),
            steps.share("Hands busy", "calendar.how-full-the-working-days-are", 2),
            steps.share("Kiln busy", "calendar.how-full-the-kilns-are", 2),
        ],
        "days": list(_by_day(plan)),
        "strip": drawing(strip_svg(plan.calendar)) if plan.calendar.entries else "",
        "gap": show_share(plan.calendar.gap) if plan.calendar.gap else "",
    }


def _by_day(plan: Plan) -> Iterator[tuple[str, list[Any], list[Any]]]:
    found: dict[Any, tuple[list[Any], list[Any]]] = {}
    for entry in plan.calendar.entries:
        hands, waiting = found.setdefault(entry.start.date(), ([], []))
        (waiting if entry.kind == "waiting" else hands).append(entry)
    for each, (hands, waiting) in sorted(found.items()):
        yield f"{each:%A} {words.day(each)}", hands, waiting
