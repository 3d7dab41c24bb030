"""Life-size patterns of a form on paper: set out on pages, the larger cut over several that join at register marks.

Every page carries a line of 100 mm across and one up to check the print by. Where a printer's own error is known, all
that is printed is drawn larger or smaller by as much, so that it comes out true.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from wareboard.form.gauges import Pattern, bars, foot_ring, handle_side, inner_rib, outer_rib, said, strap_flat
from wareboard.plan.result import FormPlan, Plan
from wareboard.plan.solids import factors_at, handle_place_at, poured_at, profile_at, strap_at
from wareboard.sheets.data import head
from wareboard.sheets.print_scale import Correction, correction_from, hundred
from wareboard.sheets.since_approval import Since, told
from wareboard.sheets.typesetting import PAGE_MM, Paper, printable, typeset

TAKEN_UP_MM, MARGINS_MM = 94.0, 36.0
__all__ = ["Correction", "correction_from", "pattern_pdf", "pattern_sheet", "patterns_of", "set_out"]

OVERLAP_MM, SPACE_MM, NAME_MM = 14.0, 6.0, 8.0
CROSSES_AT = (0.12, 0.88)
# What a pulled strap is left longer at each end for squaring off, of its width: from memory.
PULL_OVER = 1.0
LINE = "currentColor"


def patterns_of(form: FormPlan, unit: str = "mm") -> tuple[Pattern, ...]:
    """Every pattern of a form, its words in mm or inches: ribs, calipers, foot, handle, strap, lip, spout, lid, guide."""
    wet, hard = profile_at(form, "wet"), profile_at(form, "leather-hard")
    found = [outer_rib(wet, unit=unit), inner_rib(wet, unit=unit), _calipers(form, unit), foot_ring(hard, unit=unit)]
    if form.strap is not None:
        found += _handle(form, unit)
    found += _pouring(form, unit)
    if form.form.lid is not None:
        found.append(_lid(form, unit))
    if form.cut is not None:
        found.append(_cutting(form, unit))
    return tuple(found)


def _calipers(form: FormPlan, unit: str) -> Pattern:
    from wareboard.form.gallery import seat_of

    wet = profile_at(form, "wet")
    lengths = [("rim, outside", wet.rim_mm), ("mouth, inside", seat_of(wet, None).mouth_mm), ("foot", wet.foot_mm)]
    if wet.widest_mm > max(wet.rim_mm, wet.foot_mm) + 0.5:
        at = float(wet.outer_mm[wet.outer_mm[:, 1].argmax(), 0])
        lengths.insert(2, (f"widest, {_up(at, unit)} up", wet.widest_mm))
    middle = (float(wet.inner_mm[0, 0]) + wet.height_mm) / 2
    lengths += [(f"wall, {_up(middle, unit)} up", wet.wall_at_mm(middle)), ("floor", wet.floor_mm)]
    return bars("Caliper settings, wet", "Set the caliper to the ends of each line", lengths, unit)


def _up(mm: float, unit: str) -> str:
    return said(mm, unit) if unit == "in" else f"{mm:.0f} mm"


def _handle(form: FormPlan, unit: str) -> list[Pattern]:
    from wareboard.form.roots import finger_room_mm

    fired = form.strap
    assert fired is not None
    profile, hard = profile_at(form, "leather-hard"), strap_at(form, "leather-hard")
    at = handle_place_at(form, "leather-hard")
    words = ("room for fingers", f"{said(finger_room_mm(profile, hard, at), unit)} at most")
    pull = fired.wet_length_mm + 2 * PULL_OVER * fired.wet_width_mm
    turn = f"{form.handle_turn_deg:.0f}° round from the {form.front}"
    return [
        handle_side(profile, hard, "leather-hard", words, at, turn, unit),
        strap_flat(fired.wet_length_mm, pull, fired.wet_width_mm, fired.taper, fired.wet_thickness_mm, unit),
    ]


def _pouring(form: FormPlan, unit: str) -> list[Pattern]:
    """The rim with its lip, wet; the spout on its card, leather-hard, with its lengths as it is thrown."""
    from wareboard.form.poured_gauges import lip_round, spout_side

    found = []
    lip, _ = poured_at(form, "wet")
    if lip is not None:
        found.append(lip_round(profile_at(form, "wet"), lip, unit=unit))
    _, spout = poured_at(form, "leather-hard")
    if spout is not None:
        found.append(spout_side(profile_at(form, "leather-hard"), spout, unit=unit))
        sizes = [(name, form.lengths[name].wet_mm) for name in form.lengths if name.startswith("spout ")]
        found.append(
            bars("Spout, wet", "Throw and cut it to these; the length is from the wall to the cut", sizes, unit)
        )
    return found


def _lid(form: FormPlan, unit: str) -> Pattern:
    """Ledge and flange of the lid beside what they go into, all wet, the lid by a shrinkage of its own where it has one."""
    lidded = form.lidded
    assert lidded is not None
    of_body = 1 / (1 - form.loss_width.fired)
    of_lid = 1 / (1 - lidded.loss.fired) if lidded.own else of_body
    lengths = [
        ("ledge of the lid", lidded.profile.widest_mm * of_lid),
        ("flange of the lid, outside", lidded.flange_mm * of_lid),
    ]
    if lidded.gallery is None:
        lengths.append(("mouth of the body, inside", lidded.seat.mouth_mm * of_body))
    else:
        lengths += [
            ("gallery, inside above its ledge", lidded.seat.mouth_mm * of_body),
            ("throat within its ledge", lidded.seat.throat_mm * of_body),
            ("gallery, below the rim", lidded.gallery.deep_mm * factors_at(form, "wet")[0]),
        ]
    if lidded.knob_mm is not None:
        lengths += [("knob, wide", lidded.knob_mm[0] * of_lid), ("knob, high", lidded.knob_mm[1] * of_lid)]
    return bars(
        "Lid gallery, wet", "Lid and body shrink apart: measure the mouth of the leather-hard body too", lengths, unit
    )


def _cutting(form: FormPlan, unit: str) -> Pattern:
    cut = form.cut
    assert cut is not None
    lengths = [
        (f"wire apart, {axis}, {count} of them", space)
        for axis, count, space in zip(("width", "depth", "height"), cut.counts, cut.spacings_mm, strict=True)
    ]
    return bars("Cutting guide", "Set the wire, or mark the block, to the ends of each line", lengths, unit)


# --- on pages ---------------------------------------------------------------------------------------------------------


def area_mm(paper: Paper, correction: Correction) -> tuple[float, float]:
    """What one page holds, mm of the patterns."""
    wide, high = PAGE_MM[paper]
    return (wide - MARGINS_MM) / max(1.0, correction.across), (high - TAKEN_UP_MM) / max(1.0, correction.up)


def set_out(patterns: Sequence[Pattern], area: tuple[float, float]) -> list[dict[str, Any]]:
    """Pages of patterns: small ones together in rows, each large one cut over pages of its own that overlap.

    Args:
        patterns: in the order wanted.
        area: of a page, mm.
    """
    pages: list[dict[str, Any]] = []
    row: list[tuple[float, float, _Placed]] = []
    x = y = tall = 0.0

    def close() -> None:
        nonlocal row, x, y, tall
        if row:
            pages.append(_shared_page(row, area))
        row, x, y, tall = [], 0.0, 0.0, 0.0

    for pattern in patterns:
        piece = _Placed(pattern, area)
        if piece.wide > area[0] or piece.deep > area[1]:
            close()
            pages += _cut_over_pages(pattern, area)
            continue
        if x and x + piece.wide > area[0]:
            x, y, tall = 0.0, y + tall + SPACE_MM, 0.0
        if y and y + piece.deep > area[1]:
            close()
        row.append((x, y, piece))
        x, tall = x + piece.wide + SPACE_MM, max(tall, piece.deep)
    close()
    return pages


def _svg(parts: str, area: tuple[float, float]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{area[0]:.4f}mm" height="{area[1]:.4f}mm" '
        f'viewBox="0 0 {area[0]:.4f} {area[1]:.4f}" fill="none" stroke="{LINE}" '
        f'font-family="system-ui, sans-serif">{parts}</svg>'
    )


def _named(pattern: Pattern) -> str:
    from xml.sax.saxutils import escape

    return (
        f'<text x="1" y="5" font-size="4" font-weight="700" fill="{LINE}" stroke="none">{escape(pattern.name)}</text>'
    )


class _Placed:
    """A pattern with its name over it, turned on its side where it only goes on the page so."""

    def __init__(self, pattern: Pattern, area: tuple[float, float]) -> None:
        left, low, right, high = pattern.bounds_mm
        self.pattern, self.wide, self.deep = pattern, right - left, high - low + NAME_MM
        self.turned = self.wide > area[0] and self.wide <= area[1] and self.deep <= area[0]
        if self.turned:
            self.wide, self.deep = self.deep, self.wide

    def drawn(self, x: float, y: float) -> str:
        turn = f" translate({self.wide:.4f} 0) rotate(90)" if self.turned else ""
        return (
            f'<g transform="translate({x:.4f} {y:.4f}){turn}">{_named(self.pattern)}'
            f'<g transform="translate(0 {NAME_MM:g})">{self.pattern.drawn()}</g></g>'
        )


def _shared_page(row: Sequence[tuple[float, float, _Placed]], area: tuple[float, float]) -> dict[str, Any]:
    patterns = [piece.pattern for _, _, piece in row]
    return {
        "svg": _svg("".join(piece.drawn(x, y) for x, y, piece in row), area),
        "names": [each.name for each in patterns],
        "uses": [f"{each.name}: {each.use}." for each in patterns],
    }


def _cut_over_pages(pattern: Pattern, area: tuple[float, float]) -> list[dict[str, Any]]:
    left, low, right, high = pattern.bounds_mm
    whole = (right - left, high - low + NAME_MM)
    counts = [
        max(1, math.ceil((long - OVERLAP_MM) / (room - OVERLAP_MM))) for long, room in zip(whole, area, strict=True)
    ]
    step = [room - OVERLAP_MM for room in area]
    pages = []
    for down in range(counts[1]):
        for column in range(counts[0]):
            x, y = column * step[0], down * step[1]
            # Heights run up in a pattern and down on the page; its name stands over it.
            top = high + NAME_MM - y
            part = pattern.within(left + x, top - area[1], left + x + area[0], top)
            content = part.drawn((left + x, top)) + _joins((column, down), counts, area)
            pages.append(
                {
                    "svg": _svg((_named(pattern) if not x + y else "") + content, area),
                    "names": [f"{pattern.name}, part {down * counts[0] + column + 1} of {counts[0] * counts[1]}"],
                    "uses": [
                        f"{pattern.name}: {pattern.use}. Lay the pages on one another, cross on cross; join them."
                    ],
                }
            )
    return pages


def _joins(place: tuple[int, int], counts: Sequence[int], area: tuple[float, float]) -> str:
    """Register marks: dashed lines in the middle of each overlap, with crosses in circles that must lie on one another."""
    found = []
    for axis in (0, 1):
        before, after = place[axis] > 0, place[axis] < counts[axis] - 1
        ats = [OVERLAP_MM / 2] * before + [area[axis] - OVERLAP_MM / 2] * after
        for at in ats:
            line = f"M{at:.4f},0V{area[1]:.4f}" if axis == 0 else f"M0,{at:.4f}H{area[0]:.4f}"
            found.append(f'<path d="{line}" stroke-width="0.2" stroke-dasharray="4 1.5 1 1.5" class="join"/>')
            for share in CROSSES_AT:
                spot = area[1 - axis] * share
                x, y = (at, spot) if axis == 0 else (spot, at)
                cross = f"M{x - 4:.4f},{y:.4f}H{x + 4:.4f}M{x:.4f},{y - 4:.4f}V{y + 4:.4f}"
                found.append(f'<circle cx="{x:.4f}" cy="{y:.4f}" r="2" stroke-width="0.25"/>')
                found.append(f'<path d="{cross}" stroke-width="0.2"/>')
    return "".join(found)


def pattern_sheet(plan: Plan, form: FormPlan, paper: Paper, correction: Correction | None = None) -> dict[str, Any]:
    """The pattern sheet of a form, page by page."""
    drawn = correction or Correction()
    area = area_mm(paper, drawn)
    pages = set_out(patterns_of(form, plan.length_unit), area)
    return head(plan, f"Patterns: {form.name}", paper) | {
        "name": form.name,
        "across": drawn.across,
        "up": drawn.up,
        "area": list(area),
        "told": drawn.words,
        "hundred": hundred(plan.length_unit),
        "pages": [each | {"svg": printable(each["svg"])} for each in pages],
    }


def pattern_pdf(
    plan: Plan, form: FormPlan, paper: Paper = "a4", correction: Correction | None = None, since: Since | None = None
) -> bytes:
    """The pattern sheet of a form as a PDF, with what has changed since the approval."""
    return typeset("patterns", {**pattern_sheet(plan, form, paper, correction), **told(since)}, plan.brief.due)
