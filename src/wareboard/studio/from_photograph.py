"""A form from the client's photograph: its outline over the picture, points to correct, a commission begun with it."""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_http_methods

from wareboard.errors import OutOfRange, Problems, Unreadable, WareboardError
from wareboard.studio.kilns.boxes import told
from wareboard.studio.starting import begun_with, with_percent

if TYPE_CHECKING:
    from wareboard.form.silhouette import PhotoProfile
    from wareboard.pictures import Picture

BOXES = ("size", "is", "name", "count", "due", "shrinkage")
SIZES = (
    ("height", "its height over all"),
    ("width", "its greatest width, without a handle"),
    ("capacity", "what it holds, to the brim"),
)
SHOWN_PX = 900
MOST_POINTS = 40


@dataclass(frozen=True, slots=True)
class Row:
    """A point of the outline as it is written: its height and the whole width there, mm."""

    at: int
    height: str
    width: str


@require_http_methods(["GET", "POST"])
def from_photograph(request: HttpRequest) -> HttpResponse:
    """Read a photograph; or begin a commission with the points as they were corrected."""
    typed = {name: request.POST.get(name, "").strip() for name in BOXES}
    context: dict[str, Any] = {"typed": typed, "sizes": SIZES, "at": "four-numbers", "troubles": [], "rows": []}
    if request.method == "GET":
        return render(request, "studio/from_photograph.html", context)
    context["rows"] = _sent_rows(request)
    try:
        if request.POST.get("do") == "begin":
            return begun_with(request, _brief(typed, context["rows"]), "Begun from a photograph")
        context |= _read(request, typed)
    except WareboardError as problem:
        context["troubles"] = told(problem)
    return render(request, "studio/from_photograph.html", context, status=422 if context["troubles"] else 200)


def _read(request: HttpRequest, typed: dict[str, str]) -> dict[str, Any]:
    from wareboard.form.silhouette import profile_from_photo
    from wareboard.form.traced import few_points
    from wareboard.pictures import MOST_BYTES, picture_from_bytes
    from wareboard.quantities import length_mm, volume_ml

    sent = request.FILES.get("picture")
    if sent is None:
        raise Unreadable("no picture", "none was chosen", "Choose a photograph of the piece from the side")
    if (sent.size or 0) > MOST_BYTES:
        raise OutOfRange(str(sent.name), "it is larger than any photograph", "Send a smaller copy")
    if not typed["size"]:
        raise Unreadable(
            "its size", "a photograph has no scale of its own", "Give one size of the piece, such as 95 mm"
        )
    picture = picture_from_bytes(sent.read())
    key = typed["is"] if typed["is"] in ("width", "capacity") else "height"
    size = volume_ml(typed["size"]) if key == "capacity" else length_mm(typed["size"])
    known = {"height": {"height_mm": size}, "width": {"width_mm": size}, "capacity": {"capacity_ml": size}}[key]
    found = profile_from_photo(picture.rgb, lens_35mm=picture.lens_35mm, **known)
    points = few_points(found.points_mm)
    return {
        "found": found,
        "overlay": overlay_svg(picture, found),
        "rows": [Row(at, f"{tall:.1f}", f"{2.0 * wide:.1f}") for at, (tall, wide) in enumerate(points)],
        "notes": (*picture.notes, *found.notes),
        "widest": 2.0 * float(found.radii_mm.max()),
        "off": 2.0 * found.uncertainty_mm,
    }


def overlay_svg(picture: Picture, found: PhotoProfile) -> SafeString:
    """The picture, made smaller, with the two sides that were found drawn over it."""
    from PIL import Image

    high, wide = picture.rgb.shape[:2]
    share = min(1.0, SHOWN_PX / max(high, wide))
    small = Image.fromarray(picture.rgb).resize((max(1, round(wide * share)), max(1, round(high * share))))
    kept = io.BytesIO()
    small.save(kept, "JPEG", quality=80)
    data = base64.b64encode(kept.getvalue()).decode("ascii")
    lines = [
        " ".join(f"{x * share:.1f},{y * share:.1f}" for x, y in side[:: max(1, len(side) // 200)])
        for side in (found.left_px, found.right_px)
    ]
    drawn = "".join(
        f'<polyline points="{line}" class="{kind}"/>' for line in lines for kind in ("traced-under", "traced")
    )
    w, h = small.size
    # Only figures and base64 of our own go in: nothing that was typed or sent as words.
    return mark_safe(
        f'<svg viewBox="0 0 {w} {h}" role="img" aria-label="The photograph with the outline that was found">'
        f'<image href="data:image/jpeg;base64,{data}" width="{w}" height="{h}"/>{drawn}</svg>'
    )


def _sent_rows(request: HttpRequest) -> list[Row]:
    found = []
    for at in range(MOST_POINTS):
        tall, wide = (request.POST.get(f"{name}-{at}", "").strip() for name in ("height", "width"))
        if tall or wide:
            found.append(Row(at, tall, wide))
    return found


def _brief(typed: dict[str, str], rows: list[Row]) -> str:
    """The brief's text with the outline as corrected.

    Raises:
        Problems: naming each point that cannot be read. Unreadable: with too few of them, or without a date.
    """
    import tomlkit

    from wareboard.plan.reading import four_number_brief
    from wareboard.quantities import length_mm

    pairs, problems = [], []
    for number, row in enumerate(rows, 1):
        try:
            pairs.append((length_mm(row.height), length_mm(row.width)))
        except WareboardError as problem:
            problem.where = f"point {number}"
            problems.append(problem)
    if problems:
        raise Problems(problems, "Some points cannot be read")
    if len(pairs) < 2:
        raise Unreadable("the outline", "it has fewer than two points", "Read a photograph first")
    pairs.sort()
    text = four_number_brief(
        height=f"{pairs[-1][0]:.1f} mm", rim="", shrinkage=with_percent(typed["shrinkage"]), count=typed["count"],
        due=typed["due"], name=typed["name"] or "piece",
    )  # fmt: skip
    document = tomlkit.parse(text)
    form = document["forms"][0]
    del form["height"]
    form.add("profile", [[round(tall, 1), round(wide, 1)] for tall, wide in pairs])
    form.add(tomlkit.comment("From a photograph; confirm it by the prototype."))
    return tomlkit.dumps(document).replace("A brief from four numbers.", "A brief from a photograph.")
