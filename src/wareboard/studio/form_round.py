"""A form in the round: a preview that turns, at any stage, and the solid's files."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_GET

from wareboard.book.prototypes.models import MARK
from wareboard.errors import WareboardError
from wareboard.plan.in_use import in_use
from wareboard.plan.result import FormPlan, slug
from wareboard.plan.solids import STAGES, clay_steps, solid_at
from wareboard.studio import words
from wareboard.studio.answer import Row
from wareboard.studio.commission_pages import Opened, opened
from wareboard.studio.drawing import drawing
from wareboard.studio.form_artwork import (
    FOUR_SIDES,
    SHOWN,
    WORDS,
    OnForm,
    kinds_on,
    legend,
    model_glb,
    name_of,
    on_form,
    picture_svg,
    spots_for_viewer,
)
from wareboard.studio.paper_form import Trouble
from wareboard.working import Step

KINDS = {"glb": "model/gltf-binary", "stl": "model/stl"}
TURN_STEP, TIP_STEP, USUAL_TURN, USUAL_TIP = 30, 20, 30, 25
LEAST_TIP, MOST_TIP = -85, 85
DRAWN_SIDES = 28
ON_WORDS = {
    "mark": " with its mark",
    "raw": " painted, raw",
    "fired": " painted, fired",
    "both": " with its mark, painted",
}
# The front faces the eye from 270 degrees round from the handle; a mark is shown a little to the left of that.
BESIDE_DEG = 250
# A picture's width beside what it must hold; the turning view draws what is near a little larger.
ROOM = 1.06
# A painting inside a piece is looked down into; a mark on a wall that leans out further than this is seen from below.
INTO_TIP, LEANS_OUT, FROM_BELOW = 60, -0.3, -30


@dataclass(frozen=True, slots=True)
class View:
    """From where the piece is looked at, in whole degrees, and at which stage."""

    stage: str
    turn: int
    tip: int
    on: str = ""
    coats: int | None = None

    def link(self, stage: str | None = None, turn: int = 0, tip: int = 0, on: str | None = None) -> str:
        """The same view a little changed, as the end of an address."""
        tipped = min(MOST_TIP, max(LEAST_TIP, self.tip + tip))
        shown = self.on if on is None else on
        asked = {"stage": stage or self.stage, "turn": str((self.turn + turn) % 360), "tip": str(tipped)}
        asked |= {"on": shown} if shown else {}
        return "?" + urlencode(asked | ({} if self.coats is None or shown != "raw" else {"coats": str(self.coats)}))


@require_GET
def in_the_round(request: HttpRequest, code: str, form: str) -> HttpResponse:
    """The form as a preview that turns by finger, mouse and keys; as drawings where there is no script."""
    page, plan = opened_form(code, form)
    context = page.context()
    if plan is None or page.plan is None:
        return render(request, "studio/no_plan.html", context)
    view = _view(request)
    try:
        what = on_form(page.commission, page.plan, plan, view.on, view.stage, view.coats)
        view = _turned_to_it(request, replace(view, stage=what.stage), what)
        coarse = solid_at(plan, view.stage, DRAWN_SIDES, fine=False)
        steps = clay_steps(plan, view.stage, solid_at(plan, view.stage))
        used = in_use(page.plan, plan)
    except WareboardError as problem:
        return render(request, "studio/no_plan.html", {**context, "troubles": [Trouble(str(problem))]})
    model = reverse("form-solid", args=[code, form, view.stage, "glb"])
    context |= {
        "form": plan,
        "form_code": form,
        "view": view,
        "what": what,
        "stages": [(stage, view.link(stage), stage == view.stage) for stage in STAGES],
        "moves": _moves(view),
        "wide_m": f"{_wide_mm(plan) / 1000:.5f}",
        "size": coarse.size_mm,
        "on_words": "" if what.trouble else ON_WORDS.get(what.shown, ""),
        "parts": [part.name for part in coarse.parts],
        "rows": [Row(step.name.partition(": ")[2], f"{step.value / 1000:.1f} ml", step) for step in steps],
        "uses": [(head, says, [_row(step, context["lengths"]) for step in lines]) for head, says, lines in used.groups],
        "model": model + _asked(what),
        "files": [("glb", model + _asked(what)), ("stl", reverse("form-solid", args=[code, form, view.stage, "stl"]))],
    }
    return render(request, "studio/form_round.html", context | _artwork(page, plan, view, what))


def _artwork(page: Opened, form: FormPlan, view: View, what: OnForm) -> dict[str, Any]:
    """The drawings of the piece with what is on it, and links to what else may be shown."""
    from wareboard.paint.card_svg import UNKNOWN

    kinds = kinds_on(page.commission, form)
    there = [on for on in WORDS if all(kinds[kind] for kind in SHOWN.get(on, ()))]
    choices = [(WORDS[on], _first_look(view, on), on == view.on) for on in there]
    found: dict[str, Any] = {
        "choices": choices if len(choices) > 1 else [],
        "kinds": kinds,
        "on_kinds": SHOWN.get(what.shown, ()),
    }
    if not what.shown or what.trouble:
        title = _title(form, view, view.turn, view.tip)
        return found | {"drawing": drawing(picture_svg(form, what, view.turn, view.tip, title, _wide_mm(form)))}
    # What is heavy to draw is fetched by itself.
    address = reverse("form-picture", args=[page.commission.code, slug(form.name)])
    handled = form.strap is not None
    into = what.mark is None and what.skin is not None and what.skin.inside

    def seen(turn: int, tip: int) -> str:
        return f"{address}{view.link(turn=turn - view.turn, tip=tip - view.tip)}"

    def side(turn: int) -> str:
        return f"{seen(turn, INTO_TIP if into else 0)}&side=1"

    found["picture"] = seen(view.turn, view.tip)
    found["picture_words"] = _title(form, view, view.turn, view.tip)
    found["into"] = into
    found["sides"] = [(name, words if handled else "", side(turn)) for name, turn, words in FOUR_SIDES]
    if what.skin is not None:
        found |= {"spots": spots_for_viewer(what), "legend": legend(what), "laid": _laid(view, what)}
        found["not_shown"] = what.coats is not None and any(row["shown"] == UNKNOWN for row in found["legend"])
    return found


def _first_look(view: View, on: str) -> str:
    """The view with something else on it, tipped as suits that; a mark is turned to the eye as well."""
    if on == view.on or not on:
        return view.link(on=on)
    return "?" + urlencode(
        {"stage": view.stage, "on": on} | ({"turn": str(view.turn)} if MARK not in SHOWN[on] else {})
    )


def _turned_to_it(request: HttpRequest, view: View, what: OnForm) -> View:
    """The view, with the first mark, or a painting inside, turned and tipped to the eye where nothing else is asked for."""
    if what.mark is None and what.skin is not None and what.skin.inside and "tip" not in request.GET:
        return replace(view, tip=INTO_TIP)
    if what.mark is None or what.marked is None or "turn" in request.GET:
        return view
    up = float(what.mark.squares[0][:, 2].mean())
    turn = round(BESIDE_DEG - what.marked.places.places[0].angle_deg - what.marked.from_deg) % 360
    return replace(view, turn=turn, tip=view.tip if "tip" in request.GET or up > LEANS_OUT else FROM_BELOW)


def _laid(view: View, what: OnForm) -> list[tuple[str, str, bool]]:
    """Links to the raw piece after none of its coats, one, and so on to all of them."""
    coats = what.painted.order.coats if what.painted else ()
    if what.shown != "raw" or not coats:
        return []
    now = len(coats) if what.coats is None else what.coats
    words = [("None yet", 0), *((f"{number}. {coat.glaze}", number) for number, coat in enumerate(coats, start=1))]
    return [(word, replace(view, coats=number).link(), number == now) for word, number in words]


@require_GET
def picture(request: HttpRequest, code: str, form: str) -> HttpResponse:
    """The piece with its mark or its painting, seen from one side, as SVG."""
    page, plan = opened_form(code, form)
    if plan is None or page.plan is None:
        raise Http404
    view = _view(request)
    try:
        what = on_form(page.commission, page.plan, plan, view.on, view.stage, view.coats)
        if not what.shown or what.trouble:
            raise Http404
        view = replace(view, stage=what.stage)
        wide = _wide_mm(plan, request.GET.get("side") == "1" and view.tip == 0)
        svg = picture_svg(plan, what, view.turn, view.tip, _title(plan, view, view.turn, view.tip), wide)
    except WareboardError:
        raise Http404 from None
    return HttpResponse(svg, content_type="image/svg+xml")


@require_GET
def solid_file(request: HttpRequest, code: str, form: str, stage: str, kind: str) -> HttpResponse:
    """The solid's file: binary glTF, with the mark or the painting where it is asked for, or STL."""
    from wareboard.form.solid_files import stl

    page, plan = opened_form(code, form)
    if plan is None or page.plan is None or stage not in STAGES or kind not in KINDS:
        raise Http404
    try:
        shown = request.GET.get("on", "") if kind == "glb" else ""
        what = on_form(page.commission, page.plan, plan, shown, stage, _coats(request))
        if what.trouble or what.stage != stage:
            raise Http404
        content = model_glb(plan, what) if kind == "glb" else stl(solid_at(plan, stage))
    except WareboardError:
        raise Http404 from None
    response = HttpResponse(content, content_type=KINDS[kind])
    response["Content-Disposition"] = f'attachment; filename="{name_of(code, plan, what, kind)}"'
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
    on = request.GET.get("on", "")
    tip = min(MOST_TIP, max(LEAST_TIP, tip))
    return View(stage if stage in STAGES else "fired", turn, tip, on if on in SHOWN else "", _coats(request))


def _coats(request: HttpRequest) -> int | None:
    written = request.GET.get("coats", "")
    return int(written) if written.isascii() and written.isdecimal() and len(written) < 4 else None


def _asked(what: OnForm) -> str:
    """What a file or picture is asked for with, so that it shows the same as the page."""
    if not what.shown or what.trouble:
        return ""
    return f"?on={what.shown}{_coats_asked(what)}"


def _coats_asked(what: OnForm) -> str:
    return "" if what.coats is None else f"&coats={what.coats}"


def _wide_mm(form: FormPlan, level: bool = False) -> float:
    """Mm across a picture that holds the wet piece however it is turned, so that what shrinks is seen to shrink.

    ``level``: it is only looked at from the side.
    """
    points = np.vstack([part.points_mm for part in solid_at(form, "wet", DRAWN_SIDES, fine=False).parts])
    across, tall = 2 * float(np.hypot(points[:, 0], points[:, 1]).max()), float(np.ptp(points[:, 2]))
    return ROOM * (max(across, tall) if level else math.hypot(across, tall))


def _title(form: FormPlan, view: View, turn: int, tip: int) -> str:
    return f"{form.name}{ON_WORDS.get(view.on, '')}, {view.stage}: preview, turned {turn}°, looked at {_tip_words(tip)}"


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
    if step.unit == "°":
        return Row(label, f"{words.number(round(step.value))}°", step)
    if step.unit == "N m":
        return Row(label, f"{step.value:.2f} N m", step)
    return Row(label, words.value_of_step(step, lengths), step, words.spread(step, lengths))


def _tip_words(tip: int) -> str:
    return f"{tip}° from above" if tip > 0 else f"{-tip}° from below" if tip < 0 else "from the side"
