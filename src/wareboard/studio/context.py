"""What every page knows: light or dark, and who is writing."""

from __future__ import annotations

from django.http import HttpRequest

LOOKS = {"light": "Light", "dark": "Dark", "machine": "As the machine"}
LOOK_COOKIE, WHO_COOKIE = "look", "who"


def look(request: HttpRequest) -> dict[str, object]:
    """The chosen look, kept in a cookie; the machine's where none was chosen."""
    chosen = request.COOKIES.get(LOOK_COOKIE, "machine")
    return {"look": chosen if chosen in LOOKS else "machine", "looks": LOOKS, "who": who(request)}


def who(request: HttpRequest) -> str:
    """Who said last that they are writing."""
    from urllib.parse import unquote

    return unquote(request.COOKIES.get(WHO_COOKIE, ""))[:80]
