"""A photograph that a page sends and keeps for the next reading, and the corners of the sheet of paper in it.

Corners are written in per cent of the picture, so that they hold for the picture itself and for a smaller copy of it.
"""

from __future__ import annotations

import base64
import binascii
import io
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from django.http import HttpRequest

from wareboard.errors import OutOfRange, Unreadable

if TYPE_CHECKING:
    from wareboard.form.curve import Floats
    from wareboard.form.photo_sheet import Sheet
    from wareboard.pictures import Picture

KEPT_SIDE, QUALITIES, MOST_KEPT = 1600, (90, 75, 50), 2_400_000
CORNERS = 4


def sent_picture(request: HttpRequest) -> Picture:
    """The photograph that was sent, or else the copy of the one sent before, with the lens that it named.

    Raises:
        Unreadable: if there is neither, or it is no picture. OutOfRange: if it is too large.
    """
    from wareboard.pictures import MOST_BYTES, picture_from_bytes

    sent = request.FILES.get("picture")
    if sent is not None:
        if (sent.size or 0) > MOST_BYTES:
            raise OutOfRange(str(sent.name), "it is larger than any photograph", "Send a smaller copy")
        return picture_from_bytes(sent.read())
    kept = request.POST.get("kept", "")
    if not kept:
        raise Unreadable("no picture", "none was chosen", "Choose a photograph of the piece from the side")
    try:
        data = base64.b64decode(kept, validate=True)
    except (binascii.Error, ValueError) as problem:
        raise Unreadable("the picture sent before", "it came back broken", "Choose the photograph again") from problem
    return replace(picture_from_bytes(data), lens_35mm=_lens(request.POST.get("kept-lens", "")))


def _lens(written: str) -> float | None:
    try:
        lens = float(written)
    except ValueError:
        return None
    return lens if 5.0 < lens < 2000.0 else None


def kept_copy(picture: Picture) -> dict[str, Any]:
    """A copy of a picture for the page to show and to send back, no more than 1600 dots wide or high."""
    from PIL import Image

    small = Image.fromarray(picture.rgb)
    small.thumbnail((KEPT_SIDE, KEPT_SIDE))
    data = b""
    for quality in QUALITIES:
        kept = io.BytesIO()
        small.save(kept, "JPEG", quality=quality)
        data = kept.getvalue()
        if len(data) <= MOST_KEPT:
            break
    lens = "" if picture.lens_35mm is None else f"{picture.lens_35mm:g}"
    return {"kept": base64.b64encode(data).decode("ascii"), "kept_lens": lens}


def corner_boxes(request: HttpRequest) -> dict[str, Any]:
    """The corners as they were typed, and whether their boxes are to be shown open."""
    rows = [
        (at, *(request.POST.get(f"corner-{way}-{at}", "").strip() for way in ("across", "down")))
        for at in range(CORNERS)
    ]
    return {"corners": rows, "corners_were": request.POST.get("corners-were", ""), "corners_open": _any(rows)}


def _any(rows: list[tuple[Any, ...]]) -> bool:
    return any(across or down for _, across, down in rows)


def sheet_seen(request: HttpRequest, picture: Picture, sheet: str, context: dict[str, Any]) -> Sheet:
    """The sheet in the picture, by its corners as they were given or as they are found.

    Writes the corners into the page's ``context``; where no sheet is found it opens the boxes for them.

    Raises:
        Unreadable: naming a corner that cannot be read, or if no such sheet is seen.
    """
    from wareboard.form.photo_sheet import sheet_in

    rows = context["corners"]
    unchanged = context["corners_were"] == _written(rows)
    if request.FILES.get("picture") is not None and unchanged and _any(rows):
        rows = [(at, "", "") for at in range(CORNERS)]  # they were found in the picture before this one
    height, width = picture.rgb.shape[:2]
    size = np.array([width, height], dtype=np.float64)
    context |= {"corners": rows, "corners_open": True}
    given = _read_shares(rows) * size - 0.5 if _any(rows) else None
    paper = sheet_in(picture.rgb, sheet, given, picture.lens_35mm)
    shares = 100.0 * (paper.corners_px + 0.5) / size
    rows = [(at, f"{across:.2f}", f"{down:.2f}") for at, (across, down) in enumerate(shares)]
    context |= {"corners": rows, "corners_were": _written(rows), "corners_open": given is not None}
    return paper


def _written(rows: list[tuple[Any, ...]]) -> str:
    return " ".join(f"{across},{down}" for _, across, down in rows)


def _read_shares(rows: list[tuple[Any, ...]]) -> Floats:
    found = []
    for at, *pair in rows:
        for way, written in zip(("left", "top"), pair, strict=True):
            try:
                share = float(written.rstrip("% ").replace(",", "."))
            except ValueError:
                share = float("nan")
            if not 0.0 <= share <= 100.0:
                raise Unreadable(
                    f"corner {at + 1} of the sheet, from the {way}: {written or 'empty'}",
                    "all four corners are needed, each from 0 to 100 per cent of the picture",
                    "Click the four corners on the picture, or clear all eight boxes",
                )
            found.append(share / 100.0)
    return np.array(found).reshape(CORNERS, 2)
