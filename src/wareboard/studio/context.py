"""What every page knows: light or dark, and who is writing."""

from __future__ import annotations

from django.http import HttpRequest

from wareboard.studio.phones.access import may_see_client

LOOKS = {"light": "Light", "dark": "Dark", "machine": "As the machine"}
LOOK_COOKIE, WHO_COOKIE = "look", "who"


def look(request: HttpRequest) -> dict[str, object]:
    """The chosen look, kept in a cookie; the machine's where none was chosen."""
    chosen = request.COOKIES.get(LOOK_COOKIE, "machine")
    return {"look": chosen if chosen in LOOKS else "machine", "looks": LOOKS, "who": who(request), **door(request)}


def door(request: HttpRequest) -> dict[str, object]:
    """What the signed-in person may do, for the pages' heads and links; the potter at the machine itself."""
    phone = getattr(request, "phone", None)
    role = getattr(request, "role", "potter")
    return {
        "signed_in": phone.person if phone else None,
        "role": role,
        "is_helper": role == "helper",
        "no_clients": not may_see_client(role),
    }


def asked_of(request: HttpRequest, usual: str = "show") -> str:
    """What the button of a form asks for; ``usual`` where none was pressed.

    A look sent while somebody types carries the button that was pressed since, and must not do what the button does.
    """
    if request.headers.get("HX-Request"):
        return usual
    return str(request.POST.get("do", usual))


def who(request: HttpRequest) -> str:
    """Who is signed in; where nobody has to, who said last that they are writing."""
    from urllib.parse import unquote

    phone = getattr(request, "phone", None)
    if phone is not None:
        return str(phone.person.name)

    return unquote(request.COOKIES.get(WHO_COOKIE, ""))[:80]


def writer(request: HttpRequest) -> str:
    """Who writes: the one who is signed in; else as the page's own box says, or the last one did."""
    if getattr(request, "phone", None) is not None:
        return who(request)
    return str(request.POST.get("who") or who(request)).strip()[:80]


def writer_of(request: HttpRequest, said: str) -> str:
    """Who wrote what a phone had kept: the one signed in, who may be sending what another wrote on the same phone."""
    phone = getattr(request, "phone", None)
    if phone is None:
        return (said or who(request))[:80]
    from wareboard.book.people.entering import called
    from wareboard.book.people.models import Person

    name = str(phone.person.name)
    other = None if called(said) == called(name) else Person.objects.filter(called=called(said)).first()
    return f"{other.name}, sent by {name}"[:80] if other else name
