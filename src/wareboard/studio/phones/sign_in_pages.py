"""The ways in and out: name and password, a link used once, a password of one's own, signing out."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from wareboard.book.people import entering
from wareboard.errors import WareboardError
from wareboard.studio.phones.door import let_in, let_out, onward, phone_of
from wareboard.studio.today import now

KINDS = (("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"), ("Mac OS", "Mac"))


@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """Name and password; then the page that was asked for."""
    name, trouble = request.POST.get("name", "")[:80], ""
    if request.method == "POST":
        try:
            address = request.META.get("REMOTE_ADDR", "")[:45]
            _, token = entering.sign_in(name, request.POST.get("password", ""), address, kind_of(request), now())
            return let_in(request, HttpResponseRedirect(onward(request, request.POST.get("on", ""))), token)
        except WareboardError as problem:
            trouble = str(problem)
    on = request.POST.get("on") or request.GET.get("on", "")
    context = {"name": name, "trouble": trouble, "on": on, "at": "sign-in"}
    return render(request, "phones/sign_in.html", context, status=422 if trouble else 200)


@require_http_methods(["GET", "POST"])
def join(request: HttpRequest, code: str) -> HttpResponse:
    """Join by a link: it is used up by the button, so that a program which only looks at links does not use it."""
    if request.method == "POST":
        try:
            person, token = entering.join(code, kind_of(request), now())
            entering.note_change(person, f"{kind_of(request)} joined", person.name, now())
            messages.success(request, f"This phone is {person.name}’s now.")
            return let_in(request, HttpResponseRedirect(reverse("bench")), token)
        except WareboardError as problem:
            return render(request, "phones/join.html", {"trouble": str(problem), "at": "sign-in"}, status=422)
    person_invited = entering.invited(code, now())
    trouble = "" if person_invited else "This link was used already, or is older than a quarter of an hour."
    context = {"person": person_invited, "trouble": trouble, "at": "sign-in"}
    return render(request, "phones/join.html", context, status=422 if trouble else 200)


@require_http_methods(["GET", "POST"])
def own_password(request: HttpRequest) -> HttpResponse:
    """A password for the one who is signed in."""
    phone, trouble = phone_of(request), ""
    if phone is None:
        return HttpResponseRedirect(reverse("phones"))
    if request.method == "POST":
        try:
            entering.set_password(phone.person, request.POST.get("password", ""))
            messages.success(request, "The password is kept.")
            return HttpResponseRedirect(reverse("bench"))
        except WareboardError as problem:
            trouble = str(problem)
    context = {"trouble": trouble, "at": "sign-in"}
    return render(request, "phones/own_password.html", context, status=422 if trouble else 200)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Sign out on this phone."""
    phone = phone_of(request)
    if phone is not None:
        entering.sign_out(phone)
    return let_out(request, HttpResponseRedirect(reverse("sign-in")))


def kind_of(request: HttpRequest) -> str:
    """What sort of phone or machine it says it is."""
    said = request.headers.get("User-Agent", "")
    return next((words for sign, words in KINDS if sign in said), "phone or computer")
