"""People, the phones they came in with, invitations to join, and wrong tries.

Neither a password nor what a phone shows to be let in is kept: of the first there is an Argon2 hash, of the second a digest.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

POTTER, HELPER, READER = "potter", "helper", "reader"
ROLES = (
    (POTTER, "Potter: everything"),
    (HELPER, "Helper at the bench: bench pages, no prices, nothing of clients"),
    (READER, "Reader: looks, changes nothing"),
)


class Person(models.Model):
    """Somebody who works here, or did."""

    name = models.CharField(max_length=40)
    called = models.CharField(max_length=40, unique=True)  # the name as it is compared: folded to one case
    role = models.CharField(max_length=8, choices=ROLES)
    password = models.CharField(max_length=200, blank=True)  # Argon2; empty where there is none
    left = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.name


class Phone(models.Model):
    """A phone or other machine on which somebody is signed in."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="phones")
    token = models.CharField(max_length=64, unique=True)  # SHA-256 of what the phone keeps
    kind = models.CharField(max_length=40)
    joined = models.DateTimeField()
    seen = models.DateTimeField()


class Joining(models.Model):
    """An invitation that lets one phone in, once."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="joinings")
    code = models.CharField(max_length=64, unique=True)  # SHA-256 of what the link holds
    until = models.DateTimeField()


class WrongTry(models.Model):
    """A wrong try at signing in."""

    called = models.CharField(max_length=40)
    address = models.CharField(max_length=45)
    at = models.DateTimeField()

    class Meta:
        indexes: ClassVar = [models.Index(fields=["at"], name="wrong_tries_by_time")]


class PersonChange(models.Model):
    """What was changed about a person: who did it, when, and what was before. Never a password itself."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="changes")
    what = models.CharField(max_length=80)
    before = models.CharField(max_length=80, blank=True)
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()

    class Meta:
        indexes: ClassVar = [models.Index(fields=["person", "-id"], name="changes_of_a_person")]

    def __str__(self) -> str:
        return f"{self.person}: {self.what}"
