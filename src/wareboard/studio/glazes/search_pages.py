"""Finding a glaze: by words, surface, cone and oxide; and the list of all there are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET
from django.views.decorators.vary import vary_on_headers

from wareboard import quantities
from wareboard.book.glazes import models, rooms
from wareboard.errors import WareboardError
from wareboard.glaze.formula import analysis_wt
from wareboard.glaze.hazard import flags
from wareboard.glaze.material import Material
from wareboard.glaze.oxide import oxides
from wareboard.glaze.recipe import Recipe
from wareboard.studio.glazes.blend_reckoned import places_of
from wareboard.studio.glazes.boxes import Box, Form

ANY = (("", "any"),)
BOXES = (
    Box("words", "Name, colour or notes", example="chalk white", most=80),
    Box("surface", "Surface", example="satin", most=80),
    Box("cone", "Cone", quantities.cone_name, example="6", most=12),
    Box(
        "oxide",
        "Holds",
        kind="choice",
        options=(*ANY, *((name, f"{name}, {each.name}") for name, each in oxides().items())),
    ),
)


@dataclass(frozen=True, slots=True)
class Hit:
    """A recipe that was found, with what the list says of it."""

    recipe: models.GlazeRecipe
    verdict: str
    tiles: tuple[models.TestTile, ...]


@require_GET
@vary_on_headers("HX-Request")
def glazes(request: HttpRequest) -> HttpResponse:
    """Every recipe, or those that were looked for, and the tiles that answer; htmx asks for the list alone."""
    asked = {box.name: request.GET.get(box.name, "") for box in BOXES}
    form = Form(BOXES, asked, "find")
    looked_for = any(asked.values())
    hits, tiles = _found(form) if form.is_right else ([], [])
    context = {
        "form": form, "hits": hits, "tiles": tiles if looked_for else [], "looked_for": looked_for, "at": "glazes",
        "page": "glazes", "there_are_any": models.GlazeRecipe.objects.filter(put_away=None).exists(),
    }  # fmt: skip
    if getattr(request, "htmx", False):
        return render(request, "glazes/_found.html", context)
    return render(request, "glazes/glazes.html", context)


def _found(form: Form) -> tuple[list[Hit], list[models.TestTile]]:
    got, shelf = form.values, rooms.whole_shelf()
    hits = []
    tiles = models.TestTile.objects.filter(put_away=None).select_related("version__recipe", "blend", "photo")
    answering = [tile for tile in tiles if _tile_answers(tile, got)]
    if got["oxide"]:
        answering = _holding(answering, got["oxide"], shelf)
    for recipe in models.GlazeRecipe.objects.filter(put_away=None).select_related("current__recipe"):
        assert recipe.current is not None
        own = [tile for tile in tiles if tile.version and tile.version.recipe_id == recipe.pk]
        made = rooms.as_recipe(recipe.current)
        try:
            held = analysis_wt(made, shelf) if got["oxide"] else {}
            verdict = flags(made, shelf).verdict
        except WareboardError as problem:
            held, verdict = {}, str(problem)
        if got["oxide"] and got["oxide"] not in held:
            continue
        words = f"{recipe.name} {recipe.colour_words} {recipe.notes}"
        tile_words = " ".join(f"{tile.colour_words} {tile.notes}" for tile in own)
        if not _all_in(got["words"], f"{words} {tile_words}"):
            continue
        if not _all_in(got["surface"], f"{recipe.surface} {' '.join(tile.surface for tile in own)}"):
            continue
        if got["cone"] and got["cone"] not in (recipe.cone, *(tile.cone for tile in own)):
            continue
        hits.append(Hit(recipe, verdict, tuple(tile for tile in own if tile.photo_id)[:3]))
    return hits, answering


def _holding(tiles: list[models.TestTile], wanted: str, shelf: Mapping[str, Material]) -> list[models.TestTile]:
    """The tiles with that oxide in what is on them; each blend is worked out once."""
    blends: dict[int, Mapping[str, Recipe | None]] = {}
    found = []
    for tile in tiles:
        try:
            made = rooms.as_recipe(tile.version) if tile.version else _of_blend(tile, blends)
            if made is not None and wanted in analysis_wt(made, shelf):
                found.append(tile)
        except WareboardError:
            continue  # what cannot be worked out is not said to hold it
    return found


def _of_blend(tile: models.TestTile, blends: dict[int, Mapping[str, Recipe | None]]) -> Recipe | None:
    if tile.blend is None:
        return None
    if tile.blend.pk not in blends:
        blends[tile.blend.pk] = {place.code: place.recipe for place in places_of(tile.blend)}
    return blends[tile.blend.pk].get(tile.place_in_blend)


def _tile_answers(tile: models.TestTile, got: dict[str, str]) -> bool:
    named = tile.version.recipe.name if tile.version else tile.blend.name if tile.blend else ""
    return (
        _all_in(got["words"], f"{tile.code} {named} {tile.colour_words} {tile.notes}")
        and _all_in(got["surface"], tile.surface)
        and (not got["cone"] or got["cone"] == tile.cone)
    )


def _all_in(wanted: str, text: str) -> bool:
    """Whether every word wanted stands in a text, whatever its capitals."""
    return all(word in text.casefold() for word in (wanted or "").casefold().split())
