"""The shelf: materials with their analyses, lots with their prices, a table read in, a lot replaced."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from wareboard.book.firings import signing
from wareboard.book.glazes import models, rooms, writing
from wareboard.errors import OutOfRange, Problems, WareboardError
from wareboard.glaze.hazard import hazards
from wareboard.glaze.material import Material, shelf
from wareboard.glaze.material_file import LEAST_SUM, MOST_SUM, read_shelf
from wareboard.glaze.oxide import oxides
from wareboard.plan.fields import plain_number
from wareboard.studio.glazes.boxes import Box, Form, Trouble, a_day, from_nought, grams
from wareboard.studio.glazes.money import currency
from wareboard.studio.glazes.signing import going, moves, signed
from wareboard.studio.today import today

NOUGHT_UP = from_nought(plain_number)
MOST_BYTES = 2_000_000
YES_NO = (("", "No"), ("yes", "Yes"))
ABOUT = (
    Box("name", "Name", needed=True, most=80),
    Box("analysis_from", "Analysis from", kind="choice", options=models.ANALYSES[1:], first="supplier"),
    Box("source", "Whose sheet, of when", most=200, example="Invented Minerals, sheet of May 2026", long=True),
    Box("loi", "Loss on ignition, %", plain_number, help="what is missing to 100 where it is left empty"),
    Box("is_clay", "A clay", kind="choice", options=YES_NO),
    Box("solubility", "Soluble in water", kind="choice", options=models.SOLUBILITIES),
    Box("note", "Note", most=300, long=True),
)
OXIDES = tuple(Box(f"o-{formula}", formula, NOUGHT_UP, help=each.name) for formula, each in oxides().items())
LOT = (
    Box("code", "Lot or date code", needed=True, most=60),
    Box("supplier", "Supplier", most=80),
    Box("day", "Bought", a_day, "day"),
    Box("price_per_kg", "Price of a kilogram", NOUGHT_UP),
    Box("stock_g", "In stock", grams, example="12.5 kg", help="what stands there now"),
    Box("note", "Note", most=200, long=True),
)


def lot_boxes() -> tuple[Box, ...]:
    """The boxes of a lot, its price in the workshop's money."""
    named = f"Price of a kilogram, {currency()}"
    return tuple(replace(box, label=named) if box.name == "price_per_kg" else box for box in LOT)


@require_GET
def the_shelf(request: HttpRequest) -> HttpResponse:
    """Every material on the shelf with its newest lot, and what the shipped table could add."""
    records = list(models.ShelfMaterial.objects.filter(put_away=None).prefetch_related("lots"))
    shown = [(record, [lot for lot in record.lots.all() if lot.put_away is None]) for record in records]
    own = {record.name.casefold() for record in records}
    context = {
        "shown": shown,
        "currency": currency(),
        "shipped": [entry for entry in shelf().values() if entry.name.casefold() not in own],
        "at": "glazes",
        "page": "shelf",
    }
    return render(request, "glazes/shelf.html", context)


@require_POST
def from_table(request: HttpRequest) -> HttpResponse:
    """Put the chosen materials of the shipped table on the shelf."""
    chosen = [shelf()[name] for name in request.POST.getlist("material") if name in shelf()]
    if not chosen:
        messages.info(request, "Nothing was chosen.")
        return going(request, reverse("glaze-shelf"))
    writing.put_on_shelf(chosen, "shipped", signed(request))
    return going(request, reverse("glaze-shelf"), f"{len(chosen)} put on the shelf, with the shipped analyses.")


@require_http_methods(["GET", "POST"])
def from_csv(request: HttpRequest) -> HttpResponse:
    """Materials from a table that the potter keeps; everything wrong is told at once, each with its line."""
    text, troubles = request.POST.get("table", ""), []
    if request.method == "POST":
        try:
            text = _text_of(request, text)
            count, changed, lots = writing.put_with_lots(read_shelf(text), signed(request))
            words = f"{count} read: {count - changed} new on the shelf, {changed} put in anew, {lots} new lots."
            return going(request, reverse("glaze-shelf"), words)
        except Problems as problems:
            troubles = [Trouble("table", "", str(problem)) for problem in problems.problems]
        except WareboardError as problem:
            troubles = [Trouble("table", "", str(problem))]
    columns = ", ".join(oxides())
    context = {
        "text": text, "troubles": troubles, "columns": columns, "hazards": ", ".join(hazards()), "at": "glazes",
        "page": "shelf",
    }  # fmt: skip
    return render(request, "glazes/from_csv.html", context, status=422 if troubles else 200)


def _text_of(request: HttpRequest, typed: str) -> str:
    sent = request.FILES.get("file")
    if sent is None:
        return typed
    if (sent.size or 0) > MOST_BYTES:
        raise OutOfRange(f"{sent.name}", "it has more than 2 MB, more than any shelf", "Send the table alone")
    data: bytes = sent.read()
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")  # what spreadsheets on Windows still write


@require_http_methods(["GET", "POST"])
def new_material(request: HttpRequest) -> HttpResponse:
    """A material with its analysis typed in; ``name`` in the address begins it."""
    return _typed_material(request, None)


@require_http_methods(["GET", "POST"])
def change_material(request: HttpRequest, key: int) -> HttpResponse:
    """The analysis of a material put in anew."""
    return _typed_material(request, get_object_or_404(models.ShelfMaterial, pk=key))


def _typed_material(request: HttpRequest, record: models.ShelfMaterial | None) -> HttpResponse:
    first = _first(record) if record else {"name": request.GET.get("name", "")[:80]}
    typed = request.POST.dict() if request.method == "POST" else None
    about, held = Form(ABOUT, typed, first=first), Form(OXIDES, typed, first=first)
    chosen = request.POST.getlist("hazards") if typed is not None else (record.hazards if record else [])
    if typed is not None and about.is_right and held.is_right:
        try:
            entry = _material(about.values, held.values, [key for key in chosen if key in hazards()])
            if record and entry.name.casefold() != record.name.casefold():
                signing.change(record, {"name": entry.name}, "Named anew", signed(request))
            (kept,), _ = writing.put_on_shelf([entry], about.values["analysis_from"], signed(request))
            return going(request, reverse("glaze-material", args=[kept.pk]), f"{kept.name} is on the shelf.")
        except WareboardError as problem:
            about.tell(problem)
    context = {
        "record": record, "about": about, "oxides": held, "hazards": hazards().values(), "chosen": chosen,
        "troubles": [*about.troubles, *held.troubles], "at": "glazes", "page": "shelf",
    }  # fmt: skip
    return render(request, "glazes/change_material.html", context, status=422 if typed is not None else 200)


def _first(record: models.ShelfMaterial) -> dict[str, str]:
    first = {f"o-{formula}": f"{wt:g}" for formula, wt in record.oxides_wt.items()}
    first |= {"name": record.name, "source": record.source, "note": record.note, "solubility": record.solubility}
    first |= {"loi": f"{record.loi_share * 100:g}", "is_clay": "yes" if record.is_clay else ""}
    if record.analysis_from != "shipped":
        first["analysis_from"] = record.analysis_from
    return first


def _material(about: Mapping[str, Any], held: Mapping[str, Any], marks: list[str]) -> Material:
    wt = {name.removeprefix("o-"): float(value) for name, value in held.items() if value}
    whole = math.fsum(wt.values())
    if not wt:
        raise OutOfRange(about["name"], "it holds no oxide", "Put its analysis in, weight % of the raw powder")
    loi = about["loi"] if about["loi"] is not None else max(0.0, 100.0 - whole)
    if not LEAST_SUM <= whole + loi <= MOST_SUM:
        raise OutOfRange(
            f"{about['name']} adds up to {whole + loi:.2f} %",
            "oxides and loss make about 100",
            "Look the analysis over",
        )
    return Material(
        about["name"], wt, loi / 100.0, tuple(marks), bool(about["is_clay"]), about["solubility"] or "", about["note"],
        about["source"] or "given",
    )  # fmt: skip


@require_GET
def material(request: HttpRequest, key: int) -> HttpResponse:
    """One material: its analysis, marks, lots, and the recipes that call for it."""
    record = get_object_or_404(models.ShelfMaterial, pk=key)
    recipes = [
        recipe
        for recipe in models.GlazeRecipe.objects.filter(put_away=None).select_related("current")
        if recipe.current and record.name in writing.names_in(recipe.current)
    ]
    context = {
        **moves("material", record),
        "material": record,
        "entry": rooms.as_material(record),
        "loi_percent": record.loi_share * 100.0,
        "marks": [hazards()[key] for key in record.hazards if key in hazards()],
        "lots": record.lots.filter(put_away=None),
        "currency": currency(),
        "recipes": recipes,
        "lot_form": Form(lot_boxes(), None, "lot", first={"day": today().isoformat()}),
        "at": "glazes",
        "page": "shelf",
    }
    return render(request, "glazes/material.html", context)


@require_POST
def add_lot(request: HttpRequest, key: int) -> HttpResponse:
    """Keep one more lot of a material."""
    record = get_object_or_404(models.ShelfMaterial, pk=key)
    form = Form(lot_boxes(), request.POST.dict(), "lot")
    if not form.is_right:
        context = {"form": form, "heading": f"A lot of {record.name}", "at": "glazes", "page": "shelf"}
        return render(request, "glazes/one_form.html", context, status=422)
    lot = signing.begin(models.Lot(material=record, **form.values), "Bought", signed(request))
    return going(request, reverse("glaze-material", args=[key]), f"Lot {lot.code} is on the shelf.")


@require_http_methods(["GET", "POST"])
def lot(request: HttpRequest, key: int) -> HttpResponse:
    """One lot: what used it, changing it, and the lot that replaces it."""
    found = get_object_or_404(models.Lot.objects.select_related("material", "replaced_by"), pk=key)
    asked = request.POST.get("do", "")
    first = {box.name: _shown(getattr(found, box.name)) for box in LOT}
    boxes = lot_boxes()
    change = Form(boxes, request.POST.dict() if asked == "change" else None, "change", first=first)
    replacing = Form(
        boxes, request.POST.dict() if asked == "replace" else None, "new", first={"day": today().isoformat()}
    )
    if asked == "change" and change.is_right:
        signing.change(found, change.values, "Changed", signed(request))
        return going(request, reverse("glaze-lot", args=[key]), "Kept. It can be undone.")
    if asked == "replace" and replacing.is_right:
        new = models.Lot(material=found.material, **replacing.values)
        writing.replace_lot(found, new, signed(request))
        words = f"Lot {found.code} is replaced by lot {new.code}. What used the old one is listed below."
        return going(request, reverse("glaze-lot", args=[key]), words)
    context = {
        **moves("lot", found),
        "lot": found,
        "used": writing.used_by(found),
        "change": change,
        "replace": replacing,
        "currency": currency(),
        "troubles": [*change.troubles, *replacing.troubles],
        "at": "glazes",
        "page": "shelf",
    }
    return render(request, "glazes/lot.html", context, status=422 if asked else 200)


def _shown(value: object) -> str:
    if value is None:
        return ""
    return f"{value:g}" if isinstance(value, float) else str(value)
