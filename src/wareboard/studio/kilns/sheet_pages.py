"""The kiln's sheets for pencil: the record of one firing, filled with what is known of it, and a page of the kiln's log."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from wareboard.book.firings import reckoning
from wareboard.book.firings.log_summary import schedule_from
from wareboard.book.firings.models import ConeReading, Firing
from wareboard.studio import words
from wareboard.studio.kilns import cone_form, degrees, known_kilns
from wareboard.studio.kilns.known_kilns import KnownKiln
from wareboard.studio.printed import paper_of, pdf
from wareboard.studio.today import today


@require_GET
def record_sheet(request: HttpRequest, slug: str) -> HttpResponse:
    """The record for pencil: blank, or of the firing that the address names."""
    from wareboard.sheets.firing_record import RecordSheet, record_pdf

    kiln = known_kilns.kiln_at(slug)
    asked = request.GET.get("firing", "")
    if not asked:
        blank = RecordSheet(kiln.name, today(), _levels(kiln), degrees=degrees.chosen(request))
        return pdf(record_pdf(blank, paper_of(request)), f"{slug}-record")
    firing = _firing(kiln, asked)
    pack = cone_form.pack_for(firing)
    sheet = RecordSheet(
        kiln.name,
        today(),
        _levels(kiln),
        (pack["guide"], pack["target"], pack["guard"]),
        str(firing.number),
        firing.kind,
        words.day(firing.day),
        firing.commission_code,
        schedule_from(firing.schedule),
        degrees.chosen(request, firing.commission_code),
    )
    return pdf(record_pdf(sheet, paper_of(request)), f"{slug}-firing-{firing.number}")


@require_GET
def log_page(request: HttpRequest, slug: str) -> HttpResponse:
    """A page of the kiln's log: the last ten firings printed, the other lines for pencil."""
    from wareboard.sheets.firing_record import LogPage, log_pdf

    kiln = known_kilns.kiln_at(slug)
    levels = _levels(kiln)
    rows = reckoning.firings_of(kiln.record, reckoning.LOOKED_BACK) if kiln.record else []
    page = LogPage(kiln.name, today(), levels, [_line(each, levels, degrees.chosen(request)) for each in rows])
    return pdf(log_pdf(page, paper_of(request)), f"{slug}-log")


def _firing(kiln: KnownKiln, asked: str) -> Firing:
    found = kiln.record.firings.filter(number=int(asked)).first() if kiln.record and asked.isdecimal() else None
    if found is None:
        raise Http404
    return found


def _levels(kiln: KnownKiln) -> tuple[str, ...]:
    """The levels that packs stood on last, from the bottom up; four at most, so that a line has room for them."""
    last = ConeReading.objects.filter(firing__kiln=kiln.record, put_away=None).order_by("-firing__number").first()
    if kiln.record is None or last is None:
        return cone_form.USUAL_LEVELS
    return tuple(last.firing.cones.filter(put_away=None).values_list("level", flat=True))[:4]


def _line(each: reckoning.Fired, levels: tuple[str, ...], shown: str) -> list[str]:
    firing = each.firing
    leans = {row.level: row.target_deg for row in firing.cones.all() if row.put_away is None}
    peak = degrees.level(each.log.summary["channels"][0]["peak_c"], shown) if each.log and each.log.summary else ""
    return [
        str(firing.number),
        f"{firing.day:%d.%m.%y}",
        f"{firing.kind} {firing.cone}",
        firing.commission_code,
        "",
        "",
        peak,
        f"{firing.energy_kwh:.0f}" if firing.energy_kwh else "",
        *("" if leans.get(level) is None else f"{leans[level]:.0f}°" for level in levels),
        firing.losses.splitlines()[0][:34] if firing.losses else "",
        degrees.in_degrees(each.review.advice.change, shown)[:60] if each.review else "",
    ]
