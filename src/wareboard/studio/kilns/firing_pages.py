"""One firing: begun, changed, its packs tapped in, its log taken in, shown together; undone, put away, fetched back."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.firings import kiln_model, reckoning, recording, signing
from wareboard.book.firings.models import Change, Firing, FiringLog
from wareboard.errors import WareboardError
from wareboard.studio.drawing import drawing
from wareboard.studio.kilns import boxes, cone_form, degrees, firing_shown, known_kilns
from wareboard.studio.kilns.cone_drawing import symbols
from wareboard.studio.kilns.firing_form import FiringForm, as_written, carried_into, to_begin
from wareboard.studio.kilns.kiln_pages import by, failed
from wareboard.studio.kilns.load_not_planned import asked_about
from wareboard.studio.kilns.loading_pages import boards_shown
from wareboard.studio.kilns.page import page
from wareboard.studio.paper_form import Trouble
from wareboard.studio.today import today

UNITS = (
    ("", "As its headings say"),
    ("C", "°C"),
    ("F", "°F"),
    ("mV-K", "Millivolts, type K"),
    ("mV-S", "Millivolts, type S"),
)

MEANWHILE = (
    "This firing was changed in another window while you were typing. What you typed is below and is not lost; keep it "
    "again to put it over the other, which stays in the history"
)


def firing_at(slug: str, number: int) -> Firing:
    """The firing of that number in the kiln at that address."""
    return get_object_or_404(Firing.objects.select_related("kiln"), kiln__slug=slug, number=number)


def _place(firing: Firing, page: str = "firing") -> str:
    return reverse(page, args=[firing.kiln.slug, firing.number])


@require_http_methods(["GET", "POST"])
def new_firing(request: HttpRequest, slug: str) -> HttpResponse:
    """Begin a firing; the boxes come filled as the workshop fires."""
    kiln = known_kilns.kiln_at(slug)
    there, _ = known_kilns.workshop()
    begun = to_begin(request.GET.dict(), there.firing) | {"day": today()}
    form = FiringForm(request.POST if request.method == "POST" else None, initial=begun)
    asked = asked_about(form.cleaned_data, request.POST.dict()) if form.is_bound and form.is_valid() else None
    if request.method == "POST" and form.is_valid() and asked is None:
        firing = recording.new_firing(kiln.recorded(by(request)), _fields(form), by(request))
        messages.success(request, f"Firing {firing.number} of {kiln.name} is kept.")
        return HttpResponseRedirect(_place(firing))
    guard = kiln.record.firings.count() + 1 if kiln.record else 1
    context = {
        "at": "kilns",
        "kiln": kiln,
        "form": form,
        "seen": guard,
        "carried": None if "schedule" in request.GET else carried_into(request.GET.dict()),
        "troubles": [*boxes.troubles_of(form), *([asked.trouble] if asked else [])] if form.is_bound else [],
        "asked": asked,
    }
    return page(request, "kilns/firing_edit.html", context, 422 if form.is_bound else 200, _code(form))


@require_http_methods(["GET", "POST"])
def change_firing(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Change what is written of a firing."""
    firing = firing_at(slug, number)
    seen = signing.latest(firing)
    form = FiringForm(request.POST if request.method == "POST" else None, initial=as_written(firing))
    troubles = boxes.troubles_of(form) if form.is_bound else []
    if request.method == "POST" and request.POST.get("seen", str(seen)) != str(seen):
        troubles = [*troubles, Trouble(MEANWHILE)]
    asked = asked_about(form.cleaned_data, request.POST.dict(), firing) if form.is_bound and form.is_valid() else None
    troubles = [*troubles, *([asked.trouble] if asked else [])]
    if request.method == "POST" and not troubles:
        signing.change(firing, _fields(form), request.POST.get("why", "").strip() or "Changed", by(request))
        recording.review_again(firing_at(slug, number))
        messages.success(request, "Kept.")
        return HttpResponseRedirect(_place(firing))
    context = {
        **_head(firing, "change"),
        "kiln": known_kilns.kiln_at(slug),
        "form": form,
        "seen": seen,
        "troubles": troubles,
        "asked": asked,
    }
    return page(request, "kilns/firing_edit.html", context, 422 if form.is_bound else 200, _code(form))


def _code(form: FiringForm) -> str:
    return str(form["commission_code"].value() or "")


def _fields(form: FiringForm) -> dict[str, Any]:
    return {name: value for name, value in form.cleaned_data.items() if name in Firing.plain}


@require_GET
def firing(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Everything kept of one firing, and what it comes to."""
    here = firing_at(slug, number)
    shown = degrees.chosen(request, here.commission_code)
    context = {**_head(here, "firing"), **firing_shown.context(here, shown), **boards_shown(here), "units": UNITS}
    return page(request, "kilns/firing.html", context, commission_code=here.commission_code)


@require_http_methods(["GET", "POST"])
def cones(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Tap in the packs; everything typed stays where something is wrong."""
    here = firing_at(slug, number)
    context = {**_head(here, "cones"), "symbols": drawing(symbols())}
    if request.method == "GET":
        return page(request, "kilns/cones.html", {**context, "levels": _levels(here)}, 200, here.commission_code)
    levels, rows, photos = cone_form.read_boxes(here, request.POST.dict(), request.FILES)
    for at, photo in photos:
        try:
            kept = recording.keep_photo(photo.read(), photo.name or "photograph", by(request))
            rows[at]["photo_id"] = kept.pk
        except WareboardError as problem:
            level = next(each for each in levels if each.level == rows[at]["level"])
            cone_form.say(level, "photo", str(problem))
    troubles = [trouble for level in levels for trouble in level.troubles]
    if troubles or not rows:
        troubles = troubles or [Trouble("No cone was tapped yet: tap the drawing that looks like the cone")]
        shown = {**context, "levels": levels, "troubles": troubles}
        return page(request, "kilns/cones.html", shown, 422, here.commission_code)
    with transaction.atomic():
        count = recording.keep_cones(here, rows, by(request))
        for row in here.cones.filter(pk__in=[level.pk for level in levels if level.take_off and level.pk]):
            signing.put_away(row, f"Cones on {row.level} put away", by(request))
    messages.success(request, f"{count} level{'' if count == 1 else 's'} kept.")
    return HttpResponseRedirect(_place(here) + "#cones")


def _levels(firing: Firing) -> list[cone_form.LevelBoxes]:
    found = cone_form.boxes_of(
        firing, () if firing.cones.filter(put_away=None).exists() else cone_form.levels_used(firing)
    )
    # One more, empty, for a level that stood on no list.
    pack = [cone_form.ConeBox(place, cone) for place, cone in cone_form.pack_for(firing).items()]
    return [*found, cone_form.LevelBoxes(len(found), "", pack)]


@require_POST
def take_in_log(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Keep a logger's file and read it; where it cannot be read it is kept all the same."""
    here, sent = firing_at(slug, number), request.FILES.get("log")
    if sent is None:
        messages.error(request, "No file was chosen. Choose the CSV file that the logger wrote.")
        return HttpResponseRedirect(_place(here) + "#log")
    try:
        if sent.size and sent.size > recording.LARGEST_LOG:
            raise _too_large(sent.name or "the file", sent.size)
        _said(request, recording.keep_log(here, sent.read(), sent.name or "log.csv", _options(request), by(request)))
    except WareboardError as problem:
        failed(request, problem)
    return HttpResponseRedirect(_place(here) + "#log")


def _too_large(name: str, size: int) -> WareboardError:
    return WareboardError(
        name, f"it has {size / 1e6:.0f} MB, and no log of a firing is larger than 200", "Export this firing alone"
    )


@require_POST
def log_move(request: HttpRequest, slug: str, number: int, pk: int, move: str) -> HttpResponse:
    """Read a kept file again with other options, put it away, or fetch it back."""
    here = firing_at(slug, number)
    log = get_object_or_404(FiringLog.objects.select_related("file", "firing"), pk=pk, firing=here)
    try:
        match move:
            case "read-again":
                _said(request, recording.read_again(log, _options(request), by(request)))
            case "fit":
                model = kiln_model.fit_base(known_kilns.kiln_at(slug).sizes)
                recording.fit_kiln(log, model, by(request))
                fit = reckoning.newest_fit(here.kiln)
                messages.success(request, f"The kiln’s model is {fit.words}." if fit else "The kiln’s model is fitted.")
            case "put-away":
                signing.put_away(log, f"Log {log.file.name} put away", by(request))
                messages.success(request, f"{log.file.name} is put away; Undo brings it back.")
            case "fetch-back":
                signing.fetch_back(log, f"Log {log.file.name} fetched back", by(request))
            case _:
                raise Http404
    except WareboardError as problem:
        failed(request, problem)
    return HttpResponseRedirect(_place(here) + "#log")


def _options(request: HttpRequest) -> dict[str, Any]:
    from wareboard.quantities import temperature_c

    unit = request.POST.get("unit", "")
    found: dict[str, Any] = {"unit": unit if unit in dict(UNITS) else "", "leave_out": "leave_out" in request.POST}
    written = request.POST.get("terminals", "").strip()
    return found | ({"terminals_c": temperature_c(written)} if written else {})


def _said(request: HttpRequest, log: FiringLog) -> None:
    if log.trouble:
        messages.warning(request, f"{log.file.name} is kept, but could not be read yet: {log.trouble}")
    else:
        messages.success(request, f"{log.file.name} is kept and read.")


@require_POST
def move(request: HttpRequest, slug: str, number: int, move: str) -> HttpResponse:
    """Undo or redo the latest change of the firing, its packs and its logs; put the firing away or fetch it back."""
    here = firing_at(slug, number)
    back = _place(here)
    try:
        match move:
            case "undo" | "redo":
                does = signing.undo_latest if move == "undo" else signing.redo_latest
                record = does(recording.records_of(here), by(request))
                recording.settle(record)
                last = signing.history(record).first()
                messages.success(request, f"{last.why}." if last else "Done.")
            case "put-away":
                signing.put_away(here, "Put away", by(request))
                messages.success(request, f"Firing {number} is put away. It can be fetched back below.")
                back = reverse("one-kiln", args=[slug])
            case "fetch-back":
                signing.fetch_back(here, "Fetched back", by(request))
                messages.success(request, f"Firing {number} is on the list again.")
            case _:
                raise Http404
    except WareboardError as problem:
        messages.error(request, str(problem))
    return HttpResponseRedirect(back)


@require_GET
def history(request: HttpRequest, slug: str, number: int) -> HttpResponse:
    """Every signed change of the firing, its packs and its logs, newest first."""
    here = firing_at(slug, number)
    found: list[Change] = [each for record in recording.records_of(here) for each in signing.history(record)]
    shown = [(each, firing_shown.differences(each)) for each in sorted(found, key=lambda each: -each.pk)]
    return page(request, "kilns/history.html", {**_head(here, "history"), "changes": shown}, 200, here.commission_code)


def _head(firing: Firing, page: str) -> dict[str, Any]:
    records = recording.records_of(firing)
    return {
        "at": "kilns",
        "page": page,
        "firing": firing,
        "can_undo": any(signing.can_undo(each) for each in records),
        "can_redo": any(signing.can_redo(each) for each in records),
        "before": reckoning.before(firing),
    }
