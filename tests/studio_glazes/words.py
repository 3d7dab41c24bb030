"""A page as it is read."""

from __future__ import annotations

import html
import re


def words(page: str) -> str:
    """A page's words without its tags, blanks run together."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())
