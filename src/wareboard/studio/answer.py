"""Figures of a plan with the step behind each, by key; and the short answer to four numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from wareboard.plan.result import slug
from wareboard.quantities import show_share
from wareboard.studio import words
from wareboard.studio.headline import figures_of
from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan, Plan


@dataclass(frozen=True, slots=True)
class Row:
    """One figure: what it is called, how it is shown, and the step behind it, if there is one."""

    label: str
    shown: str
    step: Step | None = None
    spread: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Steps:
    """Every step of a plan by its key, and figures made of them."""

    by_key: Mapping[str, Step]
    lengths: str
    _by_value: dict[float, Step] = field(default_factory=dict)

    @classmethod
    def of(cls, plan: Plan) -> Steps:
        return cls({step.key: step for step in plan.all_steps()}, plan.length_unit)

    def row(self, label: str, key: str, shown: str = "") -> Row:
        """The figure with that key; without a step where the plan has none, so that a page never breaks over one."""
        step = self.by_key.get(key)
        if step is None:
            return Row(label, shown or "not worked out")
        return Row(label, shown or words.value_of_step(step, self.lengths), step, words.spread(step, self.lengths))

    def share(self, label: str, key: str, places: int | None = None) -> Row:
        """The figure with that key, a share, as per cent."""
        step = self.by_key.get(key)
        if step is None:
            return Row(label, "not worked out")
        shown = show_share(step.value if places is None else round(step.value, places))
        ends = "" if step.low is None or step.high is None else f"{show_share(step.low)} to {show_share(step.high)}"
        return Row(label, shown, step, "" if step.low == step.high else ends)

    def behind(self, step: Step) -> list[tuple[str, Step]]:
        """The inputs of a step that are themselves results of other steps, with those steps.

        They are known by their value: no two quantities of a plan agree to the last bit unless they are the same. Whole
        numbers do agree by chance, and are left out.
        """
        if not self._by_value:
            for each in self.by_key.values():
                self._by_value.setdefault(each.value, each)
        found = []
        for name, value in step.inputs.items():
            source = self._by_value.get(value)
            if source is not None and value != int(value) and source.key != step.key and source.value != step.value:
                found.append((name, source))
        return found

    def about(self, stem: str) -> list[Step]:
        """All steps under a stem, in order."""
        return [step for key, step in self.by_key.items() if key.startswith(stem)]


@dataclass(frozen=True, slots=True)
class QuickAnswer:
    """The answer to four numbers."""

    figures: dict[str, Any]
    rows: tuple[Row, ...]
    defaults: int
    steps: Steps


def form_rows(form: FormPlan, steps: Steps) -> tuple[Row, ...]:
    """What to weigh, how many to start, and what to throw it to."""
    stem = f"forms.{slug(form.name)}"
    rows = [
        steps.row("Start", f"{stem}.pieces-to-start", f"{form.start} for {form.form.count}"),
        steps.row("Ball", f"{stem}.ball-to-weigh"),
    ]
    if form.handle_blank_g:
        rows.append(
            steps.row("Handle blank", f"{stem}.handle-blank-to-pull-from", words.with_unit(form.handle_blank_g, "g"))
        )
    if form.lid_ball_g:
        lid = next((step for step in steps.about(stem) if "lid" in step.key and step.key.endswith("ball")), None)
        rows.append(Row("Ball for the lid", words.with_unit(form.lid_ball_g, "g"), lid))
    if form.poured.spout_ball_g:
        shown = words.with_unit(form.poured.spout_ball_g, "g")
        rows.append(steps.row("Ball for the spout", f"{stem}.spout-ball", shown))
    for name, label in (
        ("height", "Throw to, high"),
        ("rim", "Mouth, wet"),
        ("belly", "Widest, wet"),
        ("foot", "Foot, wet"),
    ):
        if name in form.lengths:
            rows.append(steps.row(label, f"{stem}.{name}-wet"))
    return tuple(rows)


def quick_answer(plan: Plan) -> QuickAnswer:
    """What to throw, how much clay, how many loads, by when, and a price."""
    steps = Steps.of(plan)
    bags = plan.clay.bags.bags
    rows = [
        *form_rows(plan.forms[0], steps),
        steps.row("Clay", "clay.clay-to-weigh-out"),
        steps.row("Bags", "clay.bags", f"{bags} of {words.with_unit(plan.clay.block.block_g, 'g')}"),
        steps.row("Bisque loads", "bisque.bisque-firings", str(plan.bisque.firings)),
        steps.row("Glaze loads", "glaze-firing.glaze-firings", str(plan.glaze_firing.firings)),
        steps.row("Done", "calendar.days-the-plan-takes", words.day(plan.calendar.finish)),
        steps.row("Price", "price.quote"),
    ]
    return QuickAnswer(figures_of(plan), tuple(rows), len(plan.assumed), steps)
