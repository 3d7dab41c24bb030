"""Life-size patterns to cut out and hold against clay: ribs, rings, a handle's side and strap, bars with marks.

x to the right and y up, mm on the paper, which are mm of the clay at the stage that the pattern is made for.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.draughting import INCH_MM, sixteenths
from wareboard.form.handle import Strap
from wareboard.form.joins import joins_of
from wareboard.form.profile import Profile
from wareboard.form.roots import line_of
from wareboard.given import positive

CARD_MM = 32.0  # of card beside an edge, so that it can be held
STROKES = {
    "cut": (0.3, ""),
    "edge": (0.5, ""),
    "mark": (0.25, ""),
    "centre": (0.15, "5 1 1 1"),
    "band": (0.2, "1.5 1"),
    "tick": (0.15, ""),
}
LETTER_MM, SMALL_MM = 3.6, 3.0
BAR_MM = 14.0
ROOM_FOR_WORDS_MM = 58.0
TICK_MM = 4.0
TICKS_MM = ((1, 3.6), (2, 3.0), (4, 2.4), (8, 1.8), (16, 1.1))  # parts of an inch, and how long their ticks are drawn
AROUND_MM = 3.0
RING_POINTS = 181


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """One line of a pattern: its kind (cut, edge, mark, centre, band, tick), (n, 2) points, and whether it is closed."""

    kind: str
    points_mm: Floats
    closed: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """Words on a pattern, where they begin (or their middle), and their turn in degrees clockwise."""

    x_mm: float
    y_mm: float
    text: str
    size_mm: float = SMALL_MM
    middle: bool = False
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """One life-size pattern: its name, what to do with it, its lines and words."""

    name: str
    use: str
    lines: tuple[Line, ...]
    notes: tuple[Note, ...]

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of all lines with some room, wide and high enough for its words."""
        points = np.vstack([line.points_mm for line in self.lines])
        low, high = points.min(axis=0) - AROUND_MM, points.max(axis=0) + AROUND_MM
        for note in self.notes:
            long = 0.54 * note.size_mm * len(note.text)
            if note.turn_deg:
                continue
            left = note.x_mm - long / 2 if note.middle else note.x_mm
            low = np.minimum(low, [left - 1.0, note.y_mm - note.size_mm / 2])
            high = np.maximum(high, [left + long + 1.0, note.y_mm + note.size_mm * 1.2])
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    def drawn(self, corner: tuple[float, float] | None = None) -> str:
        """Its lines and words as parts of an SVG, x right and y down from a corner; its upper left when left out."""
        left, top = (self.bounds_mm[0], self.bounds_mm[3]) if corner is None else corner
        parts = []
        for line in self.lines:
            wide, dashes = STROKES[line.kind]
            places = " ".join(f"{x - left:.3f},{top - y:.3f}" for x, y in line.points_mm)
            dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
            end = "Z" if line.closed else ""
            parts.append(f'<path class="{line.kind}" d="M{places}{end}" stroke-width="{wide:g}"{dashed}/>')
        for note in self.notes:
            x, y = note.x_mm - left, top - note.y_mm
            turn = f' transform="rotate({note.turn_deg:g} {x:.3f} {y:.3f})"' if note.turn_deg else ""
            anchor = ' text-anchor="middle"' if note.middle else ""
            parts.append(
                f'<text x="{x:.3f}" y="{y:.3f}" font-size="{note.size_mm:g}" fill="currentColor" stroke="none"'
                f"{anchor}{turn}>{escape(note.text)}</text>"
            )
        return "".join(parts)

    def within(self, left: float, low: float, right: float, high: float) -> Pattern:
        """The part of it within a rectangle: lines cut at its edges, and words that begin in it."""
        from shapely import LineString, box, get_coordinates, get_parts

        area, lines = box(left, low, right, high), []
        for line in self.lines:
            points = np.vstack([line.points_mm, line.points_mm[:1]]) if line.closed else line.points_mm
            parts = get_parts(LineString(points).intersection(area))
            lines += [Line(line.kind, get_coordinates(part)) for part in parts if part.geom_type == "LineString"]
        notes = tuple(note for note in self.notes if left <= note.x_mm <= right and low <= note.y_mm <= high)
        return Pattern(self.name, self.use, tuple(lines), notes)

    def svg(self) -> str:
        """The pattern as an SVG of its own, life size."""
        left, low, right, high = self.bounds_mm
        wide, tall = right - left, high - low
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{tall:.3f}mm" '
            f'viewBox="0 0 {wide:.3f} {tall:.3f}" role="img" fill="none" stroke="currentColor" '
            f'font-family="system-ui, sans-serif"><title>{escape(self.name)}</title>'
            f"<desc>{escape(self.use)}. Life size.</desc>{self.drawn()}</svg>"
        )


def said(value_mm: float, unit: str = "mm") -> str:
    """A length as it is written on a pattern: to a tenth of a millimetre, or a sixteenth of an inch."""
    return f"{sixteenths(value_mm)} in" if unit == "in" else f"{value_mm:.1f} mm"


def ticks(long_mm: float, unit: str, y_mm: float = 0.0) -> tuple[Line, ...]:
    """Ticks of an inch along a bar from its left end: sixteenths, longer at eighths, quarters, halves and whole inches.

    None for a bar in mm, which is set by its ends alone.
    """
    if unit != "in":
        return ()
    found = []
    for count in range(1, int(long_mm / (INCH_MM / 16) - 1e-9) + 1):
        deep = next(size for parts, size in TICKS_MM if count % (16 // parts) == 0)
        x = count * INCH_MM / 16
        found.append(Line("tick", np.array([[x, y_mm - deep], [x, y_mm]])))
    return tuple(found)


def _side(line: Floats, top_mm: float) -> Floats:
    """(radius, height) points of a rising line up to a height, cut there."""
    below = line[line[:, 0] < top_mm - 1e-9]
    end = [top_mm, float(np.interp(top_mm, line[:, 0], line[:, 1]))]
    return np.vstack([below, end])[:, ::-1]


def _along(words: str, upright_mm: float, level_mm: float, edge: Floats) -> Note:
    """Words up a card where it is high enough for them, else under it."""
    low, high = float(edge[:, 1].min()), float(edge[:, 1].max())
    if high - low > 0.54 * SMALL_MM * len(words) + 10.0:
        return Note(upright_mm, low + 6.0, words, SMALL_MM, turn_deg=-90.0)
    return Note(level_mm, low - 5.0, words, SMALL_MM)


def outer_rib(profile: Profile, stage: str = "wet", unit: str = "mm") -> Pattern:
    """A rib whose edge is the outside of the wall, from the foot to under the lip; it also gives the height.

    Args:
        profile: at the stage.
        stage: in plain words.
        unit: of its words, "mm" or "in".
    """
    edge = _side(profile.outer_mm[profile.standing :], profile.height_mm - profile.lip_mm)
    far = float(edge[:, 0].max()) + CARD_MM
    rim = float(edge[-1, 0])
    stop = np.array([[rim, profile.height_mm], [far, profile.height_mm]])
    card = np.vstack([edge, stop, [[far, 0.0]]])
    note = _along(f"outer rib, {stage}; height {said(profile.height_mm, unit)}", far - 6.0, float(edge[0, 0]), edge)
    top = Line("mark", np.array([[rim - 6.0, profile.height_mm], [rim, profile.height_mm]]))
    return Pattern(
        f"Outer rib, {stage}",
        "Cut along the thick edge and hold it to the outside, its foot on the bat",
        (Line("cut", card, True), Line("edge", edge), top),
        (note, Note(rim + 2.0, profile.height_mm - 5.0, "rim", SMALL_MM)),
    )


def inner_rib(profile: Profile, stage: str = "wet", unit: str = "mm") -> Pattern:
    """A rib whose edge is the inside of the wall, from the middle of the floor to under the lip."""
    edge = _side(profile.inner_mm, profile.height_mm - profile.lip_mm)
    top = profile.height_mm
    card = np.vstack([edge, [[0.0, float(edge[-1, 1])]]])
    floor = float(profile.inner_mm[0, 0])
    note = _along(f"inner rib, {stage}; depth {said(top - floor, unit)}", 7.0, 1.0, edge)
    middle = Line("centre", np.array([[0.0, floor], [0.0, float(edge[-1, 1])]]))
    return Pattern(
        f"Inner rib, {stage}",
        "Cut along the thick edge; the dashed edge stands on the middle of the floor",
        (Line("cut", card, True), Line("edge", edge), middle),
        (note,),
    )


def foot_ring(profile: Profile, stage: str = "leather-hard", unit: str = "mm") -> Pattern:
    """The foot from below as circles: the standing edge and, where one is turned, the inner edge of its ring."""
    under = profile.outer_mm[: profile.standing + 1]
    outer = float(under[-1, 1])
    on_the_ground = under[np.abs(under[:, 0]) < 1e-6, 1]
    inner = float(on_the_ground.min())
    turn = np.linspace(0.0, 2 * math.pi, RING_POINTS)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    cross = max(3.0, outer / 8)
    lines = [Line("edge", outer * ring, True), Line("centre", np.array([[-cross, 0.0], [cross, 0.0]]))]
    lines.append(Line("centre", np.array([[0.0, -cross], [0.0, cross]])))
    words = f"foot {said(2 * outer, unit)} across"
    notes = [Note(0.0, -outer - 4.5, f"{words}, {stage}", SMALL_MM, middle=True)]
    if 1e-6 < inner < outer - 1e-6:
        lines.append(Line("edge", inner * ring, True))
        deep = float(under[:, 0].max())
        notes.append(
            Note(
                0.0,
                -outer - 9.0,
                f"ring {said(outer - inner, unit)} wide, {said(deep, unit)} deep",
                SMALL_MM,
                middle=True,
            )
        )
    return Pattern(f"Foot, {stage}", "Cut out and centre it on the turned-over piece", tuple(lines), tuple(notes))


def bars(name: str, use: str, lengths: Sequence[tuple[str, float]], unit: str = "mm") -> Pattern:
    """Lengths to set a caliper to, or to measure against, one under the other from a common left edge.

    Args:
        name, use: of the pattern.
        lengths: what each is, and its mm.
        unit: "mm", or "in" for sixteenths with ticks.
    Raises:
        OutOfRange: if there is none, or one is not a finite number above 0.
    """
    if not lengths:
        raise OutOfRange(name, why="it holds no length", mend="Give the form a size")
    lines, notes = [], []
    for number, (what, long) in enumerate(lengths):
        y = -number * BAR_MM
        positive(long, what, "mm")
        lines.append(Line("edge", np.array([[0.0, y], [long, y]])))
        lines += ticks(long, unit, y)
        lines += [Line("mark", np.array([[x, y - TICK_MM], [x, y + TICK_MM]])) for x in (0.0, long)]
        words = f"{what}: {said(long, unit)}"
        fits = 0.54 * SMALL_MM * len(words) + 4.0 < long
        notes.append(Note(1.5, y + 1.4, words, SMALL_MM) if fits else Note(long + 2.0, y - 1.0, words, SMALL_MM))
    return Pattern(name, use, tuple(lines), tuple(notes))


def handle_side(
    profile: Profile,
    handle: Strap,
    stage: str,
    fit: Sequence[str] = (),
    at_mm: float | None = None,
    round_words: str = "",
    unit: str = "mm",
) -> Pattern:
    """The handle from the side on a card whose straight foot stands on the bat and whose edge lies against the wall.

    Args:
        profile, handle: at the stage; the handle's sizes and line already of that stage.
        stage: in plain words.
        fit: lines of words to print on the card, such as the room for fingers.
        at_mm: height of the handle's lower end; midway up the piece when left out.
        round_words: where it stands round the body.
    """
    line = line_of(profile, handle, at_mm)
    direction = np.gradient(line, axis=0)
    direction[0], direction[-1] = (0.0, 1.0), (0.0, -1.0)
    direction /= np.hypot(*direction.T)[:, None]
    square = np.column_stack([-direction[:, 1], direction[:, 0]])
    half = handle.thickness_mm * (handle.taper + (1 - handle.taper) * np.linspace(0, 1, len(line)))[:, None] / 2
    sides = [(line + sign * half * square)[:, ::-1] for sign in (1.0, -1.0)]
    edge = _side(profile.outer_mm[profile.standing :], profile.height_mm - profile.lip_mm)
    out = float(max(side[:, 0].max() for side in sides))
    far = out + ROOM_FOR_WORDS_MM
    card = np.vstack([edge, [[far, float(edge[-1, 1])], [far, 0.0]]])
    lines = [Line("cut", card, True), Line("edge", edge), *(Line("edge", side) for side in sides)]
    lines.append(Line("centre", line[:, ::-1]))
    notes = []
    for at, join in zip((line[0], line[-1]), joins_of(profile, handle, at_mm), strict=True):
        lines.append(Line("mark", np.array([[at[1] - 8.0, at[0]], [at[1], at[0]]])))
        told = (f"{join.root} root {said(at[0], unit)} up", *join.words.split("; "))
        notes += [Note(out + 3.0, float(at[0]) - 1.0 - 4.6 * row, text, SMALL_MM) for row, text in enumerate(told)]
    if round_words:
        notes.append(Note(out + 3.0, float(line[-1, 0]) - 1.0 - 4.6 * 4, round_words, SMALL_MM))
    middle = float(line[0, 0] + line[-1, 0]) / 2
    notes += [Note(out + 3.0, middle - 5.0 * number, words, SMALL_MM) for number, words in enumerate(fit)]
    return Pattern(
        f"Handle, {stage}",
        "Cut the card along the wall; stand it on the bat and join the handle to its two marks",
        tuple(lines),
        tuple(notes),
    )


def strap_flat(
    length_mm: float, pull_mm: float, width_mm: float, taper: float, thickness_mm: float, unit: str = "mm"
) -> Pattern:
    """The strap laid flat, wet: where to cut it, and how much longer to pull it.

    Args:
        length_mm, pull_mm: from cut to cut, and of the pulled strap in all.
        width_mm, thickness_mm: at the upper root; ``taper`` of both is left at the lower.
    """
    over = (pull_mm - length_mm) / 2
    low, high = width_mm * taper / 2, width_mm / 2
    slope = (high - low) / length_mm
    start, end = low - slope * over, high + slope * over
    outline = np.array([[-over, -start], [length_mm + over, -end], [length_mm + over, end], [-over, start]])
    cuts = [Line("edge", np.array([[x, -y - 4.0], [x, y + 4.0]])) for x, y in ((0.0, low), (length_mm, high))]
    below = -end - 7.0
    words = (
        f"pull {said(pull_mm, unit)} long, cut {said(length_mm, unit)} at the thick lines",
        f"wet: {_by(width_mm, thickness_mm, unit)} above, {_by(width_mm * taper, thickness_mm * taper, unit)} below",
    )
    notes = [Note(0.0, below - 4.6 * number, text, SMALL_MM) for number, text in enumerate(words)]
    return Pattern(
        "Strap, wet", "Lay the pulled strap on it and cut", (Line("cut", outline, True), *cuts), tuple(notes)
    )


def _by(wide_mm: float, thick_mm: float, unit: str) -> str:
    return f"{said(wide_mm, unit).removesuffix(f' {unit}')} by {said(thick_mm, unit)}"
