"""Each glaze of a job: what area it covers, how much of it, how to weigh it out, its formula and its flags."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from wareboard.errors import OutOfRange, WareboardError
from wareboard.plan.assume import Assumer
from wareboard.plan.brief import Glaze
from wareboard.plan.glazed_parts import parts_mm2
from wareboard.plan.handwork import Method, covers, method_and_coats
from wareboard.plan.own import pick_up_key
from wareboard.plan.result import FormPlan, GlazePlan, Notice, Weight
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.glaze.expansion import Expansion
    from wareboard.glaze.recipe import Batch, Recipe
    from wareboard.glaze.slip import GlazeNeed

SCALE_STEP_G = 1.0


def glaze_plan(glaze: Glaze, forms: Sequence[FormPlan], assume: Assumer) -> GlazePlan:
    """Everything about one glaze.

    Raises:
        Problems, NotInTable, OutOfRange: naming the glaze, for a recipe that cannot be worked out.
    """
    method, coats = method_and_coats(glaze, assume)
    part = covers(glaze, assume)
    worn = [form for form in forms if not glaze.forms or form.name in glaze.forms]
    parts = {form.name: parts_mm2(form, glaze.on) for form in worn}
    areas = {name: sum(of.values()) * part for name, of in parts.items()}
    need = _need(glaze, method, coats, areas, worn, assume)
    recipe = _recipe(glaze)
    batch, too_fine = _batch(recipe, need) if recipe else (None, ())
    chemistry = _chemistry(glaze, recipe) if recipe else _unknown(glaze)
    return GlazePlan(
        glaze,
        method,
        coats,
        tuple(areas),
        areas,
        {form.name: form.pieces_into("glazed") for form in worn},
        need,
        batch,
        chemistry.unity,
        chemistry.expansion,
        (*chemistry.flags, *too_fine),
        (*_area_steps(parts, part), *need.steps, *(batch.steps if batch else ()), *chemistry.steps),
    )


def _area_steps(parts: Mapping[str, Mapping[str, float]], covers: float) -> tuple[Step, ...]:
    return tuple(
        Step(
            f"area on one {name}",
            f"({' + '.join(f'{part}_cm2' for part in of)}) * covers",
            {**{f"{part}_cm2": mm2 / 100 for part, mm2 in of.items()}, "covers": covers},
            sum(of.values()) / 100 * covers,
            "the drawn form",
            "cm2",
        )
        for name, of in parts.items()
    )


def _need(
    glaze: Glaze, method: Method, coats: int, areas: Mapping[str, float], worn: Sequence[FormPlan], assume: Assumer
) -> GlazeNeed:
    from wareboard.glaze.slip import need

    brushed = method == "brush"
    full = assume.figure("glaze.coats_brush") if brushed else Estimate(1.0, 1.0, 1.0, "definition")
    gravity = "glaze.brush_specific_gravity" if brushed else "glaze.specific_gravity"
    return need(
        list(areas.values()),
        [form.pieces_into("glazed") for form in worn],
        # Pieces are weighed before and after a dip; what the brush lays on is another matter.
        assume.figure("glaze.dry_g_per_cm2", learned_as="" if brushed else pick_up_key(glaze.name)),
        assume.figure(gravity, glaze.specific_gravity),
        assume.figure("glaze.dry_density_g_per_ml"),
        dead_ml=assume.figure("glaze.brush_dead_ml" if brushed else "glaze.dead_ml"),
        loss_share=assume.figure("glaze.loss_share"),
        coats=coats,
        coats_for_full_layer=full,
        reserve_share=assume.figure("glaze.reserve_share"),
    )


def _recipe(glaze: Glaze) -> Recipe | None:
    if not glaze.recipe:
        return None
    from wareboard.glaze.recipe import Recipe

    return Recipe(glaze.name, glaze.recipe, glaze.additions)


def _batch(recipe: Recipe, need: GlazeNeed) -> tuple[Batch | None, tuple[Notice, ...]]:
    """How to weigh it out; or, where a scale cannot show its smallest part, a word on that instead."""
    from wareboard.glaze.recipe import scaled

    # Nobody weighs a bucket to a tenth of a gram; small painted areas need it.
    step = SCALE_STEP_G if need.dry_g >= 1000 else SCALE_STEP_G / 10
    try:
        return scaled(recipe, dry_total_g=need.dry_g, scale_step_g=step), ()
    except OutOfRange as problem:
        return None, (Notice(f"{recipe.name}: {problem.what}", problem.why, problem.mend, "mind", recipe.name),)


@dataclass(frozen=True, slots=True)
class _Chemistry:
    unity: Mapping[str, float] | None
    expansion: Estimate | None
    flags: tuple[Notice, ...]
    steps: tuple[Step, ...] = ()


def _unknown(glaze: Glaze) -> _Chemistry:
    """What can be said of a glaze whose recipe is not known."""
    notice = Notice(
        f"{glaze.name}: bought ready, or its recipe is not given",
        "its oxides are not known here",
        "Read its maker's data sheet; not tested",
        "note",
        glaze.name,
    )
    return _Chemistry(None, None, (notice,))


def _chemistry(glaze: Glaze, recipe: Recipe) -> _Chemistry:
    from wareboard.glaze.formula import analysis_wt, silica_alumina_ratio, unity
    from wareboard.glaze.hazard import flags

    oxides = analysis_wt(recipe)
    flagged = flags(recipe)
    weight: Weight = "stop" if flagged.blocked else "mind" if flagged.on_ware else "note"
    told = Notice(
        f"{glaze.name}: {flagged.verdict}",
        "; ".join(str(flag) for flag in flagged.on_ware) or "reckoned from its recipe only",
        "A laboratory and local law judge what may touch food",
        weight,
        glaze.name,
    )
    try:
        formula = unity(oxides)
    except WareboardError:
        return _Chemistry(None, None, (told,))
    expands, told_too = _expands(glaze.name, oxides)
    if expands is None:
        return _Chemistry(formula, None, (told, *told_too))
    steps = expands.steps
    if formula.get("Al2O3"):
        inputs = {"silica": formula.get("SiO2", 0.0), "alumina": formula["Al2O3"]}
        ratio = silica_alumina_ratio(oxides)
        steps = (Step("silica to alumina", "silica / alumina", inputs, ratio, "moles of the unity formula"), *steps)
    return _Chemistry(formula, expands.estimate, (told, *told_too), steps)


def _expands(name: str, oxides: Mapping[str, float]) -> tuple[Expansion | None, tuple[Notice, ...]]:
    """The expansion by the usual set, else by the first that has a factor for every oxide that counts, and that it is so."""
    from wareboard.glaze.expansion import expansion, factor_sets

    try:
        return expansion(oxides), ()
    except WareboardError as problem:
        usual = problem
    for factor_set in factor_sets():
        try:
            found = expansion(oxides, factor_set)
        except WareboardError:
            continue
        why = f"the usual set {usual.why.removeprefix('it ')}"
        mend = "Compare it with glazes reckoned by the same set alone"
        return found, (Notice(f"{name}: expansion by the set {factor_set}", why, mend, "note", name),)
    return None, (Notice(f"{name}: {usual.what}", usual.why, usual.mend, "note", name),)
