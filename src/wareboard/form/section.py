"""A half section and half elevation of a piece, drawn true to size: left the cut wall, right the outside.

The drawing is SVG in millimetres on the paper; every line and letter takes ``currentColor``, so that it prints black and
shows light on a dark page.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable
from xml.sax.saxutils import escape

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.form.curve import Floats
from wareboard.form.handle import Strap
from wareboard.form.profile import Profile
from wareboard.form.roots import line_of
from wareboard.form.vessel import fill_height_mm
from wareboard.given import positive

DIMENSIONS = ("height", "rim", "foot", "widest")
# Sizes on the paper, mm, whatever the scale of the piece.
LETTER, SMALL, GAP, ARROW = 3.4, 2.8, 7.0, 1.8
LEFT, TOP, RIGHT = 20.0, 14.0, 6.0
CHECK_LINES_MM = (100.0, 50.0)
ROOT_MM = 15.0
SHARP = np.cos(np.radians(25.0))


def section_svg(
    profile: Profile,
    scale: float = 1.0,
    title: str = "Section",
    dims: bool | Collection[str] = True,
    handle: Strap | None = None,
    handle_at_mm: float | None = None,
    fill_ml: float | None = None,
    note: str = "",
    name: str = "",
    check_line: bool = True,
) -> str:
    """The drawing as SVG text, one element, the same for the same piece.

    Args:
        profile: the piece, at the stage to be drawn.
        scale: paper mm for each mm of the piece; 1 is life size. Measures written on it stay those of the piece.
        title: name of the piece, for the eye and for a screen reader.
        dims: which measures to draw, of `DIMENSIONS`; True for those that say something, False for none.
        handle: a strap to draw on the right, its lower end ``handle_at_mm`` above the foot (midway when left out).
        fill_ml: a liquid whose level is drawn inside, ml.
        note: a line of words under the title, such as the stage that the sizes belong to.
        name: the id that the drawing's title and description go by; worked out of its content when left out.
        check_line: a line of known length to measure before the print is used.
    Raises:
        OutOfRange: if the scale is not a finite number above 0, a measure has no such name, or handle or liquid do not fit.
    """
    positive(scale, "scale")
    wanted = _wanted(profile, dims)
    outline = np.zeros((0, 2)) if handle is None else _handle_outline(profile, handle, handle_at_mm)
    half = profile.widest_mm / 2 * scale
    reach = max(half, float(outline[:, 1].max()) * scale if len(outline) else 0.0)
    left = LEFT if "height" in wanted else RIGHT
    top = TOP if "rim" in wanted else RIGHT
    sheet = _Sheet(left + half, top + profile.height_mm * scale, scale)
    parts = [
        *_elevation(sheet, profile),
        *_handle(sheet, outline, handle),
        *_cut(sheet, profile),
        *_liquid(sheet, profile, fill_ml),
        *_centre_line(sheet, profile),
    ]
    measures, below = _measures(sheet, profile, wanted)
    width = max(sheet.x0 + reach + RIGHT + (9.0 if handle else 0.0), 2 * RIGHT + 62.0)
    caption, height = _caption(sheet, profile, title, note, below, check_line, width)
    parts += measures + caption
    says = _description(profile, scale, note, handle, fill_ml)
    mark = name or "section-" + hashlib.sha256("".join([title, *parts]).encode()).hexdigest()[:10]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="0 0 {_n(width)} {_n(height)}" role="img" aria-labelledby="{mark}-title {mark}-desc" '
        f'fill="none" stroke="currentColor" stroke-width="0.35" stroke-linejoin="round" stroke-linecap="round" '
        f'font-family="system-ui, sans-serif">'
        f'<title id="{mark}-title">{escape(title)}</title><desc id="{mark}-desc">{escape(says)}</desc>'
        f"{''.join(parts)}</svg>"
    )


def _wanted(profile: Profile, dims: bool | Collection[str]) -> tuple[str, ...]:
    if dims is False:
        return ()
    if dims is True:
        bulges = profile.widest_mm > max(profile.rim_mm, profile.foot_mm) + 1.0
        return DIMENSIONS if bulges else DIMENSIONS[:3]
    for each in dims:
        if each not in DIMENSIONS:
            raise OutOfRange(f"measure {each!r}", why="none is drawn by that name", mend="Use " + ", ".join(DIMENSIONS))
    return tuple(each for each in DIMENSIONS if each in dims)


class _Sheet:
    """Where the piece stands on the paper: from (height, radius) in mm to (x, y) on the sheet."""

    def __init__(self, x0: float, y0: float, scale: float) -> None:
        self.x0, self.y0, self.scale = x0, y0, scale

    def x(self, radius_mm: float) -> float:
        return self.x0 + radius_mm * self.scale

    def y(self, height_mm: float) -> float:
        return self.y0 - height_mm * self.scale

    def path(self, points_mm: Floats, closed: bool = False) -> str:
        places = " ".join(f"{_n(self.x(radius))},{_n(self.y(height))}" for height, radius in points_mm)
        return f"M{places}{'Z' if closed else ''}"


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _mm(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


def _cut(sheet: _Sheet, profile: Profile) -> Iterable[str]:
    """The wall as a saw would show it, filled, on the left."""
    loop = np.vstack([profile.outer_mm, profile.inner_mm[::-1]]) * np.array([1.0, -1.0])
    yield f'<path class="cut" d="{sheet.path(loop, closed=True)}" fill="currentColor" fill-opacity="0.82"/>'
    # The far edge of the rim is seen across the open inside.
    high, mouth = profile.height_mm, float(profile.inner_mm[-1, 1])
    yield _stroke(sheet.x(-mouth), sheet.y(high), sheet.x(0), sheet.y(high), 0.25)


def _elevation(sheet: _Sheet, profile: Profile) -> Iterable[str]:
    """The outside seen from the front, on the right, with a line round it wherever it has an edge."""
    side = profile.outer_mm[profile.standing :]
    shape = np.vstack([[0.0, 0.0], side, [profile.height_mm, 0.0]])
    yield f'<path class="outside" d="{sheet.path(shape, closed=True)}" fill="currentColor" fill-opacity="0.06"/>'
    steps = np.diff(side, axis=0)
    steps = steps / np.hypot(*steps.T)[:, None]
    turns = (steps[1:] * steps[:-1]).sum(axis=1)
    for height, radius in side[1:-1][turns < SHARP]:
        yield _stroke(sheet.x(0), sheet.y(height), sheet.x(radius), sheet.y(height), 0.2)


def _centre_line(sheet: _Sheet, profile: Profile) -> Iterable[str]:
    ends = sheet.y(profile.height_mm) - 3.0, sheet.y(0) + 1.5
    yield (
        f'<path d="M{_n(sheet.x0)},{_n(ends[0])}V{_n(ends[1])}" stroke-width="0.2" '
        f'stroke-dasharray="4 1 0.6 1" stroke-linecap="butt"/>'
    )


def _liquid(sheet: _Sheet, profile: Profile, fill_ml: float | None) -> Iterable[str]:
    if fill_ml is None:
        return
    level = fill_height_mm(profile, fill_ml)
    edge, y = sheet.x(-profile.radius_at_mm(level, inside=True)), sheet.y(level)
    yield f'<path d="M{_n(edge)},{_n(y)}H{_n(sheet.x0)}" stroke-width="0.25" stroke-dasharray="1.5 1"/>'
    yield _text((edge + sheet.x0) / 2, y + SMALL + 0.6, f"{_mm(fill_ml)} ml", SMALL)


def _handle_outline(profile: Profile, handle: Strap, at_mm: float | None) -> Floats:
    """The handle's side view as a loop of (height, radius), its ends lying in the wall."""
    line = line_of(profile, handle, at_mm)
    # The roots run on level into the wall, and are then cut off where it begins, however it leans.
    deep = np.linspace(ROOT_MM, 0.0, 13)[:-1, None] * np.array([0.0, 1.0])
    line = np.vstack([line[0] - deep, line, line[-1] - deep[::-1]])
    direction = np.gradient(line, axis=0)
    direction /= np.hypot(*direction.T)[:, None]
    across = np.column_stack([-direction[:, 1], direction[:, 0]])
    along = np.clip((np.arange(len(line)) - len(deep)) / (len(handle.centre_mm) - 1), 0.0, 1.0)
    thick = handle.thickness_mm * (handle.taper + (1 - handle.taper) * along)
    outer, inner = line + across * thick[:, None] / 2, line - across * thick[:, None] / 2
    loop = np.vstack([outer, inner[::-1]])
    walls = [profile.radius_at_mm(float(height)) for height in np.clip(loop[:, 0], 0.0, profile.height_mm)]
    loop[:, 1] = np.maximum(loop[:, 1], walls)
    return loop


def _handle(sheet: _Sheet, outline: Floats, handle: Strap | None) -> Iterable[str]:
    if handle is None:
        return
    yield (
        f'<path class="handle" d="{sheet.path(outline, closed=True)}" fill="currentColor" fill-opacity="0.06" '
        f'stroke-width="0.35"/>'
    )
    # The strap's own section, turned into the paper, beside the middle of the handle.
    tall, thick = (size * (1 + handle.taper) / 2 * sheet.scale for size in (handle.width_mm, handle.thickness_mm))
    x = sheet.x(float(outline[:, 1].max())) + 2.0
    y = sheet.y(float(outline[:, 0].min() + outline[:, 0].max()) / 2) - tall / 2
    yield (
        f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(thick)}" height="{_n(tall)}" rx="{_n(thick / 2)}" '
        f'fill="currentColor" fill-opacity="0.82" stroke-width="0.2"/>'
    )


def _stroke(x1: float, y1: float, x2: float, y2: float, wide: float) -> str:
    return f'<path d="M{_n(x1)},{_n(y1)}L{_n(x2)},{_n(y2)}" stroke-width="{_n(wide)}"/>'


def _text(x: float, y: float, words: str, size: float, anchor: str = "middle", bold: bool = False) -> str:
    weight = ' font-weight="600"' if bold else ""
    return (
        f'<text x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" text-anchor="{anchor}" fill="currentColor" '
        f'stroke="none"{weight}>{escape(words)}</text>'
    )


def _arrowed(x1: float, y1: float, x2: float, y2: float) -> str:
    """A dimension line with an arrow head at each end, level or upright."""
    along = ((x2 > x1) - (x2 < x1), (y2 > y1) - (y2 < y1))
    heads = []
    for x, y, sense in ((x1, y1, 1), (x2, y2, -1)):
        dx, dy = along[0] * sense * ARROW, along[1] * sense * ARROW
        heads.append(
            f"M{_n(x + dx - dy * 0.28)},{_n(y + dy - dx * 0.28)}L{_n(x)},{_n(y)}"
            f"L{_n(x + dx + dy * 0.28)},{_n(y + dy + dx * 0.28)}"
        )
    return f'<path d="M{_n(x1)},{_n(y1)}L{_n(x2)},{_n(y2)}{"".join(heads)}" stroke-width="0.2"/>'


def _measures(sheet: _Sheet, profile: Profile, wanted: Collection[str]) -> tuple[list[str], float]:
    """Dimension lines for the wanted measures, and the lowest y that they reach."""
    found: list[str] = []
    high, base = sheet.y(profile.height_mm), sheet.y(0)
    if "height" in wanted:
        x, out = sheet.x(-profile.widest_mm / 2) - GAP, sheet.x(-profile.rim_mm / 2)
        found += [_stroke(x - 1.5, high, min(out, x + 2 * GAP) - 1.0, high, 0.15)]
        found += [_stroke(x - 1.5, base, sheet.x(-profile.foot_mm / 2) - 1.0, base, 0.15), _arrowed(x, high, x, base)]
        place = f'transform="rotate(-90 {_n(x - 1.4)} {_n((high + base) / 2)})"'
        words = _text(x - 1.4, (high + base) / 2, _mm(profile.height_mm), LETTER)
        found.append(words.replace("<text ", f"<text {place} ", 1))
    if "rim" in wanted:
        found += _across(sheet, profile.rim_mm, high, high - GAP, _mm(profile.rim_mm))
    y = base
    for name, size in (("foot", profile.foot_mm), ("widest", profile.widest_mm)):
        if name in wanted:
            y += GAP
            start = base if name == "foot" else sheet.y(_height_of_widest(profile))
            found += _across(sheet, size, start, y, f"{name} {_mm(size)}")
    return found, y


def _height_of_widest(profile: Profile) -> float:
    return float(profile.outer_mm[profile.outer_mm[:, 1].argmax(), 0])


def _across(sheet: _Sheet, size_mm: float, from_y: float, y: float, words: str) -> list[str]:
    """A level dimension line over a diameter, with its witness lines and its words above it."""
    ends = sheet.x(-size_mm / 2), sheet.x(size_mm / 2)
    sense = 1.0 if y > from_y else -1.0
    lines = [_stroke(end, from_y + sense, end, y + sense * 1.5, 0.15) for end in ends]
    return [*lines, _arrowed(ends[0], y, ends[1], y), _text(sheet.x0, y - 1.2, words, LETTER)]


def _caption(
    sheet: _Sheet, profile: Profile, title: str, note: str, below: float, check_line: bool, width: float
) -> tuple[list[str], float]:
    """Title, wall and floor, scale, and the line to check the print by; with the height of the whole sheet."""
    middle = float(profile.inner_mm[0, 0] + profile.height_mm) / 2
    wall = profile.wall_at_mm(middle)
    size = "life size" if sheet.scale == 1 else f"drawn {_mm(sheet.scale * 100)} % of size"
    x, y = RIGHT, below + GAP + 1.0
    found = [_text(x, y, title, LETTER * 1.15, "start", bold=True)]
    lines = [f"wall {_mm(wall)}, floor {_mm(profile.floor_mm)} mm; {size}", *([note] if note else [])]
    for words in lines:
        y += SMALL * 1.5
        found.append(_text(x, y, words, SMALL, "start"))
    if check_line:
        long = next((each for each in CHECK_LINES_MM if each + 2 * RIGHT <= width), CHECK_LINES_MM[-1])
        y += GAP
        found += [
            _stroke(x, y, x + long, y, 0.3),
            _stroke(x, y - 1.5, x, y + 1.5, 0.3),
            _stroke(x + long, y - 1.5, x + long, y + 1.5, 0.3),
            _text(x + long / 2, y - 1.2, f"{_mm(long)} mm when printed true", SMALL),
        ]
    return found, y + RIGHT


def _description(profile: Profile, scale: float, note: str, handle: Strap | None, fill_ml: float | None) -> str:
    sizes = f"Height {_mm(profile.height_mm)} mm, rim {_mm(profile.rim_mm)} mm, foot {_mm(profile.foot_mm)} mm"
    more = f"widest {_mm(profile.widest_mm)} mm, floor {_mm(profile.floor_mm)} mm"
    parts = [f"Half section and half elevation. {sizes}, {more}."]
    if handle is not None:
        parts.append(f"Handle {_mm(handle.outside_height_mm)} mm high, finger gap {_mm(handle.inside_gap_mm)} mm.")
    if fill_ml is not None:
        parts.append(f"Level of {_mm(fill_ml)} ml at {_mm(fill_height_mm(profile, fill_ml))} mm.")
    if note:
        parts.append(f"{note}.")
    parts.append("Life size." if scale == 1 else f"Drawn at {_mm(scale * 100)} % of size.")
    return " ".join(parts)
