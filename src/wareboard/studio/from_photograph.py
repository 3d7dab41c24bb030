"""A form from the client's photograph: its outline over the picture, points to correct, a commission begun with it."""

from __future__ import annotations

import base64
import io
from typing import TYPE_CHECKING, Any

import numpy as np
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_http_methods

from wareboard.errors import Unreadable, WareboardError
from wareboard.studio.kilns.boxes import told
from wareboard.studio.outline_board import (
    HandleSizes,
    Row,
    few_rows,
    pairs_of,
    plain_board,
    sent_handle,
    sent_rows,
    written_places,
)
from wareboard.studio.outline_into import into_chosen, places
from wareboard.studio.outline_sources import SOURCES
from wareboard.studio.photograph_sent import corner_boxes, kept_copy, sent_picture, sheet_seen
from wareboard.studio.starting import begun_with, with_percent

if TYPE_CHECKING:
    from wareboard.form.silhouette import PhotoProfile
    from wareboard.pictures import Picture

BOXES = ("size", "is", "sheet", "name", "count", "due", "shrinkage")
SIZES = (
    ("height", "its height over all"),
    ("width", "its greatest width, without a handle"),
    ("capacity", "what it holds, to the brim"),
)
SHEETS = (("a4", "A4"), ("letter", "US letter"))
SHOWN_PX, MOST_LARGER = 900, 2.0
ROOM = 0.22  # about the piece, of its greater side


@require_http_methods(["GET", "POST"])
def from_photograph(request: HttpRequest) -> HttpResponse:
    """Read a photograph; or begin a commission with the points as they were corrected."""
    typed = {name: request.POST.get(name, "").strip() for name in BOXES}
    context: dict[str, Any] = {
        "typed": typed, "sizes": SIZES, "sheets": SHEETS, "at": "four-numbers", "troubles": [], "rows": [],
        "from": "photograph",
        "action": reverse("from-a-photograph"), "into": request.POST.get("into") or request.GET.get("into", ""),
        "places": places(), **corner_boxes(request),
    }  # fmt: skip
    if request.method == "GET":
        return render(request, "studio/from_photograph.html", context)
    context["rows"] = rows = sent_rows(request)
    context["plain"] = plain_board(rows)
    context["handle"] = sent_handle(request)
    try:
        if request.POST.get("do") == "begin":
            return begun_with(
                request, brief_with(typed, rows, "photograph", sent_handle(request)), "Begun from a photograph"
            )
        if request.POST.get("do") == "into":
            return into_chosen(request)
        _read(request, typed, context)
    except WareboardError as problem:
        context["troubles"] = told(problem)
    return render(request, "studio/from_photograph.html", context, status=422 if context["troubles"] else 200)


def _read(request: HttpRequest, typed: dict[str, str], context: dict[str, Any]) -> None:
    """Write what a photograph shows into the page; the picture and the sheet's corners as soon as they are known."""
    from wareboard.form.silhouette import profile_from_photo
    from wareboard.quantities import length_mm, volume_ml

    picture = sent_picture(request)
    context |= kept_copy(picture)
    sheet = typed["sheet"] if typed["sheet"] in dict(SHEETS) else None
    if not typed["size"] and sheet is None:
        raise Unreadable(
            "its size",
            "a photograph has no scale of its own",
            "Give one size of the piece, such as 95 mm, or lay a sheet of A4 or US letter before it and say so",
        )
    known: dict[str, Any] = {}  # where no size is typed the sheet tells it
    if typed["size"] and typed["is"] == "capacity":
        known["capacity_ml"] = volume_ml(typed["size"])
    elif typed["size"]:
        known["width_mm" if typed["is"] == "width" else "height_mm"] = length_mm(typed["size"])
    if sheet is not None:
        known["sheet"] = sheet_seen(request, picture, sheet, context)
    found = profile_from_photo(picture.rgb, lens_35mm=picture.lens_35mm, **known)
    context |= {
        "found": found,
        "overlay": overlay_svg(picture, found),
        "rows": few_rows(found.points_mm),
        "handle": _handle(found),
        "notes": (*picture.notes, *found.notes),
        "widest": 2.0 * float(found.radii_mm.max()),
        "off": 2.0 * found.uncertainty_mm,
    }


def _handle(found: PhotoProfile) -> HandleSizes | None:
    """The handle as it was seen; a gap that was not seen is left empty."""
    seen = found.handle
    if seen is None:
        return None
    gap = f"{seen.gap_mm:.0f}" if seen.gap_mm >= 1 else ""
    return HandleSizes(f"{seen.top_mm - seen.bottom_mm:.0f}", gap, f"{seen.thickness_mm:.1f}" if gap else "")


def overlay_svg(picture: Picture, found: PhotoProfile) -> SafeString:
    """The part of the picture about the piece, with the two sides that were found drawn over it."""
    from PIL import Image

    from wareboard.form.laid_over import laid, places_of

    left, top, right, bottom = box = _about(picture, found)
    share = min(MOST_LARGER, SHOWN_PX / max(right - left, bottom - top))
    w, h = max(1, round((right - left) * share)), max(1, round((bottom - top) * share))
    small = Image.fromarray(picture.rgb).crop(box).resize((w, h))
    kept = io.BytesIO()
    small.save(kept, "JPEG", quality=80)
    data = base64.b64encode(kept.getvalue()).decode("ascii")
    moved = np.array([[1.0, 0.0, -left * share], [0.0, 1.0, -top * share], [0.0, 0.0, 1.0]])
    lines = [
        " ".join(
            f"{(x + 0.5 - left) * share:.1f},{(y + 0.5 - top) * share:.1f}"
            for x, y in side[:: max(1, len(side) // 200)]
        )
        for side in (found.left_px, found.right_px)
    ]
    drawn = "".join(
        f'<polyline points="{line}" class="{kind}"/>' for line in lines for kind in ("traced-under", "traced")
    )
    places = moved @ places_of(found, share)
    if found.handle is not None:
        way = 1.0 if found.handle.side == "right" else -1.0
        edge = laid(places, found.handle.outline_mm * np.array([1.0, way]))
        drawn += f'<polyline points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in edge)}" class="traced-handle"/>'
    # Only figures and base64 of our own go in: nothing that was typed or sent as words.
    return mark_safe(
        f'<svg viewBox="0 0 {w} {h}" role="img" aria-label="The photograph with the outline that was found" '
        f'data-points="outline-points" data-places="{written_places(places)}">'
        f'<image href="data:image/jpeg;base64,{data}" width="{w}" height="{h}"/>{drawn}</svg>'
    )


def _about(picture: Picture, found: PhotoProfile) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of the part to show, dots: the piece with its handle, and some room to draw in."""
    body = np.vstack([found.left_px, found.right_px])
    low, high = body.min(axis=0), body.max(axis=0)
    room = ROOM * float((high - low).max())
    handle = found.handle
    reach = handle.reach_mm / found.mm_per_px if handle else 0.0
    sides = [reach if handle and handle.side == side else 0.0 for side in ("left", "right")]
    tall, wide = picture.rgb.shape[:2]
    return (
        max(0, int(low[0] - sides[0] - room)),
        max(0, int(low[1] - room)),
        min(wide, int(high[0] + sides[1] + room) + 1),
        min(tall, int(high[1] + room) + 1),
    )


def brief_with(typed: dict[str, str], rows: list[Row], source: str, handle: HandleSizes | None = None) -> str:
    """The brief's text with the outline as corrected, and its handle where it is wanted.

    Raises:
        Problems: naming each point that cannot be read. Unreadable: with too few of them, or without a date.
    """
    import tomlkit

    from wareboard.plan.reading import four_number_brief
    from wareboard.quantities import INCH_MM, in_inches

    pairs = pairs_of(rows)
    tall = pairs[-1][0]
    height = f"{tall / INCH_MM:.3f} in" if in_inches(typed.get("size")) else f"{tall:.1f} mm"
    text = four_number_brief(
        height=height, rim="", shrinkage=with_percent(typed["shrinkage"]), count=typed["count"],
        due=typed["due"], name=typed["name"] or "piece",
    )  # fmt: skip
    document = tomlkit.parse(text)
    form = document["forms"][0]
    del form["height"]
    form.add("profile", [[round(tall, 1), round(wide, 1)] for tall, wide in pairs])
    if handle is not None and handle.fields:
        table = tomlkit.inline_table()
        table.update(handle.fields)
        form["handle"] = table
    form.add(tomlkit.comment(f"From {SOURCES[source]}; confirm it by the prototype."))
    return tomlkit.dumps(document).replace("A brief from four numbers.", f"A brief from {SOURCES[source]}.")
