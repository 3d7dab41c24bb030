"""The points of an outline as a page shows, takes back and draws them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from django.http import HttpRequest
from django.utils.safestring import SafeString, mark_safe

from wareboard.errors import Problems, Unreadable, WareboardError

if TYPE_CHECKING:
    from wareboard.form.curve import Floats

MOST_POINTS = 40
NEAREST_MM = 0.3
ROOM_MM = 8.0


@dataclass(frozen=True, slots=True)
class Row:
    """A point of the outline as it is written: its height and the whole width there, mm."""

    at: int
    height: str
    width: str


@dataclass(frozen=True, slots=True)
class HandleSizes:
    """A handle's fired sizes as they are written, and whether they go with the outline."""

    height: str
    gap: str
    thickness: str
    wanted: bool = True

    @property
    def fields(self) -> dict[str, str]:
        """The sizes that are written, by their names in a brief; none where the handle is not wanted."""
        sizes = {"height": self.height, "gap": self.gap, "thickness": self.thickness}
        return {key: _with_unit(size) for key, size in sizes.items() if size} if self.wanted else {}


def _with_unit(written: str) -> str:
    """The boxes say mm, so a bare figure there is mm."""
    try:
        return f"{float(written.replace(',', '.')):g} mm"
    except ValueError:
        return written


def sent_handle(request: HttpRequest) -> HandleSizes | None:
    """The handle that a form sent; None where the page asked for none."""
    if "handle-height" not in request.POST:
        return None
    tall, gap, thick = (request.POST.get(f"handle-{name}", "").strip() for name in ("height", "gap", "thickness"))
    return HandleSizes(tall, gap, thick, request.POST.get("handle") == "yes")


def sent_rows(request: HttpRequest) -> list[Row]:
    """The points that a form sent; one with both boxes empty is left out."""
    found: list[Row] = []
    for at in range(MOST_POINTS):
        tall, wide = (request.POST.get(f"{name}-{at}", "").strip() for name in ("height", "width"))
        if tall or wide:
            found.append(Row(len(found), tall, wide))
    return found


def few_rows(points_mm: Sequence[Sequence[float]] | Floats) -> list[Row]:
    """An outline of (height, radius), mm, as rows: as few as draw it within 0.3 mm, and no more than a page can hold."""
    from wareboard.form.traced import points_for_a_smooth_line

    return rows_of(points_for_a_smooth_line(points_mm, NEAREST_MM, MOST_POINTS - 2))


def rows_of(points_mm: Sequence[Sequence[float]] | Floats) -> list[Row]:
    """Every point of an outline of (height, radius), mm, as a row."""
    return [Row(at, f"{tall:.1f}", f"{2.0 * wide:.1f}") for at, (tall, wide) in enumerate(points_mm)]


def pairs_of(rows: Sequence[Row]) -> list[tuple[float, float]]:
    """(height, whole width), mm, from the lowest to the highest.

    Raises:
        Problems: naming each point that cannot be read. Unreadable: with fewer than two of them.
    """
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
        raise Unreadable("the outline", "it has fewer than two points", "Read a photograph, a drawing or a table first")
    # Stable: a level step keeps the order in which its two points were given.
    return sorted(pairs, key=lambda pair: pair[0])


def plain_board(rows: Sequence[Row]) -> SafeString:
    """A plain ground for the points where there is no picture: the axis and the board that the piece stands on."""
    try:
        pairs = pairs_of(rows)
    except WareboardError:
        return mark_safe("")
    tall, half = pairs[-1][0] + ROOM_MM, max(width for _, width in pairs) / 2 + ROOM_MM
    w, h = 2 * half, tall + ROOM_MM
    places = np.array([[1.0, 0.0, half], [0.0, -1.0, tall], [0.0, 0.0, 1.0]])
    # Only figures of our own go in.
    return mark_safe(
        f'<svg viewBox="0 0 {w:.1f} {h:.1f}" role="img" aria-label="The outline" '
        f'data-points="outline-points" data-places="{written_places(places)}">'
        f'<rect class="plain-board" width="{w:.1f}" height="{h:.1f}"/>'
        f'<path class="plain-axis" d="M{half:.1f} 0V{h:.1f}"/><path class="plain-foot" d="M0 {tall:.1f}H{w:.1f}"/>'
        + "".join(
            f'<polyline class="{kind}" points="'
            + " ".join(f"{half + side * width / 2:.2f},{tall - height:.2f}" for height, width in pairs)
            + '"/>'
            for side in (-1, 1)
            for kind in ("point-line-under", "point-line")
        )
        + "</svg>"
    )


def written_places(places: Floats) -> str:
    """A matrix from (radius, height), mm, to places in a drawing, row by row, as the page's script reads it."""
    return " ".join(f"{each:.9g}" for each in (places / places[2, 2]).ravel())
