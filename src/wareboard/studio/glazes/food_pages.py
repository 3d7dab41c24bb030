"""Ware for food: each surface apart, the limits of the places it is sold in, what to send to a laboratory, what it found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard import quantities, reference
from wareboard.book.firings import signing
from wareboard.book.glazes import models, rooms, writing
from wareboard.errors import OutOfRange, WareboardError
from wareboard.glaze.contact import (
    HOME_TESTS,
    METALS,
    NO_RIM_LIMIT,
    USES,
    WHO_JUDGES,
    Combination,
    LeachLimit,
    LeachTest,
    Recorded,
    Standing,
    compared,
    laboratory_test,
    limits_for,
    places,
    rim_test,
    standing,
)
from wareboard.glaze.hazard import Flag, Flagged, flags
from wareboard.quantities import show_day
from wareboard.studio.glazes.boxes import DAY, Box, Form, Options, above, millilitres, numbers
from wareboard.studio.glazes.signing import going, moves, signed
from wareboard.studio.today import today

USE_WORDS = {"table": "plates, bowls and other tableware", "cup": "cups and mugs", "jug": "jugs and pitchers",
             "cooking": "cooking", "storage": "storage"}  # fmt: skip
SURFACE_WORDS = {
    "inside": "Touches food: this is the surface that the limits and the laboratory are about.",
    "rim": "Touches lips, and food in a full vessel: ask the laboratory whether it is tested apart where you sell.",
    "outside": "Not meant to touch food. It still meets hands, washing-up and the neighbour in the stack.",
}


NOTHING_FLAGGED_BUT_TESTED = "no flagged oxide; a laboratory's result stands below"


def length(words: str) -> float:
    """A length above 0, mm."""
    return above(quantities.length_mm(words), words)


def _boxes(recipes: Options) -> tuple[Box, ...]:
    glazes = (("", "bare, or not noted"), *recipes)
    return (
        Box("name", "What it is", needed=True, most=80, example="Breakfast bowl"),
        Box("body", "Body", most=80),
        Box("body_lot", "Lot of the body in use", most=60),
        Box("cone", "Glaze firing to cone", quantities.cone_name, most=12),
        Box("inside_id", "Glaze inside", int, "choice", options=glazes),
        Box("rim_id", "Glaze on the rim", int, "choice", options=glazes),
        Box("outside_id", "Glaze outside", int, "choice", options=glazes),
        Box("depth_mm", "Inside depth from the brim", length, needed=True, example="62 mm"),
        Box("capacity_ml", "Capacity to the brim", millilitres, needed=True, example="550 ml"),
        Box("use", "Use", kind="choice", options=[(use, USE_WORDS[use]) for use in USES], first="table"),
    )


RESULT = (
    DAY,
    Box("surface", "Surface", kind="choice", options=models.SURFACES, first="inside"),
    Box("place", "Set beside the limits of", kind="choice", options=[(place, place) for place in places()]),
    Box("metal", "Metal", kind="choice", options=[(metal, metal) for metal in METALS], first="lead"),
    Box("figures", "Figures, one for each piece", numbers, needed=True, example="0.02 0.03 0.02 0.02",
        help="in the unit of the limit"),
    Box("laboratory", "Laboratory", needed=True, most=80),
    Box("report", "Number of its report", most=60),
    Box("outcome", "In its own words", most=300, long=True),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Side:
    """One surface of the ware: its glaze, flags, what is made now, and where its results stand."""

    key: str
    title: str
    words: str
    recipe: models.GlazeRecipe | None
    flagged: Flagged | None
    flags: tuple[Flag, ...]
    trouble: str
    now: Combination
    results: tuple[tuple[models.LabResult, Standing, str], ...]

    @property
    def verdict(self) -> str:
        """The flags in words; "not tested" only as long as no result speaks for what is made now."""
        if self.flagged is None:
            return ""
        tested = any(stands.stands for _, stands, _ in self.results)
        return NOTHING_FLAGGED_BUT_TESTED if tested and not self.flagged.on_ware else self.flagged.verdict


@dataclass(frozen=True, slots=True)
class Market:
    """One place that the ware is sold in: its limits, its test, when its text is of."""

    place: str
    limits: tuple[tuple[LeachLimit, str], ...]
    test: LeachTest
    test_source: str
    rim: LeachTest
    rim_source: str
    trouble: str = ""


@require_GET
def food(request: HttpRequest) -> HttpResponse:
    """Every piece of ware for food, with how its inside stands."""
    shown = [(ware, _inside_words(ware)) for ware in models.FoodWare.objects.filter(put_away=None)]
    return render(request, "glazes/food.html", {"shown": shown, "words": WHO_JUDGES, "at": "glazes", "page": "food"})


def _inside_words(ware: models.FoodWare) -> str:
    side = side_of(ware, "inside")
    verdict = side.verdict or side.trouble or "no glaze is noted inside"
    speaking = sum(stands.stands for _, stands, _ in side.results)
    if not side.results:
        return f"{verdict}; no laboratory result"
    return f"{verdict}; {speaking} of {len(side.results)} laboratory results still speak for it"


@require_http_methods(["GET", "POST"])
def new_ware(request: HttpRequest) -> HttpResponse:
    """Ware for food that is not written down yet."""
    return _typed(request, None)


@require_http_methods(["GET", "POST"])
def change_ware(request: HttpRequest, key: int) -> HttpResponse:
    """What is made now, put in anew: results for what has changed lapse by themselves."""
    return _typed(request, get_object_or_404(models.FoodWare, pk=key))


def _typed(request: HttpRequest, ware: models.FoodWare | None) -> HttpResponse:
    recipes = [(str(each.pk), each.name) for each in models.GlazeRecipe.objects.filter(put_away=None)]
    boxes = _boxes(recipes)
    first = {box.name: _shown(getattr(ware, box.name)) for box in boxes} if ware else {}
    if ware:
        first |= {"depth_mm": f"{ware.depth_mm:g} mm", "capacity_ml": f"{ware.capacity_ml:g} ml"}
    posted = request.method == "POST"
    form = Form(boxes, request.POST.dict() if posted else None, first=first)
    sold = (
        [each for each in request.POST.getlist("places") if each in places()]
        if posted
        else (ware.places if ware else _sold_last())
    )
    if posted and form.is_right:
        values = {name: "" if value is None and name == "cone" else value for name, value in form.values.items()}
        values["places"] = sold
        by = signed(request)
        kept = signing.change(ware, values, "Put in anew", by) if ware else signing.begin(
            models.FoodWare(**values), "Begun", by
        )  # fmt: skip
        return going(request, reverse("glaze-ware", args=[kept.pk]), f"{kept.name} is kept.")
    context = {"form": form, "ware": ware, "places": places(), "sold": sold, "at": "glazes", "page": "food"}
    return render(request, "glazes/change_ware.html", context, status=422 if posted else 200)


def _sold_last() -> list[str]:
    """Where the ware that was written down last is sold: a potter sells most of it in the same places."""
    last = models.FoodWare.objects.filter(put_away=None).order_by("-pk").first()
    return list(last.places) if last else []


def _shown(value: object) -> str:
    return "" if value is None else str(value)


@require_GET
def ware(request: HttpRequest, key: int) -> HttpResponse:
    """One piece of ware: its surfaces, the limits where it is sold, the samples to send, the results."""
    found = get_object_or_404(models.FoodWare, pk=key)
    return render(request, "glazes/ware.html", _context(found))


def _context(found: models.FoodWare, **more: object) -> dict[str, object]:
    sides = [side_of(found, key) for key, _ in models.SURFACES]
    first = {"day": today().isoformat(), "place": (found.places or list(places()))[0]}
    markets = [_market(found, place) for place in found.places]
    return {
        **moves("ware", found),
        "ware": found,
        "sides": sides,
        "markets": markets,
        "samples": _samples(found, markets, sides[0]),
        "rim_samples": _rim_samples(found, markets, sides[1]),
        "no_rim_limit": NO_RIM_LIMIT,
        "result_form": Form(RESULT, None, "result", first),
        "who_judges": WHO_JUDGES,
        "home_tests": HOME_TESTS,
        "use": USE_WORDS.get(found.use, found.use),
        "at": "glazes",
        "page": "food",
        **more,
    }


def side_of(ware: models.FoodWare, key: str) -> Side:
    """One surface as it is made now."""
    recipe: models.GlazeRecipe | None = getattr(ware, key)
    flagged, trouble = None, ""
    if recipe is not None and recipe.current is not None:
        try:
            flagged = flags(rooms.as_recipe(recipe.current), rooms.whole_shelf())
        except WareboardError as problem:
            trouble = str(problem)
    now = combination(ware, key)
    results = tuple(
        (result, standing(_recorded(result), now), _beside_limit(ware, result))
        for result in ware.results.filter(surface=key, put_away=None)
    )
    shown = flagged.on_ware if flagged else ()
    return Side(key, dict(models.SURFACES)[key], SURFACE_WORDS[key], recipe, flagged, shown, trouble, now, results)


def combination(ware: models.FoodWare, key: str) -> Combination:
    """Body, glaze, cone and lots of one surface, as they are made now: the newest bucket's lots count."""
    recipe: models.GlazeRecipe | None = getattr(ware, key)
    version = recipe.current if recipe else None
    batch = version.batches.filter(put_away=None).first() if version else None
    glaze = str(version) if version else ""
    return Combination(ware.body, ware.body_lot, glaze, writing.lots_of(batch), ware.cone)


def _recorded(result: models.LabResult) -> Recorded:
    held = Combination(result.body, result.body_lot, result.glaze, result.glaze_lot, result.cone)
    figures = ", ".join(f"{figure:g}" for figure in result.figures)
    words = result.outcome or f"{result.metal} {figures}"
    return Recorded(
        held, f"{result.metal.capitalize()} release", show_day(result.day), result.laboratory,
        result.report or "without a number", words,
    )  # fmt: skip


def _beside_limit(ware: models.FoodWare, result: models.LabResult) -> str:
    if result.surface == "rim":
        return NO_RIM_LIMIT
    if result.surface == "outside":
        return "The limits are for what touches food, so this is set beside none."
    try:
        limits = limits_for(result.place, ware.depth_mm, ware.capacity_ml, ware.use)  # type: ignore[arg-type]
        limit = next((each for each in limits if each.metal == result.metal), None)
        if limit is None:
            return f"No limit for {result.metal} is shipped for {result.place}."
        return compared(limit, result.figures).words
    except WareboardError as problem:
        return str(problem)


def _market(ware: models.FoodWare, place: str) -> Market:
    test = laboratory_test(place)
    source, rim = reference.source_words(test.source), rim_test(place)
    rim_source = reference.source_words(rim.source)
    try:
        limits = limits_for(place, ware.depth_mm, ware.capacity_ml, ware.use)  # type: ignore[arg-type]
    except WareboardError as problem:
        return Market(place, (), test, source, rim, rim_source, str(problem))
    found = tuple((limit, reference.source_words(limit.source)) for limit in limits)
    return Market(place, found, test, source, rim, rim_source)


def _samples(ware: models.FoodWare, markets: Sequence[Market], inside: Side) -> str:
    """What to send, in words: the most that any one place asks for serves the others with the same test only."""
    if not markets:
        return ""
    by_method: dict[str, int] = {}
    for market in markets:
        by_method[market.test.method] = max(by_method.get(market.test.method, 0), market.test.samples)
    count = sum(by_method.values())
    glaze = inside.now.glaze or "the glaze inside"
    tests = "; ".join(f"{number} for {method}" for method, number in by_method.items())
    return (
        f"{count} pieces of {ware.name} from one firing ({tests}): body {ware.body or 'to be noted'}, lot "
        f"{ware.body_lot or 'to be noted'}, inside {glaze}, cone {ware.cone or 'to be noted'}. Take them from the coolest "
        "place in the kiln too: an underfired glaze gives off most. Keep two more, untouched, beside the report."
    )


def _rim_samples(ware: models.FoodWare, markets: Sequence[Market], rim: Side) -> str:
    """What to send for the rim as well, in words; blank where it has no glaze of its own or no place names a test."""
    by_method = {market.rim.method: market.rim.samples for market in markets if market.rim.method}
    if rim.recipe is None or not by_method:
        return ""
    tests = "; ".join(f"{number} for {method}" for method, number in by_method.items())
    return (
        f"{sum(by_method.values())} more for the rim ({tests}), from the same firing, rim {rim.now.glaze}: the inside is "
        "filled to below the rim, so those pieces say nothing of it. " + NO_RIM_LIMIT
    )


@require_POST
def add_result(request: HttpRequest, key: int) -> HttpResponse:
    """Keep what a laboratory found, with body, glaze, cone and lots as they are now."""
    found = get_object_or_404(models.FoodWare, pk=key)
    form = Form(RESULT, request.POST.dict(), "result")
    if form.is_right and any(figure < 0 for figure in form.values["figures"]):
        form.tell(
            OutOfRange("a figure", "it is below 0", "Write 0, or what the report says is the least it can see"),
            "figures",
        )
    if not form.is_right:
        context = _context(found, result_form=form, troubles=form.troubles, writing=True)
        return render(request, "glazes/ware.html", context, status=422)
    got: dict[str, Any] = form.values
    now = combination(found, got["surface"])
    result = models.LabResult(
        ware=found, body=now.body, body_lot=now.body_lot, glaze=now.glaze, glaze_lot=now.glaze_lot, cone=now.cone,
        **{name: value if value is not None else "" for name, value in got.items()},
    )  # fmt: skip
    signing.begin(result, "Came in", signed(request))
    return going(
        request, f"{reverse('glaze-ware', args=[key])}#results", "The result is kept, with what it was made of."
    )
