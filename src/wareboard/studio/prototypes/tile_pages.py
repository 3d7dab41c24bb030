"""Tiles by colour: photographs corrected by a card or a grey patch, kept raw and fired."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from wareboard.book.firings import signing
from wareboard.book.prototypes import tiles as kept
from wareboard.book.prototypes.models import ColourTile
from wareboard.errors import Unreadable, WareboardError
from wareboard.studio.kilns.boxes import told, troubles_of
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.paper_form import Trouble
from wareboard.studio.prototypes.picture_forms import TileForm

if TYPE_CHECKING:
    from wareboard.paint.correction import Correction

GREY_LIGHTNESS = 50.0


@require_http_methods(["GET", "POST"])
def tiles(request: HttpRequest) -> HttpResponse:
    """The tiles that are kept, and room for a photograph of one."""
    boxes = TileForm(request.POST) if request.method == "POST" else TileForm()
    troubles: list[Trouble] = []
    if request.method == "POST":
        troubles = _taken_in(request, boxes)
        if not troubles:
            return HttpResponseRedirect(reverse("colour-tiles"))
    rows = ColourTile.objects.filter(put_away=None)
    context = {
        "at": "glazes",
        "page": "colours",
        "boxes": boxes,
        "troubles": troubles,
        "shown": [(row, _shown(row.raw), _shown(row.fired)) for row in rows],
        "away": ColourTile.objects.exclude(put_away=None),
    }
    return render(request, "prototypes/tiles.html", context, status=422 if troubles else 200)


def _shown(labs: Sequence[Any]) -> str:
    from wareboard.paint.colour import hex_of
    from wareboard.paint.tiles import colour

    return hex_of(colour(labs).lab) if labs else ""


def _taken_in(request: HttpRequest, boxes: TileForm) -> list[Trouble]:
    if not boxes.is_valid():
        return troubles_of(boxes)
    try:
        lab, how = _colour_in(request.FILES.get("picture"), boxes.cleaned_data)
        fields = {key: value for key, value in boxes.cleaned_data.items() if key in kept.PLAIN}
        fields["over_coats"] = fields["over_coats"] or 0
        row = kept.add_colour(boxes.cleaned_data["name"], fields, boxes.cleaned_data["stage"], lab, how, by(request))
    except WareboardError as problem:
        return told(problem)
    messages.success(request, f"{row.name}: its {boxes.cleaned_data['stage']} colour is kept. {how}.")
    return []


def _colour_in(sent: UploadedFile[Any] | None, asked: dict[str, Any]) -> tuple[Sequence[float], str]:
    """The corrected Lab of the tile in a photograph, and how it was corrected."""
    from wareboard.paint.card import patch_light
    from wareboard.pictures import MOST_BYTES, picture_from_bytes

    if sent is None:
        raise Unreadable("the photograph", "none was chosen", "Choose it, or take one")
    if (sent.size or 0) > MOST_BYTES:
        raise Unreadable(str(sent.name), "it is larger than 80 MB", "Send a smaller picture")
    picture = picture_from_bytes(sent.read()).rgb / 255.0
    correction, how = _correction(picture, asked)
    light, _ = patch_light(picture, tuple(asked["tile_box"]))
    return [float(part) for part in correction.lab(light)], how


def _correction(picture: Any, asked: dict[str, Any]) -> tuple[Correction, str]:
    from wareboard.paint.card import card, patch_light, read_patches
    from wareboard.paint.correction import by_card, by_grey

    if asked["grey_box"]:
        light, _ = patch_light(picture, tuple(asked["grey_box"]))
        lightness = asked["grey_lightness"] or GREY_LIGHTNESS
        return by_grey(light, (lightness, 0.0, 0.0)), f"Corrected by a grey patch of L* {lightness:g}"
    flat = asked["corners"]
    pairs = [(flat[at], flat[at + 1]) for at in range(0, 8, 2)]
    found = by_card(read_patches(picture, pairs), card(asked["edition"] or "after 2014"))
    left = next((f", {step.value:.1f} CIEDE2000 left" for step in found.steps), "")
    return found, f"Corrected by the card{left}"


@require_POST
def tile_move(request: HttpRequest, pk: int, move: str) -> HttpResponse:
    """Take the latest change of a tile back, put it away, or fetch it back."""
    row = get_object_or_404(ColourTile, pk=pk)
    try:
        if not signing.moved(row, move, by(request)):
            raise Http404
        messages.success(request, f"{row.name}: kept so.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(reverse("colour-tiles"))
