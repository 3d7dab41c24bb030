"""The glazes of a commission: which recipe version each is, which bucket it comes out of, and how far that bucket goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.book.firings import signing
from wareboard.book.glazes import models, rooms, writing
from wareboard.errors import OutOfRange, WareboardError
from wareboard.glaze.application import Reach
from wareboard.glaze.forecast import before_the_first
from wareboard.glaze.hazard import flags
from wareboard.glaze.recipe import Recipe
from wareboard.glaze.slip import dry_content_g
from wareboard.reference import default
from wareboard.studio.commission_pages import opened
from wareboard.studio.glazes import bucket_flow, bucket_reckoned
from wareboard.studio.glazes.boxes import Options
from wareboard.studio.glazes.density import gravity_now
from wareboard.studio.glazes.into_brief import write_into_brief
from wareboard.studio.glazes.signing import going, signed
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.plan.result import GlazePlan

PARTS_APART = 0.1  # per cent of the base that two recipes may differ by and still be called the same


@dataclass(frozen=True, slots=True)
class JobGlaze:
    """One glaze of a commission as its page shows it."""

    plan: GlazePlan
    tied: models.TiedGlaze | None
    chosen: str
    unlike: str
    pieces: int
    glazed: int
    still: int
    reach: Reach | None
    by_records: bool
    top_up: tuple[Step, ...]
    words: str
    verdict: str = ""
    can_be_written: bool = False


@require_http_methods(["GET", "POST"])
def job(request: HttpRequest, code: str) -> HttpResponse:
    """Every glaze of one commission's brief, each with the form that ties it."""
    here = opened(code, "glazes")
    if request.method == "POST":
        return _written(request, code) if request.POST.get("do") == "brief" else _tied(request, code)
    context = here.context() | {"options": _choices(), "at": "commissions"}
    if here.plan is not None:
        held = {each.glaze: each for each in _ties(code)}
        context["shown"] = [_shown(glaze, held.get(glaze.glaze.name), code) for glaze in here.plan.glazes]
    return render(request, "glazes/job.html", context)


def _ties(code: str) -> Sequence[models.TiedGlaze]:
    found = models.TiedGlaze.objects.filter(commission_code=code, put_away=None)
    return list(found.select_related("version__recipe", "batch__version__recipe"))


def _choices() -> Options:
    """Every bucket and every version of every recipe, buckets first: "b3" and "v12"."""
    batches = models.GlazeBatch.objects.filter(put_away=None).select_related("version__recipe")
    versions = models.RecipeVersion.objects.filter(recipe__put_away=None).select_related("recipe")
    return [
        ("", "not tied yet"),
        *((f"b{each.pk}", f"batch {each.number}: {each.version}") for each in batches),
        *((f"v{each.pk}", f"{each}, no bucket yet") for each in versions.order_by("recipe__name", "-number")),
    ]


def _tied(request: HttpRequest, code: str) -> HttpResponse:
    glaze, chosen = request.POST.get("glaze", "").strip(), request.POST.get("from", "")
    here = reverse("glaze-job", args=[code])
    by, number = signed(request), chosen[1:]
    batch = (
        models.GlazeBatch.objects.filter(pk=int(number)).first() if chosen[:1] == "b" and number.isdecimal() else None
    )
    version = batch.version if batch else None
    if chosen[:1] == "v" and number.isdecimal():
        version = models.RecipeVersion.objects.filter(pk=int(number)).first()
    if not chosen:
        held = models.TiedGlaze.objects.filter(commission_code=code, glaze=glaze, put_away=None).first()
        if held is not None:
            signing.put_away(held, "Untied", by)
        return going(request, here, f"{glaze} is not tied any more.")
    if version is None or not glaze:
        messages.error(request, str(OutOfRange(repr(chosen), "it is none of the recipes and buckets", "Choose one")))
        return HttpResponseRedirect(here)
    writing.tie(code, glaze, version, batch, by)
    return going(request, here, f"{glaze} comes from {f'batch {batch.number}' if batch else version}.")


def _written(request: HttpRequest, code: str) -> HttpResponse:
    """The tied recipe put into the brief."""
    glaze, here = request.POST.get("glaze", "").strip(), reverse("glaze-job", args=[code])
    held = next((each for each in _ties(code) if each.glaze == glaze), None)
    try:
        if held is None:
            raise OutOfRange(glaze or "the glaze", "it is tied to no recipe", "Tie it first")
        write_into_brief(code, glaze, held.version, signed(request))
    except WareboardError as problem:
        messages.error(request, str(problem))
        return HttpResponseRedirect(here)
    return going(request, here, f"{held.version} is written into the brief. It can be undone there.")


def _shown(plan: GlazePlan, tied: models.TiedGlaze | None, code: str) -> JobGlaze:
    pieces = sum(plan.pieces.values())
    if tied is None:
        return JobGlaze(plan, None, "", "", pieces, 0, pieces, None, False, (), "")
    chosen = f"b{tied.batch_id}" if tied.batch_id else f"v{tied.version_id}"
    unlike = _unlike(plan, tied.version)
    verdict, can_be_written = _verdict(tied.version), bool(unlike) or not plan.glaze.recipe
    done = _glazed(code, tied.version.recipe_id)
    still = max(0, pieces - done)
    batch = tied.batch
    if batch is None:
        words = "Mix a bucket of it and choose that here: then it is told how far it goes."
        return JobGlaze(
            plan, tied, chosen, unlike, pieces, done, still, None, False, (), words, verdict, can_be_written
        )
    reach, by_records, top_up, words = _reach(plan, batch, still)
    return JobGlaze(
        plan, tied, chosen, unlike, pieces, done, still, reach, by_records, top_up, words, verdict, can_be_written
    )


def _verdict(version: models.RecipeVersion) -> str:
    try:
        return flags(rooms.as_recipe(version), rooms.whole_shelf()).verdict
    except WareboardError as problem:
        return str(problem)


def _glazed(code: str, recipe: int) -> int:
    """Pieces of the commission that wore the recipe so far, by the cards of its buckets."""
    lines = models.BucketLine.objects.filter(
        commission_code__iexact=code, batch__version__recipe=recipe, put_away=None, batch__put_away=None
    )
    return sum(line.pieces or 0 for line in lines)


def _reach(plan: GlazePlan, batch: models.GlazeBatch, still: int) -> tuple[Reach | None, bool, tuple[Step, ...], str]:
    lines = list(batch.card.filter(put_away=None))
    gravity = gravity_now(batch, lines)
    stock = bucket_flow.in_the_bucket(batch, lines)
    try:
        found, _ = bucket_reckoned.further(batch, lines, still)
        if found is not None:
            each_ml = found.per_piece.high / gravity
            return found, True, bucket_flow.topping(batch, still * each_ml, stock), ""
        each = _each_ml(plan, gravity, batch.dry_density)
        found = before_the_first(stock, each, dead_ml=batch.dead_ml, still_to_do=still)
        return found, False, bucket_flow.topping(batch, still * each.high, stock), ""
    except WareboardError as problem:
        return None, False, (), str(problem)


def _each_ml(plan: GlazePlan, gravity: float, density: float) -> Estimate:
    """Slip that one piece takes by the plan's own figure, ml, with what is lost on the way."""
    step = next(step for step in plan.need.steps if step.name == "dry glaze on one piece")
    in_a_ml = dry_content_g(1.0, gravity, density) * (1.0 - default("glaze.loss_share").value)
    low, high = (step.value if end is None else end for end in (step.low, step.high))
    return Estimate(step.value / in_a_ml, low / in_a_ml, high / in_a_ml, "the plan's figure for one piece")


def _unlike(plan: GlazePlan, version: models.RecipeVersion) -> str:
    """What the brief's own recipe says otherwise than the version, in words; blank where they agree or it names none."""
    if not plan.glaze.recipe:
        return ""
    try:
        asked = Recipe(plan.glaze.name, plan.glaze.recipe, plan.glaze.additions).to_100()
        held = rooms.as_recipe(version).to_100()
    except WareboardError as problem:
        return str(problem)
    apart = [*_apart(asked.base, held.base), *_apart(asked.additions, held.additions)]
    if not apart:
        return ""
    return f"The brief's recipe is another than {version}: {'; '.join(apart)}. Write this one into it, or tie it elsewhere."


def _apart(asked: Mapping[str, float], held: Mapping[str, float]) -> list[str]:
    return [
        f"{name} {asked.get(name, 0.0):.4g} in the brief, {held.get(name, 0.0):.4g} here"
        for name in dict.fromkeys([*asked, *held])
        if abs(asked.get(name, 0.0) - held.get(name, 0.0)) > PARTS_APART
    ]
