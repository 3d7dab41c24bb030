"""Sizes that a brief names without a unit though it is thought of in inches."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from wareboard.errors import Unreadable, WareboardError
from wareboard.plan.workshop import Workshop

# Fields that are lengths wherever they stand in forms, mark and clay.
SIZES = frozenset(
    """height rim foot belly wall floor gap width thickness diameter gallery gallery_depth knob knob_height length base tip
    join out down dip height_tolerance width_tolerance wet fired brush off_foot off_rim groove hole full at""".split()  # noqa: SIM905
)
BARE = re.compile(r"(?:(?:about|around|ca\.?|~|≈)\s*)?[\d.,/ ½¼¾⅓⅔⅛⅜⅝⅞-]*[\d½¼¾⅓⅔⅛⅜⅝⅞]")
DEEPEST = 6


def sizes_without_a_unit(
    data: Mapping[str, Any], workshop: Workshop | None, where: Callable[[tuple[str | int, ...]], str]
) -> Iterator[WareboardError]:
    """Words such as "8" for a size in a brief that is shown in inches: mm by rule, and very likely inches by intent."""
    shown = data.get("show_lengths") or (workshop.show_lengths if workshop else "mm")
    if shown != "in":
        return
    parts = {"forms": data.get("forms"), "mark": data.get("mark"), "clay": data.get("clay")}
    for path, written in _words_within(parts, ()):
        if path[-1] in SIZES and BARE.fullmatch(written.strip()):
            yield Unreadable(
                f"{path[-1]} {written!r}".replace("_", " "),
                "it names no unit, and this commission is in inches",
                f"Write {written.strip()} in, or {written.strip()} mm",
                where(path),
            )


def _words_within(part: Any, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Every piece of text in a table, with its path."""
    rows = part.items() if isinstance(part, dict) else enumerate(part) if isinstance(part, list) else ()
    for key, value in rows:
        here = (*path, key)
        if isinstance(value, str):
            yield here, value
        elif len(here) < DEEPEST:
            yield from _words_within(value, here)
