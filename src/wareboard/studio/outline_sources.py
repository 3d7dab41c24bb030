"""An outline taken in by a page: from a drawing, or from a table of radii."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.http import HttpRequest

from wareboard.errors import OutOfRange, Unreadable
from wareboard.studio.outline_board import MOST_POINTS, Row, few_rows, rows_of

if TYPE_CHECKING:
    from django.core.files.uploadedfile import UploadedFile

SOURCES = {"photograph": "a photograph", "drawing": "a drawing", "table": "a table of radii"}


@dataclass(frozen=True, slots=True)
class TakenIn:
    """The points that were read, and what is to be said of them."""

    rows: list[Row]
    notes: tuple[str, ...]


def taken_in(request: HttpRequest, source: str) -> TakenIn:
    """The outline that was sent as a drawing (its file, and its height if given) or as a table (a file, or its text).

    Raises:
        WareboardError: if nothing was sent, or it cannot be read.
    """
    return _drawing(request) if source == "drawing" else _table(request)


def _drawing(request: HttpRequest) -> TakenIn:
    from wareboard.form.drawn_outline import outline_of_svg
    from wareboard.quantities import length_mm
    from wareboard.svg_lines import MOST_BYTES

    content, name = _file(request.FILES.get("drawing"), MOST_BYTES, "Save only the lines themselves, as plain SVG")
    if not content:
        raise Unreadable("no drawing", "none was chosen", "Choose an SVG of the piece's outline")
    tall = request.POST.get("tall", "").strip()
    found = outline_of_svg(content, length_mm(tall) if tall else None, name)
    return TakenIn(few_rows(found.points_mm), found.notes)


def _table(request: HttpRequest) -> TakenIn:
    from wareboard.form.radii_table import LONGEST, read_radii

    content, name = _file(request.FILES.get("table"), LONGEST, "Send only the columns of height and radius")
    try:
        text = content.decode("utf-8-sig") if content else request.POST.get("radii", "")
    except UnicodeDecodeError:
        raise Unreadable(name, "it is not plain text in UTF-8", "Save the table as CSV in UTF-8") from None
    if not text.strip():
        raise Unreadable(
            "no table", "no file was chosen and the box is empty", "Choose a file, or put the table into the box"
        )
    found = read_radii(text, name)
    points = found.points_mm
    # A table that a person wrote keeps all its rows, where the page can hold them.
    return TakenIn(rows_of(points) if len(points) <= MOST_POINTS - 2 else few_rows(points), found.notes)


def _file(sent: UploadedFile[bytes] | None, most: int, mend: str) -> tuple[bytes, str]:
    if sent is None:
        return b"", ""
    if (sent.size or 0) > most:
        raise OutOfRange(str(sent.name), f"it is larger than {most // 1_000_000} MB", mend)
    content: bytes = sent.read()
    if not content.strip():
        raise Unreadable(str(sent.name), "it is empty", "Choose the file again")
    return content, str(sent.name)
