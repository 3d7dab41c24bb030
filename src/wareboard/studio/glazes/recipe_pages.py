"""Pages of recipes: one recipe with all that is known of it, changing it with live figures, its versions, its fit tests."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from wareboard import quantities
from wareboard.book.firings import signing
from wareboard.book.glazes import models, rooms, writing
from wareboard.errors import WareboardError
from wareboard.reference import default
from wareboard.studio.context import asked_of
from wareboard.studio.glazes.body_pages import beside_bodies, beside_tested
from wareboard.studio.glazes.boxes import DAY, Box, Form, count, positive_number
from wareboard.studio.glazes.bucket_reckoned import laid
from wareboard.studio.glazes.job_need import job_need
from wareboard.studio.glazes.recipe_rows import RecipeRows
from wareboard.studio.glazes.reckoned import Reckoned, reckoned
from wareboard.studio.glazes.signing import going, moves, signed
from wareboard.studio.glazes.weighing import weigh_out
from wareboard.studio.today import today
from wareboard.working import Estimate

if TYPE_CHECKING:
    from collections.abc import Sequence

ABOUT = (
    Box("name", "Name", needed=True, most=80, long=True),
    Box("cone", "Fires to cone", quantities.cone_name, example="6", most=12),
    Box("surface", "Surface when fired", most=80, example="satin, breaks brown on edges"),
    Box("colour_words", "Colour when fired", most=160, example="chalk white, warm"),
    Box("notes", "Notes", kind="long", wide=True),
)
WHY = Box("why", "Why (for its versions)", most=200, example="less silica, it crazed")
FIT = (
    DAY,
    Box("test", "Test", kind="choice", options=models.FIT_TESTS, first="crazing"),
    Box("outcome", "What was seen", kind="choice", options=models.OUTCOMES, first="none"),
    Box("body", "Body", needed=True, most=80),
    Box("body_lot", "Lot of the body", most=60),
    Box("batch_id", "Glaze lot", int, "choice", options=(("", "none that is noted"),)),
    Box("cone", "Cone", quantities.cone_name, most=12),
    Box("cycles", "Times over", count, example="3"),
    Box("difference_c", "Hot to cold, °C apart", positive_number, example="140"),
    Box("notes", "Notes", most=200, long=True),
)


class ChangedMeanwhile(WareboardError):
    """The recipe is no longer at the version that the writer had before them."""

    def __init__(self, number: int, why: str) -> None:
        super().__init__(
            "this recipe was changed meanwhile",
            f"version {number} was written in another window ({why})",
            "Look at it among the versions; keep again to write yours as the next one",
        )


def fit_boxes(found: models.GlazeRecipe) -> tuple[Box, ...]:
    """The boxes of a fit test, with the recipe's own buckets to choose from."""
    batches = models.GlazeBatch.objects.filter(version__recipe=found, put_away=None).select_related("version")
    lots = [(str(each.pk), f"batch {each.number}, version {each.version.number}") for each in batches]
    return tuple(replace(box, options=(*box.options, *lots)) if box.name == "batch_id" else box for box in FIT)


def recipe_at(key: int) -> models.GlazeRecipe:
    """The recipe of that key; 404 where there is none."""
    return get_object_or_404(models.GlazeRecipe.objects.select_related("current__recipe"), pk=key)


@require_GET
@vary_on_headers("HX-Request")
def recipe(request: HttpRequest, key: int) -> HttpResponse:
    """One recipe with all that is known of it; htmx asks for the weigh-out alone."""
    found = recipe_at(key)
    version = version_of(found, request.GET.get("version", ""))
    context: dict[str, object] = {"recipe": found, "version": version, "at": "glazes", "page": "glazes"}
    context |= moves("recipe", found)
    made = rooms.as_recipe(version)
    context["weigh"] = weigh_out(made, request.GET)
    context["job"] = job_need(request.GET.dict(), weighed_of(found))
    if getattr(request, "htmx", False):
        part = "_job_need" if "pieces" in request.GET else "_weigh_out"
        return render(request, f"glazes/{part}.html", context)
    try:
        context["known"] = reckoned(made, rooms.whole_shelf())
    except WareboardError as problem:
        context["trouble"] = problem
    context |= _around(found, version)
    context["about"] = Form(ABOUT, None, "about", first={box.name: getattr(found, box.name) for box in ABOUT})
    context["fit_form"] = Form(fit_boxes(found), None, "fit", first={"day": today().isoformat(), "cone": found.cone})
    return render(request, "glazes/recipe.html", context)


def weighed_of(found: models.GlazeRecipe) -> Callable[[float], Estimate | None]:
    """Dry glaze that a dwell lays on, g/cm2, by the recipe's own weighed pieces; None where they do not tell yet."""

    def weighed(dwell_s: float) -> Estimate | None:
        batch = models.GlazeBatch.objects.filter(version__recipe=found, put_away=None).select_related("version").first()
        if batch is None:
            return None
        return laid(batch, dwell_s, default("glaze.specific_gravity").value).layer

    return weighed


def version_of(found: models.GlazeRecipe, number: str) -> models.RecipeVersion:
    """The version of that number, or the one that counts now; 404 where there is none of that number."""
    if number.isdecimal():
        return get_object_or_404(found.versions.select_related("recipe"), number=int(number))
    version = found.current
    assert version is not None  # a recipe is begun with its first version
    return version


def _around(found: models.GlazeRecipe, version: models.RecipeVersion) -> dict[str, object]:
    versions = list(found.versions.select_related("parent"))
    worn = models.BucketLine.objects.filter(batch__version__recipe=found, put_away=None, pieces__isnull=False)
    return {
        "versions": [(each, differences(each.parent, each)) for each in versions],
        "batches": models.GlazeBatch.objects.filter(version__recipe=found, put_away=None).select_related("version"),
        "tiles": models.TestTile.objects.filter(version__recipe=found, put_away=None).select_related("photo"),
        "worn": [(line, writing.lots_of(line.batch)) for line in worn.select_related("batch__version")],
        "fit_tests": models.FitTest.objects.filter(version__recipe=found, put_away=None).select_related(
            "version", "batch"
        ),
        "beside": beside_tested(version),
        "bodies": beside_bodies(version),
    }


@dataclass(frozen=True, slots=True)
class Difference:
    """One material that two versions have unlike parts of."""

    material: str
    was: float | None
    now: float | None
    on_top: bool


def differences(old: models.RecipeVersion | None, new: models.RecipeVersion) -> list[Difference]:
    """What ``new`` changed in ``old``; nothing for a first version."""
    if old is None:
        return []
    found = []
    for before, after, on_top in ((old.base, new.base, False), (old.additions, new.additions, True)):
        was, now = _parts(before), _parts(after)
        found += [
            Difference(name, was.get(name), now.get(name), on_top)
            for name in dict.fromkeys([*was, *now])
            if was.get(name) != now.get(name)
        ]
    return found


def _parts(lines: Sequence[Sequence[object]]) -> dict[str, float]:
    held: dict[str, float] = {}
    for name, parts in lines:
        held[str(name)] = held.get(str(name), 0.0) + float(str(parts))
    return held


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def new_recipe(request: HttpRequest) -> HttpResponse:
    """A recipe that is not kept yet; htmx asks for its figures alone."""
    return _change(request, None)


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def change_recipe(request: HttpRequest, key: int) -> HttpResponse:
    """The rows of a recipe, what was typed, and what it comes to."""
    return _change(request, recipe_at(key))


def _change(request: HttpRequest, found: models.GlazeRecipe | None) -> HttpResponse:
    shelf = rooms.whole_shelf()
    asked = asked_of(request) if request.method == "POST" else ""
    if request.method == "POST":
        rows = RecipeRows.typed(request.POST.dict(), shelf)
    elif found and found.current:
        rows = RecipeRows.of(found.current.base, found.current.additions)
    else:
        rows = RecipeRows.of((), ())
    boxes = (WHY,) if found else (*ABOUT, WHY)
    form = Form(boxes, request.POST.dict() if asked == "keep" else None, first=request.POST.dict())
    known = _looked_at(rows, form, found.name if found else "recipe", shelf) if asked or found else None
    if asked == "keep" and found and found.current and request.POST.get("seen", "") not in ("", str(found.current_id)):
        form.tell(ChangedMeanwhile(found.current.number, found.current.why))
    if asked == "keep" and form.is_right and not rows.troubles and known:
        return _kept(request, found, rows, form)
    context = {
        "recipe": found, "rows": rows, "form": form, "known": known,
        "troubles": [*form.troubles, *rows.troubles] if asked else [],
        "names": shelf, "asked": asked, "at": "glazes", "page": "glazes",
    }  # fmt: skip
    if getattr(request, "htmx", False):
        return render(request, "glazes/_reckoned_live.html", context)
    status = 422 if asked == "keep" else 200
    return render(request, "glazes/change_recipe.html", context, status=status)


def _looked_at(rows: RecipeRows, form: Form, name: str, shelf: Mapping[str, object]) -> Reckoned | None:
    if rows.troubles:
        return None
    try:
        return reckoned(rows.recipe(name), rooms.whole_shelf())
    except WareboardError as problem:
        form.tell(problem)
        return None


def _kept(request: HttpRequest, found: models.GlazeRecipe | None, rows: RecipeRows, form: Form) -> HttpResponse:
    by, why = signed(request), form.values["why"] or ("Changed" if found else "Begun")
    if found is None:
        about = {box.name: form.values[box.name] or "" for box in ABOUT[1:]}
        begun = writing.begin_recipe(form.values["name"], rows.base, rows.additions, why, by, **about)
        return going(request, reverse("glaze-recipe", args=[begun.pk]), f"{begun.name} is kept as version 1.")
    before = found.current_id
    version = writing.write_version(found, rows.base, rows.additions, why, by)
    words = "Nothing was changed." if version.pk == before else f"Kept as version {version.number}. It can be undone."
    return going(request, reverse("glaze-recipe", args=[found.pk]), words)


@require_POST
def about_recipe(request: HttpRequest, key: int) -> HttpResponse:
    """Keep the name and what the glaze is known by."""
    found = recipe_at(key)
    form = Form(ABOUT, request.POST.dict(), "about")
    if not form.is_right:
        context = {"form": form, "recipe": found, "heading": f"About {found.name}", "at": "glazes", "page": "glazes"}
        return render(request, "glazes/one_form.html", context, status=422)
    values = {name: value or "" for name, value in form.values.items()}
    signing.change(found, values, "Described anew", signed(request))
    return going(request, reverse("glaze-recipe", args=[key]), "Kept. It can be undone.")


@require_POST
def bring_back(request: HttpRequest, key: int, number: int) -> HttpResponse:
    """An old version counts again."""
    found = recipe_at(key)
    try:
        writing.bring_back(found, number, signed(request))
    except WareboardError as problem:
        messages.error(request, str(problem))
        return HttpResponseRedirect(reverse("glaze-recipe", args=[key]))
    return going(request, reverse("glaze-recipe", args=[key]), f"Version {number} counts again. It can be undone.")


@require_POST
def add_fit_test(request: HttpRequest, key: int) -> HttpResponse:
    """Keep one fit test of the version that counts now."""
    found = recipe_at(key)
    form = Form(fit_boxes(found), request.POST.dict(), "fit")
    if not form.is_right or found.current is None:
        context = {
            "form": form,
            "recipe": found,
            "heading": f"Fit test of {found.name}",
            "at": "glazes",
            "page": "glazes",
        }
        return render(request, "glazes/one_form.html", context, status=422)
    values = {name: value for name, value in form.values.items() if value is not None}
    batch = models.GlazeBatch.objects.filter(pk=values.get("batch_id", 0)).select_related("version").first()
    version = batch.version if batch else found.current  # what was tested is what was in the bucket
    signing.begin(models.FitTest(version=version, **values), "Tested", signed(request))
    return going(request, f"{reverse('glaze-recipe', args=[key])}#fit", "The fit test is kept.")
