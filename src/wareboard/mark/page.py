"""Templates set out on pages at 1:1: nested close together, each page with a line of 100 mm to check the print by.

A page is plain shapes in mm, x to the right and y down from its upper left corner, so that a PDF or an SVG draws the same.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.given import not_negative
from wareboard.mark.template import Template
from wareboard.mark.wall import Floats

PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4), "a3": (297.0, 420.0)}
EDGE_MM = 10.0
HEAD_MM, FOOT_MM = 9.0, 15.0
GAP_MM = 2.0
CHECK_MM = 100.0
CELL_MM = 0.5  # of the raster on which templates are nested; the gap takes its roughness up
MOST_PAGES = 40
TURNS = ((0, 2), (1, 3), (0, 2, 1, 3))  # ways of turning that are tried, in quarters
CAUTION = "Cut and clean the lines while the clay is damp: dust of dry clay harms the lungs."
STROKES = {"cut": (0.2, "2 1.2"), "mark": (0.3, ""), "centre": (0.12, "5 1 1 1"), "top": (0.5, ""), "check": (0.3, "")}


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One line on a page: its name (cut, mark, centre, top or check), (n, 2) points in mm, and whether it is closed."""

    name: str
    points_mm: Floats
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Word:
    """Words on a page: where they begin (or their middle), mm; their height, mm; their turn, degrees clockwise."""

    x_mm: float
    y_mm: float
    text: str
    size_mm: float = 3.0
    turn_deg: float = 0.0
    middle: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """One sheet of paper at 1:1."""

    width_mm: float
    height_mm: float
    shapes: tuple[Shape, ...]
    words: tuple[Word, ...]
    templates: int

    def svg(self) -> str:
        """The page as one SVG element in mm, the same for the same page."""
        parts = [_drawn(shape) for shape in self.shapes] + [_written(word) for word in self.words]
        name = "sheet-" + hashlib.sha256("".join(parts).encode()).hexdigest()[:10]
        says = f"{self.templates} templates at life size; the check line is {CHECK_MM:g} mm long when printed true."
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width_mm:g}mm" height="{self.height_mm:g}mm" '
            f'viewBox="0 0 {self.width_mm:g} {self.height_mm:g}" role="img" aria-labelledby="{name}-title {name}-desc" '
            f'fill="none" stroke="currentColor" stroke-linejoin="round" stroke-linecap="butt" '
            f'font-family="system-ui, sans-serif"><title id="{name}-title">{escape(self.words[0].text)}</title>'
            f'<desc id="{name}-desc">{escape(says)}</desc>{"".join(parts)}</svg>'
        )


def _drawn(shape: Shape) -> str:
    wide, dashes = STROKES[shape.name]
    places = " ".join(f"{x:.3f},{y:.3f}" for x, y in shape.points_mm)
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path class="{shape.name}" d="M{places}{"Z" if shape.closed else ""}" stroke-width="{wide:g}"{dashed}/>'


def _written(word: Word) -> str:
    turn = f' transform="rotate({word.turn_deg:g} {word.x_mm:.3f} {word.y_mm:.3f})"' if word.turn_deg else ""
    anchor = ' text-anchor="middle"' if word.middle else ""
    return (
        f'<text x="{word.x_mm:.3f}" y="{word.y_mm:.3f}" font-size="{word.size_mm:g}" fill="currentColor" '
        f'stroke="none"{anchor}{turn}>{escape(word.text)}</text>'
    )


def pages(
    templates: Sequence[Template],
    copies: int | Sequence[int] = 1,
    paper: str = "a4",
    title: str = "Templates for the mark",
    fill: bool = False,
    gap_mm: float = GAP_MM,
) -> tuple[Page, ...]:
    """Pages with so many copies of each template, nested close together and turned by quarters where that saves room.

    Args:
        templates: what to set out; the largest go first.
        copies: how many of each, or of all alike.
        paper: one of `PAPERS_MM`.
        title: words at the top of each page.
        fill: whether to fill what is left of the last page with spare copies of the first template.
        gap_mm: least distance between two templates, mm.
    Raises:
        OutOfRange: if a template is larger than the paper, there are none, or the copies take more than 40 pages.
    Source: first free place on a raster of half a mm, from the top and from the left, upright, sideways and both; the best
        of the six is kept. Every template is fattened by the raster's roughness.
    """
    size = _paper(paper)
    wanted = [copies] * len(templates) if isinstance(copies, int) else list(copies)
    if not templates or len(wanted) != len(templates) or any(count != int(count) or count < 1 for count in wanted):
        raise OutOfRange("copies", why="each template needs a whole number of them, from 1 up", mend="Say how many")
    not_negative(gap_mm, "gap", "mm")
    turned = [[_Turned(each, quarter, gap_mm) for quarter in range(4)] for each in templates]
    best: list[_Floor] | None = None
    clashes = _Clashes()
    for quarters in TURNS:
        ways = [[four[quarter] for quarter in quarters] for four in turned]
        for across in (False, True):
            found = _laid(ways, wanted, partial(_Floor, size, across, clashes), fill)
            if found and (best is None or _better(found, best)):
                best = found
    if best is None:
        raise _too_large(templates, paper, size)
    if len(best) > MOST_PAGES:
        raise OutOfRange("copies", why=f"they take more than {MOST_PAGES} pages", mend="Print fewer, or smaller marks")
    return tuple(_page(size, floor, title, number + 1) for number, floor in enumerate(best))


def _better(found: Sequence[_Floor], best: Sequence[_Floor]) -> bool:
    """Fewer pages; then more spares; then the last page less far filled."""
    one, other = ((len(each), -sum(len(floor.put_down) for floor in each), each[-1].depth) for each in (found, best))
    return one < other


def _laid(
    ways: Sequence[Sequence[_Turned]], wanted: Sequence[int], new_floor: Callable[[], _Floor], fill: bool
) -> list[_Floor]:
    """Pages filled one after another, the largest templates first; none at all where one goes on no page."""
    order = sorted(range(len(ways)), key=lambda i: (-ways[i][0].area_mm2, i))
    waiting = [place for place in order for _ in range(wanted[place])]
    floors: list[_Floor] = []
    while waiting and len(floors) <= MOST_PAGES:
        floor, left, full = new_floor(), [], set()
        for index in waiting:
            if index in full or not floor.put(ways[index]):
                full.add(index)
                left.append(index)
        if len(left) == len(waiting):
            return []
        floors.append(floor)
        waiting = left
    while fill and floors[-1].put(ways[0]):
        pass
    return floors


def _paper(name: str) -> tuple[float, float]:
    try:
        return PAPERS_MM[name.lower()]
    except KeyError:
        raise OutOfRange(f"paper {name!r}", why="its size is not kept", mend="Use " + ", ".join(PAPERS_MM)) from None


def _too_large(templates: Sequence[Template], paper: str, size: tuple[float, float]) -> OutOfRange:
    high, wide = (cells * CELL_MM for cells in cells_on(size))
    largest = max(templates, key=lambda each: each.width_mm * each.height_mm)
    return OutOfRange(
        f"template of {largest.width_mm:.0f} by {largest.height_mm:.0f} mm",
        why=f"it is larger than the {wide:.0f} by {high:.0f} mm that {paper} leaves for it",
        mend="Bring its top edge nearer to the mark, make a narrower repeat, or use larger paper",
    )


class _Turned:
    """A template turned by quarters, in page directions (y down), its least x and y at 0, and its cells on the raster."""

    def __init__(self, template: Template, quarters: int, gap_mm: float) -> None:
        from shapely import Polygon, contains_xy

        angle = quarters * np.pi / 2
        turn = np.rint([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]) @ np.diag([1.0, -1.0])
        edge = template.edge_mm @ turn.T
        self.template, self.quarters, self.turn, self.shift = template, quarters, turn, -edge.min(axis=0)
        fat = Polygon(edge + self.shift).buffer(gap_mm / 2 + CELL_MM * np.sqrt(0.5))
        self.area_mm2 = float(fat.area)
        least, most = np.floor(np.array(fat.bounds).reshape(2, 2) / CELL_MM).astype(int)
        columns, rows = (np.arange(low, high + 1) for low, high in zip(least, most, strict=True))
        x, y = np.meshgrid((columns + 0.5) * CELL_MM, (rows + 0.5) * CELL_MM)
        self.cells: NDArray[np.bool_] = contains_xy(fat, x, y)
        self.first = least  # the raster's corner, in cells from the template's own

    def placed(self, points: Floats, at: Floats) -> Floats:
        return np.asarray(points @ self.turn.T + self.shift + at)


class _Clashes:
    """How many cells two templates share at every offset of one from the other, worked out once for each pair."""

    def __init__(self) -> None:
        self.found: dict[tuple[int, int], NDArray[np.float32]] = {}

    def of(self, down: _Turned, way: _Turned) -> NDArray[np.float32]:
        from scipy.signal import fftconvolve

        key = id(down), id(way)
        if key not in self.found:
            cells = (each.cells.astype(np.float32) for each in (down, way))
            lying, coming = cells
            self.found[key] = np.rint(fftconvolve(lying, coming[::-1, ::-1], mode="full")).astype(np.float32)
        return self.found[key]


class _Floor:
    """What is free on one page; it fills from its top, or (``across``) from its left."""

    def __init__(self, size: tuple[float, float], across: bool, clashes: _Clashes) -> None:
        self.rows, self.columns = cells_on(size)
        self.across, self.clashes = across, clashes
        self.put_down: list[tuple[_Turned, int, int]] = []
        self.clash: dict[int, NDArray[np.float32]] = {}  # for each way, how many cells it would share at each place
        self.known: dict[int, int] = {}  # how many of those put down are counted in it

    @property
    def depth(self) -> int:
        """How far down the page is used, in cells."""
        return max((row + way.cells.shape[0] for way, row, _ in self.put_down), default=0)

    def put(self, ways: Sequence[_Turned]) -> bool:
        """Put a template down in the way and place that reach least far; False when there is no room."""
        best: tuple[tuple[int, int], _Turned, int, int] | None = None
        for way in ways:
            found = self._first_free(way)
            if found is not None:
                row, column = found
                high, wide = way.cells.shape
                score = (column + wide, row) if self.across else (row + high, column)
                if best is None or score < best[0]:
                    best = (score, way, row, column)
        if best is None:
            return False
        self.put_down.append(best[1:])
        return True

    def _first_free(self, way: _Turned) -> tuple[int, int] | None:
        high, wide = way.cells.shape
        if high > self.rows or wide > self.columns:
            return None
        clash = self.clash.setdefault(id(way), np.zeros((self.rows - high + 1, self.columns - wide + 1), np.float32))
        for down, row, column in self.put_down[self.known.get(id(way), 0) :]:
            _add_at(clash, self.clashes.of(down, way), row - high + 1, column - wide + 1)
        self.known[id(way)] = len(self.put_down)
        free = clash.T == 0 if self.across else clash == 0
        if not free.any():
            return None
        first, second = (int(each) for each in np.unravel_index(int(free.argmax()), free.shape))
        return (second, first) if self.across else (first, second)


def cells_on(size: tuple[float, float]) -> tuple[int, int]:
    """Rows and columns of the raster within a page's edges, head and foot."""
    wide, high = size[0] - 2 * EDGE_MM, size[1] - 2 * EDGE_MM - HEAD_MM - FOOT_MM
    return int(high / CELL_MM), int(wide / CELL_MM)


def _add_at(whole: NDArray[np.float32], part: NDArray[np.float32], row: int, column: int) -> None:
    """Add ``part`` to ``whole`` with its corner at a place that may lie outside."""
    top, left = max(0, row), max(0, column)
    low, right = min(whole.shape[0], row + part.shape[0]), min(whole.shape[1], column + part.shape[1])
    if top < low and left < right:
        whole[top:low, left:right] += part[top - row : low - row, left - column : right - column]


def _page(size: tuple[float, float], floor: _Floor, title: str, number: int) -> Page:
    corner = np.array([EDGE_MM, EDGE_MM + HEAD_MM])
    shapes: list[Shape] = []
    words = [Word(EDGE_MM, EDGE_MM + 4.0, f"{title}, page {number}", 4.0)]
    for way, row, column in floor.put_down:
        made, to = way.template, (np.array([column, row]) - way.first) * CELL_MM + corner
        shapes.append(Shape("cut", way.placed(made.edge_mm, to), True))
        shapes.append(Shape("top", way.placed(made.top_mm, to)))
        shapes.append(Shape("centre", way.placed(made.centre_mm, to)))
        shapes += [Shape("mark", way.placed(line.points_mm, to), line.closed) for line in made.lines]
        words.append(_label(way, to))
    x, y = EDGE_MM + 2.0, size[1] - EDGE_MM - 5.0
    ends = ((x, y - 2), (x, y + 2)), ((x, y), (x + CHECK_MM, y)), ((x + CHECK_MM, y - 2), (x + CHECK_MM, y + 2))
    shapes += [Shape("check", np.array(end)) for end in ends]
    words.append(Word(x + CHECK_MM / 2, y - 1.2, f"{CHECK_MM:g} mm when printed true", 3.0, middle=True))
    words.append(Word(x, size[1] - EDGE_MM + 1.0, CAUTION, 2.6))
    return Page(*size, tuple(shapes), tuple(words), len(floor.put_down))


def _label(way: _Turned, to: Floats) -> Word:
    """What to do with the template, just under the middle of its top edge."""
    made = way.template
    text = made.top_words + (", face down" if made.mirrored else "")
    size = min(2.6, 0.9 * float(np.ptp(made.top_mm[:, 0])) / (0.55 * len(text)))
    middle = made.top_mm[len(made.top_mm) // 2] - np.array([0.0, 1.4 * size])
    x, y = way.placed(middle[None, :], to)[0]
    return Word(float(x), float(y), text, round(size, 2), 90.0 * way.quarters, middle=True)
