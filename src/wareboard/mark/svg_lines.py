"""A mark's drawing read from an SVG file."""

from __future__ import annotations

from wareboard.mark.drawing import Drawing, Line
from wareboard.svg_lines import lines_in_svg


def read_svg(
    text: str | bytes, kind: str = "lines", cut: str = "incised", within_mm: float = 0.02, name: str = ""
) -> Drawing:
    """The drawing in an SVG, mm, y up; see `wareboard.svg_lines.lines_in_svg`, whose notes it carries.

    Args:
        text: the whole file.
        kind, cut: as in `Drawing`.
        within_mm: farthest a chord may lie from its curve at the drawing's own size, mm.
        name: what to call the file in a refusal.
    Raises:
        Unreadable: if it is no SVG, holds entities, a script or a web page, is over 5 MB, or holds no lines.
    """
    lines, notes = lines_in_svg(text, within_mm, name)
    return Drawing(tuple(Line(line.points_mm, line.closed) for line in lines), kind, cut, notes)
