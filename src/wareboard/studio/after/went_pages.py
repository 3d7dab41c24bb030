"""How a commission went, as a page and as a sheet of paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET

from wareboard.book.models import Commission
from wareboard.errors import WareboardError
from wareboard.studio import plans
from wareboard.studio.after.reorders import plan_then
from wareboard.studio.after.went import COLUMNS, went
from wareboard.studio.paper_form import Trouble
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import today

if TYPE_CHECKING:
    pass


@require_GET
def how_it_went(request: HttpRequest, code: str) -> HttpResponse:
    """What was planned beside what was done."""
    commission = get_object_or_404(Commission, code=code)
    context: dict[str, object] = {"at": "pieces", "commission": commission}
    try:
        plan, version = plan_then(commission, plans.basis())
        context |= {"went": went(commission, plan), "version": version}
    except WareboardError as problem:
        context["troubles"] = [Trouble(str(problem))]
    return render(request, "after/how_it_went.html", context)


@require_GET
def how_it_went_paper(request: HttpRequest, code: str) -> HttpResponse:
    """The same as a PDF."""
    from wareboard.sheets.after_sheets import AfterSheet, Table, after_sheet

    commission = get_object_or_404(Commission, code=code)
    plan, version = plan_then(commission, plans.basis())
    found = went(commission, plan)
    tables = [Table(each.name, COLUMNS, each.rows, each.note) for each in found.tables]
    if found.faults:
        rows = [(name, str(count), first) for name, count, first in found.faults]
        tables.append(Table("What went wrong", ("what", ">pieces", "first"), rows))
    words = [f"Not recorded: {'; '.join(found.missing)}."] if found.missing else []
    sheet = AfterSheet(
        "How it went",
        commission.name,
        today(),
        under=f"{commission.code}, against version {version.number} of its brief",
        tables=tables,
        words=words,
        fields=("next time do", "next time leave"),
        invented=plan.brief.invented,
    )
    return pdf(after_sheet(sheet, paper_of(request)), f"{commission.code}-how-it-went")
