"""Blends: laying one out, what to weigh or measure for its tiles, and the labels for them."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from wareboard.book.firings import signing
from wareboard.book.glazes import models, rooms, writing
from wareboard.errors import OutOfRange, WareboardError
from wareboard.glaze.material import material
from wareboard.reference import default
from wareboard.studio.glazes import blend_reckoned
from wareboard.studio.glazes.boxes import Box, Form, Options, count, grams, millilitres, numbers, positive_number
from wareboard.studio.glazes.signing import going, moves, signed
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import now, today

CORNERS = {"line": 2, "triaxial": 3, "quadraxial": 4, "four": 4, "grid": 1}
CORNER_WORDS = {
    "line": ("One end", "Other end"),
    "triaxial": ("Top", "Left", "Right"),
    "quadraxial": ("Top left", "Top right", "Bottom left", "Bottom right"),
    "four": ("First", "Second", "Third", "Fourth"),
    "grid": ("Flux part: a recipe with little clay and flint",),
}


def _boxes(kind: str, versions: Options) -> tuple[Box, ...]:
    corners = tuple(
        Box(f"corner{at}", words, int, "choice", options=(("", "choose a recipe"), *versions), needed=True)
        for at, words in enumerate(CORNER_WORDS[kind])
    )
    sizes = {
        "line": (Box("tiles", "Tiles", count, first="11", needed=True),),
        "triaxial": (Box("rows", "Rows", count, first="6", needed=True, help="6 rows make 21 tiles"),),
        "quadraxial": (
            Box("rows", "Rows", count, first="5", needed=True),
            Box("columns", "Columns", count, first="5", needed=True),
        ),
        "four": (Box("steps", "Steps", count, first="4", needed=True, help="4 steps, of 25 %, make 35 tiles"),),
        "grid": (
            Box("aluminas", "Alumina, moles", numbers, first="0.3 0.4 0.5 0.6", needed=True, help="one row for each"),
            Box("silicas", "Silica, moles", numbers, first="2.5 3 3.5 4 4.5", needed=True, help="one column for each"),
            Box("clay", "Clay", first="kaolin", needed=True),
            Box("flint", "Flint", first="silica / flint", needed=True),
        ),
    }
    return (Box("name", "Name", needed=True, most=80, long=True, example="White to peat"), *corners, *sizes[kind])


WEIGH = (
    Box("base_g", "Base a tile", grams, help="the least that the scale can weigh, where it is left empty"),
    Box("scale_g", "Scale reads to", grams, first="0.1 g", needed=True),
)
MEASURE = (
    Box("tile_ml", "Slip a tile", millilitres, first="60 ml", needed=True),
    Box("step_ml", "Syringe or cylinder reads to", millilitres, first="1 ml", needed=True),
    Box(
        "gravities", "Specific gravity of the corners' slips", numbers, needed=True, help="one for all, or one for each"
    ),
    Box("density", "Density of the powder, g/ml", positive_number, needed=True),
)


@require_GET
def blends(request: HttpRequest) -> HttpResponse:
    """Every blend."""
    found = [
        (plan, plan.tiles.filter(put_away=None).count(), plan.tiles.exclude(photo=None).count())
        for plan in models.BlendPlan.objects.filter(put_away=None)
    ]
    return render(
        request, "glazes/blends.html", {"found": found, "kinds": models.BLENDS, "at": "glazes", "page": "blends"}
    )


@require_http_methods(["GET", "POST"])
def new_blend(request: HttpRequest, kind: str) -> HttpResponse:
    """Lay a blend out between recipes; its tiles are written down with it."""
    if kind not in CORNERS:
        kind = "line"
    found = models.RecipeVersion.objects.filter(recipe__put_away=None).select_related("recipe")
    versions = {str(each.pk): each for each in found.order_by("recipe__name", "-number")}
    boxes = _boxes(kind, [(key, str(each)) for key, each in versions.items()])
    form = Form(boxes, request.POST.dict() if request.method == "POST" else None)
    if form.typed is not None and form.is_right:
        try:
            plan = _laid_out(kind, form.values, versions)
            places = blend_reckoned.places_of(plan)
            _keep(request, plan, places)
            words = f"Blend {plan.stem} is laid out: {len(places)} tiles."
            return going(request, reverse("glaze-blend", args=[plan.stem]), words)
        except WareboardError as problem:
            form.tell(problem)
    kinds = dict(models.BLENDS)
    context = {
        "form": form, "kind": kind, "heading": f"Lay out a blend: {kinds[kind].lower()}", "kinds": models.BLENDS,
        "at": "glazes", "page": "blends", "no_recipes": not versions,
    }  # fmt: skip
    return render(request, "glazes/new_blend.html", context, status=422 if form.typed is not None else 200)


def _laid_out(kind: str, got: dict[str, Any], versions: dict[str, models.RecipeVersion]) -> models.BlendPlan:
    chosen = [versions[str(got[f"corner{at}"])] for at in range(CORNERS[kind])]
    if len(set(chosen)) != len(chosen):
        raise OutOfRange("the corners", "two of them are the same", "Choose another recipe, or another version of it")
    figures: dict[str, Any] = {
        name: got[name] for name in ("tiles", "rows", "columns", "steps", "aluminas", "silicas") if name in got
    }
    if kind == "grid":
        shelf = rooms.whole_shelf()
        figures |= {"clay": material(got["clay"], shelf).name, "flint": material(got["flint"], shelf).name}
    corners = [
        {"name": str(version), "base": version.base, "additions": version.additions, "version": version.pk}
        for version in chosen
    ]
    return models.BlendPlan(
        stem=writing.next_stem(), name=got["name"], kind=kind, corners=corners, figures=figures, written=now()
    )


def _keep(request: HttpRequest, plan: models.BlendPlan, places: tuple[blend_reckoned.Place, ...]) -> None:
    by = signed(request)
    with transaction.atomic():
        signing.begin(plan, "Laid out", by)
        for place in places:
            if place.recipe is not None:
                tile = models.TestTile(code=f"{plan.stem}-{place.code}", blend=plan, place_in_blend=place.code)
                signing.begin(tile, f"Laid out in {plan.stem}", by)


def blend_at(stem: str) -> models.BlendPlan:
    """The blend of that stem; 404 where there is none."""
    return get_object_or_404(models.BlendPlan, stem=stem)


@require_GET
def blend(request: HttpRequest, stem: str) -> HttpResponse:
    """One blend: its tiles, what to weigh for each, and what to measure where the corners are mixed as slip."""
    plan = blend_at(stem)
    asked = request.GET.dict()
    context: dict[str, Any] = {**moves("blend", plan), "plan": plan, "at": "glazes", "page": "blends"}
    try:
        places = blend_reckoned.places_of(plan)
    except WareboardError as problem:
        context["trouble"] = str(problem)
        return render(request, "glazes/blend.html", context)
    tiles = {tile.place_in_blend: tile for tile in plan.tiles.filter(put_away=None).select_related("photo")}
    context["rows"] = [
        (letter, [(place, tiles.get(place.code)) for place in row])
        for letter, row in blend_reckoned.by_row(places).items()
    ]
    context |= _weighed(places, asked) | ({} if plan.kind == "grid" else _measured(plan, asked))
    return render(request, "glazes/blend.html", context)


def _weighed(places: tuple[blend_reckoned.Place, ...], asked: dict[str, str]) -> dict[str, Any]:
    form = Form(WEIGH, asked if "scale_g" in asked else None, "weigh")
    found: dict[str, Any] = {"weigh": form}
    scale = form.values["scale_g"] if form.typed is not None else 0.1
    if form.typed is None or form.is_right:
        try:
            found["table"] = blend_reckoned.weigh_table(places, form.values["base_g"], scale)
        except WareboardError as problem:
            form.tell(problem, "base_g")
    return found


def _measured(plan: models.BlendPlan, asked: dict[str, str]) -> dict[str, Any]:
    first = {
        "gravities": f"{default('glaze.specific_gravity').value:g}",
        "density": f"{default('glaze.dry_density_g_per_ml').value:g}",
    }
    typed = asked if "tile_ml" in asked else {box.name: first.get(box.name, box.first) for box in MEASURE}
    form = Form(MEASURE, typed, "measure", first)
    found: dict[str, Any] = {"measure": form, "asked_to_measure": "tile_ml" in asked}
    if form.is_right:
        got = form.values
        corners = [corner["name"] for corner in plan.corners]
        try:
            laid = blend_reckoned.measured(plan, got["tile_ml"], got["step_ml"], got["gravities"], got["density"])
            found |= {
                "drawn": blend_reckoned.drawn_rows(laid, corners), "corner_names": corners,
                "corner_ml": [f"{laid.corner_ml[name]:g}" for name in corners],
            }  # fmt: skip
        except WareboardError as problem:
            form.tell(problem, "tile_ml")
    return found


@require_GET
def labels(request: HttpRequest, stem: str) -> HttpResponse:
    """Labels for the tiles of a blend, to print and cut."""
    from wareboard.sheets.glaze_book_cards import TileLabel, tile_labels

    plan = blend_at(stem)
    places = blend_reckoned.places_of(plan)
    made = [
        TileLabel(
            f"{stem}-{each.code}", plan.name, each.words,
            scanned=request.build_absolute_uri(reverse("glaze-tile", args=[f"{stem}-{each.code}"])),
        )
        for each in places
        if each.recipe is not None
    ]  # fmt: skip
    return pdf(tile_labels(f"Tiles of {stem}: {plan.name}", made, today(), paper_of(request)), f"labels-{stem}")
