"""Drawings of a load, to scale, as SVG: each shelf from above, the whole stack from the side.

Lines are drawn in the colour of the text around them. Forms are told apart by letter and by kind of line, never by
colour. The same load gives the same bytes. Angles and places are those of the layout; the front of the kiln is at the
bottom of the page.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from wareboard.kiln.inside import KilnInside, Load, ShelfLayout
from wareboard.kiln.shelf import HalfRoundShelf, RoundShelf

_DASHES = ("", "14 5", "3 5", "16 5 3 5", "8 4", "22 6 3 6 3 6")
_FONT = 'font-family="sans-serif" fill="currentColor" stroke="none"'


def letters(forms: Sequence[str]) -> dict[str, str]:
    """A letter for each form, in order: A to Z, then AA, AB and so on."""
    named: dict[str, str] = {}
    for form in forms:
        if form not in named:
            first, second = divmod(len(named), 26)
            named[form] = (chr(64 + first) if first else "") + chr(65 + second)
    return named


def _n(value: float) -> str:
    """A length as SVG writes it: two decimals, no trailing noughts, no minus nought."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _text(x: float, y: float, words: str, size: float, anchor: str = "start", extra: str = "") -> str:
    place = f'x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" text-anchor="{anchor}"'
    return f"<text {place} {_FONT}{extra}>{escape(words)}</text>"


def _document(name: str, title: str, desc: str, box: tuple[float, float, float, float], scale: float, body: str) -> str:
    x, y, wide, tall = box
    hatch = (
        f'<pattern id="{name}-hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<line x1="0" y1="0" x2="0" y2="6" stroke="currentColor" stroke-width="2"/></pattern>'
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="{name}-title {name}-desc" '
        f'viewBox="{_n(x)} {_n(y)} {_n(wide)} {_n(tall)}" width="{_n(wide * scale)}mm" height="{_n(tall * scale)}mm" '
        'fill="none" stroke="currentColor" stroke-width="2">'
        f'<title id="{name}-title">{escape(title)}</title><desc id="{name}-desc">{escape(desc)}</desc>'
        f"<defs>{hatch}</defs>{body}</svg>"
    )


# --- one shelf from above ---------------------------------------------------------------------------------------------


def shelf_svg(
    layout: ShelfLayout,
    *,
    title: str = "",
    forms: Sequence[str] = (),
    scale: float = 0.25,
    name: str = "shelf",
    legend: bool = True,
) -> str:
    """One shelf from above, to scale, as an SVG document.

    Args:
        layout: the shelf.
        title: heading; if not given, the shelf's level and count.
        forms: all forms of the order, so that a form has the same letter on every shelf; if not given, this shelf's.
        scale: size on paper over true size (0.25 is one to four).
        name: prefix of the ids in the document; give each drawing on one page its own.
        legend: heading, key, signs and scale in the drawing; without it they are left to whoever shows it, as on a narrow
            screen, where words in a drawing are too small to read.
    """
    lettered = letters((*forms, *layout.forms))
    heading = title or f"Shelf {layout.level + 1}: {_counted(layout)}"
    floor = layout.shelf.floor().outline_mm()
    (left, low), (right, high) = floor.min(axis=0), floor.max(axis=0)
    wide = max(right - left, 360.0)
    key = shelf_key(layout, forms)
    drawn = [
        _shelf_edge(layout),
        *(_post(keep.x_mm, -keep.y_mm, keep.radius_mm, name) for keep in layout.posts),
        *(_cones(keep.x_mm, -keep.y_mm, keep.radius_mm) for keep in layout.cone_packs),
        *(_thermocouple(keep.x_mm, -keep.y_mm, keep.gap_mm) for keep in layout.thermocouple),
        *(_piece(layout, i, lettered) for i in range(len(layout.forms))),
    ]
    if not legend:
        box = (left - 36.0, -high - 36.0, right - left + 72.0, high - low + 72.0)
        return _document(name, heading, _told(layout), box, scale, "".join(drawn))
    body = [
        _text(left, -high - 52.0, heading, 20.0, extra=' font-weight="bold"'),
        *drawn,
        _text(0.0, -low + 24.0, "front", 14.0, "middle"),
        *(_text(left, -low + 52.0 + 20.0 * row, line, 16.0) for row, line in enumerate(key)),
        _scale_bar(left + wide - 110.0, -low + 46.0),
        _signs(left + wide - 200.0, -low + 78.0, name),
    ]
    top = -high - 80.0
    tall = -low + 60.0 + max(20.0 * len(key), 80.0) - top
    # The thermocouple and its words stand outside the shelf on one side or the other.
    box = (left - 36.0, top, wide + 72.0, tall)
    return _document(name, heading, _told(layout), box, scale, "".join(body))


def shelf_key(layout: ShelfLayout, forms: Sequence[str] = ()) -> list[str]:
    """What the letters on a shelf stand for, how many of each, and what is nested: "A  cup × 17"."""
    lettered = letters((*forms, *layout.forms))
    key = [f"{lettered[form]}  {form} × {count}" for form, count in layout.counts.items()]
    return key + [f"×{most}: {most} nested in one place" for most in sorted({int(n) for n in layout.stacked if n > 1})]


def _counted(layout: ShelfLayout) -> str:
    pieces = layout.pieces
    return f"{pieces} piece{'' if pieces == 1 else 's'}"


def _told(layout: ShelfLayout) -> str:
    """The drawing in words."""
    counts = ", ".join(f"{count} {form}" for form, count in layout.counts.items())
    stacked = int((layout.stacked > 1).sum())
    nested = f" {stacked} places hold nested pieces." if stacked else ""
    posts = f" {len(layout.posts)} posts of {layout.post_mm:g} mm." if layout.posts else " Top shelf, no posts."
    cones = " Witness cones have their place." if layout.cone_packs else " No room for witness cones."
    return f"{layout.shelf.name}, its face {layout.level_mm:g} mm above the kiln floor: {counts}.{nested}{posts}{cones}"


def _shelf_edge(layout: ShelfLayout) -> str:
    shelf = layout.shelf
    match shelf:
        case RoundShelf():
            return f'<circle cx="0" cy="0" r="{_n(shelf.diameter_mm / 2.0)}" stroke-width="3"/>'
        case HalfRoundShelf():
            radius = _n(shelf.diameter_mm / 2.0)
            return f'<path d="M -{radius} 0 A {radius} {radius} 0 0 1 {radius} 0 Z" stroke-width="3"/>'
    corners = " ".join(f"{_n(x)},{_n(-y)}" for x, y in shelf.floor().outline_mm())
    return f'<polygon points="{corners}" stroke-width="3"/>'


def _piece(layout: ShelfLayout, i: int, lettered: dict[str, str]) -> str:
    x, y = float(layout.centres_mm[i, 0]), -float(layout.centres_mm[i, 1])
    radius = float(layout.diameters_mm[i]) / 2.0
    letter = lettered[layout.forms[i]]
    drawn = [f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}"{_line(layout.forms[i], lettered)}/>']
    if layout.handle_reach_mm[i] > 0.0:
        drawn.append(_handle(layout, i, x, y, radius))
    if layout.stacked[i] > 1:
        drawn.append(f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius * 0.82)}" stroke-width="1"/>')
        letter += f" ×{int(layout.stacked[i])}"
    size = min(28.0, radius * 0.8)
    drawn.append(_text(x, y + size * 0.35, letter, size, "middle"))
    return "".join(drawn)


def _line(form: str, lettered: dict[str, str]) -> str:
    """The form's own kind of line, as an attribute."""
    dash = _DASHES[list(lettered).index(form) % len(_DASHES)]
    return f' stroke-dasharray="{dash}"' if dash else ""


def _handle(layout: ShelfLayout, i: int, x: float, y: float, radius: float) -> str:
    """The handle as a strap: two lines and a round end."""
    half = float(layout.handle_width_mm[i]) / 2.0
    reach = float(layout.handle_reach_mm[i])
    root = math.sqrt(max(0.0, radius**2 - half**2))
    tip = radius + reach - half
    return (
        f'<path transform="translate({_n(x)} {_n(y)}) rotate({_n(-float(layout.handle_angles_deg[i]))})" '
        f'd="M {_n(root)} {_n(-half)} L {_n(tip)} {_n(-half)} A {_n(half)} {_n(half)} 0 0 1 {_n(tip)} {_n(half)} '
        f'L {_n(root)} {_n(half)}"/>'
    )


def _post(x: float, y: float, radius: float, name: str) -> str:
    side = radius * math.sqrt(2.0)
    return (
        f'<rect x="{_n(x - side / 2)}" y="{_n(y - side / 2)}" width="{_n(side)}" height="{_n(side)}" '
        f'fill="url(#{name}-hatch)"/>'
    )


def _cones(x: float, y: float, radius: float) -> str:
    """A cone pack: its place dotted, three small triangles in it."""
    low, high, foot = y + 0.4 * radius, y - 0.5 * radius, 0.22 * radius
    cones = "".join(
        f'<path d="M {_n(x + at - foot)} {_n(low)} L {_n(x + at)} {_n(high)} L {_n(x + at + foot)} {_n(low)} Z"/>'
        for at in (-0.5 * radius, 0.0, 0.5 * radius)
    )
    return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" stroke-dasharray="2 4" stroke-width="1.5"/>{cones}'


def _thermocouple(x: float, y: float, gap: float) -> str:
    """A bar through the wall, and the room it wants."""
    away = math.hypot(x, y) or 1.0
    ux, uy = x / away, y / away
    return (
        f'<line x1="{_n(x)}" y1="{_n(y)}" x2="{_n(x + 30.0 * ux)}" y2="{_n(y + 30.0 * uy)}" stroke-width="7"/>'
        f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(gap)}" stroke-dasharray="2 4" stroke-width="1"/>'
    )


def _scale_bar(x: float, y: float) -> str:
    ticks = "".join(
        f'<line x1="{_n(x + at)}" y1="{_n(y - rise)}" x2="{_n(x + at)}" y2="{_n(y)}"/>'
        for at, rise in ((0.0, 8.0), (50.0, 5.0), (100.0, 8.0))
    )
    line = f'<line x1="{_n(x)}" y1="{_n(y)}" x2="{_n(x + 100.0)}" y2="{_n(y)}"/>'
    return f"{line}{ticks}{_text(x + 50.0, y + 16.0, '100 mm', 14.0, 'middle')}"


def _signs(x: float, y: float, name: str) -> str:
    """What the signs mean."""
    rows = (
        (_post(x + 10.0, y, 10.0, name), "post"),
        (_cones(x + 10.0, y + 22.0, 10.0), "witness cones"),
        (
            f'<line x1="{_n(x)}" y1="{_n(y + 44.0)}" x2="{_n(x + 20.0)}" y2="{_n(y + 44.0)}" stroke-width="7"/>',
            "thermocouple",
        ),
    )
    return "".join(
        f"{sign}{_text(x + 30.0, y + 5.0 + 22.0 * row, word, 14.0)}" for row, (sign, word) in enumerate(rows)
    )


# --- the whole load from the side -------------------------------------------------------------------------------------


def load_side_svg(
    load: Load,
    kiln: KilnInside,
    *,
    title: str = "",
    forms: Sequence[str] = (),
    scale: float = 0.25,
    name: str = "load",
    legend: bool = True,
) -> str:
    """The stack of one load from the front, to scale, as an SVG document. Half shelves are drawn side by side.

    Args:
        load: the shelves.
        kiln: the kiln they stand in.
        title, forms, scale, name, legend: as in `shelf_svg`.
    """
    every = [form for layout in load for form in layout.forms]
    lettered = letters((*forms, *every))
    floor = kiln.loaded_shelf.floor().outline_mm()
    left, right = float(floor[:, 0].min()), float(floor[:, 0].max())
    pitch = right - left + 30.0
    columns = max((layout.half for layout in load), default=0) + 1
    wall_left, wall_right = left - kiln.shelf_to_wall_mm, right + pitch * (columns - 1) + kiln.shelf_to_wall_mm
    top = -kiln.usable_height_mm
    heading = title or f"Load of {sum(layout.pieces for layout in load)} pieces"
    drawn = [
        f'<path d="M {_n(wall_left)} {_n(top)} H {_n(wall_right)} V 0 H {_n(wall_left)} Z" stroke-width="3"/>',
        *(_side_of(layout, kiln, left, right, pitch * layout.half, lettered, name) for layout in load),
    ]
    told = "From the floor up: " + "; ".join(
        f"shelf face at {layout.level_mm:g} mm with " + ", ".join(f"{n} {form}" for form, n in layout.counts.items())
        for layout in load
    )
    if not legend:
        box = (wall_left - 10.0, top - 10.0, wall_right - wall_left + 20.0, kiln.usable_height_mm + 20.0)
        return _document(name, heading, told + ".", box, scale, "".join(drawn))
    body = [
        _text(wall_left, top - 34.0, heading, 20.0, extra=' font-weight="bold"'),
        _text(wall_left, top - 10.0, "lid", 14.0),
        *drawn,
        *_side_words(load, wall_right + 14.0),
        *(
            _text(wall_left, 52.0 + 20.0 * row, f"{lettered[form]}  {form} × {every_count(load, form)}", 16.0)
            for row, form in enumerate(sorted(set(every), key=list(lettered).index))
        ),
        _scale_bar(wall_right - 110.0, 46.0),
    ]
    tall = kiln.usable_height_mm + 60.0 + 84.0 + 20.0 * len(set(every))
    box = (wall_left - 20.0, top - 64.0, wall_right - wall_left + 300.0, tall)
    return _document(name, heading, told + ".", box, scale, "".join(body))


def every_count(load: Load, form: str) -> int:
    """Pieces of ``form`` in the load."""
    return sum(layout.counts.get(form, 0) for layout in load)


def _side_of(
    layout: ShelfLayout,
    kiln: KilnInside,
    left: float,
    right: float,
    aside: float,
    lettered: dict[str, str],
    name: str,
) -> str:
    """One shelf from the front: the posts below it, itself, and the pieces that are not hidden by others."""
    thick = layout.shelf.thickness_mm
    face = -layout.level_mm
    size = f'width="{_n(right - left)}" height="{_n(thick)}"'
    shelf = f'<rect x="{_n(left + aside)}" y="{_n(face)}" {size} stroke-width="2.5"/>'
    posts = [_side_post(keep.x_mm + aside, face, layout.post_mm, 2.0 * keep.radius_mm, name) for keep in layout.posts]
    if layout.level == 0:
        posts += [
            _side_post(
                float(x) + aside, face + thick + kiln.bottom_post_mm, kiln.bottom_post_mm, kiln.post_width_mm, name
            )
            for x, _ in kiln.posts_mm
        ]
    return shelf + "".join(posts) + _in_front(layout, aside, lettered)


def _side_post(x: float, foot: float, tall: float, wide: float, name: str) -> str:
    return (
        f'<rect x="{_n(x - wide / 2)}" y="{_n(foot - tall)}" width="{_n(wide)}" height="{_n(tall)}" '
        f'fill="url(#{name}-hatch)" stroke-width="1"/>'
    )


def _in_front(layout: ShelfLayout, aside: float, lettered: dict[str, str]) -> str:
    """Outlines of the pieces seen from the front; those that stand behind one already drawn are left out."""
    taken: list[tuple[float, float]] = []
    drawn: list[str] = []

    def behind_a_post(i: int) -> bool:
        reach = float(layout.diameters_mm[i]) / 2.0
        return any(abs(float(layout.centres_mm[i, 0]) - keep.x_mm) < reach + keep.radius_mm for keep in layout.posts)

    for i in sorted(range(len(layout.forms)), key=lambda i: (behind_a_post(i), float(layout.centres_mm[i, 1]), i)):
        x, half = float(layout.centres_mm[i, 0]), float(layout.diameters_mm[i]) / 2.0
        if any(x - half < high and low < x + half for low, high in taken):
            continue
        taken.append((x - half, x + half))
        tall, face = float(layout.heights_mm[i]), -layout.level_mm
        at, foot = x + aside, half * 0.65
        drawn.append(
            f'<path d="M {_n(at - half)} {_n(face - tall)} H {_n(at + half)} L {_n(at + foot)} {_n(face)} '
            f'H {_n(at - foot)} Z"{_line(layout.forms[i], lettered)}/>'
        )
        size = min(20.0, tall * 0.7, half)
        drawn.append(_text(at, face - tall / 2 + size * 0.35, lettered[layout.forms[i]], size, "middle"))
    return "".join(drawn)


def _side_words(load: Load, x: float) -> list[str]:
    """Beside each level: its height, its post and what stands on it."""
    words: list[str] = []
    for layout in load:
        counts = ", ".join(f"{form} × {count}" for form, count in layout.counts.items())
        half = f" {'left' if layout.half == 0 else 'right'} half" if any(other.half for other in load) else ""
        post = f", post {layout.post_mm:g} mm" if layout.post_mm else ", top"
        lower = 30.0 if layout.half else 0.0
        words.append(_text(x, -layout.level_mm - 14.0 + lower, counts, 13.0))
        words.append(_text(x, -layout.level_mm + lower, f"face at {layout.level_mm:g} mm{post}{half}", 12.0))
    return words
