"""What an approved prototype holds fixed, in words, and what differs from it in a later plan."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from wareboard import quantities, reference
from wareboard.plan.glazed_parts import parts_mm2
from wareboard.plan.result import FormPlan, GlazePlan, Plan, slug
from wareboard.plan.weights import GLAZE_LOSS_SHARE

SOME = 3
# The sizes that a client agrees to, in the words for them; the others are the maker's own.
AGREED = {"height": "height", "rim": "mouth", "belly": "widest", "foot": "foot", "lid": "lid"}
NOT_THERE = "not there"
UNITS = ("mm", "in")
LATER = (".holds", ".weight")  # what approvals have kept of a form only since the client signs for it


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that was agreed: a key that stays the same between plans, its name, and what it is, in words.

    ``figure`` is what the words were written from (mm, g, ml), and ``show`` writes any such figure in the same words.
    ``also`` holds other words that say the same, in another unit or as approvals without figures were written.
    """

    key: str
    name: str
    words: str
    figure: float | None = None
    show: Callable[[float], str] | None = field(default=None, compare=False)
    also: tuple[str, ...] = ()

    def kept(self) -> list[str | float | None]:
        """What an approval keeps of it."""
        return [self.key, self.name, self.words, self.figure]


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
    also = tuple(_mark_words(plan, unit) for unit in UNITS)
    found.append(Fact("mark", "mark", _mark_words(plan, plan.length_unit), also=also))
    return tuple(found)


def _mark_words(plan: Plan, unit: str) -> str:
    mark = plan.brief.mark
    height = quantities.show_length(mark.height, unit) if mark and mark.height else ""
    parts = [mark.what, height, mark.place] if mark else []
    return ", ".join(part for part in parts if part) or "none"


def _measured(key: str, name: str, figure: float, show: Callable[[float], str], also: tuple[str, ...] = ()) -> Fact:
    return Fact(key, name, show(figure), figure, show, also)


def _given_tolerance(mm: float) -> str:
    return f"{mm:.1f} mm either way"


def _usual_tolerance(mm: float) -> str:
    return f"the usual {mm:.1f} mm either way"


def _of_form(form: FormPlan, plan: Plan) -> list[Fact]:
    key, name = f"forms.{slug(form.form.name)}", form.form.name

    def length(mm: float) -> str:
        return quantities.show_length(mm, plan.length_unit)

    found = []
    for what, lengths in form.lengths.items():
        also = tuple(quantities.show_length(lengths.fired_mm, unit) for unit in UNITS)
        found.append(_measured(f"{key}.{slug(what)}", f"{name}, {what} fired", lengths.fired_mm, length, also))
    for way, given in (("height", form.form.height_tolerance), ("width", form.form.width_tolerance)):
        show, also = (_given_tolerance, ()) if given is not None else (_usual_tolerance, ("the usual",))
        mm = tolerance_mm(form, way)[0]
        found.append(_measured(f"{key}.{way}-tolerance", f"{name}, tolerance of its {way}", mm, show, also))
    if form.kind != "plate":
        found.append(_measured(f"{key}.holds", f"{name}, holds", form.vessel.capacity_ml, quantities.show_volume))
    bare = (quantities.show_mass(form.vessel.fired_g),)  # approvals without figures may hold the thrown body alone
    weighs = _measured(f"{key}.weight", f"{name}, fired weight", weight_g(form, plan), quantities.show_mass, bare)
    found += [weighs, _measured(f"{key}.ball", f"{name}, ball", form.ball_g, quantities.show_mass)]
    found.append(Fact(f"{key}.count", f"{name}, how many", str(form.form.count)))
    return found


def weight_g(form: FormPlan, plan: Plan) -> float:
    """What the fired piece weighs, g, without its lid: as the prototype did, else with handle, spout and glaze reckoned."""
    if form.form.fired_weight is not None:
        return form.form.fired_weight
    added = (form.strap.fired_g if form.strap else 0.0) + (form.poured.clay.fired_g if form.poured.clay else 0.0)
    return form.vessel.fired_g + added + sum(_glaze_g(glaze, form) for glaze in plan.glazes)


def _glaze_g(glaze: GlazePlan, form: FormPlan) -> float:
    """Fired glaze on one piece, that on its lid left out."""
    share = glaze.share_of_one(form.name) if form.name in glaze.areas_mm2 else 0.0
    if not share:
        return 0.0
    parts = parts_mm2(form, glaze.glaze.on)
    of_body = 1.0 - parts.get("lid", 0.0) / sum(parts.values())
    return glaze.need.on_ware_g * share * of_body * (1.0 - GLAZE_LOSS_SHARE)


def tolerance_mm(form: FormPlan, dimension: str) -> tuple[float, bool]:
    """The agreed difference of a fired dimension, mm, and whether it is only the usual one (common practice)."""
    up = dimension in ("height", "depth inside", "floor", "handle height")
    given = form.form.height_tolerance if up else form.form.width_tolerance
    if given is not None:
        return given, False
    return reference.default("tolerance.height_mm" if up else "tolerance.width_mm").value, True


def ranges_of(plan: Plan) -> tuple[tuple[str, str, str], ...]:
    """What a client agrees to in figures: what, as it is planned, and what it may be; a range is approved, not a point.

    Source: the brief's tolerances, else the usual ones of height, width, capacity and weight (common practice).
    """
    unit, found = plan.length_unit, []
    shares = {name: reference.default(f"tolerance.{name}_share").value for name in ("capacity", "weight")}
    for form in plan.forms:
        for what, lengths in form.lengths.items():
            if what not in AGREED:
                continue
            size, allowed = lengths.fired_mm, tolerance_mm(form, what)[0]
            ends = (quantities.show_length(max(0.0, end), unit) for end in (size - allowed, size + allowed))
            found.append((f"{form.name}, {AGREED[what]}", quantities.show_length(size, unit), " to ".join(ends)))
        holds = ("holds", form.vessel.capacity_ml, quantities.show_volume, shares["capacity"])
        weighs = ("weighs", weight_g(form, plan), quantities.show_mass, shares["weight"])
        for what, value, show, share in (weighs,) if form.kind == "plate" else (holds, weighs):
            ends = (show(value * (1.0 + way * share)) for way in (-1.0, 1.0))
            found.append((f"{form.name}, {what}", show(value), " to ".join(ends)))
    return tuple(found)


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
    """What differs from what was approved, in the order of the approval; what has come since stands at the end.

    Figures are compared, not words: a size that is shown in another unit now, or a weight that is put in other words, is the
    same as long as its figure, written as today, says the same. What an earlier approval did not yet keep is no change.
    """
    today = {fact.key: fact for fact in now}
    found = []
    for fact in then:
        other = today.pop(fact.key, None)
        if other is None or not _same(fact, other):
            found.append(Difference(fact.name, fact.words, other.words if other else NOT_THERE))
    before_weights = _before_weights(then)
    come = (fact for fact in today.values() if not fact.key.startswith(before_weights) or not fact.key.endswith(LATER))
    return (*found, *(Difference(fact.name, NOT_THERE, fact.words) for fact in come))


def _same(then: Fact, now: Fact) -> bool:
    if then.words == now.words:
        return True
    if then.figure is None:
        return then.words in now.also
    return now.figure is not None and now.show is not None and now.show(then.figure) == now.words


def _before_weights(then: Sequence[Fact]) -> tuple[str, ...]:
    """The keys' beginnings of forms whose approval was kept before weights and capacities were part of it."""
    kept = {fact.key for fact in then}
    forms = (key.removesuffix("ball") for key in kept if key.startswith("forms.") and key.endswith(".ball"))
    return tuple(form for form in forms if f"{form}weight" not in kept)
