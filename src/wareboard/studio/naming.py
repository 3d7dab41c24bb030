"""What a commission is called where its brief gives no title."""

from __future__ import annotations

import tomllib
from typing import Any


def name_in(text: str) -> str:
    """The brief's title, else its pieces in words, such as "24 × cup"."""
    try:
        plain: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return "Unnamed commission"
    title = str(plain.get("title", "")).strip()
    if title:
        return title
    forms = plain.get("forms")
    named = [form for form in forms if isinstance(form, dict)] if isinstance(forms, list) else []
    words = [f"{form.get('count', '')} × {form.get('name', 'piece')}" for form in named]
    if not words:
        return "Unnamed commission"
    return words[0] if len(words) == 1 else f"{words[0]} and {len(words) - 1} more"
