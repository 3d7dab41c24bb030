"""Tiles: recording one with its photograph, the list, several side by side, the photograph itself."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from wareboard import quantities
from wareboard.book.firings import signing
from wareboard.book.firings.recording import keep_photo
from wareboard.book.glazes import models, writing
from wareboard.errors import OutOfRange, WareboardError
from wareboard.studio.glazes.blend_reckoned import recipe_of_tile
from wareboard.studio.glazes.boxes import Box, Form, Options, a_day, count, seconds
from wareboard.studio.glazes.signing import going, moves, signed
from wareboard.studio.today import today

MOST_BESIDE = 12
LARGEST = 20_000_000


def _boxes(versions: Options, batches: Options) -> tuple[Box, ...]:
    return (
        Box("version_id", "Glaze", int, "choice", options=(("", "none of the recipes"), *versions)),
        Box("batch_id", "From the bucket", int, "choice", options=(("", "none that is noted"), *batches)),
        Box("body", "Body", most=80),
        Box("cone", "Cone", quantities.cone_name, most=12),
        Box("place", "Place in the kiln", most=80, example="top shelf, by the door"),
        Box("coats", "Coats", count),
        Box("dwell_s", "Dwell", seconds, example="3 s"),
        Box("day", "Unloaded", a_day, "day"),
        Box("surface", "Surface", most=80, example="satin, a few pinholes"),
        Box("colour_words", "Colour in words", most=160, example="chalk white, brown on edges"),
        Box("notes", "Notes", kind="long", wide=True),
    )


def boxes_now() -> tuple[Box, ...]:
    """The boxes of a tile, with every recipe's newest versions and every bucket to choose from."""
    versions = [
        (str(version.pk), str(version))
        for version in models.RecipeVersion.objects.filter(recipe__put_away=None)
        .select_related("recipe")
        .order_by("recipe__name", "-number")
    ]
    batches = [
        (str(batch.pk), f"batch {batch.number}, {batch.version.recipe.name}")
        for batch in models.GlazeBatch.objects.filter(put_away=None).select_related("version__recipe")
    ]
    return _boxes(versions, batches)


@require_GET
def tiles(request: HttpRequest) -> HttpResponse:
    """Every tile."""
    found = models.TestTile.objects.filter(put_away=None).select_related("version__recipe", "blend")
    return render(request, "glazes/tiles.html", {"tiles": found, "at": "glazes", "page": "tiles"})


@require_http_methods(["GET", "POST"])
def new_tile(request: HttpRequest) -> HttpResponse:
    """A tile with the next free code."""
    boxes, first = boxes_now(), {"day": today().isoformat()}
    key = request.GET.get("recipe", "")
    recipe = models.GlazeRecipe.objects.filter(pk=int(key)).first() if key.isdecimal() else None
    if recipe:
        first |= {"version_id": str(recipe.current_id), "cone": recipe.cone}
    code = writing.next_tile_code()
    return _recorded(request, models.TestTile(code=code), boxes, first, f"Record tile {code}", is_new=True)


@require_http_methods(["GET", "POST"])
def tile(request: HttpRequest, code: str) -> HttpResponse:
    """One tile: its photograph, what is on it, how it came out, and the boxes to change that."""
    found = get_object_or_404(models.TestTile.objects.select_related("version__recipe", "blend", "batch"), code=code)
    boxes = boxes_now()
    first = {box.name: _shown(getattr(found, box.name)) for box in boxes}
    if request.method == "POST":
        return _recorded(request, found, boxes, first, f"Tile {code}", is_new=False)
    trouble, recipe = "", None
    try:
        recipe = recipe_of_tile(found)
    except WareboardError as problem:
        trouble = str(problem)
    context = {
        **moves("tile", found), "tile": found, "form": Form(boxes, None, first=first), "made_of": recipe,
        "trouble": trouble, "at": "glazes", "page": "tiles",
    }  # fmt: skip
    return render(request, "glazes/tile.html", context)


def _recorded(
    request: HttpRequest,
    tile: models.TestTile,
    boxes: tuple[Box, ...],
    first: dict[str, str],
    heading: str,
    is_new: bool,
) -> HttpResponse:
    form = Form(boxes, request.POST.dict() if request.method == "POST" else None, first=first)
    if request.method == "POST" and form.is_right:
        try:
            values = {name: value for name, value in form.values.items() if value is not None or not is_new}
            values |= _photograph(request)
            if is_new:
                for name, value in values.items():
                    setattr(tile, name, value)
                kept = signing.begin(tile, "Recorded", signed(request))
            else:
                kept = signing.change(tile, _blank(values), "Recorded anew", signed(request))
            return going(request, reverse("glaze-tile", args=[kept.code]), f"Tile {kept.code} is kept.")
        except WareboardError as problem:
            form.tell(problem)
    context = {"form": form, "heading": heading, "has_file": True, "at": "glazes", "page": "tiles"}
    return render(request, "glazes/one_form.html", context, status=422 if request.method == "POST" else 200)


def _blank(values: dict[str, Any]) -> dict[str, Any]:
    """An emptied box of words is kept as no words, not as nothing known."""
    return {name: "" if value is None and name == "cone" else value for name, value in values.items()}


def _photograph(request: HttpRequest) -> dict[str, int]:
    sent = request.FILES.get("photo")
    if sent is None:
        return {}
    if (sent.size or 0) > LARGEST:
        raise OutOfRange(f"{sent.name}", "it has more than 20 MB", "Send a smaller picture")
    try:
        return {"photo_id": keep_photo(sent.read(), sent.name or "the photograph", signed(request)).pk}
    except WareboardError as problem:
        problem.where = "nothing was kept"
        raise


@require_GET
def photograph(request: HttpRequest, code: str) -> HttpResponse:
    """The photograph of a tile, as it is kept."""
    found = get_object_or_404(models.TestTile.objects.select_related("photo"), code=code)
    if found.photo is None or found.photo.kind not in ("image/jpeg", "image/png"):
        raise Http404
    response = HttpResponse(bytes(found.photo.content), content_type=found.photo.kind)
    response["X-Content-Type-Options"] = "nosniff"
    return response


@require_GET
def side_by_side(request: HttpRequest) -> HttpResponse:
    """Tiles beside each other: picture over picture, word over word."""
    codes = list(dict.fromkeys(request.GET.getlist("t")))[:MOST_BESIDE]
    found = {
        tile.code: tile
        for tile in models.TestTile.objects.filter(code__in=codes).select_related("version__recipe", "blend", "batch")
    }
    beside = [found[code] for code in codes if code in found]
    others = models.TestTile.objects.filter(put_away=None).select_related("version__recipe", "blend")
    context = {"beside": beside, "tiles": others, "chosen": codes, "at": "glazes", "page": "tiles"}
    return render(request, "glazes/side_by_side.html", context)


def _shown(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)
