"""The best-matched set of a form, what is left out and why; what is short, when to begin it, what to tell the client."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from wareboard import reference
from wareboard.book.models import Commission
from wareboard.book.pieces import matching, tracing
from wareboard.book.pieces.models import FIRST, Piece
from wareboard.errors import Problems, WareboardError
from wareboard.plan.fields import plain_number
from wareboard.studio.bench.standing import InHand, one_in_hand
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import now

if TYPE_CHECKING:
    from wareboard.plan.result import FormPlan

JUST_SEEN_COLOUR = 2.0  # a difference of colour that most people see side by side: from memory
USUAL_MM, USUAL_G = 2.0, 15.0
LABELS = (
    ("height_mm", "Height, mm"),
    ("width_mm", "Width, mm"),
    ("weight_g", "Weight, g"),
    ("colour_l", "Colour, each of L*, a*, b*"),
)


@require_GET
def match(request: HttpRequest, code: str) -> HttpResponse:
    """The set for one form, with the differences that count as just seen, which can be changed."""
    commission = get_object_or_404(Commission, code=code)
    there = one_in_hand(code, now())
    firsts = Piece.objects.filter(commission=commission, grade=FIRST, kind="ware", put_away=None, delivered=None)
    names = list(dict.fromkeys([*firsts.values_list("form", flat=True), *(there.names if there else [])]))
    form = request.GET.get("form", names[0] if names else "")
    pieces = list(firsts.filter(form=form).select_related("commission"))
    usual, wanted = _usual(there, form, pieces)
    troubles: list[Trouble] = []
    just_seen, wanted = _asked(request, usual, wanted, troubles)
    found = None
    if pieces and not troubles:
        try:
            found = matching.match(pieces, wanted, just_seen)
        except WareboardError as problem:
            troubles += [Trouble(str(each)) for each in getattr(problem, "problems", (problem,))]
    standing = there.standing(form) if there else None
    due = there.course.due if there and there.course else None
    plan = matching.make_up(standing, len(pieces), due, now()) if standing and due else None
    context = {
        "at": "pieces",
        "commission": commission,
        "names": names,
        "form": form,
        "wanted": wanted,
        "pieces": pieces,
        "boxes": [(name, label, request.GET.get(name, f"{usual[name]:g}")) for name, label in LABELS],
        "found": found,
        "measured": [each.removesuffix("_mm").removesuffix("_g").replace("_", " ") for each in found.measured]
        if found
        else [],
        "make_up": plan,
        "message": matching.message(plan, tracing.client_of(commission), commission.name) if plan else "",
        "troubles": troubles,
    }
    return render(request, "after/match.html", context, status=422 if troubles else 200)


def _asked(
    request: HttpRequest, usual: dict[str, float], wanted: int, troubles: list[Trouble]
) -> tuple[dict[str, float], int]:
    just_seen = dict(usual)
    for name, label in LABELS:
        try:
            if written := request.GET.get(name, "").strip():
                just_seen[name] = plain_number(written)
        except (WareboardError, Problems) as problem:
            troubles.append(Trouble(str(problem), name, label))
    just_seen |= {"colour_a": just_seen["colour_l"], "colour_b": just_seen["colour_l"]}
    written = request.GET.get("wanted", "").strip()
    if written and not (written.isdecimal() and len(written) < 5 and int(written) > 0):
        troubles.append(Trouble(f"{written[:20]} is not a number of pieces. Write digits.", "wanted", "How many"))
    elif written:
        wanted = int(written)
    return just_seen, wanted


def _usual(there: InHand | None, form: str, pieces: list[Piece]) -> tuple[dict[str, float], int]:
    """The agreed tolerances of the form as differences that count, and how many were ordered."""
    plan = there.plan if there else None
    planned = next((each for each in plan.forms if each.name == form), None) if plan else None
    weights = [each.weight_g for each in pieces if each.weight_g]
    share = reference.default("tolerance.weight_share").value
    found = {
        "height_mm": _tolerance(planned, "height"),
        "width_mm": _tolerance(planned, "rim"),
        "weight_g": share * sum(weights) / len(weights) if weights else USUAL_G,
        "colour_l": JUST_SEEN_COLOUR,
        "colour_a": JUST_SEEN_COLOUR,
        "colour_b": JUST_SEEN_COLOUR,
    }
    return {name: round(value, 1) for name, value in found.items()}, planned.form.count if planned else max(
        1, len(pieces)
    )


def _tolerance(planned: FormPlan | None, which: str) -> float:
    if planned is None:
        return USUAL_MM
    from wareboard.plan.approved import tolerance_mm

    return max(0.1, tolerance_mm(planned, which)[0])
