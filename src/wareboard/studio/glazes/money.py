"""The money that prices are written in: the workshop's currency."""

from __future__ import annotations

import re
import tomllib

from wareboard.studio import workshop_file

USUAL = "EUR"


def currency() -> str:
    """The currency of the workshop's file; the usual one where it names none or cannot be read."""
    try:
        prices = tomllib.loads(workshop_file.text()).get("prices", {})
    except tomllib.TOMLDecodeError:
        return USUAL  # the workshop's own page says what is wrong with the file
    named = prices.get("currency") if isinstance(prices, dict) else None
    return named if isinstance(named, str) and re.fullmatch(r"[A-Z]{3}", named) else USUAL
