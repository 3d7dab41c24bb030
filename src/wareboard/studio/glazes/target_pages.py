"""From a formula to a recipe: from what is on the shelf, cheapest or fewest, with limits; and doing without a material."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from wareboard.book.glazes import models, rooms
from wareboard.errors import OutOfRange, WareboardError
from wareboard.glaze.formula import analysis_wt, unity
from wareboard.glaze.material import Material
from wareboard.glaze.oxide import oxides
from wareboard.glaze.target import Found, cheapest, substitute
from wareboard.plan.fields import plain_number
from wareboard.studio.glazes.boxes import Box, Form, Options, count, from_nought, per_cent
from wareboard.studio.glazes.formula_words import formula_in, left_out_of
from wareboard.studio.glazes.money import currency

ALTERNATIVES = 3
SHELVES = (("own", "my own shelf"), ("all", "my shelf and the shipped table"))
WAYS = (("fewest", "fewest materials"), ("cost", "cheapest fired, by the newest lots' prices"))


def left_out(words: str) -> list[str]:
    """Materials, oxides and hazards to leave out, as the room names them, from words with commas between."""
    return left_out_of(words, rooms.whole_shelf())


def part_of_all(words: str) -> float:
    """A share of the raw mix from per cent.

    Raises:
        OutOfRange: for more than all of it.
    """
    share = per_cent(words)
    if share > 1.0:
        raise OutOfRange(words, "it is more than all of the raw mix", "Write a per cent from 0 to 100")
    return share


def _boxes(recipes: Options) -> tuple[Box, ...]:
    return (
        Box("like", "The formula of", int, "choice", options=(("", "none: written out beside"), *recipes), long=True),
        Box(
            "formula",
            "or written out, moles",
            formula_in,
            example="K2O 0.3, CaO 0.7, Al2O3 0.4, SiO2 3.5",
            long=True,
            most=400,
        ),
        Box("shelf", "From", kind="choice", options=SHELVES, first="own", long=True),
        Box("prefer", "Rather", kind="choice", options=WAYS, first="fewest"),
        Box("max_materials", "At most so many materials", count),
        Box("min_clay", "At least so much clay, %", part_of_all, help="keeps the slip in suspension"),
        Box("max_soluble", "At most so much soluble, %", part_of_all),
        Box("without", "Without", left_out, example="barium, lithium, zinc oxide", long=True, most=400),
        Box(
            "weights",
            "Which oxides matter how much",
            formula_in,
            example="Al2O3 3, MgO 0.5",
            long=True,
            most=400,
            help="where it cannot be met exactly: 3 counts a mole of it three times; 1 for those left out",
        ),
        Box("traces", "Traces let through, moles", from_nought(plain_number), help="of an oxide that is not wanted"),
    )


@dataclass(frozen=True, slots=True)
class Shown:
    """A result as the page shows it: the wanted formula beside the one found."""

    found: Found
    rows: tuple[tuple[str, float, float], ...]
    notes: tuple[str, ...]
    name: str
    why: str
    fewest: bool = True


@require_GET
def target(request: HttpRequest) -> HttpResponse:
    """The wishes, and the recipe that meets them, or why none does."""
    recipes = [
        (str(each.pk), each.name) for each in models.GlazeRecipe.objects.filter(put_away=None, current__isnull=False)
    ]
    asked = request.GET.dict()
    own = rooms.own_shelf()
    form = Form(_boxes(recipes), asked if "shelf" in asked else None, first={"shelf": "own" if own else "all"})
    context: dict[str, Any] = {
        "form": form,
        "currency": currency(),
        "at": "glazes",
        "page": "target",
        "recipes": recipes,
    }
    context |= _swapped(asked)
    if form.typed is not None and form.is_right:
        try:
            context["shown"] = _found(form.values)
        except WareboardError as problem:
            form.tell(problem)
    context["troubles"] = [*form.troubles]
    return render(request, "glazes/target.html", context)


def _found(got: Mapping[str, Any]) -> Shown:
    wanted, name = _wanted(got)
    materials = rooms.own_shelf() if got["shelf"] == "own" else rooms.whole_shelf()
    if not materials:
        raise OutOfRange(
            "the shelf", "nothing stands on it", "Put materials on it, or choose from the shipped table too"
        )
    prices, notes = _priced(materials, got["prefer"])
    if prices is not None:
        materials = {key: entry for key, entry in materials.items() if key in prices}
    found = cheapest(
        wanted, materials, prices, prefer=got["prefer"], max_materials=got["max_materials"],
        min_clay_share=got["min_clay"] or 0.0, max_soluble_share=got["max_soluble"], without=got["without"] or (),
        weights=got["weights"] or None, traces_mol=got["traces"] or 0.0, alternatives=ALTERNATIVES,
        name=f"{name}, from the shelf",
    )  # fmt: skip
    fluxes = sum(moles for oxide, moles in wanted.items() if oxides()[oxide].is_flux)
    in_unity = {oxide: moles / fluxes for oxide, moles in wanted.items()}
    if abs(fluxes - 1) > 0.005:
        notes = (*notes, f"The fluxes that were written add up to {fluxes:g}; all of it was brought to a sum of 1.")
    return Shown(
        found, _rows(in_unity, found), notes, f"{name}, from the shelf", "From a formula", got["prefer"] != "cost"
    )


def _wanted(got: Mapping[str, Any]) -> tuple[Mapping[str, float], str]:
    if got["formula"]:
        return got["formula"], "Wanted glaze"
    if not got["like"]:
        raise OutOfRange("the wanted formula", "there is none yet", "Choose a recipe, or write a formula out")
    recipe = get_object_or_404(models.GlazeRecipe, pk=got["like"])
    assert recipe.current is not None
    return unity(analysis_wt(rooms.as_recipe(recipe.current), rooms.whole_shelf())), recipe.name


def _priced(materials: Mapping[str, Material], prefer: str) -> tuple[dict[str, float] | None, tuple[str, ...]]:
    known = rooms.prices()
    prices = {name: known[name] for name in materials if name in known}
    if prefer != "cost":
        return (prices if len(prices) == len(materials) else None), ()
    if not prices:
        raise OutOfRange(
            "cheapest", "no material has a price yet", "Note lots with their prices, or ask for the fewest"
        )
    missing = [name for name in materials if name not in prices]
    return prices, (f"Left out for want of a price: {', '.join(missing)}.",) if missing else ()


def _rows(wanted: Mapping[str, float], found: Found) -> tuple[tuple[str, float, float], ...]:
    names = [name for name in oxides() if wanted.get(name) or found.unity.get(name, 0.0) > 0.0005]
    return tuple((name, wanted.get(name, 0.0), found.unity.get(name, 0.0)) for name in names)


def _swapped(asked: Mapping[str, str]) -> dict[str, Any]:
    """A recipe that does without one of its materials, for the same formula."""
    recipes = models.GlazeRecipe.objects.filter(put_away=None, current__isnull=False).select_related("current__recipe")
    choices = [("", "choose"), *((str(each.pk), each.name) for each in recipes)]
    boxes = (
        Box("swap", "Recipe", int, "choice", options=choices, needed=True),
        Box("out", "Do without", needed=True, most=80, example="whiting"),
        Box("swap_shelf", "Instead, from", kind="choice", options=SHELVES, first="all"),
        Box("swap_max", "At most so many materials", count),
    )  # fmt: skip
    form = Form(boxes, asked if "swap" in asked else None)
    found: dict[str, Any] = {"swap": form}
    if form.typed is None or not form.is_right:
        return found
    recipe = next(each for each in recipes if each.pk == form.values["swap"])
    assert recipe.current is not None
    try:
        made = rooms.as_recipe(recipe.current)
        own = rooms.own_shelf() if form.values["swap_shelf"] == "own" else rooms.whole_shelf()
        shelf = {**{name: rooms.whole_shelf()[name] for name in made.parts_of_all()}, **own}
        answer = substitute(
            made, form.values["out"], shelf, max_materials=form.values["swap_max"], alternatives=ALTERNATIVES
        )
        base = models.RecipeVersion(recipe=recipe, base=recipe.current.base, additions=[])
        wanted = unity(analysis_wt(rooms.as_recipe(base), rooms.whole_shelf()))
        name = f"{recipe.name} without {form.values['out']}"
        found["swapped"] = Shown(answer, _rows(wanted, answer), (), name, f"Without {form.values['out']}")
    except WareboardError as problem:
        form.tell(problem)
    return found
