"""A form's life-size patterns: the PDF for a paper and a printer, each pattern as SVG, and what the last print measured."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.printing import measuring
from wareboard.book.printing.models import PrintMeasured
from wareboard.errors import WareboardError
from wareboard.plan.result import slug
from wareboard.quantities import length_mm
from wareboard.studio.context import writer
from wareboard.studio.form_round import opened_form
from wareboard.studio.paper_form import Trouble
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.prototypes.approval_pages import since_approval
from wareboard.studio.today import now
from wareboard.working import signed

PAPERS: tuple[tuple[Literal["a4", "letter"], str], ...] = (("a4", "A4"), ("letter", "US letter"))
SHOWN = 20


@require_http_methods(["GET", "POST"])
def patterns(request: HttpRequest, code: str, form: str) -> HttpResponse:
    """The patterns of a form: what there is, what to print them on, and what the last print measured."""
    from wareboard.sheets.patterns import patterns_of

    page, plan = opened_form(code, form)
    context = page.context()
    if plan is None:
        return render(request, "studio/no_plan.html", context)
    typed, troubles = {"printer": "", "across": "", "up": "", "corrected": ""}, []
    if request.method == "POST":
        typed = {name: request.POST.get(name, "").strip()[:60] for name in typed}
        try:
            return _kept(request, typed)
        except WareboardError as problem:
            troubles = [Trouble(str(problem), "across")]
    printer, paper = _chosen(request)
    counting = measuring.counting()
    try:
        found = patterns_of(plan, context["lengths"])
    except WareboardError as problem:
        return render(request, "studio/no_plan.html", {**context, "troubles": [Trouble(str(problem))]})
    stem = reverse("form-patterns", args=[code, form])
    context |= {
        "form": plan,
        "patterns": [(each, f"{stem}{slug(each.name)}.svg") for each in found],
        "papers": PAPERS,
        "paper": paper,
        "printers": [(name, *_off(measuring.factors(name))) for name in counting],
        "printer": printer,
        "pdf": f"{stem}print.pdf?" + urlencode({"paper": paper, "printer": printer}),
        "gauge": f"{stem}gauge.pdf?" + urlencode({"paper": paper, "printer": printer}),
        "records": [(record, counting.get(record.printer) == record) for record in PrintMeasured.objects.all()[:SHOWN]],
        "typed": typed,
        "troubles": troubles,
    }
    return render(request, "studio/form_patterns.html", context, status=422 if troubles else 200)


@require_GET
def patterns_pdf(request: HttpRequest, code: str, form: str) -> HttpResponse:
    """The patterns on paper, life size, corrected for the printer asked for."""
    from wareboard.sheets.patterns import pattern_pdf

    try:
        return _printed(request, code, form, "patterns", pattern_pdf)
    except WareboardError:
        raise Http404 from None


@require_GET
def gauge_sheet_pdf(request: HttpRequest, code: str, form: str) -> HttpResponse:
    """The gauge strips and the shrink rule on paper, corrected for the printer asked for."""
    from wareboard.sheets.gauge import gauge_pdf

    return _printed(request, code, form, "gauge", gauge_pdf)


def _printed(request: HttpRequest, code: str, form: str, name: str, sheet: Callable[..., bytes]) -> HttpResponse:
    from wareboard.sheets.print_scale import Correction

    page, plan = opened_form(code, form)
    if plan is None or page.plan is None:
        raise Http404
    printer, paper = _chosen(request)
    correction, since = Correction(*measuring.factors(printer), printer), since_approval(page.commission, page.plan)
    content = sheet(page.plan, plan, paper, correction, since)
    return pdf(content, f"{code} {name} {slug(plan.name)}", framed=True)


@require_GET
def pattern_svg(request: HttpRequest, code: str, form: str, name: str) -> HttpResponse:
    """One pattern as a life-size drawing."""
    from wareboard.sheets.patterns import patterns_of

    page, plan = opened_form(code, form)
    unit = page.plan.length_unit if page.plan else "mm"
    found = next((each for each in patterns_of(plan, unit) if slug(each.name) == name), None) if plan else None
    if plan is None or found is None:
        raise Http404
    response = HttpResponse(found.svg(), content_type="image/svg+xml")
    response["Content-Disposition"] = f'attachment; filename="{code}-{slug(plan.name)}-{name}.svg"'
    response["Content-Security-Policy"] = "default-src 'none'; style-src 'unsafe-inline'"
    return response


@require_POST
def measured_move(request: HttpRequest, pk: int, move: str) -> HttpResponse:
    """Take a measurement of a print back, or put it back."""
    record = get_object_or_404(PrintMeasured, pk=pk)
    if move == "take-back":
        measuring.take_back(record, now())
        messages.success(request, f"What {record.printer} measured is taken back; Put back lets it count again.")
    elif move == "put-back":
        measuring.put_back(record)
        messages.success(request, f"What {record.printer} measured counts again.")
    else:
        raise Http404
    back = request.POST.get("back", "")
    ours = back.startswith("/") and url_has_allowed_host_and_scheme(back, allowed_hosts=None)
    return HttpResponseRedirect(back if ours else reverse("commissions"))


def _kept(request: HttpRequest, typed: dict[str, str]) -> HttpResponse:
    across = length_mm(typed["across"])
    up = length_mm(typed["up"]) if typed["up"] else across
    drawn = measuring.factors(typed["printer"]) if typed["corrected"] else (1.0, 1.0)
    record = measuring.measured(typed["printer"], across, up, drawn, writer(request), now())
    messages.success(request, f"Kept: the next print on {record.printer} is corrected. It can be taken back below.")
    return HttpResponseRedirect(f"{request.path}?{urlencode({'printer': record.printer})}")


def _chosen(request: HttpRequest) -> tuple[str, Literal["a4", "letter"]]:
    printer = request.GET.get("printer", "")
    known = measuring.counting()
    paper = paper_of(request)
    return (printer if printer in known else ""), paper


def _off(factors: tuple[float, float]) -> tuple[str, ...]:
    return tuple(f"{signed(100.0 * (each - 1.0), 2)} %" for each in factors)
