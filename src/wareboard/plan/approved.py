"""What an approved prototype holds fixed, in words, and what differs from it in a later plan."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from wareboard import quantities
from wareboard.plan.result import FormPlan, GlazePlan, Plan, slug

SOME = 3
NOT_THERE = "not there"


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that was agreed: a key that stays the same between plans, its name, and what it is, in words."""

    key: str
    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Difference:
    """One fact that is no longer what was approved."""

    name: str
    then: str
    now: str

    def __str__(self) -> str:
        return f"{self.name}: {self.then}, now {self.now}"


def facts_of(plan: Plan) -> tuple[Fact, ...]:
    """Sizes, tolerances, weights, glazes by recipe, clay, cones, mark and painting of a plan, in a fixed order."""
    found = [fact for form in plan.forms for fact in _of_form(form, plan)]
    found += [fact for glaze in plan.glazes for fact in _of_glaze(glaze)]
    found += [
        Fact("clay", "clay", plan.brief.clay.name or "not named"),
        Fact("bisque", "bisque cone", str(plan.bisque.cone)),
        Fact("glaze-firing", "glaze cone", str(plan.glaze_firing.cone)),
        Fact("painting", "painting", plan.brief.painting or "none"),
    ]
    mark = plan.brief.mark
    parts = [mark.what, quantities.show_length(mark.height, "mm") if mark.height else "", mark.place] if mark else []
    found.append(Fact("mark", "mark", ", ".join(part for part in parts if part) or "none"))
    return tuple(found)


def _of_form(form: FormPlan, plan: Plan) -> list[Fact]:
    unit = plan.brief.show_lengths or "mm"
    key, name = f"forms.{slug(form.form.name)}", form.form.name
    found = [
        Fact(f"{key}.{slug(what)}", f"{name}, {what} fired", quantities.show_length(lengths.fired_mm, unit))
        for what, lengths in form.lengths.items()
    ]
    for way, given in (("height", form.form.height_tolerance), ("width", form.form.width_tolerance)):
        words = f"{given:.1f} mm either way" if given is not None else "the usual"
        found.append(Fact(f"{key}.{way}-tolerance", f"{name}, tolerance of its {way}", words))
    found.append(Fact(f"{key}.ball", f"{name}, ball", quantities.show_mass(form.ball_g)))
    found.append(Fact(f"{key}.count", f"{name}, how many", str(form.form.count)))
    return found


def _of_glaze(plan: GlazePlan) -> list[Fact]:
    glaze = plan.glaze
    key = f"glazes.{slug(glaze.name)}"
    parts = {**glaze.recipe, **{f"+ {name}": share for name, share in glaze.additions.items()}}
    # All of a recipe does not go on one line: its digest says that it is the same, its first parts say which it is.
    whole = ", ".join(f"{name} {share:g}" for name, share in parts.items())
    shown = ", ".join(f"{name} {share:g}" for name, share in list(parts.items())[:SOME])
    words = (
        f"{shown}{', …' if len(parts) > SOME else ''} (version {_digest(whole)})" if parts else "bought or not given"
    )
    laid = f"{plan.method}, {plan.coats} {'coat' if plan.coats == 1 else 'coats'}, {glaze.on}"
    return [
        Fact(f"{key}.recipe", f"{glaze.name}, recipe", words),
        Fact(f"{key}.laid", f"{glaze.name}, laid on", laid),
    ]


def _digest(words: str) -> str:
    return hashlib.sha256(words.encode()).hexdigest()[:6]


def differences(then: Sequence[Fact], now: Iterable[Fact]) -> tuple[Difference, ...]:
    """What differs from what was approved, in the order of the approval; what has come since stands at the end."""
    today = {fact.key: fact for fact in now}
    found = []
    for fact in then:
        other = today.pop(fact.key, None)
        if other is None or other.words != fact.words:
            found.append(Difference(fact.name, fact.words, other.words if other else NOT_THERE))
    return (*found, *(Difference(fact.name, NOT_THERE, fact.words) for fact in today.values()))
