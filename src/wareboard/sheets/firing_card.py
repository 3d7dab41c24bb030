"""A card for the kiln's door: one schedule, what it should bring down, when the kiln may be opened, what to mind."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from wareboard import quantities
from wareboard.sheets import degrees
from wareboard.sheets.data import day, sentence, shortened
from wareboard.sheets.typesetting import PAGE_MM, TYPST_PAPER, Paper, printable, typeset

if TYPE_CHECKING:
    from wareboard.kiln.energy import Cooling
    from wareboard.kiln.segment import Notice, Schedule

CHART_MM = 140.0
SCHEDULE_UNITS = 720.0
LONGEST_FOOT = 80


@dataclass(frozen=True, slots=True)
class Card:
    """What a card says: the kiln, the schedule, the cone that it brings down in words, its cooling, what to mind."""

    kiln: str
    schedule: Schedule
    heat: str
    cooling: Cooling
    notices: Sequence[Notice]
    day: date


def kiln_head(title: str, kiln: str, under_tag: str, paper: Paper) -> dict[str, Any]:
    """What the tag and the foot of a kiln's sheet say."""
    return {
        "title": title,
        "commission": kiln,  # the name behind the title in the file's own heading
        "kiln": kiln,
        "under_tag": under_tag,
        "foot": shortened(f"{title} · {kiln}", LONGEST_FOOT),
        "paper": TYPST_PAPER[paper],
        "page_mm": PAGE_MM[paper],
    }


def card_pdf(card: Card, paper: Paper = "a4") -> bytes:
    """The card as PDF: tagged, the same bytes for the same card on the same day."""
    return typeset("firing_card", card_data(card, paper), card.day)


def card_data(card: Card, paper: Paper = "a4") -> dict[str, Any]:
    """The card as plain data."""
    from wareboard.kiln.schedule_plot import schedule_svg

    made, cooling = card.schedule, card.cooling
    hold = sum(each.hold_min for each in made.segments if each.target_c == made.peak_c)
    return kiln_head("Firing card", card.kiln, f"written {day(card.day)}", paper) | {
        "name": f"{made.kind.capitalize()} to cone {made.cone}",
        "under": f"{made.form} cones · {len(made.segments)} segments",
        "peak": f"{made.peak_c:.0f} °C",
        "hold": quantities.show_duration(hold * 60.0) if hold else "no hold",
        "open_at": f"{cooling.to_c:.0f} °C",
        "open_after": f"{made.duration_h + cooling.hours:.0f} h after switching on "
        f"({made.duration_h + cooling.low:.0f} to {made.duration_h + cooling.high:.0f})",
        "heat": card.heat,
        "segments": segment_rows(made),
        "heating": quantities.show_duration(made.heating_h * 3600.0),
        "cooling": f"about {cooling.hours:.0f} h ({cooling.low:.0f} to {cooling.high:.0f})",
        "chart": printable(schedule_svg(made, "card"), CHART_MM / SCHEDULE_UNITS),
        "chart_width": CHART_MM,
        "chart_alt": f"{made.name}: temperature against hours, peak {made.peak_c:.0f} °C after {made.heating_h:.1f} h",
        "notices": [sentence(f"{each.what}: {each.why}. {each.mend}.") for each in card.notices],
    }


def segment_rows(made: Schedule, shown: str = "C") -> list[list[str]]:
    """Each segment as it is programmed, with the hour and minute at which it ends."""
    rows, hours, before = [], 0.0, made.start_c
    for number, each in enumerate(made.segments, 1):
        hours += abs(each.target_c - before) / each.rate_c_per_h + each.hold_min / 60.0
        before = each.target_c
        whole = math.floor(hours * 60.0 + 0.5)
        rows.append(
            [
                str(number),
                degrees.rate(each.rate_c_per_h, shown),
                degrees.temperature(each.target_c, shown),
                quantities.show_duration(each.hold_min * 60.0) if each.hold_min else "–",
                f"{whole // 60} h {whole % 60:02d}",
                degrees.in_degrees(each.why, shown, rough=True),
            ]
        )
    return rows
