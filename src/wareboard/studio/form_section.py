"""The forms of a plan as their page shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString

from wareboard.errors import WareboardError
from wareboard.plan.in_use import joining
from wareboard.plan.result import FormPlan, Plan, slug
from wareboard.plan.solids import lid_at
from wareboard.studio import words
from wareboard.studio.answer import Row, Steps, form_rows
from wareboard.studio.drawing import drawing
from wareboard.studio.small_steps import trimmed
from wareboard.working import Step

STAGES = ("wet", "leather-hard", "dry", "bisque", "fired")


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
    above: SafeString | str
    pouring: list[Row]
    joining: list[Row]
    notices: list[Any]

    @property
    def code(self) -> str:
        """The form's short key, for its addresses."""
        return slug(self.plan.name)


def forms(plan: Plan, steps: Steps, asked: object) -> dict[str, Any]:
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
        *_holds(form, steps, stem, what),
        steps.row("Weighs, fired", f"{stem}.{what}-fired-weight"),
        Row("Trimmed off the ball", words.with_unit(form.ball.trimmed_g, "g"), trimmed(form.ball)),
    ]
    counts = [
        Row("Wanted", str(form.form.count), note="Given in the brief."),
        steps.row("Start", f"{stem}.pieces-to-start", str(form.start)),
        steps.share("Chance of enough", f"{stem}.chance-of-enough"),
        steps.row("Good pieces to expect", f"{stem}.good-pieces-to-expect"),
        steps.row("If losses did not come together", f"{stem}.if-every-piece-were-lost-for-itself"),
    ]
    drying = [
        Row(words.capital(step.name), _rough(step), step)
        for step in form.drying.steps
        if step.unit in ("h", "d", "days")
    ]
    minutes = [
        (
            task.replace("_", " "),
            f"{words.number(time.value)} min",
            f"{words.number(time.low)} to {words.number(time.high)} min",
            time.source,
        )
        for task, time in form.minutes.items()
    ]
    svg = section_svg(
        form.profile,
        0.9,
        f"{form.name}, fired",
        handle=form.strap,
        handle_at_mm=form.handle_at_mm,
        note=f"fired sizes, {steps.lengths}",
        unit=steps.lengths,
        check_line=False,
        name=f"section-{what}",
        lip=form.poured.lip,
        spout=form.poured.spout,
        lid=lid_at(form, "fired"),
    )
    return FormShown(
        form,
        form_rows(form, steps),
        lengths,
        routes,
        weighed,
        counts,
        drying,
        minutes,
        drawing(svg),
        _above(form, f"above-{what}", steps.lengths),
        [_pouring_row(step, steps.lengths) for step in form.poured.steps],
        [_joining_row(step, steps.lengths) for step in _joining(form)],
        [notice for notice in plan.notices if notice.about == form.name],
    )


def _holds(form: FormPlan, steps: Steps, stem: str, what: str) -> list[Row]:
    """What it holds: to the brim, and until it pours where that is less."""
    found = [steps.row("Holds, to the brim", f"{stem}.{what}-capacity-to-the-brim")]
    if f"{stem}.{what}-capacity-to-where-it-pours" in steps.by_key:
        found.insert(0, steps.row("Holds, until it pours", f"{stem}.{what}-capacity-to-where-it-pours"))
    return found


def _above(form: FormPlan, name: str, unit: str) -> SafeString | str:
    """The view from above of a form that pours; nothing for one that does not."""
    from wareboard.form.from_above import from_above_svg

    lip, spout = form.poured.lip, form.poured.spout
    if lip is None and spout is None:
        return ""
    title = f"{form.name} from above, fired"
    return drawing(
        from_above_svg(
            form.profile, 0.9, title, form.strap, lip, spout, name=name, handle_turn_deg=form.handle_turn_deg, unit=unit
        )
    )


def _joining(form: FormPlan) -> tuple[Step, ...]:
    """Where the handle is joined; nothing without one, or where it does not go on (told on the page of its round)."""
    if form.strap is None:
        return ()
    try:
        return joining(form)
    except WareboardError:
        return ()


def _joining_row(step: Step, lengths: str) -> Row:
    shown = f"{words.number(round(step.value))}°" if step.unit == "°" else words.value_of_step(step, lengths)
    return Row(words.capital(step.name), shown, step)


def _pouring_row(step: Step, lengths: str) -> Row:
    what, _, rest = step.name.partition(": ")
    return Row(words.capital(f"{what}, {rest}"), words.value_of_step(step, lengths), step, words.spread(step, lengths))


def _at_stage(found: tuple[Step, ...], stage: str) -> Step | None:
    return next((step for step in found if step.name.endswith(f" {stage}") or step.name.endswith(f", {stage}")), None)


def _rough(step: Step) -> str:
    unit = {"d": "days"}.get(step.unit, step.unit)
    return f"about {words.number(round(step.value, 1))} {unit}"
