"""What is kept of a prototype: what was approved as it stood then, the client's pictures, and the colours of test tiles.

Nothing is deleted: an approval is put away and fetched back, a picture that is replaced stays behind its successor.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from wareboard.book.firings.models import Kept, KeptFile
from wareboard.book.models import Commission, Version

MARK, PAINTING = "mark", "painting"
KINDS = ((MARK, "Mark"), (PAINTING, "Painting"))


class Approval(Kept):
    """The prototype that the client agreed to: the brief's version, and every fact of it in words as it stood that day."""

    plain = ("day", "why", "facts", "pictures", "version_id")
    commission = models.OneToOneField(Commission, on_delete=models.PROTECT, related_name="approval")
    version = models.ForeignKey(Version, on_delete=models.PROTECT, related_name="+")
    day = models.DateField()
    why = models.CharField(max_length=200)
    facts = models.JSONField(default=list)  # [key, name, words], as `wareboard.plan.approved.Fact`
    pictures = models.JSONField(default=list)  # [name, digest] of every picture of the prototype

    def __str__(self) -> str:
        return f"approved on {self.day}"


class ClientPicture(Kept):
    """The drawing of a mark or the artwork of a painting for one form, with what was typed beside it.

    Where it is ``same_as`` another form's, that one's file is used and ``file`` is what it was when that was said.
    """

    plain = ("file_id", "words", "given", "same_as_id")
    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="client_pictures")
    kind = models.CharField(max_length=10, choices=KINDS)
    form = models.CharField(max_length=80)  # by its name in the brief
    same_as = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="followers")
    file = models.ForeignKey(KeptFile, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=120, blank=True)
    given = models.JSONField(default=dict)  # the boxes of the page, as they were typed

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["commission", "kind", "form"], name="one_picture_of_a_kind_for_a_form")
        ]

    def __str__(self) -> str:
        return f"{self.kind} of {self.form}"


class ColourTile(Kept):
    """A test tile by its colours: raw and fired, each as L*a*b* under D50 from one or several photographs."""

    plain = ("glaze", "coats", "over", "over_coats", "body", "cone", "runs", "raw", "fired", "how", "note")
    name = models.CharField(max_length=80, unique=True)
    glaze = models.CharField(max_length=80, blank=True)
    coats = models.PositiveSmallIntegerField(default=3)
    over = models.CharField(max_length=80, blank=True)
    over_coats = models.PositiveSmallIntegerField(default=0)
    body = models.CharField(max_length=80, blank=True)
    cone = models.CharField(max_length=10, blank=True)
    runs = models.BooleanField(default=False)
    raw = models.JSONField(default=list)
    fired = models.JSONField(default=list)
    how = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name
