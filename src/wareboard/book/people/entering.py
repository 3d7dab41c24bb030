"""Coming in: people, invitations, passwords, phones. Times are passed in; nothing here knows of pages or cookies."""

from __future__ import annotations

import hashlib
import secrets
import threading
from datetime import datetime, timedelta

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction

from wareboard.book.people.models import POTTER, ROLES, Joining, Person, PersonChange, Phone, WrongTry
from wareboard.errors import NotInTable, OutOfRange, WareboardError

SHORTEST_PASSWORD, LONGEST_PASSWORD = 6, 200
JOIN_WITHIN = timedelta(minutes=15)
STAYS_IN = timedelta(days=60)
SEEN_EVERY = timedelta(minutes=10)
LOCKED_FOR = timedelta(minutes=15)
TRIES_A_NAME, TRIES_AN_ADDRESS = 5, 20
# One at a time: each takes much memory, and many at once would be a way to bring the machine down.
_hashing = threading.Lock()


class LockedOut(WareboardError):
    """Too many wrong tries."""


class NotLetIn(WareboardError):
    """The name, the password or the invitation does not fit."""


def digest(token: str) -> str:
    """What is kept of a token or an invitation: enough to know it again, not enough to use it."""
    return hashlib.sha256(token.encode()).hexdigest()


def called(name: str) -> str:
    """A name as it is compared."""
    return " ".join(name.split()).casefold()[:40]


def add_person(name: str, role: str) -> Person:
    """A new person of the workshop, without a password; somebody of that name who had left comes back.

    Raises:
        OutOfRange: if the name is empty, too long, or taken. NotInTable: if there is no such role.
    """
    plain = " ".join(name.split())
    if not 1 <= len(plain) <= 40 or len(plain.casefold()) > 40 or not plain.isprintable():
        raise OutOfRange("the name", "it is empty or longer than 40 letters", "Write a name of 1 to 40 letters")
    if role not in dict(ROLES):
        raise NotInTable(f"role {role!r}", "nobody has such a role", "Choose potter, helper or reader")
    with transaction.atomic():
        there = Person.objects.filter(called=called(plain)).first()
        if there is None:
            return Person.objects.create(name=plain, called=called(plain), role=role)
        if there.left is None:
            raise OutOfRange(f"the name {plain}", "somebody has it already", "Add a letter, such as an initial")
        there.name, there.role, there.left, there.password = plain, role, None, ""
        there.save()
        return there


def note_change(person: Person, what: str, who: str, when: datetime, before: str = "") -> PersonChange:
    """What was changed about a person, written down: what, who did it, when, and what was before."""
    return PersonChange.objects.create(person=person, what=what[:80], before=before[:80], who=who[:80], written=when)


def change_role(person: Person, role: str, who: str, when: datetime) -> None:
    """Another role for a person, written down; nothing where it is the same.

    Raises:
        NotInTable: if there is no such role.
    """
    if role not in dict(ROLES):
        raise NotInTable(f"role {role[:20]!r}", "nobody has such a role", "Choose potter, helper or reader")
    if role != person.role:
        note_change(person, f"is {role}", who, when, before=person.role)
        person.role = role
        person.save(update_fields=["role"])


def set_password(person: Person, password: str) -> None:
    """Keep a password or PIN; where there was one, every phone of the person stays signed in.

    Raises:
        OutOfRange: if it is shorter than six signs, all one sign, or longer than two hundred.
    """
    if not SHORTEST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        raise OutOfRange("the password", "it needs 6 to 200 signs", "Six figures that you will remember are enough")
    if len(set(password)) == 1 or password in "01234567890" or password in "09876543210":
        raise OutOfRange("the password", "it is one of the first that anybody tries", "Choose another")
    with _hashing:
        person.password = make_password(password)
    person.save(update_fields=["password"])


def invite(person: Person, when: datetime) -> str:
    """A code that lets one phone in as this person, once, within a quarter of an hour."""
    Joining.objects.filter(until__lt=when).delete()
    code = secrets.token_urlsafe(18)
    Joining.objects.create(person=person, code=digest(code), until=when + JOIN_WITHIN)
    return code


def invited(code: str, when: datetime) -> Person | None:
    """Whom an invitation is for; None if it is used, too old, or was never given."""
    found = Joining.objects.filter(code=digest(code), until__gte=when, person__left=None).select_related("person")
    first = found.first()
    return first.person if first else None


def join(code: str, kind: str, when: datetime) -> tuple[Person, str]:
    """Use an invitation up; the person, and the token for the phone.

    Raises:
        NotLetIn: if it is used, too old, or was never given.
    """
    with transaction.atomic():
        person = invited(code, when)
        # Whoever deletes the row has it: of two at once one finds nothing left to delete.
        if person is None or not Joining.objects.filter(code=digest(code)).delete()[0]:
            raise NotLetIn(
                "this link", "it was used already or is older than a quarter of an hour", "Ask for a new one"
            )
        return person, _let_in(person, kind, when)


def sign_in(name: str, password: str, address: str, kind: str, when: datetime) -> tuple[Person, str]:
    """The person and the token for the phone.

    Raises:
        LockedOut: after too many wrong tries for this name or from this address.
        NotLetIn: if name and password do not fit; it does not say which.
    """
    who = called(name)
    with _hashing:
        # Counted inside the lock, so that many tries at once cannot slip past the count.
        WrongTry.objects.filter(at__lt=when - LOCKED_FOR).delete()
        by_name = WrongTry.objects.filter(called=who).count()
        by_address = WrongTry.objects.filter(address=address).count()
        if by_name >= TRIES_A_NAME or by_address >= TRIES_AN_ADDRESS:
            raise LockedOut(
                "too many wrong tries",
                "the door is shut for a quarter of an hour",
                "Wait, or have a potter join this phone from the studio",
            )
        person = Person.objects.filter(called=who, left=None).exclude(password="").first()
        # A name that nobody has takes as long as one that somebody has.
        kept = person.password if person else make_password("nobody's")
        fits = len(password) <= LONGEST_PASSWORD and check_password(password, kept)
        if person is None or not fits:
            WrongTry.objects.create(called=who, address=address, at=when)
            raise NotLetIn("name and password do not fit", "one of them is wrong", "Try again, or join from the studio")
        WrongTry.objects.filter(called=who).delete()
    return person, _let_in(person, kind, when)


def _let_in(person: Person, kind: str, when: datetime) -> str:
    token = secrets.token_urlsafe(32)
    Phone.objects.create(person=person, token=digest(token), kind=kind[:40], joined=when, seen=when)
    return token


def signed_in(token: str, when: datetime) -> Phone | None:
    """The phone that shows this token, while its person works here and it was seen in the last sixty days."""
    if not token:
        return None
    phone = Phone.objects.filter(token=digest(token), person__left=None).select_related("person").first()
    if phone is None or phone.seen < when - STAYS_IN:
        return None
    if phone.seen < when - SEEN_EVERY:
        Phone.objects.filter(pk=phone.pk).update(seen=when)
    return phone


def sign_out(phone: Phone) -> None:
    """The phone is not known any more."""
    phone.delete()


def leave(person: Person, when: datetime) -> None:
    """Somebody works here no more: every phone of theirs is signed out; what they wrote stays signed."""
    with transaction.atomic():
        person.phones.all().delete()
        person.joinings.all().delete()
        person.left = when
        person.save(update_fields=["left"])


def potters_with_password() -> bool:
    """Whether there is somebody who could sign in and may do everything."""
    return Person.objects.filter(role=POTTER, left=None).exclude(password="").exists()
