"""The page Phones: how to reach the studio from a phone, who works here, and on which phones they are signed in."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET, require_POST

from wareboard.book.people import entering
from wareboard.book.people.models import HELPER, POTTER, ROLES, Person, PersonChange, Phone
from wareboard.errors import WareboardError
from wareboard.studio.context import who
from wareboard.studio.phones import certificate, network
from wareboard.studio.phones.door import ASK_HERE, asks_here
from wareboard.studio.today import now

MOST_CHANGES = 200


@require_GET
def phones(request: HttpRequest) -> HttpResponse:
    """Addresses, people, phones."""
    return _shown(request)


@require_GET
def trust(request: HttpRequest) -> HttpResponse:
    """The steps by which a phone comes to trust the workshop's certificate."""
    stands = network.how_open()
    return render(request, "phones/trust.html", {"open": stands, "at": "sign-in"})


@require_GET
def trust_certificate(request: HttpRequest) -> HttpResponse:
    """The authority's certificate, without its key."""
    body = certificate.for_phones(Path(settings.WAREBOARD.folder))
    if body is None:
        raise Http404
    headers = {"Content-Disposition": 'attachment; filename="wareboard-workshop.crt"'}
    return HttpResponse(body, content_type="application/x-x509-ca-cert", headers=headers)


@require_POST
def add_person(request: HttpRequest) -> HttpResponse:
    """Somebody new."""
    try:
        with transaction.atomic():  # a password that will not do leaves nobody half added
            person = entering.add_person(request.POST.get("name", ""), request.POST.get("role") or HELPER)
            entering.note_change(person, f"added, {person.role}", _by(request), now())
            if request.POST.get("password"):
                entering.set_password(person, request.POST["password"])
                entering.note_change(person, "has a password", _by(request), now())
        messages.success(request, f"{person.name} is among the people.")
    except WareboardError as problem:
        messages.error(request, str(problem))
        return _shown(request, request.POST.get("name", "")[:80], request.POST.get("role") or HELPER, status=422)
    return HttpResponseRedirect(reverse("phones"))


@require_POST
def invite(request: HttpRequest, pk: int) -> HttpResponse:
    """A link and its square to scan that let one phone in, once."""
    person = get_object_or_404(Person, pk=pk, left=None)
    stands = network.how_open()
    if stands is None:
        messages.error(
            request, "The studio is not open to phones. Close it, and open it with: wareboard studio --phone"
        )
        return HttpResponseRedirect(reverse("phones"))
    where = reverse("join", args=[entering.invite(person, now())])
    link = stands.address.rstrip("/") + where
    return render(request, "phones/invite.html", {"person": person, "link": link, "qr": square(link), "at": "phones"})


@require_POST
def change_person(request: HttpRequest, pk: int) -> HttpResponse:
    """A new password or role, or somebody works here no more."""
    person = get_object_or_404(Person, pk=pk, left=None)
    try:
        match request.POST.get("do", ""):
            case "password":
                before = "had one" if person.password else "had none"
                entering.set_password(person, request.POST.get("password", ""))
                entering.note_change(person, "has a new password", _by(request), now(), before)
                messages.success(request, f"{person.name} has a new password.")
            case "role":
                entering.change_role(person, request.POST.get("role", ""), _by(request), now())
                messages.success(request, f"{person.name} is {person.role} now.")
            case "leave":
                entering.leave(person, now())
                entering.note_change(person, "works here no more", _by(request), now(), person.role)
                messages.success(request, f"{person.name} works here no more. To undo it, add the name again.")
            case _:
                messages.error(request, "Nothing was chosen.")
    except WareboardError as problem:
        messages.error(request, str(problem))
    _keep_a_way_in(request)
    return HttpResponseRedirect(reverse("phones"))


@require_POST
def sign_out_phone(request: HttpRequest, pk: int) -> HttpResponse:
    """A phone that was lost or given away is signed out."""
    phone = get_object_or_404(Phone, pk=pk)
    entering.sign_out(phone)
    entering.note_change(phone.person, f"{phone.kind} signed out", _by(request), now())
    messages.success(request, f"{phone.person.name}’s {phone.kind} is signed out. It can join again.")
    return HttpResponseRedirect(reverse("phones"))


@require_POST
def ask_here(request: HttpRequest) -> HttpResponse:
    """Whether a password is asked for on this machine too."""
    place = Path(settings.WAREBOARD.folder) / ASK_HERE
    if request.POST.get("ask") != "yes":
        place.unlink(missing_ok=True)
    elif entering.potters_with_password():
        place.write_text("While this file is here, the studio asks for a password on its own machine too.\n", "utf-8")
    else:
        messages.error(request, "Give a potter a password first; nobody could come in otherwise.")
    return HttpResponseRedirect(reverse("phones"))


def _by(request: HttpRequest) -> str:
    """Who changes something here: the one signed in, else whoever sits at the machine."""
    return who(request) or "at the machine"


def square(words: str) -> str:
    """A square to scan, as a drawing."""
    import segno

    drawn = segno.make(words, error="m").svg_inline(scale=6, border=4, light="#fff", dark="#000", omitsize=True)
    return mark_safe(drawn)


def _keep_a_way_in(request: HttpRequest) -> None:
    if asks_here() and not entering.potters_with_password():
        (Path(settings.WAREBOARD.folder) / ASK_HERE).unlink(missing_ok=True)
        messages.warning(request, "No potter has a password now, so this machine asks for none.")


def _shown(request: HttpRequest, typed: str = "", role: str = HELPER, status: int = 200) -> HttpResponse:
    stands = network.how_open()
    people = Person.objects.filter(left=None).prefetch_related("phones").order_by("called")
    changes = PersonChange.objects.select_related("person").order_by("-pk")[:MOST_CHANGES]
    context = {
        "open": stands,
        "qr": square(stands.address + "trust/") if stands else "",
        "people": people,
        "changes": changes,
        "roles": ROLES,
        "asks_here": asks_here(),
        "typed": typed,
        "typed_role": role,
        "potter": POTTER,
        "at": "phones",
    }
    return render(request, "phones/phones.html", context, status=status)
