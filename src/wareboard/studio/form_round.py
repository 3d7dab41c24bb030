"""A form in the round: a preview that turns, at any stage, and the solid's files."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET

from wareboard.errors import WareboardError
from wareboard.plan.in_use import in_use
from wareboard.plan.result import FormPlan, slug
from wareboard.plan.solids import STAGES, clay_steps, solid_at
from wareboard.studio import words
from wareboard.studio.answer import Row
from wareboard.studio.commission_pages import Opened, opened
from wareboard.studio.drawing import drawing
from wareboard.studio.paper_form import Trouble
from wareboard.working import Step

KINDS = {"glb": "model/gltf-binary", "stl": "model/stl"}
TURN_STEP, TIP_STEP, USUAL_TURN, USUAL_TIP = 30, 20, 30, 25
LEAST_TIP, MOST_TIP = -85, 85
DRAWN_SIDES = 28


@dataclass(frozen=True, slots=True)
class View:
    """From where the piece is looked at, in whole degrees, and at which stage."""

    stage: str
    turn: int
    tip: int

    def link(self, stage: str | None = None, turn: int = 0, tip: int = 0) -> str:
        """The same view a little changed, as the end of an address."""
        tipped = min(MOST_TIP, max(LEAST_TIP, self.tip + tip))
        return "?" + urlencode(
            {"stage": stage or self.stage, "turn": str((self.turn + turn) % 360), "tip": str(tipped)}
        )


@require_GET
def in_the_round(request: HttpRequest, code: str, form: str) -> HttpResponse:
    """The form as a preview that turns by finger, mouse and keys; as a drawing where there is no script."""
    from wareboard.form.solid_view import view_svg

    page, plan = opened_form(code, form)
    context = page.context()
    if plan is None or page.plan is None:
        return render(request, "studio/no_plan.html", context)
    view = _view(request)
    try:
        coarse = solid_at(plan, view.stage, DRAWN_SIDES, fine=False)
        steps = clay_steps(plan, view.stage, solid_at(plan, view.stage))
        used = in_use(page.plan, plan)
    except WareboardError as problem:
        return render(request, "studio/no_plan.html", {**context, "troubles": [Trouble(str(problem))]})
    # As wide as the wet piece, so that what shrinks is seen to shrink.
    wide = 1.25 * float((solid_at(plan, "wet", DRAWN_SIDES, fine=False).size_mm ** 2).sum() ** 0.5)
    title = f"{plan.name}, {view.stage}: preview, turned {view.turn}°, looked at {_tip_words(view.tip)}"
    context |= {
        "form": plan,
        "view": view,
        "stages": [(stage, view.link(stage), stage == view.stage) for stage in STAGES],
        "drawing": drawing(view_svg(coarse, view.turn, view.tip, title, view.stage, wide)),
        "moves": _moves(view),
        "wide_m": f"{wide / 1000:.5f}",
        "size": coarse.size_mm,
        "rows": [Row(step.name.partition(": ")[2], f"{step.value / 1000:.1f} ml", step) for step in steps],
        "uses": [(head, says, [_row(step, context["lengths"]) for step in lines]) for head, says, lines in used.groups],
        "model": reverse("form-solid", args=[code, form, view.stage, "glb"]),
        "files": [(kind, reverse("form-solid", args=[code, form, view.stage, kind])) for kind in KINDS],
    }
    return render(request, "studio/form_round.html", context)


@require_GET
def solid_file(request: HttpRequest, code: str, form: str, stage: str, kind: str) -> HttpResponse:
    """The solid's file: binary glTF or STL."""
    from wareboard.form.solid_files import glb, stl

    _, plan = opened_form(code, form)
    if plan is None or stage not in STAGES or kind not in KINDS:
        raise Http404
    try:
        whole = solid_at(plan, stage)
    except WareboardError:
        raise Http404 from None
    content = glb(whole, plan.name, stage) if kind == "glb" else stl(whole)
    response = HttpResponse(content, content_type=KINDS[kind])
    response["Content-Disposition"] = f'attachment; filename="{code}-{slug(plan.name)}-{stage}.{kind}"'
    return response


def opened_form(code: str, form: str) -> tuple[Opened, FormPlan | None]:
    """The commission of that code, and its form of that short key; no form where there is no plan."""
    page = opened(code, "forms")
    if page.plan is None:
        return page, None
    found = next((each for each in page.plan.forms if slug(each.name) == form), None)
    if found is None:
        raise Http404
    return page, found


def _view(request: HttpRequest) -> View:
    stage = request.GET.get("stage", "fired")
    turn, tip = _degrees(request, "turn", USUAL_TURN) % 360, _degrees(request, "tip", USUAL_TIP)
    return View(stage if stage in STAGES else "fired", turn, min(MOST_TIP, max(LEAST_TIP, tip)))


def _degrees(request: HttpRequest, name: str, usual: int) -> int:
    written = request.GET.get(name, "")
    plain = written.removeprefix("-")
    return int(written) if plain.isascii() and plain.isdecimal() and len(plain) < 5 else usual


def _moves(view: View) -> list[tuple[str, str, str]]:
    return [
        ("left", "Turn left", view.link(turn=-TURN_STEP)),
        ("right", "Turn right", view.link(turn=TURN_STEP)),
        ("over", "Tip towards", view.link(tip=TIP_STEP)),
        ("under", "Tip away", view.link(tip=-TIP_STEP)),
    ]


def _row(step: Step, lengths: str) -> Row:
    """A line of working as a figure, lengths in the commission's unit."""
    label = words.capital(step.name.partition(": ")[2] or step.name)
    if step.unit == "N m":
        return Row(label, f"{step.value:.2f} N m", step)
    return Row(label, words.value_of_step(step, lengths), step, words.spread(step, lengths))


def _tip_words(tip: int) -> str:
    return f"{tip}° from above" if tip > 0 else f"{-tip}° from below" if tip < 0 else "from the side"
