"""Records: a paper is a text kept in all its versions; a commission's brief is one paper, the workshop's file another.

A version is never changed after it is written. Undo and redo move a paper's pointer along the versions' line of descent;
nothing is deleted, a commission is put away and fetched back.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class Paper(models.Model):
    """A text in all its versions, with a pointer to the one that counts now."""

    class Kind(models.TextChoices):
        """What the text is."""

        BRIEF = "brief", "a commission's brief"
        WORKSHOP = "workshop", "the workshop's file"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    current = models.ForeignKey("Version", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kind"], condition=models.Q(kind="workshop"), name="one_workshop_file")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.pk}"


class Version(models.Model):
    """One version of a paper: its whole text, what it grew out of, who wrote it, when and why."""

    paper = models.ForeignKey(Paper, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    text = models.TextField()
    parent = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="children")
    who = models.CharField(max_length=80, blank=True)
    why = models.CharField(max_length=200)
    written = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["paper", "number"], name="versions_are_numbered")]

    def __str__(self) -> str:
        return f"version {self.number}: {self.why}"


class Commission(models.Model):
    """A commission: a short code that goes on boards and sheets, a name, and its brief."""

    code = models.CharField(max_length=12, unique=True)
    name = models.CharField(max_length=120)
    paper = models.OneToOneField(Paper, on_delete=models.PROTECT, related_name="commission")
    created = models.DateTimeField()
    put_away = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-created", "-pk"]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Headline(models.Model):
    """The answer at a glance for one version, as it was last worked out, so that a list need not work out every plan."""

    version = models.OneToOneField(Version, on_delete=models.CASCADE, related_name="headline")
    day = models.DateField()
    workshop_print = models.CharField(max_length=64)
    looked_s = models.FloatField(default=0.0)  # how long the calendar was looked for, when longer than usual
    figures = models.JSONField()

    def __str__(self) -> str:
        return f"headline of version {self.version_id}"
