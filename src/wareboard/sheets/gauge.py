"""Life-size gauges: strips for the wet sizes with their tolerance bands, and a rule that reads fired sizes on wet clay.

Pure arithmetic: where each mark stands, mm along the strip from its base, and how a strip longer than the page is cut into
pages that are joined at register marks. The template only puts the marks where this says.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from wareboard import quantities
from wareboard.plan.approved import tolerance_mm
from wareboard.plan.result import FormPlan, Plan
from wareboard.quantities import INCH_MM
from wareboard.sheets.data import head, length, tolerance, workings
from wareboard.sheets.print_scale import Correction, hundred
from wareboard.sheets.since_approval import Since, told
from wareboard.sheets.typesetting import PAGE_MM, Paper, typeset

if TYPE_CHECKING:
    from wareboard.clay.shrinkage import StageLengths

# What the sheet's head, check line and foot leave of the page's height, and what the margins leave of its width.
TAKEN_UP_MM, MARGINS_MM = 79.0, 30.0
TOLD_MM = 8.0  # of the words that say for which printer a page is drawn
OVERLAP_MM = 12.0
HEADROOM_MM = 4.0
STRIP_MM, RULE_MM, SPACE_MM = 25.0, 34.0, 4.0
ROOM_FOR_WORDS_MM = 34.0
RULE_ENDS_MM = 3.0
STRIP_NAMES = {"height": "HEIGHT", "rim": "RIM", "belly": "BELLY", "foot": "FOOT", "lid": "LID"}
LID_STRIPS = {"lid flange": "FLANGE", "gallery mouth": "GALLERY", "gallery throat": "THROAT"}
LID_TOLERANCE_MM = 0.5  # of what a lid goes into, either way, fired: a third of the usual gap; from memory


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark on a strip: the wet size it stands at, the band that is allowed round it, and its words."""

    at_mm: float
    low_mm: float
    high_mm: float
    words: str
    fired: str


@dataclass(frozen=True, slots=True)
class Strip:
    """One gauge strip: its name, its mark, and how long it is cut."""

    name: str
    mark: Mark
    length_mm: float


@dataclass(frozen=True, slots=True)
class Tick:
    """One tick of the shrink rule: where it stands on wet clay, the fired length it says, how long it is drawn (0 to 3)."""

    at_mm: float
    fired_mm: float
    weight: int
    label: str


@dataclass(frozen=True, slots=True)
class Tile:
    """The part of every strip that one page carries, mm from the base."""

    from_mm: float
    to_mm: float


def strips_of(form: FormPlan, unit: str) -> tuple[Strip, ...]:
    """The strips of a form: height, and every width a caliper is set to."""
    return tuple(
        _strip(form, name, lengths, unit)
        for name in (STRIP_NAMES | LID_STRIPS)
        if (lengths := form.lengths.get(name)) is not None
    )


def _strip(form: FormPlan, name: str, lengths: StageLengths, unit: str) -> Strip:
    # A band agreed on the fired piece is as much wider on wet clay as the piece itself.
    allowed = LID_TOLERANCE_MM if name in LID_STRIPS else tolerance_mm(form, name)[0]
    wet = lengths.wet_mm
    wide = allowed * wet / lengths.fired_mm
    mark = Mark(
        wet,
        wet - wide,
        wet + wide,
        length(wet, unit),
        f"fires to {length(lengths.fired_mm, unit)} {tolerance(allowed, unit)}",
    )
    return Strip((STRIP_NAMES | LID_STRIPS)[name], mark, mark.high_mm + HEADROOM_MM)


def shrink_ticks(shrinkage: float, longest_fired_mm: float, unit: str) -> tuple[Tick, ...]:
    """Ticks of a rule whose marks are fired lengths, each standing at the wet length that fires to it.

    Args:
        shrinkage: total linear, share of the wet length.
        longest_fired_mm: the rule goes at least so far.
        unit: "mm": a tick each millimetre; "in": a tick each sixteenth of an inch.
    """
    from wareboard.clay.shrinkage import wet_length_mm

    step = 1.0 if unit == "mm" else INCH_MM / 16
    every = 10 if unit == "mm" else 16
    last = math.ceil(longest_fired_mm / step / every - 1e-9) * every
    ticks = []
    for count in range(last + 1):
        fired = count * step
        at = wet_length_mm(fired, shrinkage) if count else 0.0
        weight = _weight(count, unit)
        label = str(count if unit == "mm" else count // every) if weight == 2 else ""
        ticks.append(Tick(at, fired, weight, label))
    return tuple(ticks)


def _weight(count: int, unit: str) -> int:
    """How long a tick is drawn: 2 for a whole centimetre or inch, 1 for its half, 0 for what is less, 3 for the least.

    In inches a half and a quarter are drawn alike, then an eighth, then a sixteenth.
    """
    if unit == "mm":
        return 2 if count % 10 == 0 else 1 if count % 5 == 0 else 0
    return 2 if count % 16 == 0 else 1 if count % 4 == 0 else 0 if count % 2 == 0 else 3


def rule_for(shrinkage: float, longest_fired_mm: float, page_mm: float, unit: str) -> tuple[Tick, ...]:
    """The ticks of a rule that reaches the longest size of a form, or fills one page if that is longer."""
    step = 10.0 if unit == "mm" else INCH_MM
    on_a_page = math.floor((page_mm - RULE_ENDS_MM) * (1.0 - shrinkage) / step) * step
    return shrink_ticks(shrinkage, max(longest_fired_mm, on_a_page), unit)


def tiles(length_mm: float, page_mm: float, overlap_mm: float = OVERLAP_MM) -> tuple[Tile, ...]:
    """A length cut into pages that overlap, so that they can be joined at marks in the middle of the overlap.

    Args:
        length_mm: of the longest strip.
        page_mm: what one page holds, more than twice the overlap.
        overlap_mm: of two pages that follow one another.
    """
    if length_mm <= page_mm:
        return (Tile(0.0, page_mm),)
    step = page_mm - overlap_mm
    count = math.ceil((length_mm - overlap_mm) / step)
    return tuple(Tile(number * step, number * step + page_mm) for number in range(count))


def gauge_sheet(plan: Plan, form: FormPlan, paper: Paper, correction: Correction | None = None) -> dict[str, Any]:
    """The gauge sheet of a form, page by page, drawn larger or smaller by a printer's own error where it is known.

    Every place on it is in mm of the clay; the template draws them so many times larger. A page that is drawn larger holds
    as much less.
    """
    drawn = correction or Correction()
    unit = plan.length_unit
    strips = strips_of(form, unit)
    page_width, page_height = PAGE_MM[paper]
    area = (page_height - TAKEN_UP_MM - (TOLD_MM if drawn.words else 0.0)) / max(1.0, drawn.up)
    width = (page_width - MARGINS_MM) / max(1.0, drawn.across)
    longest = max(each.fired_mm for name, each in form.lengths.items() if name in STRIP_NAMES)
    rules = {
        "height": rule_for(form.loss_height.fired, longest, area, unit),
        "width": rule_for(form.loss_width.fired, longest, area, unit),
    }
    pages = [
        page for group in _groups(strips, width) for page in _pages(group, rules if group[0] is strips[0] else {}, area)
    ]
    return head(plan, f"Gauge: {form.name}", paper) | {
        "name": form.name,
        "area": area,
        "width": width,
        "across": drawn.across,
        "up": drawn.up,
        "told": drawn.words,
        "hundred": hundred(unit),
        "pages": pages,
        "strip_width": STRIP_MM,
        "rule_width": RULE_MM,
        "rule_unit": "mm" if unit == "mm" else "in, in sixteenths",
        "shrinkage": [quantities.show_share(each.fired) for each in (form.loss_height, form.loss_width)],
        "working": workings([form.lengths[name].steps[0] for name in ("height", "rim")], ["…"], 36),
    }


def gauge_pdf(
    plan: Plan, form: FormPlan, paper: Paper = "a4", correction: Correction | None = None, since: Since | None = None
) -> bytes:
    """The gauge sheet of a form as a PDF, drawn for a printer, with what has changed since the approval."""
    return typeset("gauge", {**gauge_sheet(plan, form, paper, correction), **told(since)}, plan.brief.due)


def _groups(strips: Sequence[Strip], width_mm: float) -> list[Sequence[Strip]]:
    """Strips that go side by side: the first few beside the shrink rule, the rest on pages of their own."""
    beside = int((width_mm - RULE_MM) / (STRIP_MM + SPACE_MM))
    alone = int((width_mm + SPACE_MM) / (STRIP_MM + SPACE_MM))
    first, rest = strips[:beside], strips[beside:]
    return [first, *(rest[at : at + alone] for at in range(0, len(rest), alone))]


def _pages(strips: Sequence[Strip], rules: dict[str, tuple[Tick, ...]], area: float) -> list[dict[str, Any]]:
    reach = max([*(each.length_mm for each in strips), *(ticks[-1].at_mm + RULE_ENDS_MM for ticks in rules.values())])
    pages = tiles(reach, area)
    return [_page(number, pages, strips, rules, area) for number in range(len(pages))]


def _page(
    number: int, pages: Sequence[Tile], strips: Sequence[Strip], rules: dict[str, tuple[Tick, ...]], area: float
) -> dict[str, Any]:
    """What stands on one page; heights are turned into distances down from the top of the drawing."""
    tile = pages[number]
    shown = [_strip_on(tile, strip, area) | {"x": at * (STRIP_MM + SPACE_MM)} for at, strip in enumerate(strips)]
    rule_end = max((ticks[-1].at_mm for ticks in rules.values()), default=-RULE_ENDS_MM) + RULE_ENDS_MM
    return {
        "strips": [each for each in shown if each["show"]],
        "rule": {
            "x": len(strips) * (STRIP_MM + SPACE_MM),
            "show": bool(rules) and tile.from_mm < rule_end,
            "top": area - (min(rule_end, tile.to_mm) - tile.from_mm),
            "bottom": area,
            "based": number == 0,
            "edges": [
                [
                    asdict(tick) | {"y": area - (tick.at_mm - tile.from_mm)}
                    for tick in rules[name]
                    if tile.from_mm - 1e-9 <= tick.at_mm <= tile.to_mm + 1e-9
                ]
                for name in rules
            ],
        },
        "joins": _joins(number, pages, area),
    }


def _strip_on(tile: Tile, strip: Strip, area: float) -> dict[str, Any]:
    def down(at_mm: float) -> float:
        return area - (min(max(at_mm, tile.from_mm), tile.to_mm) - tile.from_mm)

    mark = strip.mark
    return {
        "show": strip.length_mm > tile.from_mm,
        "name": strip.name,
        "top": down(strip.length_mm),
        "bottom": area,
        "based": tile.from_mm == 0.0,
        "words_over": area - down(mark.low_mm)
        < ROOM_FOR_WORDS_MM,  # no room under the band: the words go over the strip
        "marked": tile.from_mm <= mark.at_mm <= tile.to_mm,
        "at": down(mark.at_mm),
        "band": [down(mark.high_mm), down(mark.low_mm)],
        "words": mark.words,
        "fired": mark.fired,
    }


def _joins(number: int, pages: Sequence[Tile], area: float) -> list[dict[str, Any]]:
    """Register marks: in the middle of the overlap with the page before and with the page after, named A, B, C…"""
    found = []
    if number > 0:
        found.append({"y": area - OVERLAP_MM / 2, "name": chr(64 + number), "cut": False})
    if number < len(pages) - 1:
        found.append({"y": OVERLAP_MM / 2, "name": chr(65 + number), "cut": True})
    return found
