"""Template words: a figure with its working one click away, states, days."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from wareboard.plan.own import OwnFigure
from wareboard.plan.result import slug
from wareboard.studio import words
from wareboard.studio.answer import Steps
from wareboard.working import Step

register = template.Library()
DEEPEST = 3


@register.filter
def slug_of(text: str) -> str:
    """Words as a class name."""
    return slug(str(text))


@register.filter
def state_words(state: str | None) -> str:
    """A state in words."""
    return words.STATE_WORDS.get(state or "unknown", "Not worked out")


@register.filter
def state_icon(state: str | None) -> str:
    """The id of a state's icon."""
    return "i-" + words.STATE_ICONS.get(state or "unknown", "unknown")


@register.filter
def iso_day(written: str) -> str:
    """A day kept as text, as people write it."""
    return words.day(date.fromisoformat(written))


@register.filter
def in_words(day: date | None) -> str:
    """A day as people write it."""
    return words.day(day)


@register.filter
def sentence(text: str) -> str:
    """Words as a sentence."""
    return words.sentence(str(text))


@register.filter
def here(mend: str) -> str:
    """A mend that names the command line, as the studio does it."""
    return mend.replace("Give it more time with --seconds", "Look longer for a better one on the Calendar page")


@register.filter
def source(key: str) -> str:
    """A source in words."""
    return words.source_in_words(key)


@register.filter
def usual_beside(own: OwnFigure) -> str:
    """The usual figure beside a learned one: "97 % (93 % to 99 %)"."""
    usual, low, high = (
        words.figure_in_unit(each, own.unit, own.key) for each in (own.usual, own.usual_low, own.usual_high)
    )
    return f"{usual} ({low} to {high})"


@register.simple_tag
def exact_grams(grams: float) -> str:
    """A weight as it is weighed out, not rounded as a ball is: the line beside it adds up."""
    return f"{grams:.1f}".removesuffix(".0") + "\N{NO-BREAK SPACE}g"


@register.simple_tag(takes_context=True)
def figure(
    context: dict[str, Any], step: Step | None, shown: object = "", note: str = "", bare: bool = False
) -> SafeString | str:
    """A number whose working opens at a click, without any script; bare where the table's head names the unit of length."""
    lengths = context.get("lengths", "mm")
    if step is None:
        if not note:
            return str(shown)
        return format_html(
            '<details class="figure" name="working"><summary>{}</summary><div class="working"><p>{}</p></div></details>',
            shown,
            note,
        )
    return format_html(
        '<details class="figure" name="working"><summary>{}</summary>'
        '<div class="working"><p class="named">{}</p>{}</div></details>',
        shown or words.value_of_step(step, lengths).removesuffix(f" {lengths}" if bare else ""),
        words.capital(step.name),
        working(step, lengths, context.get("steps")),
    )


def working(step: Step, lengths: str, steps: Steps | None, depth: int = 0) -> SafeString:
    """The working behind a step: formula, the formula with its numbers, range, source, and the steps it comes from."""
    rows: list[tuple[str, str | SafeString]] = []
    if step.formula:
        rows.append(("Rule", format_html('<span class="formula">{}</span>', words.formula_in_words(step.formula))))
        if step.inputs:
            rows.append(("With", format_html('<span class="formula">{}</span>', words.put_in(step))))
    if step.how:
        rows.append(("How", words.capital(step.how)))
    if not step.formula and step.inputs:
        given = [(words.formula_in_words(name), words.exact(value)) for name, value in step.inputs.items()]
        rows.append(("From", format_html_join(", ", "{} {}", given)))
    rows.append(("Gives", f"{words.exact(step.value)} {step.unit}".strip()))
    if spread := words.spread(step, lengths):
        rows.append(("Range", f"{spread}, nine times in ten"))
    rows.append(("On whose word", words.capital(words.source_in_words(step.source))))
    behind = steps.behind(step) if steps and depth < DEEPEST else []
    deeper = [
        (words.formula_in_words(name), words.capital(each.name), working(each, lengths, steps, depth + 1))
        for name, each in behind
    ]
    return format_html(
        "<dl>{}</dl>{}",
        format_html_join("", "<dt>{}</dt><dd>{}</dd>", rows),
        format_html_join("", "<details><summary>{}: {}</summary>{}</details>", deeper),
    )
