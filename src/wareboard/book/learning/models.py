"""What is kept of learning: records left out with a reason, new lots, times written by hand, figures kept with a commission.

The figures themselves are never kept: they are worked out from the records each time, so that no record can be changed
behind their back. Only what a commission was agreed by is kept as it was.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from wareboard.book.firings.models import Kept
from wareboard.book.models import Commission


class LeftOut(Kept):
    """One record that does not count, by its name among the records of a figure, and why. Put away: it counts again."""

    plain = ("why",)
    record = models.CharField(max_length=160, unique=True)
    why = models.CharField(max_length=200)

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return f"{self.record} left out: {self.why}"


class NewLot(Kept):
    """A figure starts afresh from a day: another delivery of clay, new elements, another hand at the wheel."""

    plain = ("day", "name")
    figure = models.CharField(max_length=160)
    day = models.DateField()
    name = models.CharField(max_length=80)

    class Meta:
        ordering: ClassVar = ["-day", "-pk"]
        indexes: ClassVar = [models.Index(fields=["figure", "day"], name="new_lots_of_a_figure")]

    def __str__(self) -> str:
        return f"{self.name} from {self.day}"


class HandTime(Kept):
    """One sitting as it was written down: which task, how many pieces, how many minutes in all, whose hands."""

    plain = ("task", "person", "pieces", "minutes", "day", "commission_code", "note")
    task = models.CharField(max_length=40)  # a key such as minutes.throw.cup
    person = models.CharField(max_length=60, blank=True)
    pieces = models.PositiveIntegerField()
    minutes = models.FloatField()
    day = models.DateField()
    commission_code = models.CharField(max_length=12, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-day", "-pk"]

    def __str__(self) -> str:
        return f"{self.pieces} in {self.minutes:g} min"


class FiguresKept(Kept):
    """The learned figures that a commission goes by from the day it was agreed on, whatever is learned later."""

    plain = ("figures", "day", "why")
    commission = models.OneToOneField(Commission, on_delete=models.PROTECT, related_name="figures_kept")
    figures = models.JSONField(default=list)
    day = models.DateField()
    why = models.CharField(max_length=200)

    def __str__(self) -> str:
        return f"figures of {self.commission.code} as on {self.day}"
