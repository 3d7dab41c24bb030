"""What each part of a commission's plan shows: figures with the steps behind them, drawings, lists."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from wareboard.plan.noticing import AMOUNTS_OF_MONEY, told_once
from wareboard.plan.result import Plan, slug
from wareboard.quantities import show_share
from wareboard.sheets.cutting import small_portions
from wareboard.sheets.degrees import notices_shown
from wareboard.studio import form_section, kiln_sections, words
from wareboard.studio.answer import Row, Steps, form_rows
from wareboard.studio.headline import figures_of, how_it_stands
from wareboard.studio.kiln_sections import firing_answer, when_rows
from wareboard.studio.small_steps import balls_a_block, together, valued
from wareboard.working import Step, with_small_figures

if TYPE_CHECKING:
    from wareboard.plan.result import GlazePlan

Asked = Mapping[str, str]
NAMES = (
    ("answers", "Answers"),
    ("forms", "Forms"),
    ("clay", "Clay"),
    ("glazes", "Glazes"),
    ("loads", "Loads"),
    ("firings", "Firings"),
    ("calendar", "Calendar"),
    ("price", "Price"),
    ("mark", "Mark"),
    ("painting", "Painting"),
    ("sheets", "Sheets"),
    ("approval", "Approval"),
    ("assumed", "Assumed"),
    ("notices", "Notices"),
)


def named(plan: Plan | None) -> list[tuple[str, str, int]]:
    """The parts of a commission for its row of links, with how many things there are to look at."""
    counts = {}
    if plan is not None:
        counts = {
            "assumed": len(plan.assumed),
            "notices": sum(notice.weight in ("stop", "mind") for notice in plan.notices),
        }
    return [(key, name, counts.get(key, 0)) for key, name in NAMES]


def answers(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """The five answers and what needs looking at."""
    return {
        "figures": figures_of(plan),
        "forms": [(form, form_rows(form, steps)) for form in plan.forms],
        "clay": clay_rows(plan, steps),
        "glazes": [
            steps.row(glaze.glaze.name, f"glazes.{slug(glaze.glaze.name)}.dry-glaze-to-mix") for glaze in plan.glazes
        ],
        "when": when_rows(plan, steps),
        "firings": [firing_answer(firing, steps) for firing in (plan.bisque, plan.glaze_firing)],
        "price": price_rows(plan, steps),
        "mind": [notice for notice in notices_shown(plan) if notice.weight in ("stop", "mind")],
        "standing": how_it_stands(plan),
    }


def clay_rows(plan: Plan, steps: Steps) -> list[Row]:
    """Clay for the whole job."""
    bags = f"{plan.clay.bags.bags} of {words.with_unit(plan.clay.block.block_g, 'g')}"
    return [
        steps.row("To weigh out", "clay.clay-to-weigh-out"),
        steps.row("Bags to buy", "clay.bags", bags),
        steps.row("Comes back as reclaim", "clay.comes-back-as-reclaim"),
        steps.share("Shrinkage up", "clay.shrinkage-in-height"),
        steps.share("Shrinkage across", "clay.shrinkage-in-width"),
    ]


def price_rows(plan: Plan, steps: Steps) -> list[Row]:
    """The quote, what is under it, and the deposit."""
    return [
        steps.row("Quote", "price.quote"),
        steps.row("It costs to make", "price.cost-of-making"),
        steps.row("Deposit", "price.deposit"),
        steps.row("An hour earns", "price.what-an-hour-earns"),
    ]


# --- clay, glazes -----------------------------------------------------------------------------------------------------


def clay(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """Clay for the job, and how to cut a block for each form."""
    cuts = [(form, form.cut) for form in plan.forms if form.cut is not None]
    by_stem = {form.name: steps.row("Ball", f"forms.{slug(form.name)}.ball-to-weigh") for form in plan.forms}
    return {
        "rows": [*clay_rows(plan, steps), steps.row("Clay to buy", "clay.clay-to-buy")],
        "cuts": [
            {
                "form": form,
                "words": cut.words,
                "ball": by_stem[form.name],
                "balls": balls_a_block(cut),
                "counts": list(cut.counts),
                "gaps": [f"{gap:.0f}" for gap in cut.spacings_mm],
                "left": words.with_unit(cut.left_g, "g"),
                "left_step": valued(cut.steps, cut.left_g),
            }
            for form, cut in cuts
        ],
        "by_hand": small_portions(plan),
        "measured": plan.brief.clay.measured,
        "body": plan.brief.clay.name,
    }


@dataclass(frozen=True, slots=True)
class GlazeShown:
    """One glaze as its page shows it."""

    plan: GlazePlan
    where: str
    rows: list[Row]
    lines: list[tuple[Any, Step | None]]
    unity: list[tuple[str, str]]


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
    unity = [
        (with_small_figures(oxide), f"{moles:.3f}") for oxide, moles in (glaze.unity or {}).items() if moles >= 0.0005
    ]
    if glaze.expansion_per_k is not None:
        step = next((step for step in steps.about(stem) if "expansion" in step.key), None)
        shown = f"{glaze.expansion_per_k.value * 1e6:.1f}\N{NO-BREAK SPACE}×\N{NO-BREAK SPACE}10⁻⁶/K"
        rows.append(Row("Expansion, calculated", shown, step))
    weighed = glaze.batch.lines if glaze.batch else ()
    lines = [
        (line, steps.by_key.get(f"{stem}.{'addition-on-top-' * line.is_addition}{slug(line.material)}"))
        for line in weighed
    ]
    return GlazeShown(glaze, where, rows, lines, unity)


# --- price ---


def price(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """Cost line by line, the price of a piece, the deposit, and rules of thumb beside it."""
    asked_for = plan.price
    currency = asked_for.currency
    lines = [
        (
            line.name,
            words.money(line.amount, currency),
            words.money_between(line.low, line.high, currency),
            steps.by_key.get(f"price.{slug(line.name)}", steps.by_key.get("price.cost-of-making")),
        )
        for line in asked_for.lines
    ]
    pieces = [
        (
            form,
            steps.row("price", f"price.price-of-one-{slug(form.name)}", words.money(form.price_each, currency)),
            steps.row(
                "minutes", f"price.minutes-behind-one-finished-{slug(form.name)}", f"{form.minutes_each.value:.0f} min"
            ),
            words.money(form.cost_each, currency),
            Row("together", words.money(form.total, currency), together(form, currency)),
        )
        for form in asked_for.forms
    ]
    rules = [
        (
            rule,
            words.money(rule.amount, currency) if rule.amount is not None else "",
            show_share(rule.differs_share) if rule.differs_share is not None else "",
        )
        for rule in asked_for.rules
    ]
    return {
        "rows": [*price_rows(plan, steps), steps.row("Laid out before delivery", "price.laid-out-before-delivery")],
        "lines": lines,
        "cost": words.money(asked_for.cost.amount, currency),
        "cost_range": words.money_between(asked_for.cost.low, asked_for.cost.high, currency),
        "cost_step": steps.by_key.get("price.cost-of-making"),
        "quote_step": steps.by_key.get("price.quote"),
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

    money = plan.price.currency
    rows = [(each, _value(each, money), _range(each), place_for(each.key, plan)) for each in plan.assumed]
    return {"rows": rows, "own": sum(place is not None for *_, place in rows)}


def _value(each: Any, currency: str) -> str:
    if each.low == each.high == each.value and each.value == 1 and not each.unit:
        return ""
    return f"{currency} " * (each.key in AMOUNTS_OF_MONEY) + _as_shown(each.value, each)


def _range(each: Any) -> str:
    low, high = _as_shown(each.low, each), _as_shown(each.high, each)
    unit = high.partition(" ")[2]
    return f"{low.removesuffix(f' {unit}') if unit else low} to {high}" if each.low < each.high else ""


def _as_shown(value: float, each: Any) -> str:
    is_share = (
        not each.unit and max(each.high, each.value) <= 1.0 and "rim_to" not in each.key and "foot_to" not in each.key
    )
    return show_share(value) if is_share else words.with_unit(value, each.unit)


def notices(plan: Plan, steps: Steps, asked: Asked) -> dict[str, Any]:
    """What to look at, the weightiest first, and every line of working."""
    if not asked.get("working"):
        return {"notices": told_once(notices_shown(plan))}
    # Every figure stands in this list anyway, so none of them need repeat what it was made from.
    return {"notices": told_once(notices_shown(plan)), "all_steps": list(plan.all_steps()), "steps": None}


BUILDERS: Mapping[str, Callable[[Plan, Steps, Asked], dict[str, Any]]] = {
    "answers": answers,
    "forms": form_section.forms,
    "clay": clay,
    "glazes": glazes,
    "loads": kiln_sections.loads,
    "firings": kiln_sections.firings,
    "calendar": kiln_sections.calendar,
    "price": price,
    "assumed": assumed,
    "notices": notices,
}
