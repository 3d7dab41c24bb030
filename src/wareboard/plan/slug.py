"""Words as short keys, for naming lines of working, tasks and files."""

from __future__ import annotations


def slug(words: str) -> str:
    """Words as a short key: lower case, letters and digits, dashes between."""
    plain = "".join(letter if letter.isalnum() else "-" for letter in words.lower())
    return "-".join(part for part in plain.split("-") if part)
