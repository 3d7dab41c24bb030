"""The sheet of a mark: where it goes and how it is cut, then its templates life-size, each page with a line of 100 mm."""

from __future__ import annotations

from typing import Any

from wareboard.mark.page import Page, Shape, Word
from wareboard.plan.marked import Marked
from wareboard.plan.result import Plan
from wareboard.sheets.data import head, sentence
from wareboard.sheets.typesetting import Paper

PERMISSION = "Ask whoever owns a mark that is not your own before you carve it."
WIDTHS_MM = {"cut": 0.2, "mark": 0.3, "centre": 0.12, "top": 0.5, "check": 0.3}
DASHES = {"cut": "2 1.2", "centre": "5 1 1 1"}


def mark_sheet(plan: Plan, found: Marked, paper: Paper = "a4") -> dict[str, Any]:
    """What the mark's sheet says and draws; the templates must have been set out on the same paper."""
    steps = [(step.name, f"{step.value:.2f}".rstrip("0").rstrip("."), step.unit) for step in found.size.steps]
    said = [
        (
            f"At leather-hard {found.drawing.width_mm:.1f} mm wide and {found.drawing.height_mm:.1f} mm high, "
            f"so that it fires to {found.size.fired_width_mm:.1f} by {found.size.fired_height_mm:.1f} mm."
        ),
        (
            f"Cut {found.drawing.cut}: grooves at least {found.groove.value:.1f} mm wide, at most {found.depth.value:.1f} "
            f"mm deep; {found.drawing.length_mm:.0f} mm of line."
        ),
        sentence(found.fine),
        found.made.distortion.words,
        f"The template's thick edge lies {found.made.top_words}, by tape along the wall"
        + (", face down: it is mirrored." if found.made.mirrored else "."),
        *(sentence(note) for note in found.drawing.notes),
        PERMISSION,
    ]
    places = [
        [str(each.number), f"{each.angle_deg:.1f}°", f"{each.round_mm:.1f} mm", f"{each.height_mm:.1f} mm",
         f"{each.below_rim_mm:.1f} mm"]
        for each in found.places.places
    ]  # fmt: skip
    return {
        **head(plan, f"Mark: {found.form}", paper),
        "said": said,
        "places": places,
        "words": sentence(found.places.words),
        "origin": found.places.origin,
        "steps": [[name, f"{value} {unit}".strip()] for name, value, unit in steps],
        "sheets": [_page(page) for page in found.pages],
    }


def _page(page: Page) -> dict[str, Any]:
    return {
        "wide": page.width_mm,
        "high": page.height_mm,
        "svg": _svg(page),
        "words": [_word(word) for word in page.words],
        "templates": page.templates,
    }


def _svg(page: Page) -> str:
    """The page's lines alone; its words are set by the typesetter."""
    lines = "".join(_line(shape) for shape in page.shapes)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{page.width_mm:g}mm" height="{page.height_mm:g}mm" '
        f'viewBox="0 0 {page.width_mm:g} {page.height_mm:g}" fill="none" stroke="#1a1a1a" '
        f'stroke-linejoin="round">{lines}</svg>'
    )


def _line(shape: Shape) -> str:
    places = " ".join(f"{x:.3f},{y:.3f}" for x, y in shape.points_mm)
    dashed = f' stroke-dasharray="{DASHES[shape.name]}"' if shape.name in DASHES else ""
    return f'<path d="M{places}{"Z" if shape.closed else ""}" stroke-width="{WIDTHS_MM[shape.name]}"{dashed}/>'


def _word(word: Word) -> dict[str, Any]:
    return {
        "x": word.x_mm, "y": word.y_mm, "text": word.text, "size": word.size_mm, "turn": word.turn_deg,
        "middle": word.middle,
    }  # fmt: skip
