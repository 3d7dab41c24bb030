"""What the check lines of a print measured. Lengths in mm; nothing is deleted, a measurement is taken back and put back."""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class PrintMeasured(models.Model):
    """One page measured: by which printer, how long its two lines of 100 mm came out, and how much larger it was drawn."""

    printer = models.CharField(max_length=60)
    across_mm = models.FloatField()
    up_mm = models.FloatField()
    drawn_across = models.FloatField(default=1.0)
    drawn_up = models.FloatField(default=1.0)
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()
    taken_back = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["-written", "-pk"]

    def __str__(self) -> str:
        return f"{self.printer}: {self.across_mm:g} and {self.up_mm:g} mm"
