"""Buckets: mixing one, its card session by session, the pieces weighed for its pick-up, its label."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from wareboard import quantities
from wareboard.book.firings import signing
from wareboard.book.glazes import models, rooms, writing
from wareboard.book.glazes.writing import Mixed, Weighed
from wareboard.errors import OutOfRange, WareboardError
from wareboard.glaze.hazard import flags
from wareboard.reference import default
from wareboard.studio.glazes import bucket_flow, bucket_reckoned
from wareboard.studio.glazes.boxes import (
    DAY,
    USUAL_DWELL_S,
    Box,
    Form,
    Trouble,
    count,
    from_nought,
    grams,
    millilitres,
    numbers,
    per_cent,
    positive_number,
    seconds,
)
from wareboard.studio.glazes.density import density_now, of_weighing
from wareboard.studio.glazes.recipe_pages import recipe_at, version_of
from wareboard.studio.glazes.signing import going, moves, signed
from wareboard.studio.glazes.weighing import weigh_out
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import today


def square_mm(words: str) -> float:
    """An area in cm2, as mm2."""
    return positive_number(words) * 100.0


MIX = (
    DAY,
    Box(
        "water_ml", "Water poured in", millilitres, example="2.9 l", help="measured, so that the density can be checked"
    ),
    Box("wanted_gravity", "Specific gravity wanted", positive_number, needed=True),
    Box("dry_density", "Density of the powder, g/ml", positive_number, needed=True),
    Box(
        "dead_ml", "Left at the bottom", from_nought(quantities.volume_ml), help="what cannot be poured or dipped from"
    ),
    Box("note", "Note", most=200, long=True),
)
CARD = (
    DAY,
    Box("weighed_g", "Net weight of a known volume", grams, example="145 g"),
    Box("weighed_ml", "That volume", millilitres, example="100 ml"),
    Box("stock_ml", "Left in the bucket", millilitres, example="4.2 l"),
    Box("water_added_ml", "Water stirred in", millilitres),
    Box("dry_added_g", "Dry batch stirred in", grams),
    Box("topped_ml", "Topped up with slip", millilitres, help="of a fresh batch of the same recipe"),
    Box("topped_gravity", "Its specific gravity", positive_number),
    Box("cup_s", "Time through the cup", seconds, example="18 s"),
    Box("pieces", "Pieces glazed since the last line", count, example="5"),
    Box(
        "each_took_ml",
        "What each of them took, ml of slip",
        numbers,
        example="42 40 44 41 43",
        help="if weighed singly",
    ),
    Box("poured_ml", "Poured into them, in all", millilitres, help="a liner that is dumped out again"),
    Box("dumped_ml", "Dumped out and sieved back", from_nought(quantities.volume_ml)),
    Box("still_to_do", "Pieces still to do", count),
    Box("form", "Which form", most=60),
    Box("commission_code", "Commission", most=12),
    Box("dwell_s", "Dwell", seconds, example="3 s"),
    Box("coats", "Coats", count),
    Box("cone", "Cone", quantities.cone_name, most=12),
    Box("schedule", "Schedule", most=80),
    Box("place", "Place in the kiln", most=80),
    Box("note", "Note", most=200, long=True),
)
FILLED_IN = ("day", "cone", "commission_code")  # what the page itself puts into the boxes says nothing of a session
PIECE = (
    DAY,
    Box("dwell_s", "Dwell", seconds, needed=True, example="3 s"),
    Box("before_g", "Dry piece before", grams, needed=True),
    Box("after_g", "Dry piece after", grams, needed=True),
    Box("area_mm2", "Glazed area, cm2", square_mm, needed=True),
    Box("gravity", "Specific gravity then", positive_number, needed=True),
    Box("absorption_share", "Absorption of the bisque, %", per_cent),
)


def bucket_at(number: int) -> models.GlazeBatch:
    """The batch of that number; 404 where there is none."""
    return get_object_or_404(models.GlazeBatch.objects.select_related("version__recipe"), number=number)


@require_GET
def buckets(request: HttpRequest) -> HttpResponse:
    """Every bucket, newest first, with what its card last said."""
    found = models.GlazeBatch.objects.filter(put_away=None).select_related("version__recipe")
    shown = []
    for batch in found:
        lines = _lines(batch)
        last = next((line for line in reversed(lines) if line.stock_ml is not None), None)
        measured = density_now(batch, lines)
        shown.append((batch, last, measured.value if measured else None, bucket_reckoned.further(batch, lines)[0]))
    return render(request, "glazes/buckets.html", {"shown": shown, "at": "glazes", "page": "buckets"})


def _lines(batch: models.GlazeBatch) -> list[models.BucketLine]:
    return list(batch.card.filter(put_away=None))


@require_http_methods(["GET", "POST"])
def mix(request: HttpRequest, key: int) -> HttpResponse:
    """A bucket as it is mixed: what was weighed in, from which lots."""
    found = recipe_at(key)
    version = version_of(found, request.GET.get("version", ""))
    weigh = weigh_out(rooms.as_recipe(version), request.GET)
    if weigh.batch is None or weigh.bucket is None:
        messages.error(request, " ".join(trouble.words for trouble in weigh.form.troubles))
        return HttpResponseRedirect(f"{reverse('glaze-recipe', args=[key])}?{request.GET.urlencode()}")
    first = {
        "day": today().isoformat(),
        "water_ml": f"{weigh.bucket.water_ml:.0f} ml",
        "wanted_gravity": f"{weigh.bucket.specific_gravity:g}",
        "dry_density": f"{weigh.form.values['density']:g}",
        "dead_ml": f"{default('glaze.dead_ml').value:g} ml",
    }
    typed = request.POST.dict() if request.method == "POST" else None
    form = Form(MIX, typed, "mix", first)
    troubles: list[Trouble] = []
    rows = [
        {"line": line, "grams": (typed or {}).get(f"g{number}", f"{line.grams:g}"), "lots": _lots(line.material),
         "lot": (typed or {}).get(f"l{number}", "") or _newest(line.material), "number": number}
        for number, line in enumerate(weigh.batch.lines)
    ]  # fmt: skip
    if typed is not None:
        lines, troubles = _weighed(rows)
        if form.is_right and not troubles:
            mixed = Mixed(lines=lines, **{name: value for name, value in form.values.items() if value is not None})
            batch = writing.mix(version, mixed, signed(request))
            return going(request, reverse("glaze-bucket", args=[batch.number]), f"Kept as batch {batch.number}.")
    context = {
        "recipe": found, "version": version, "weigh": weigh, "form": form, "rows": rows, "at": "glazes",
        "troubles": [*form.troubles, *troubles], "page": "buckets",
    }  # fmt: skip
    return render(request, "glazes/mix.html", context, status=422 if typed is not None else 200)


def _lots(material: str) -> list[models.Lot]:
    return list(models.Lot.objects.filter(material__name__iexact=material, put_away=None))


def _newest(material: str) -> str:
    lots = [lot for lot in _lots(material) if lot.replaced_by_id is None]
    return str(lots[0].pk) if lots else ""


def _weighed(rows: list[dict[str, Any]]) -> tuple[list[Weighed], list[Trouble]]:
    lines, troubles = [], []
    for row in rows:
        line, words = row["line"], row["grams"].strip()
        try:
            if not words:
                raise OutOfRange(
                    line.material, "its weight is missing", "Write what went in, or leave this batch unkept"
                )
            lot = next((lot for lot in row["lots"] if str(lot.pk) == row["lot"]), None)
            lines.append(Weighed(line.material, grams(words), line.is_addition, lot))
        except WareboardError as problem:
            row["wrong"] = str(problem)
            troubles.append(Trouble(f"g{row['number']}", line.material, str(problem)))
    return lines, troubles


@require_GET
@vary_on_headers("HX-Request")
def bucket(request: HttpRequest, number: int) -> HttpResponse:
    """One bucket; with a weighing in the address, what that comes to."""
    batch = bucket_at(number)
    return render(request, "glazes/bucket.html", _context(batch, request.GET.dict()))


def _context(batch: models.GlazeBatch, asked: Mapping[str, str], **more: object) -> dict[str, object]:
    lines = _lines(batch)
    measured = density_now(batch, lines)
    stock = next((line.stock_ml for line in reversed(lines) if line.stock_ml is not None), None)
    gravity = measured.value if measured else batch.wanted_gravity
    dwell = Form(
        (Box("dwell", "Dwell", seconds, first=f"{USUAL_DWELL_S:g} s"),), dict(asked) if "dwell" in asked else None
    )
    dwell_s = dwell.values["dwell"] if dwell.typed is not None and dwell.values["dwell"] else USUAL_DWELL_S
    first = {"day": today().isoformat(), "gravity": f"{gravity:.4g}", "cone": batch.version.recipe.cone}
    tied = list(batch.tied.filter(put_away=None))
    if len({each.commission_code for each in tied}) == 1:  # most likely what is glazed next
        first["commission_code"] = tied[0].commission_code
    reach, no_reach = bucket_reckoned.further(batch, lines)
    return {
        **moves("bucket", batch),
        "batch": batch,
        "lines": lines,
        "weighed_in": batch.lines.select_related("lot"),
        "slip": bucket_reckoned.slip_of(batch, measured, stock),
        "expected": bucket_reckoned.expected(batch),
        "amiss": bucket_reckoned.amiss(batch, lines),
        "reach": reach,
        "tied": tied,
        "top_up": bucket_flow.top_up(batch, lines, reach),
        "dumped": bucket_flow.dumped_back(lines),
        **bucket_flow.stirred(batch, asked, stock, gravity),
        "no_reach": no_reach,
        "laid": bucket_reckoned.laid(batch, dwell_s, gravity),
        "dwell": dwell,
        "pieces": models.WeighedPiece.objects.filter(batch=batch, put_away=None),
        "card": Form(CARD, None, "card", first),
        "piece": Form(PIECE, None, "piece", first),
        "troubles": dwell.troubles,
        "at": "glazes",
        "page": "buckets",
        **more,
    }


@require_POST
@vary_on_headers("HX-Request")
def card_line(request: HttpRequest, number: int) -> HttpResponse:
    """A line of the card: shown first, kept when asked; htmx asks for what it comes to alone."""
    batch = bucket_at(number)
    form = Form(CARD, request.POST.dict(), "card")
    got = form.values
    stock = got["stock_ml"] or next(
        (line.stock_ml for line in reversed(_lines(batch)) if line.stock_ml is not None), None
    )
    weighed = of_weighing(got["weighed_g"], got["weighed_ml"]) if got["weighed_g"] and got["weighed_ml"] else None
    slip = bucket_reckoned.slip_of(batch, weighed, stock)
    if getattr(request, "htmx", False):
        return render(request, "glazes/_slip.html", {"slip": slip, "batch": batch, "card": form})
    told = [box.name for box in CARD if box.name not in FILLED_IN and got[box.name] not in (None, "", [])]
    if request.POST.get("do") == "keep" and form.is_right and not told:
        form.tell(OutOfRange("this line", "it says nothing yet", "Fill one box in at least"))
    if form.is_right:
        bucket_flow.look_at_pouring(form)
    if request.POST.get("do") != "keep" or not form.is_right:
        context = _context(batch, {}, card=form, slip=slip, troubles=form.troubles, typing=True)
        return render(request, "glazes/bucket.html", context, status=200 if form.is_right else 422)
    values = {name: value for name, value in got.items() if value is not None}
    signing.begin(models.BucketLine(batch=batch, **values), "Session", signed(request))
    return going(request, reverse("glaze-bucket", args=[number]), "The line is on the card.")


@require_POST
def weighed_piece(request: HttpRequest, number: int) -> HttpResponse:
    """Keep one piece weighed before and after."""
    batch = bucket_at(number)
    form = Form(PIECE, request.POST.dict(), "piece")
    if form.is_right and form.values["after_g"] <= form.values["before_g"]:
        form.tell(OutOfRange("weight after", "a glazed piece is heavier", "Weigh it dry, both times"), "after_g")
    if not form.is_right:
        context = _context(batch, {}, piece=form, troubles=form.troubles, weighing=True)
        return render(request, "glazes/bucket.html", context, status=422)
    signing.begin(models.WeighedPiece(batch=batch, **form.values), "Weighed", signed(request))
    return going(request, f"{reverse('glaze-bucket', args=[number])}#pick-up", "The weighing is kept.")


@require_GET
def label(request: HttpRequest, number: int) -> HttpResponse:
    """The bucket's label as a printed sheet."""
    from wareboard.sheets.glaze_book_cards import BucketLabel, bucket_label

    batch = bucket_at(number)
    recipe, version = batch.version.recipe, batch.version
    try:
        flagged = flags(rooms.as_recipe(version), rooms.whole_shelf())
        verdict, marks = flagged.verdict, tuple(f"{flag.hazard.key}: {flag.action}" for flag in flagged.on_ware)
    except WareboardError as problem:
        verdict, marks = str(problem), ()
    words = f"Batch {batch.number}: {recipe.name}, version {version.number}, mixed {batch.day.isoformat()}"
    made = BucketLabel(
        recipe.name,
        f"batch {batch.number}, version {version.number}",
        batch.day,
        batch.wanted_gravity,
        recipe.cone,
        recipe.colour_words,
        recipe.surface,
        tuple(f"{line.material} {line.grams:g} g" for line in batch.lines.all()),
        verdict,
        marks,
        writing.lots_of(batch),
        f"{words}. {request.build_absolute_uri(reverse('glaze-bucket', args=[number]))}",
    )
    return pdf(bucket_label(made, paper_of(request)), f"bucket-{number}")


@require_GET
def weigh_sheet(request: HttpRequest, key: int) -> HttpResponse:
    """The card to weigh out by."""
    from wareboard.sheets.glaze_book_cards import weigh_card

    found = recipe_at(key)
    version = version_of(found, request.GET.get("version", ""))
    weigh = weigh_out(rooms.as_recipe(version), request.GET)
    if weigh.batch is None or weigh.bucket is None:
        messages.error(request, " ".join(trouble.words for trouble in weigh.form.troubles))
        return HttpResponseRedirect(f"{reverse('glaze-recipe', args=[key])}?{request.GET.urlencode()}")
    made = weigh_card(found.name, f"version {version.number}", weigh.batch, weigh.bucket, today(), paper_of(request))
    return pdf(made, f"weigh-out-{found.pk}")
