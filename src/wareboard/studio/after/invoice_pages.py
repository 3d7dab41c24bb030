"""Invoices of a commission: a new one begun from the plan, one looked at, printed, voided by a counter entry."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from wareboard import quantities
from wareboard.book.models import Commission
from wareboard.book.pieces import invoicing, tracing
from wareboard.book.pieces.invoicing import Line, Terms
from wareboard.book.pieces.models import Invoice, Piece
from wareboard.errors import Problems, Unreadable, WareboardError
from wareboard.studio import plans
from wareboard.studio.after.reorders import plan_then
from wareboard.studio.bench.reading import fresh_key
from wareboard.studio.kilns.boxes import told
from wareboard.studio.kilns.kiln_pages import by
from wareboard.studio.paper_form import Trouble
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import today

if TYPE_CHECKING:
    from wareboard.plan.result import Plan

SPARE = 3  # empty lines on the form
NO_ADVICE = "What an invoice must say, and which tax is due, follows from local law: ask who keeps your books."


@require_http_methods(["GET", "POST"])
def invoices(request: HttpRequest, code: str) -> HttpResponse:
    """Every invoice of the commission, and a new one."""
    commission, troubles = get_object_or_404(Commission, code=code), []
    terms, plan = Terms(tracing.client_of(commission), "EUR"), None
    try:
        plan = plan_then(commission, plans.basis())[0]
        terms = _terms(commission, plan)
    except WareboardError as problem:
        troubles.append(Trouble(f"There is no plan to take prices from: {problem}"))
    terms = _from_us(terms)
    if request.method == "POST":
        try:
            made = _write(request, commission, terms)
        except WareboardError as problem:
            troubles += told(problem)
        else:
            messages.success(request, f"Invoice {made.number} is kept.")
            return HttpResponseRedirect(reverse("invoice", args=[code, made.number]))
    rows = _typed(request) if request.method == "POST" else _begun(commission, plan)
    context = {
        "at": "pieces",
        "commission": commission,
        "invoices": [
            (each, invoicing.sums_of(each)) for each in commission.invoices.select_related("counters", "countered")
        ],
        "rows": [*rows, *[("", "", "")] * SPARE],
        "to": request.POST.get("to", terms.to),
        "terms": terms,
        "tax": quantities.show_share(float(terms.tax_share)) if terms.tax_share is not None else "",
        "key": request.POST.get("key") or fresh_key(),
        "advice": NO_ADVICE,
        "troubles": troubles,
    }
    return render(request, "after/invoices.html", context, status=422 if troubles and request.method == "POST" else 200)


def _terms(commission: Commission, plan: Plan) -> Terms:
    workshop = plans.workshop_of(plans.basis())
    own, usual = plan.brief.prices, workshop.prices
    tax = own.tax if own.tax is not None else usual.tax
    share = Decimal(repr(tax)) if tax is not None else None
    return Terms(tracing.client_of(commission), plan.price.currency, share, own.tax_words or usual.tax_words or "")


def _from_us(terms: Terms) -> Terms:
    """The terms with the workshop's own address and number; left for the pen where its file cannot be read."""
    try:
        workshop = plans.workshop_of(plans.basis())
    except WareboardError:
        return terms
    us = workshop.seller
    return replace(terms, sender=us.sender(workshop.name), tax_number=us.tax_number, how_to_pay=us.how_to_pay)


def _begun(commission: Commission, plan: Plan | None) -> list[tuple[str, str, str]]:
    """Lines to begin with: each form at its price, as many as were delivered, else as were ordered; the prototypes."""
    if plan is None:
        return []
    gone = list(
        Piece.objects.filter(commission=commission, put_away=None, delivered__isnull=False).values_list(
            "form", flat=True
        )
    )
    rows = [(each.name, gone.count(each.name) if gone else each.wanted, each.price_each) for each in plan.price.forms]
    if plan.price.development and plan.price.agreed_price is None:
        rows.append(("prototypes, tests and meetings", 1, plan.price.development))
    if plan.price.agreed_price is not None:
        rows = [(f"{commission.name}, as agreed", 1, plan.price.agreed_price)]
    return [(words, str(count), str(each)) for words, count, each in rows if count]


def _typed(request: HttpRequest) -> list[tuple[str, str, str]]:
    sent = request.POST
    rows = zip(sent.getlist("words"), sent.getlist("count"), sent.getlist("each"), strict=False)
    return [row for row in rows if any(part.strip() for part in row)]


def _write(request: HttpRequest, commission: Commission, terms: Terms) -> Invoice:
    lines: list[Line] = []
    wrong: list[WareboardError] = []
    for words, count, each in _typed(request):
        try:
            lines.append(invoicing.read_line(words, count, each, terms.currency))
        except WareboardError as problem:
            wrong.append(problem)
    if wrong:
        raise Problems(wrong)
    asked = replace(terms, to=request.POST.get("to", ""))
    return invoicing.write_invoice(commission, request.POST.get("key", ""), lines, asked, today(), by(request))[0]


@require_http_methods(["GET", "POST"])
def invoice(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """One invoice; voided by a counter entry, with a reason."""
    here = _at(code, number)
    troubles = []
    if request.method == "POST":
        try:
            counter, _ = invoicing.void(
                here, request.POST.get("key", ""), request.POST.get("why", ""), today(), by(request)
            )
        except WareboardError as problem:
            troubles = [Trouble(str(problem), "why" if isinstance(problem, Unreadable) else "", "Why")]
        else:
            messages.success(request, f"Invoice {here.number} is voided by {counter.number}.")
            return HttpResponseRedirect(reverse("invoice", args=[code, counter.number]))
    context = {
        "at": "pieces",
        "commission": here.commission,
        "invoice": here,
        "lines": invoicing.lines_of(here),
        "sums": invoicing.sums_of(here),
        "tax": quantities.show_share(float(here.tax_share)) if here.tax_share is not None else "",
        "voided_by": Invoice.objects.filter(counters=here).first(),
        "key": request.POST.get("key") or fresh_key(),
        "why": request.POST.get("why", ""),
        "advice": NO_ADVICE,
        "troubles": troubles,
    }
    return render(request, "after/invoice.html", context, status=422 if troubles else 200)


def _at(code: str, number: int) -> Invoice:
    rows = Invoice.objects.select_related("commission__paper__current", "counters")
    return get_object_or_404(rows, commission__code=code, number=number)


@require_GET
def invoice_paper(request: HttpRequest, code: str, number: int) -> HttpResponse:
    """The invoice, or the counter entry, on paper."""
    from wareboard.sheets.after_sheets import AfterSheet, Table, after_sheet
    from wareboard.sheets.client_sheets import money
    from wareboard.sheets.data import day

    here = _at(code, number)
    lines, sums = invoicing.lines_of(here), invoicing.sums_of(here)
    rows = [(e.words, str(e.count), money(e.each, here.currency), money(e.total, here.currency)) for e in lines]
    shown = [("sum", money(sums.net, here.currency))] if sums.tax is not None else []
    if sums.tax is not None and here.tax_share is not None:
        shown.append((f"tax, {quantities.show_share(float(here.tax_share))}", money(sums.tax, here.currency)))
    facts = [("from", here.sender)] if here.sender else []
    facts += [("tax number", here.tax_number)] if here.tax_number else []
    facts += [("number", str(here.number)), ("day", day(here.day)), ("for", here.to), ("commission", f"{code}")]
    if here.counters is not None:
        facts.append(("voids", f"invoice {here.counters.number} of {day(here.counters.day)}: {here.why}"))
    workshop = plans.workshop_of(plans.basis()).name
    sheet = AfterSheet(
        "Counter entry" if here.counters is not None else "Invoice",
        here.commission.name,
        here.day,
        under=f"from {workshop}" if workshop and not here.sender else "",
        facts=facts,
        tables=[Table("", ("what", ">how many", ">each", ">together"), rows)],
        sums=[*shown, ("Total", money(sums.total, here.currency))],
        words=[*([here.tax_words] if here.tax_words else []), *_how_to_pay(here)],
        fields=_for_the_pen(here),
    )
    return pdf(after_sheet(sheet, paper_of(request)), f"invoice-{here.number}")


def _how_to_pay(here: Invoice) -> list[str]:
    lines = [line.strip() for line in here.how_to_pay.splitlines() if line.strip()]
    if not lines or here.counters is not None:  # nothing is owed on what takes an invoice back
        return []
    return [f"How to pay: {lines[0]}", *lines[1:]]


def _for_the_pen(here: Invoice) -> list[str]:
    """What the workshop's file did not say when the invoice was kept."""
    said = {
        "from: name and address": here.sender,
        "tax number": here.tax_number,
        "to be paid to, by when": here.how_to_pay,
    }
    return [name for name, words in said.items() if not words]
