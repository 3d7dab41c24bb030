"""Printed cards of the glaze book: a recipe's card and a single tile's label, each with a code to scan."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET

from wareboard.book.glazes import models, rooms
from wareboard.errors import WareboardError
from wareboard.sheets.glaze_book_cards import RecipeCard, TileLabel
from wareboard.studio.glazes.recipe_pages import recipe_at, version_of
from wareboard.studio.glazes.reckoned import FIRST_SET, Reckoned, reckoned
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import today

LEAST_SHOWN_MOL = 0.0005


@require_GET
def recipe_card(request: HttpRequest, key: int) -> HttpResponse:
    """The card of one version of a recipe."""
    from wareboard.sheets.glaze_book_cards import recipe_card as typeset_card

    found = recipe_at(key)
    version = version_of(found, request.GET.get("version", ""))
    address = request.build_absolute_uri(reverse("glaze-recipe", args=[key]))
    card = card_of(found, version, f"{address}?version={version.number}")
    return pdf(typeset_card(card, today(), paper_of(request)), f"recipe-{key}-version-{version.number}")


def card_of(found: models.GlazeRecipe, version: models.RecipeVersion, scanned: str) -> RecipeCard:
    """What the card says of a version, with its fit tests."""
    known: Reckoned | None
    try:
        known, trouble = reckoned(rooms.as_recipe(version), rooms.whole_shelf()), ""
    except WareboardError as problem:
        known, trouble = None, str(problem)
    lines = [(name, f"{float(parts):g}") for name, parts in version.base]
    lines += [(f"{name} (on top)", f"+ {float(parts):g}") for name, parts in version.additions]
    tests = version.fit_tests.filter(put_away=None).select_related("batch")
    return RecipeCard(
        found.name, f"version {version.number}", version.written.date(), version.why, found.cone, found.colour_words,
        found.surface, tuple(lines), _unity(known), _figures(known), known.flagged.verdict if known else trouble,
        tuple(f"{flag.hazard.key}: {flag.action}" for flag in known.flagged.on_ware) if known else (),
        tuple(_test(each) for each in tests), scanned,
    )  # fmt: skip


def _unity(known: Reckoned | None) -> tuple[tuple[str, str], ...]:
    rows = known.oxides if known else ()
    return tuple((row.formula, f"{row.unity:.3f}") for row in rows if row.unity and row.unity >= LEAST_SHOWN_MOL)


def _figures(known: Reckoned | None) -> tuple[str, ...]:
    if known is None:
        return ()
    found = [known.no_unity] if known.no_unity else []
    if known.ratio:
        found.append(f"Silica : alumina {known.ratio.value:.2f}")
    if known.flux_ratio:
        found.append(f"R2O : RO {known.flux_ratio}")
    first = known.expansions[0]
    spread = f", nine in ten within {first.spread}" if first.spread else ""
    return (*found, f"Expansion, set {FIRST_SET}: {first.shown}{spread}")


def _test(test: models.FitTest) -> str:
    lot = f", batch {test.batch.number}" if test.batch else ""
    return f"{test.day:%Y-%m-%d}: {test.get_outcome_display().lower()} ({test.get_test_display().lower()}; {test.body}{lot})"


@require_GET
def tile_label(request: HttpRequest, code: str) -> HttpResponse:
    """The label of one tile."""
    from wareboard.sheets.glaze_book_cards import tile_labels

    found = get_object_or_404(models.TestTile.objects.select_related("version__recipe", "blend", "batch"), code=code)
    label = label_of(found, request.build_absolute_uri(reverse("glaze-tile", args=[code])))
    return pdf(tile_labels(f"Tile {code}", [label], today(), paper_of(request)), f"label-{code}")


def label_of(tile: models.TestTile, scanned: str) -> TileLabel:
    """What the label of a tile says."""
    name = str(tile.version) if tile.version else tile.blend.name if tile.blend else "tile"
    told = [f"batch {tile.batch.number}" if tile.batch else "", tile.body, tile.place]
    if tile.coats:
        told.append(f"{tile.coats} coat{'s' if tile.coats > 1 else ''}")
    if tile.dwell_s:
        told.append(f"{tile.dwell_s:g} s")
    return TileLabel(tile.code, name, tuple(each for each in told if each), tile.cone, scanned)
