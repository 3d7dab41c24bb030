"""Lines of a drawing saved as SVG, read without running, fetching or expanding anything in it."""

from __future__ import annotations

import contextlib
import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from xml.parsers import expat

import numpy as np

from wareboard.errors import Unreadable
from wareboard.svg_path import NUMBER, Floats, matrix_of, subpaths

MOST_BYTES = 5_000_000
MOST_POINTS = 300_000
DEEPEST = 100
MM_IN = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96, "": 25.4 / 96, "q": 0.25}
LENGTH = re.compile(r"^\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(mm|cm|in|pt|pc|px|q|%|)\s*$", re.IGNORECASE)
# Never drawn by themselves: what stands in them is left alone unless something asks for it.
NOT_DRAWN = {"defs", "symbol", "clippath", "mask", "pattern", "marker", "metadata", "title", "desc", "style", "filter"}
REFUSED = {"script": "a script", "foreignobject": "a web page", "iframe": "a web page", "handler": "a script"}
LEFT_OUT = {
    "text": "words: turn them into outlines first",
    "image": "a picture: trace it by itself",
    "use": "a copy made by reference: make it a drawing of its own first",
    "switch": "a choice between drawings",
}
SHAPES = {"path", "line", "polyline", "polygon", "rect", "circle", "ellipse"}


@dataclass(frozen=True, slots=True, eq=False)
class SvgLine:
    """One line: (n, 2) in mm, x to the right and y up; ``closed`` when its end is its beginning (which is not repeated)."""

    points_mm: Floats
    closed: bool


def lines_in_svg(
    text: str | bytes, within_mm: float = 0.02, name: str = ""
) -> tuple[tuple[SvgLine, ...], tuple[str, ...]]:
    """The lines of an SVG in mm, y up, curves in chords no further off than ``within_mm``; and notes of what was left out.

    Nothing is fetched, run or expanded. Fills, strokes and colours are not looked at; what is hidden is left out, and what
    cannot be drawn as lines (words, pictures, copies by reference) is told in the notes.

    Args:
        text: the whole file.
        within_mm: farthest a chord may lie from its curve at the drawing's own size, mm.
        name: what to call the file in a refusal.
    Raises:
        Unreadable: if it is no SVG, holds entities, a script or a web page, is over 5 MB, or holds no lines.
    Source: W3C, Scalable Vector Graphics 1.1 (second edition, 2011).
    """
    called = name or "the drawing"
    if len(text) > MOST_BYTES:
        raise Unreadable(called, "it is larger than 5 MB", "Save only the lines themselves, as plain SVG")
    reader = _Reader(within_mm, called)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = reader.opened
    parser.EndElementHandler = reader.shut
    parser.EntityDeclHandler = reader.entity
    try:
        parser.Parse(text.encode("utf-8") if isinstance(text, str) else text, True)
    except (expat.ExpatError, UnicodeError, ValueError) as fault:
        if isinstance(fault, Unreadable):
            raise
        raise Unreadable(called, f"it is not SVG ({fault})", "Save the drawing as plain SVG") from fault
    if not reader.lines:
        left = "; ".join(reader.notes())
        raise Unreadable(
            called, "there are no lines in it" + (f" ({left})" if left else ""), "Draw it as paths or shapes"
        )
    return tuple(reader.lines), reader.notes()


def own_size(text: str | bytes) -> bool:
    """Whether an SVG states its size on paper, in mm, cm, inches, points or picas."""
    given: dict[str, str] = {}

    def opened(_: str, attributes: Mapping[str, str]) -> None:
        if not given:
            given.update({"": "", **{key.lower(): value for key, value in attributes.items()}})

    parser = expat.ParserCreate()
    parser.StartElementHandler = opened
    with contextlib.suppress(expat.ExpatError, UnicodeError, ValueError):
        parser.Parse(text.encode("utf-8") if isinstance(text, str) else text, True)
    sizes = [LENGTH.match(given.get(side, "")) for side in ("width", "height")]
    return any(size is not None and size[2].lower() in {"mm", "cm", "in", "pt", "pc", "q"} for size in sizes)


class _Reader:
    """Gathers lines while the parser walks through the file."""

    def __init__(self, within_mm: float, called: str) -> None:
        self.within_mm, self.called = within_mm, called
        self.matrices: list[Floats] = []
        self.hidden = 0  # depth within something that is not drawn
        self.lines: list[SvgLine] = []
        self.points = 0
        self.left_out: Counter[str] = Counter()

    def notes(self) -> tuple[str, ...]:
        return tuple(f"left out {count} × {what}" for what, count in sorted(self.left_out.items()))

    def entity(self, *_: object) -> None:
        raise Unreadable(self.called, "it declares entities, which can hide anything", "Save it again as plain SVG")

    def opened(self, full_name: str, attributes: Mapping[str, str]) -> None:
        name = full_name.rsplit(" ", 1)[-1].lower()
        given = {key.rsplit(" ", 1)[-1].lower(): value for key, value in attributes.items()}
        self._refuse_what_runs(name, given)
        if not self.matrices:
            if name != "svg":
                raise Unreadable(self.called, f"it is a <{name}> and no SVG", "Save the drawing as plain SVG")
            self.matrices.append(_page(given))
            return
        if len(self.matrices) + self.hidden > DEEPEST:
            raise Unreadable(self.called, "its groups lie too deep in one another", "Save it again as plain SVG")
        if self.hidden or name in NOT_DRAWN or name in LEFT_OUT or name == "svg" or _is_hidden(given):
            if not self.hidden and name in {*LEFT_OUT, "svg"}:
                self.left_out[LEFT_OUT.get(name, "a drawing within the drawing")] += 1
            self.hidden += 1
            return
        matrix = self.matrices[-1] @ matrix_of(given.get("transform", ""))
        self.matrices.append(matrix)
        if name in SHAPES:
            self._draw(_path_of(name, given), matrix)

    def shut(self, _: str) -> None:
        if self.hidden:
            self.hidden -= 1
        else:
            self.matrices.pop()

    def _refuse_what_runs(self, name: str, given: Mapping[str, str]) -> None:
        runs = REFUSED.get(name)
        for key, value in given.items():
            if key.startswith("on") or (key == "href" and re.match(r"\s*(?:java|vb)script:", value, re.IGNORECASE)):
                runs = "a script"
        if runs:
            raise Unreadable(self.called, f"it holds {runs}", "Save it again as plain SVG, with nothing that runs")

    def _draw(self, d: str, matrix: Floats) -> None:
        size = float(np.linalg.norm(matrix[:2, :2], 2))
        if not (np.isfinite(size) and size > 0):
            return
        for points, closed in subpaths(d, self.within_mm / size):
            self.points += len(points)
            if self.points > MOST_POINTS:
                raise Unreadable(self.called, "it holds too many lines", "Simplify the drawing first")
            placed = points @ matrix[:2, :2].T + matrix[:2, 2]
            if np.ptp(placed, axis=0).max() > 0:
                self.lines.append(SvgLine(placed * np.array([1.0, -1.0]), closed))


def _is_hidden(given: Mapping[str, str]) -> bool:
    style = given.get("style", "").lower().replace(" ", "")
    return (
        given.get("display") == "none"
        or given.get("visibility") in {"hidden", "collapse"}
        or "display:none" in style
        or "visibility:hidden" in style
    )


def _length_mm(text: str) -> float | None:
    found = LENGTH.match(text)
    if found is None or found[2] == "%":
        return None
    return float(found[1]) * MM_IN[found[2].lower()]


def _page(given: Mapping[str, str]) -> Floats:
    """From the drawing's own units to mm: by its size and view box, or a 96th of an inch where it has none."""
    box = [float(each) for each in NUMBER.findall(given.get("viewbox", ""))]
    unit = MM_IN["px"]
    if len(box) == 4 and box[2] > 0 and box[3] > 0:
        sizes = (_length_mm(given.get("width", "")), _length_mm(given.get("height", "")))
        scales = [size / span for size, span in zip(sizes, box[2:], strict=True) if size and size > 0]
        unit = min(scales) if scales else unit
    return np.diag([unit, unit, 1.0])


def _path_of(name: str, given: Mapping[str, str]) -> str:
    """A plain shape as path data (W3C SVG 1.1 chapter 9)."""

    def number(key: str) -> float:
        # Sizes with a unit are rare in shapes; a percentage has no meaning without its page and counts as 0.
        mm = _length_mm(given.get(key, "0"))
        return 0.0 if mm is None else mm / MM_IN["px"]

    match name:
        case "path":
            return given.get("d", "")
        case "line":
            return f"M{number('x1')} {number('y1')}L{number('x2')} {number('y2')}"
        case "polyline" | "polygon":
            listed = given.get("points", "").strip()
            return f"M{listed}{'Z' if name == 'polygon' else ''}" if listed else ""
        case "rect":
            return _rectangle(number, given)
    rx, ry = (number("r"), number("r")) if name == "circle" else (number("rx"), number("ry"))
    cx, cy = number("cx"), number("cy")
    if rx <= 0 or ry <= 0:
        return ""
    return f"M{cx - rx} {cy}A{rx} {ry} 0 0 1 {cx + rx} {cy}A{rx} {ry} 0 0 1 {cx - rx} {cy}Z"


def _rectangle(number, given: Mapping[str, str]) -> str:  # type: ignore[no-untyped-def]
    x, y, wide, high = (number(key) for key in ("x", "y", "width", "height"))
    if wide <= 0 or high <= 0:
        return ""
    rx = min(number("rx") if "rx" in given else number("ry"), wide / 2)
    ry = min(number("ry") if "ry" in given else number("rx"), high / 2)
    if rx <= 0 or ry <= 0:
        return f"M{x} {y}h{wide}v{high}h{-wide}Z"
    return (
        f"M{x + rx} {y}h{wide - 2 * rx}a{rx} {ry} 0 0 1 {rx} {ry}v{high - 2 * ry}a{rx} {ry} 0 0 1 {-rx} {ry}"
        f"h{2 * rx - wide}a{rx} {ry} 0 0 1 {-rx} {-ry}v{2 * ry - high}a{rx} {ry} 0 0 1 {rx} {-ry}Z"
    )
