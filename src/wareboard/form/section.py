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
from wareboard.form.draughting import (
    GAP,
    LETTER,
    SMALL,
    Sheet,
    arrowed,
    lettered,
    mm,
    short,
    sixteenths,
    spanned,
    stroke,
)
from wareboard.form.gallery import LidOn
from wareboard.form.handle import Strap
from wareboard.form.lip import PulledLip
from wareboard.form.poured_section import cut_parts, poured_words, reach_of, top_of
from wareboard.form.profile import Profile
from wareboard.form.roots import line_of
from wareboard.form.spout import ThrownSpout
from wareboard.form.vessel import fill_height_mm
from wareboard.given import positive

DIMENSIONS = ("height", "rim", "foot", "widest")
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
    lip: PulledLip | None = None,
    spout: ThrownSpout | None = None,
    lid: LidOn | None = None,
    unit: str = "mm",
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
        lip, spout: of the same stage, drawn cut on the left, with the level at which the piece pours.
        lid: of the same stage, drawn where it sits.
        unit: of the measures written on it, "mm" or "in".
    Raises:
        OutOfRange: if the scale is not a finite number above 0, a measure has no such name, or handle or liquid do not fit.
    """
    positive(scale, "scale")
    wanted = _wanted(profile, dims)
    outline = np.zeros((0, 2)) if handle is None else _handle_outline(profile, handle, handle_at_mm)
    half = max(profile.widest_mm / 2, reach_of(profile, lip, spout)) * scale
    reach = max(profile.widest_mm / 2 * scale, float(outline[:, 1].max()) * scale if len(outline) else 0.0)
    left = LEFT if "height" in wanted else RIGHT
    top = TOP if "rim" in wanted else RIGHT
    sheet = Sheet(left + half, top + max(top_of(profile, spout), lid.top_mm if lid else 0.0) * scale, scale, unit)
    parts = [
        *_elevation(sheet, profile),
        *_handle(sheet, outline, handle),
        *cut_parts(sheet, profile, lip, spout, labelled=lid is None),
        *(_lid_on(sheet, lid, profile.height_mm) if lid else ()),
        *_liquid(sheet, profile, fill_ml),
        *_centre_line(sheet, max(profile.height_mm, lid.top_mm if lid else 0.0)),
    ]
    measures, below = _measures(sheet, profile, wanted, half, top - (GAP if "rim" in wanted else 0.0))
    width = max(sheet.x0 + reach + RIGHT + (9.0 if handle else 0.0), 2 * RIGHT + 62.0)
    caption, height = _caption(sheet, profile, title, note, below, check_line, width)
    parts += measures + caption
    says = _description(profile, sheet, note, handle, fill_ml, lip, spout)
    mark = name or "section-" + hashlib.sha256("".join([title, *parts]).encode()).hexdigest()[:10]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{short(width)}mm" height="{short(height)}mm" '
        f'viewBox="0 0 {short(width)} {short(height)}" role="img" aria-labelledby="{mark}-title {mark}-desc" '
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


def _elevation(sheet: Sheet, profile: Profile) -> Iterable[str]:
    """The outside seen from the front, on the right, with a line round it wherever it has an edge."""
    side = profile.outer_mm[profile.standing :]
    shape = np.vstack([[0.0, 0.0], side, [profile.height_mm, 0.0]])
    yield f'<path class="outside" d="{sheet.path(shape, closed=True)}" fill="currentColor" fill-opacity="0.06"/>'
    steps = np.diff(side, axis=0)
    steps = steps / np.hypot(*steps.T)[:, None]
    turns = (steps[1:] * steps[:-1]).sum(axis=1)
    for height, radius in side[1:-1][turns < SHARP]:
        yield stroke(sheet.x(0), sheet.y(height), sheet.x(radius), sheet.y(height), 0.2)


def _centre_line(sheet: Sheet, top_mm: float) -> Iterable[str]:
    ends = sheet.y(top_mm) - 3.0, sheet.y(0) + 1.5
    yield (
        f'<path d="M{short(sheet.x0)},{short(ends[0])}V{short(ends[1])}" stroke-width="0.2" '
        f'stroke-dasharray="4 1 0.6 1" stroke-linecap="butt"/>'
    )


def _liquid(sheet: Sheet, profile: Profile, fill_ml: float | None) -> Iterable[str]:
    if fill_ml is None:
        return
    level = fill_height_mm(profile, fill_ml)
    edge, y = sheet.x(-profile.radius_at_mm(level, inside=True)), sheet.y(level)
    yield f'<path d="M{short(edge)},{short(y)}H{short(sheet.x0)}" stroke-width="0.25" stroke-dasharray="1.5 1"/>'
    yield lettered((edge + sheet.x0) / 2, y + SMALL + 0.6, f"{mm(fill_ml)} ml", SMALL)


def _lid_on(sheet: Sheet, lid: LidOn, rim_mm: float) -> Iterable[str]:
    """The lid where it sits: cut on the left, seen on the right down to what hides it."""
    for loop in lid.loops_mm():
        path = sheet.path(loop * np.array([1.0, -1.0]), closed=True)
        yield f'<path class="lid" d="{path}" fill="currentColor" fill-opacity="0.5"/>'
    for line in lid.seen_mm(rim_mm):
        yield f'<path class="lid-seen" d="{sheet.path(line)}" fill="currentColor" fill-opacity="0.06"/>'


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


def _handle(sheet: Sheet, outline: Floats, handle: Strap | None) -> Iterable[str]:
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
        f'<rect x="{short(x)}" y="{short(y)}" width="{short(thick)}" height="{short(tall)}" rx="{short(thick / 2)}" '
        f'fill="currentColor" fill-opacity="0.82" stroke-width="0.2"/>'
    )


def _measures(
    sheet: Sheet, profile: Profile, wanted: Collection[str], half: float, rim_y: float
) -> tuple[list[str], float]:
    """Dimension lines for the wanted measures, and the lowest y that they reach."""
    found: list[str] = []
    high, base = sheet.y(profile.height_mm), sheet.y(0)
    if "height" in wanted:
        x, out = sheet.x0 - half - GAP, sheet.x(-profile.rim_mm / 2)
        found += [stroke(x - 1.5, high, min(out, x + 2 * GAP) - 1.0, high, 0.15)]
        found += [stroke(x - 1.5, base, sheet.x(-profile.foot_mm / 2) - 1.0, base, 0.15), arrowed(x, high, x, base)]
        place = f'transform="rotate(-90 {short(x - 1.4)} {short((high + base) / 2)})"'
        words = lettered(x - 1.4, (high + base) / 2, sheet.size(profile.height_mm), LETTER)
        found.append(words.replace("<text ", f"<text {place} ", 1))
    if "rim" in wanted:
        found += spanned(sheet, profile.rim_mm, high, rim_y, sheet.size(profile.rim_mm))
    y = base
    for name, size in (("foot", profile.foot_mm), ("widest", profile.widest_mm)):
        if name in wanted:
            y += GAP
            start = base if name == "foot" else sheet.y(_height_of_widest(profile))
            found += spanned(sheet, size, start, y, f"{name} {sheet.size(size)}")
    return found, y


def _height_of_widest(profile: Profile) -> float:
    return float(profile.outer_mm[profile.outer_mm[:, 1].argmax(), 0])


def _caption(
    sheet: Sheet, profile: Profile, title: str, note: str, below: float, check_line: bool, width: float
) -> tuple[list[str], float]:
    """Title, wall and floor, scale, and the line to check the print by; with the height of the whole sheet."""
    middle = float(profile.inner_mm[0, 0] + profile.height_mm) / 2
    wall = profile.wall_at_mm(middle)
    size = "life size" if sheet.scale == 1 else f"drawn {mm(sheet.scale * 100)} % of size"
    x, y = RIGHT, below + GAP + 1.0
    found = [lettered(x, y, title, LETTER * 1.15, "start", bold=True)]
    lines = [
        f"wall {sheet.size(wall)}, floor {sheet.size(profile.floor_mm)} {sheet.unit}; {size}",
        *([note] if note else []),
    ]
    for words in lines:
        y += SMALL * 1.5
        found.append(lettered(x, y, words, SMALL, "start"))
    if check_line:
        long = next((each for each in CHECK_LINES_MM if each + 2 * RIGHT <= width), CHECK_LINES_MM[-1])
        y += GAP
        inches = f" ({sixteenths(long)} in)" if sheet.unit == "in" else ""
        found += [
            stroke(x, y, x + long, y, 0.3),
            stroke(x, y - 1.5, x, y + 1.5, 0.3),
            stroke(x + long, y - 1.5, x + long, y + 1.5, 0.3),
            lettered(x + long / 2, y - 1.2, f"{mm(long)} mm{inches} when printed true", SMALL),
        ]
    return found, y + RIGHT


def _description(
    profile: Profile,
    sheet: Sheet,
    note: str,
    handle: Strap | None,
    fill_ml: float | None,
    lip: PulledLip | None,
    spout: ThrownSpout | None,
) -> str:
    def told(size_mm: float) -> str:
        return f"{sheet.size(size_mm)} {sheet.unit}"

    sizes = f"Height {told(profile.height_mm)}, rim {told(profile.rim_mm)}, foot {told(profile.foot_mm)}"
    more = f"widest {told(profile.widest_mm)}, floor {told(profile.floor_mm)}"
    parts = [f"Half section and half elevation. {sizes}, {more}."]
    if handle is not None:
        parts.append(f"Handle {told(handle.outside_height_mm)} high, finger gap {told(handle.inside_gap_mm)}.")
    parts += poured_words(profile, lip, spout, sheet.unit)
    if fill_ml is not None:
        parts.append(f"Level of {mm(fill_ml)} ml at {sheet.size(fill_height_mm(profile, fill_ml))} {sheet.unit}.")
    if note:
        parts.append(f"{note}.")
    parts.append("Life size." if sheet.scale == 1 else f"Drawn at {mm(sheet.scale * 100)} % of size.")
    return " ".join(parts)
