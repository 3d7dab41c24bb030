"""What each part of a commission's plan shows: figures with the steps behind them, drawings, lists."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.utils.safestring import SafeString, mark_safe

from wareboard.plan.result import FormPlan, Plan, slug
from wareboard.quantities import show_share
from wareboard.studio import words
from wareboard.studio.answer import Row, Steps, form_rows
from wareboard.studio.headline import figures_of, how_it_stands
from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.plan.result import FiringPlan, GlazePlan

Asked = Mapping[str, str]
STAGES = ("wet", "leather-hard", "dry", "bisque", "fired")
NAMES = (
    ("answers", "Answers"),
    ("forms", "Forms"),
    ("clay", "Clay"),
    ("glazes", "Glazes"),
    ("loads", "Loads"),
    ("firings", "Firings"),
    ("calendar", "Calendar"),
    ("price", "Price"),
    ("sheets", "Sheets"),
    ("assumed", "Assumed"),
    ("notices", "Notices"),
)


def named(plan: Plan | None) -> list[tuple[str, str, int]]:
    """The parts of a commission for its row of links, with how many things there are to look at."""
    counts = {}
    if plan is not None:
        counts = {"assumed": len(plan.assumed), "notices": sum(notice.weight in ("stop", "mind") for notice in plan.notices)}
    return [(key, name, counts.get(key, 0)) for key, name in NAMES]


def drawing(svg: str) -> SafeString:
    """A room's own drawing, put into the page; its words were escaped where it was drawn."""
    return mark_safe(svg)  # noqa: S308


def answers(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """The five answers and what needs looking at."""
    return {
        "figures": figures_of(plan),
        "forms": [(form, form_rows(form, steps)) for form in plan.forms],
        "clay": clay_rows(plan, steps),
        "glazes": [
            (glaze, steps.row(glaze.glaze.name, f"glazes.{slug(glaze.glaze.name)}.dry-glaze-to-mix")) for glaze in plan.glazes
        ],
        "when": when_rows(plan, steps),
        "firings": [_firing_answer(firing, steps) for firing in (plan.bisque, plan.glaze_firing)],
        "price": price_rows(plan, steps),
        "mind": [notice for notice in plan.notices if notice.weight in ("stop", "mind")],
        "standing": how_it_stands(plan),
    }


def _firing_answer(firing: FiringPlan, steps: Steps) -> Row:
    label = f"{firing.kind.capitalize()}, cone {firing.cone}"
    shown = f"{firing.firings} load{'' if firing.firings == 1 else 's'}"
    return steps.row(label, f"{_stem(firing)}.{firing.kind}-firings", shown)


def _stem(firing: FiringPlan) -> str:
    return "bisque" if firing.kind == "bisque" else "glaze-firing"


def clay_rows(plan: Plan, steps: Steps) -> list[Row]:
    """Clay for the whole job."""
    bags = f"{plan.clay.bags.bags} of {words.with_unit(plan.clay.block.block_g, 'g')}"
    return [
        steps.row("To weigh out", "clay.clay-to-weigh-out"),
        steps.row("Bags to buy", "clay.bags", bags),
        steps.row("Comes back as reclaim", "clay.comes-back-as-reclaim"),
        steps.row("Shrinkage up", "clay.shrinkage-in-height", show_share(plan.clay.shrinkage_height.value)),
        steps.row("Shrinkage across", "clay.shrinkage-in-width", show_share(plan.clay.shrinkage_width.value)),
    ]


def when_rows(plan: Plan, steps: Steps) -> list[Row]:
    """Begin, end, days to spare."""
    calendar = plan.calendar
    rows = [
        Row("Begin", words.day(calendar.first_day)),
        steps.row("All done", "calendar.days-the-plan-takes", words.day(calendar.finish)),
        Row("Wanted by", words.day(calendar.due)),
    ]
    if calendar.slack_days is not None:
        rows.append(steps.row("To spare", "calendar.days-left-before-the-due-date", words.in_days(calendar.slack_days)))
        rows.append(
            steps.row(
                "Kept free to make again", "calendar.days-wanted-free-for-making-again", words.in_days(calendar.buffer_days)
            )
        )
    rows.append(Row("Begin at the latest", words.day(calendar.latest_start)))
    return rows


def price_rows(plan: Plan, steps: Steps) -> list[Row]:
    """The quote, what is under it, and the deposit."""
    return [
        steps.row("Quote", "price.quote"),
        steps.row("It costs to make", "price.cost-of-making"),
        steps.row("Deposit", "price.deposit"),
        steps.row("An hour earns", "price.what-an-hour-earns"),
    ]


# --- forms ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FormShown:
    """One form as its page shows it."""

    plan: FormPlan
    rows: tuple[Row, ...]
    lengths: list[tuple[str, list[Step | None]]]
    routes: list[tuple[str, Step]]
    weighed: list[Row]
    counts: list[Row]
    drying: list[Row]
    minutes: list[tuple[str, str, str, str]]
    drawing: SafeString
    notices: list[Any]


def forms(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """Each form: sizes at every stage, the ball by both routes, the count to start, the section."""
    return {"shown": [_form(form, plan, steps) for form in plan.forms], "stages": STAGES}


def _form(form: FormPlan, plan: Plan, steps: Steps) -> FormShown:
    from wareboard.form.section import section_svg

    stem = f"forms.{slug(form.name)}"
    what = slug(form.name)
    lengths = [(name, [_at_stage(length.steps, stage) for stage in STAGES]) for name, length in form.lengths.items()]
    routes = [("From the volume of its wall", form.by_volume.steps[-1])]
    if form.by_weight is not None:
        routes.append(("From the prototype’s weight", form.by_weight.steps[-1]))
    weighed = [
        steps.row("Holds, to the brim", f"{stem}.{what}-capacity-to-the-brim"),
        steps.row("Weighs, fired", f"{stem}.{what}-fired-weight"),
        steps.row("Trimmed off the ball", "", words.with_unit(form.ball.trimmed_g, "g")),
    ]
    chance = show_share(form.overage.chance_reached)
    counts = [
        steps.row("Wanted", "", str(form.form.count)),
        steps.row("Start", f"{stem}.pieces-to-start", str(form.start)),
        steps.row("Chance of enough", f"{stem}.chance-of-enough", chance),
        steps.row("Good pieces to expect", f"{stem}.good-pieces-to-expect"),
        steps.row("If losses did not come together", f"{stem}.if-every-piece-were-lost-for-itself"),
    ]
    drying = [
        Row(_named(step), _rough(step), step) for step in form.drying.steps if step.unit in ("h", "d", "days")
    ]
    minutes = [
        (task.replace("_", " "), f"{words.number(time.value)} min",
         f"{words.number(time.low)} to {words.number(time.high)} min", time.source)
        for task, time in form.minutes.items()
    ]
    svg = section_svg(form.profile, 0.9, f"{form.name}, fired", handle=form.strap, note="fired sizes, mm", check_line=False,
                      name=f"section-{what}")
    return FormShown(form, form_rows(form, steps), lengths, routes, weighed, counts, drying, minutes, drawing(svg),
                     [notice for notice in plan.notices if notice.about == form.name])


def _at_stage(found: tuple[Step, ...], stage: str) -> Step | None:
    return next((step for step in found if step.name.endswith(f" {stage}") or step.name.endswith(f", {stage}")), None)


def _named(step: Step) -> str:
    return step.name[:1].upper() + step.name[1:]


def _rough(step: Step) -> str:
    unit = {"d": "days"}.get(step.unit, step.unit)
    return f"about {words.number(round(step.value, 1))} {unit}"


# --- clay, glazes -----------------------------------------------------------------------------------------------------


def clay(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """Clay for the job, and how to cut a block for each form."""
    cuts = [(form, form.cut) for form in plan.forms if form.cut is not None]
    by_stem = {form.name: steps.row("Ball", f"forms.{slug(form.name)}.ball-to-weigh") for form in plan.forms}
    return {
        "rows": [*clay_rows(plan, steps), steps.row("Clay to buy", "clay.clay-to-buy")],
        "cuts": [
            (form, cut, by_stem[form.name], [f"{gap:.0f}" for gap in cut.spacings_mm], [count for count in cut.counts])
            for form, cut in cuts
        ],
        "measured": plan.brief.clay.measured,
        "body": plan.brief.clay.name,
    }


@dataclass(frozen=True, slots=True)
class GlazeShown:
    """One glaze as its page shows it."""

    plan: GlazePlan
    where: str
    rows: list[Row]
    unity: list[tuple[str, str]]
    working: list[Step]


ON = {"inside": "inside", "outside": "outside", "all": "all over", "rim": "the rim", "painting": "the painting"}
HOW = {"pour": "poured", "dip": "dipped", "brush": "brushed"}


def glazes(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """Each glaze: where it goes, how much, and how to weigh it out."""
    return {"shown": [_glaze(glaze, steps) for glaze in plan.glazes]}


def _glaze(glaze: GlazePlan, steps: Steps) -> GlazeShown:
    stem = f"glazes.{slug(glaze.glaze.name)}"
    coats = "one coat" if glaze.coats == 1 else f"{glaze.coats} coats"
    where = f"{ON[glaze.glaze.on]}, {HOW[glaze.method]}, {coats}, on {', '.join(glaze.forms)}"
    rows = [
        steps.row("Dry glaze to mix", f"{stem}.dry-glaze-to-mix"),
        steps.row("Slip that makes", f"{stem}.slip-to-mix"),
        steps.row("Water", f"{stem}.water-for-it"),
        steps.row("On one piece, dry", f"{stem}.dry-glaze-on-one-piece"),
        steps.row("On all the ware, dry", f"{stem}.dry-glaze-on-all-the-ware"),
    ]
    unity = [(oxide, f"{moles:.3f}") for oxide, moles in (glaze.unity or {}).items() if moles >= 0.0005]
    if glaze.expansion_per_k is not None:
        step = next((step for step in steps.about(stem) if "expansion" in step.key), None)
        shown = f"{glaze.expansion_per_k.value * 1e6:.1f} × 10⁻⁶ per K"
        rows.append(Row("Expansion, calculated", shown, step))
    return GlazeShown(glaze, where, rows, unity, steps.about(f"{stem}."))


# --- loads, firings ---------------------------------------------------------------------------------------------------


def loads(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """How many loads, what stands in each, and the shelves of the load that was asked for."""
    from wareboard.kiln.shelf_map import load_side_svg, shelf_svg

    names = tuple(form.name for form in plan.forms)
    every = [(firing, number) for firing in (plan.bisque, plan.glaze_firing) for number in range(firing.firings)]
    wanted = asked.get("load", "")
    keys = {f"{firing.kind}-{number + 1}": (firing, number) for firing, number in every}
    firing, number = keys.get(wanted, every[0]) if every else (plan.bisque, 0)
    load = firing.loads.loads[number] if every else ()
    title = f"{firing.kind.capitalize()} load {number + 1} of {firing.firings}"
    return {
        "firings": [
            {
                "firing": firing,
                "row": _firing_answer(firing, steps),
                "bound": firing.loads.bound_firings,
                "shelf": _by_form(firing, plan, steps),
                "links": [f"{firing.kind}-{each + 1}" for each in range(firing.firings)],
            }
            for firing in (plan.bisque, plan.glaze_firing)
        ],
        "load_key": f"{firing.kind}-{number + 1}",
        "load_title": title,
        "load_counts": _counts(load),
        "side": drawing(load_side_svg(load, firing.inside, title=title, forms=names, name="side")) if load else "",
        "shelves": [
            drawing(shelf_svg(layout, forms=names, name=f"shelf-{place}")) for place, layout in enumerate(load)
        ],
    }


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

    found = []
    for firing in (plan.bisque, plan.glaze_firing):
        stem = _stem(firing)
        end = next((step for step in steps.about(stem) if ".end-point-of-cone" in step.key), None)
        cooling = next((step for step in steps.about(stem) if ".cooling-to" in step.key), None)
        found.append({
            "firing": firing,
            "rows": [
                Row(f"Cone {firing.cone} goes down at", f"{firing.end_point.temp_c:.0f} °C", end),
                steps.row("Peak to program", f"{stem}.peak-to-program"),
                Row("Heating", f"{firing.schedule.heating_h:.1f} h"),
                Row(_named(cooling) if cooling else "Cooling", f"{firing.cooling_h.value:.0f} h", cooling),
                steps.row("Electricity, one firing", f"{stem}.energy-of-the-{firing.kind}-firing"),
                steps.row("Electricity, all of them", f"{stem}.energy-of-all-{firing.kind}-firings"),
            ],
            "plot": drawing(schedule_svg(firing.schedule, f"schedule-{firing.kind}")),
            "notices": [notice for notice in plan.notices if notice.about == f"{firing.kind} firing"],
        })
    return {"firings": found, "care": [notice for notice in plan.notices if notice.about == "kiln"]}


# --- calendar, price --------------------------------------------------------------------------------------------------


def calendar(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """When all is done, ways out where it is late, and the work day by day."""
    from wareboard.studio.calendar_strip import strip_svg

    return {
        "figures": figures_of(plan),
        "rows": [
            *when_rows(plan, steps),
            steps.row("Work by hand", "calendar.hours-of-work-by-hand"),
            _share_row(steps, "Working days taken", "calendar.how-full-the-working-days-are"),
            _share_row(steps, "Kilns taken", "calendar.how-full-the-kilns-are"),
        ],
        "days": list(_by_day(plan)),
        "strip": drawing(strip_svg(plan.calendar)) if plan.calendar.entries else "",
        "gap": show_share(plan.calendar.gap) if plan.calendar.gap else "",
    }


def _share_row(steps: Steps, label: str, key: str) -> Row:
    step = steps.by_key.get(key)
    return Row(label, show_share(round(step.value, 2)) if step else "none", step)


def _by_day(plan: Plan) -> Iterator[tuple[str, list[Any], list[Any]]]:
    found: dict[Any, tuple[list[Any], list[Any]]] = {}
    for entry in plan.calendar.entries:
        hands, waiting = found.setdefault(entry.start.date(), ([], []))
        (waiting if entry.kind == "waiting" else hands).append(entry)
    for each, (hands, waiting) in sorted(found.items()):
        yield f"{each:%A} {words.day(each)}", hands, waiting


def price(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """Cost line by line, the price of a piece, the deposit, and rules of thumb beside it."""
    asked_for = plan.price
    currency = asked_for.currency
    lines = [
        (line.name, words.money(line.amount, currency), f"{words.money(line.low, currency)} to {words.money(line.high, currency)}",
         steps.by_key.get(f"price.{slug(line.name)}"))
        for line in asked_for.lines
    ]
    pieces = [
        (form, steps.row("price", f"price.price-of-one-{slug(form.name)}", words.money(form.price_each, currency)),
         steps.row("minutes", f"price.minutes-behind-one-finished-{slug(form.name)}", f"{form.minutes_each.value:.0f} min"),
         words.money(form.cost_each, currency), words.money(form.total, currency))
        for form in asked_for.forms
    ]
    rules = [
        (rule, words.money(rule.amount, currency) if rule.amount is not None else "",
         show_share(rule.differs_share) if rule.differs_share is not None else "")
        for rule in asked_for.rules
    ]
    return {
        "rows": [*price_rows(plan, steps), steps.row("Laid out before delivery", "price.laid-out-before-delivery")],
        "lines": lines,
        "cost": words.money(asked_for.cost.amount, currency),
        "cost_range": f"{words.money(asked_for.cost.low, currency)} to {words.money(asked_for.cost.high, currency)}",
        "development": words.money(asked_for.development, currency),
        "quote": words.money(asked_for.quote, currency),
        "pieces": pieces,
        "rules": rules,
        "flags": asked_for.flags,
        "covers": asked_for.deposit_covers,
    }


# --- assumed, notices -------------------------------------------------------------------------------------------------


def assumed(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """Every usual figure that the plan leans on, with its range, its source, and where to put one's own."""
    from wareboard.studio.own_figure import place_for

    rows = [(each, _value(each), _range(each), place_for(each.key, plan)) for each in plan.assumed]
    return {"rows": rows, "own": sum(place is not None for *_, place in rows)}


def _value(each: Any) -> str:
    if each.low == each.high == each.value and each.value == 1 and not each.unit:
        return ""
    return _as_shown(each.value, each)


def _range(each: Any) -> str:
    return f"{_as_shown(each.low, each)} to {_as_shown(each.high, each)}" if each.low < each.high else ""


def _as_shown(value: float, each: Any) -> str:
    is_share = not each.unit and max(each.high, each.value) <= 1.0 and "rim_to" not in each.key and "foot_to" not in each.key
    return show_share(value) if is_share else words.with_unit(value, each.unit)


def notices(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """What to look at, the weightiest first, and every line of working."""
    return {"notices": plan.notices, "all_steps": list(plan.all_steps()) if asked.get("working") else []}


BUILDERS: Mapping[str, Callable[[Plan, Steps, Asked], dict[str, Any]]] = {
    "answers": answers,
    "forms": forms,
    "clay": clay,
    "glazes": glazes,
    "loads": loads,
    "firings": firings,
    "calendar": calendar,
    "price": price,
    "assumed": assumed,
    "notices": notices,
}
