"""What is kept of measurements. Values in the base unit of what is measured: g, mm, g/ml, °C, shares as fractions.

A measurement is never changed or deleted: it is taken back by a turn beside it, and put back by another.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from wareboard.book.boards.models import Board
from wareboard.book.firings.models import Kept
from wareboard.book.glazes.models import GlazeBatch
from wareboard.book.models import Commission

STANDS = models.Q(stands=True)
OF_A_BOARD = STANDS & models.Q(board__isnull=False)
FIRED_PIECES = STANDS & models.Q(stage="fired") & ~models.Q(piece="")


class Measurement(models.Model):
    """One reading: what, of what, how much, by whom, when. Kept once by its key."""

    key = models.CharField(max_length=40, unique=True)
    what = models.CharField(max_length=16)
    commission = models.ForeignKey(
        Commission, on_delete=models.PROTECT, null=True, related_name="measurements", db_index=False
    )
    form = models.CharField(max_length=80, blank=True)
    stage = models.CharField(max_length=10, blank=True)
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, related_name="measurements", db_index=False)
    piece = models.CharField(max_length=20, blank=True)  # its number or mark, by which wet and fired find each other
    value = models.FloatField()
    before_g = models.FloatField(null=True)  # of a pick-up: the piece before it was glazed
    dwell_s = models.FloatField(null=True)
    gravity = models.FloatField(null=True)  # of the slip it was dipped in
    area_mm2 = models.FloatField(null=True)  # glazed
    batch = models.ForeignKey(
        GlazeBatch, on_delete=models.PROTECT, null=True, related_name="measurements", db_index=False
    )
    place = models.CharField(max_length=40, blank=True)  # which room, which shelf
    note = models.CharField(max_length=200, blank=True)
    sheet = models.CharField(max_length=40, blank=True)
    who = models.CharField(max_length=80, blank=True)
    happened = models.DateTimeField()
    written = models.DateTimeField()
    stands = models.BooleanField(default=True)

    class Meta:
        indexes: ClassVar = [
            # One run of one form: the newest first, without what was taken back.
            models.Index(
                fields=["commission", "form", "what", "stage", "-id"], condition=STANDS, name="runs_of_a_form"
            ),
            models.Index(fields=["board", "what", "happened"], condition=OF_A_BOARD, name="measurements_of_a_board"),
            models.Index(fields=["what", "-happened"], condition=STANDS, name="measurements_by_what_and_when"),
            models.Index(fields=["-id"], condition=FIRED_PIECES, name="fired_pieces_measured"),
            models.Index(fields=["-written"], name="measurements_by_time"),
            models.Index(fields=["who", "-id"], name="measurements_of_a_person"),
            models.Index(fields=["sheet"], condition=~models.Q(sheet=""), name="measurements_of_a_sheet"),
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.value:g}"


class Turn(models.Model):
    """A measurement taken back, or put back. Kept once by its key."""

    key = models.CharField(max_length=40, unique=True)
    measurement = models.ForeignKey(Measurement, on_delete=models.PROTECT, related_name="turns")
    stands = models.BooleanField()
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()

    class Meta:
        indexes: ClassVar = [models.Index(fields=["-written"], name="turns_by_time")]

    def __str__(self) -> str:
        return f"{self.measurement_id} {'put back' if self.stands else 'taken back'}"


class KeptDrying(models.Model):
    """What a board's weighings foretell, worked out once after each of them; ``mark`` says of which weighings and cover."""

    board = models.OneToOneField(Board, on_delete=models.CASCADE, primary_key=True, related_name="kept_drying")
    mark = models.CharField(max_length=200)
    figures = models.JSONField(null=True)  # null where the weights give no promise

    def __str__(self) -> str:
        return f"drying of board {self.board_id}"


class GaugeReadings(Kept):
    """Two or more people who measured the same pieces: readings by person, piece and repeat."""

    plain = ("what", "people", "readings", "agreed_span", "day")
    what = models.CharField(max_length=16)
    people = models.JSONField()
    readings = models.JSONField()
    agreed_span = models.FloatField(null=True, blank=True)
    day = models.DateField()

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return f"{self.what} by {' and '.join(self.people)}"
