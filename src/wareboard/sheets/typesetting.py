"""From plain data to a PDF: one JSON into one Typst template, with the fonts shipped here and a fixed time stamp."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    import typst

Paper = Literal["a4", "letter"]
HERE = Path(__file__).parent
TEMPLATES, FONTS = HERE / "templates", HERE / "fonts"
TYPST_PAPER: Mapping[Paper, str] = {"a4": "a4", "letter": "us-letter"}
PAGE_MM: Mapping[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
POINT_MM = 25.4 / 72
LEAST_POINTS = 8.5
INK = "#2b211c"
# What the fonts shipped here and inside the typesetter can draw; for anything else the machine's own fonts are asked.
DRAWN_BY_SHIPPED_FONTS = re.compile(
    "[\u0000-\u052f\u1e00-\u1fff\u2000-\u206f\u20a0-\u20bf\u2100-\u214f\u2190-\u22ff\u25a1]*"
)
NO_FONT_DRAWS = re.compile(r'the text [`"]+(.+?)"` could not be displayed', re.DOTALL)
ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}")
LAST_PLAIN = 0x7F
EMPTY_BOX = "□"  # the printer's own sign for a letter that the fonts do not have
JOINERS = (0x200D, 0xFE0F)  # they join picture signs into one, and no box can be joined
CONTROLS = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f]")


@cache
def _fonts(with_the_machines_own: bool) -> typst.Fonts:
    import typst

    return typst.Fonts(include_system_fonts=with_the_machines_own, include_embedded_fonts=True, font_paths=[str(FONTS)])


def stamp_of(due: date) -> datetime:
    """The time that every file of a dossier carries: noon of the due date, so that the same brief gives the same bytes."""
    return datetime.combine(due, time(12), UTC)


def typeset(template: str, data: Mapping[str, Any], due: date) -> bytes:
    """The PDF that ``templates/<template>.typ`` makes of ``data``: tagged, with title and language.

    A letter that no font at hand can draw (a picture sign, most often) is printed as an empty box.

    Args:
        template: name of a template without its ending.
        data: what can be written as JSON.
        due: the commission's due date, from which the time stamp comes.
    """
    import typst

    text = json.dumps(_without_controls(data), ensure_ascii=False, sort_keys=True, allow_nan=False)
    undrawn: set[str] = set()
    while True:
        try:
            pdf = typst.compile(
                str(TEMPLATES / f"{template}.typ"),
                root=str(TEMPLATES),
                font_paths=_fonts(DRAWN_BY_SHIPPED_FONTS.fullmatch(text) is None),
                ignore_system_fonts=True,
                sys_inputs={"data": text},
                pdf_standards=["ua-1"],
                timestamp=stamp_of(due),
            )
        except RuntimeError as problem:
            found = _not_drawn(str(problem)) - undrawn
            if not found:
                raise
            # One letter that no font here has must not cost the whole dossier; the brief keeps it as it was written.
            undrawn |= found
            text = text.translate(dict.fromkeys(map(ord, found), EMPTY_BOX) | dict.fromkeys(JOINERS))
            continue
        assert isinstance(pdf, bytes)  # no output path was given
        return pdf


def _not_drawn(problem: str) -> set[str]:
    """The letters that the typesetter says no font can draw; plain ones are never among them."""
    named = NO_FONT_DRAWS.search(problem)
    words = ESCAPED.sub(lambda found: chr(int(found[1], 16)), named[1]) if named else ""
    return {letter for letter in words if ord(letter) > LAST_PLAIN} - {EMPTY_BOX}


def _without_controls(data: Any) -> Any:
    """The data with every control character but a new line made a space: none of them can be printed."""
    if isinstance(data, str):
        return CONTROLS.sub(" ", data)
    if isinstance(data, Mapping):
        return {key: _without_controls(part) for key, part in data.items()}
    if isinstance(data, list | tuple):
        return [_without_controls(part) for part in data]
    return data


def printable(svg: str, zoom: float = 1.0) -> str:
    """A room's drawing made ready for the sheet: in its ink and type, and no letter printed under 8.5 points.

    Args:
        svg: drawing whose lines take ``currentColor``; its ``width`` is in mm, or its units are mm.
        zoom: printed mm for each unit of the drawing.
    """
    least = LEAST_POINTS * POINT_MM / zoom

    def raised(found: re.Match[str]) -> str:
        return f'font-size="{max(float(found[1]), least):.3f}"'

    drawn = re.sub(r'font-size="([\d.]+)"', raised, svg)
    drawn = re.sub(r'font-family="[^"]*"', 'font-family="Atkinson Hyperlegible Next"', drawn)
    return drawn.replace("currentColor", INK)
