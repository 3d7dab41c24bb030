"""Bodies whose expansion was measured, and a glaze set beside them."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from wareboard.book.firings import signing
from wareboard.book.glazes import models, rooms
from wareboard.errors import OutOfRange, Unreadable, WareboardError
from wareboard.glaze.expansion import Expansion, expansion
from wareboard.glaze.fit import LEAST_BODY, MOST_BODY, Beside, Neighbour, beside_body, beside_tests
from wareboard.glaze.formula import analysis_wt
from wareboard.glaze.recipe import Recipe
from wareboard.plan.fields import plain_number
from wareboard.studio.glazes.boxes import Box, Form, a_day, positive_number
from wareboard.studio.glazes.signing import going, moves, signed

IN_1E7 = 1e-7


def units(words: str) -> float:
    """A body's expansion in 1e-7/K as it is written, as 1/K: "65" is 6.5e-6/K.

    Raises:
        OutOfRange: outside what fired bodies are.
    """
    value = positive_number(words)
    if not LEAST_BODY <= value <= MOST_BODY:
        raise OutOfRange(
            f"{words} x 10⁻⁷ per K",
            f"fired bodies lie between {LEAST_BODY:g} and {MOST_BODY:g}",
            "Write 6.5 × 10⁻⁶ as 65; a third of it where it is cubical",
        )
    return value * IN_1E7


def in_units(body: models.MeasuredBody) -> float:
    """A body's expansion as people write it, 1e-7/K."""
    return round(body.per_k / IN_1E7, 6)


def warmth(words: str) -> float:
    """A temperature in °C."""
    return plain_number(words.replace("°C", "").replace("C", "").strip())


BOXES = (
    Box("name", "Body", needed=True, most=80, example="Invented stoneware"),
    Box("per_k", "Expansion, × 10⁻⁷ per K, linear", units, needed=True, example="65"),
    Box("from_c", "Measured from, °C", warmth, needed=True, first="20"),
    Box("to_c", "to, °C", warmth, needed=True, first="500"),
    Box("measured", "Where it was measured", needed=True, most=200, long=True, example="supplier's sheet of May 2026"),
    Box("day", "When", a_day, "day"),
    Box("note", "Note", most=200, long=True, example="fired to cone 6"),
)


@dataclass(frozen=True, slots=True)
class Against:
    """A glaze set beside one body, or why it cannot be."""

    body: models.MeasuredBody
    units: float
    beside: Beside | None
    trouble: str = ""
    note: str = ""

    @property
    def shown(self) -> str:
        """The gap as people write it."""
        return f"{self.beside.gap.value:.1f} × 10⁻⁷ per K" if self.beside else ""


@require_http_methods(["GET", "POST"])
def bodies(request: HttpRequest) -> HttpResponse:
    """Every measured body, and a form for one more."""
    form = Form(BOXES, request.POST.dict() if request.method == "POST" else None)
    if (kept := _kept(request, form, None)) is not None:
        return going(request, reverse("glaze-bodies"), f"{kept.name} is written down.")
    found = [(each, in_units(each)) for each in models.MeasuredBody.objects.filter(put_away=None)]
    context = {"found": found, "form": form, "at": "glazes", "page": "bodies"}
    return render(request, "glazes/bodies.html", context, status=422 if form.typed is not None else 200)


@require_http_methods(["GET", "POST"])
def body(request: HttpRequest, key: int) -> HttpResponse:
    """One body: changing it, and the tests on it."""
    held = get_object_or_404(models.MeasuredBody, pk=key)
    first = {box.name: _words(held, box.name) for box in BOXES}
    form = Form(BOXES, request.POST.dict() if request.method == "POST" else None, first=first)
    if _kept(request, form, held) is not None:
        return going(request, reverse("glaze-body", args=[key]), "Kept. It can be undone.")
    tests = models.FitTest.objects.filter(body__iexact=held.name, put_away=None).select_related("version__recipe")
    context = {**moves("body", held), "body": held, "form": form, "tests": tests, "at": "glazes", "page": "bodies"}
    return render(request, "glazes/body.html", context, status=422 if form.typed is not None else 200)


def _kept(request: HttpRequest, form: Form, held: models.MeasuredBody | None) -> models.MeasuredBody | None:
    if form.typed is None or not form.is_right:
        return None
    got = form.values
    if got["to_c"] <= got["from_c"]:
        form.tell(Unreadable("the temperatures", "it ends no warmer than it began", "Mend the two"), "to_c")
        return None
    if held is None:
        return signing.begin(models.MeasuredBody(**got), "Written down", signed(request))
    return signing.change(held, got, "Changed", signed(request))


def _words(held: models.MeasuredBody, name: str) -> str:
    value = getattr(held, name)
    if name == "per_k":
        return f"{value / IN_1E7:.4g}"
    return "" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def beside_bodies(version: models.RecipeVersion) -> list[Against]:
    """A recipe's calculated expansion by the first set beside every measured body."""
    found = list(models.MeasuredBody.objects.filter(put_away=None))
    if not found:
        return []
    try:
        glaze, note = _with_or_without_additions(rooms.as_recipe(version))
    except WareboardError as problem:
        return [Against(each, in_units(each), None, str(problem)) for each in found]
    return [
        Against(each, in_units(each), beside_body(glaze, each.per_k, each.from_c, each.to_c), note=note)
        for each in found
    ]


def _with_or_without_additions(made: Recipe) -> tuple[Expansion, str]:
    """The expansion by the first set, of the base alone where what is on top has no factor; and words on that."""
    try:
        return expansion(analysis_wt(made, rooms.whole_shelf())), ""
    except WareboardError:
        if not made.additions:
            raise
    base = expansion(analysis_wt(Recipe(made.name, made.base), rooms.whole_shelf()))
    return base, "By its base alone: what is on top has no factor."


@dataclass(frozen=True, slots=True)
class OnBody:
    """The tests of other glazes on one body, the one that expands most first, and where this glaze lies among them."""

    body: str
    words: str
    tests: tuple[tuple[models.FitTest, str], ...]


def beside_tested(version: models.RecipeVersion) -> list[OnBody]:
    """Every body that other glazes were tested on; this glaze among them by the first set.

    One set only: figures of different sets say nothing beside each other.
    """
    tests = (
        models.FitTest.objects.filter(put_away=None)
        .exclude(version__recipe=version.recipe)
        .select_related("version__recipe")
    )
    by_body: dict[str, list[models.FitTest]] = {}
    for test in tests:
        by_body.setdefault(test.body.strip(), []).append(test)
    known: dict[int, Reckoned] = {}
    own = _reckoned(version, known)
    found = []
    for name, on_it in sorted(by_body.items()):
        at = {test.pk: _reckoned(test.version, known) for test in on_it}
        tested = [
            Neighbour(str(test.version), units, test.outcome)
            for test in on_it
            if (units := at[test.pk].units) is not None
        ]
        words = beside_tests(own.units, tested) if own.units is not None and tested else "Not worked out, so test it."
        on_it.sort(key=lambda test: -(at[test.pk].units or 0.0))
        found.append(OnBody(name, words, tuple((test, at[test.pk].words) for test in on_it)))
    return found


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A version's calculated expansion, 1e-7/K, of the base alone where what is on top has no factor; None without one."""

    units: float | None
    words: str


def _reckoned(version: models.RecipeVersion, known: dict[int, Reckoned]) -> Reckoned:
    """Each version worked out once."""
    if version.pk not in known:
        try:
            found, note = _with_or_without_additions(rooms.as_recipe(version))
            units: float | None = found.value_per_k / IN_1E7
            words = f"{'its base alone, ' if note else ''}{units:.0f} × 10⁻⁷ per K"
        except WareboardError:
            units, words = None, "not worked out"
        known[version.pk] = Reckoned(units, words)
    return known[version.pk]
