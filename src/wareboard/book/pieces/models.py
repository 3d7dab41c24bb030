"""What is kept of finished pieces and of the clay they are made of. Lengths in mm, weights in g and kg, colours as L*a*b*.

Whatever is not known is left empty and shown as "not known". Every change is kept beside its record, so that it can be
undone; nothing is deleted, a record is put away.
"""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models

from wareboard.book.boards.models import Board
from wareboard.book.firings.models import Firing, Kept, KeptFile
from wareboard.book.glazes.models import GlazeBatch
from wareboard.book.models import Commission, Version
from wareboard.errors import OutOfRange

KINDS = (("ware", "Ware"), ("prototype", "Prototype"), ("sealed", "Sealed sample"), ("test", "Test piece"))
FIRST, SECOND, FAILED = "first", "second", "failed"
GRADES = ((FIRST, "First"), (SECOND, "Second"), (FAILED, "Failed"))
OUTCOMES = (
    ("open", "Open"),
    ("replaced", "Replaced"),
    ("mended", "Mended"),
    ("paid back", "Paid back"),
    ("declined", "Declined"),
)
SIZES = ("height_mm", "width_mm", "weight_g", "colour_l", "colour_a", "colour_b")


class ClayLot(Kept):
    """One delivery of a clay: whose, its code, when bought and opened, how much."""

    plain = ("clay", "supplier", "code", "bought", "kg", "opened", "note")
    clay = models.CharField(max_length=80)
    supplier = models.CharField(max_length=80, blank=True)
    code = models.CharField(max_length=60, blank=True)
    bought = models.DateField(null=True, blank=True)
    kg = models.FloatField(null=True, blank=True)
    opened = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-bought", "-pk"]

    def __str__(self) -> str:
        return f"{self.clay}, lot {self.code or 'not known'}"


class Piece(Kept):
    """One finished piece, numbered within its commission: where it was, how it came out, where it went.

    ``loss`` is the key of the board's entry that took it off the board, where it was no first.
    """

    plain = (
        "kind", "form", "mark", "board_id", "firing_id", "shelf", "grade", "fault", "place", "loss", "day", "words",
        *SIZES, "delivered", "note",
    )  # fmt: skip
    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="pieces")
    number = models.PositiveIntegerField()
    key = models.CharField(max_length=40, unique=True)
    kind = models.CharField(max_length=10, choices=KINDS, default="ware")
    form = models.CharField(max_length=80)
    mark = models.CharField(max_length=40, blank=True)
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, blank=True, related_name="finished")
    firing = models.ForeignKey(Firing, on_delete=models.PROTECT, null=True, blank=True, related_name="finished")
    shelf = models.CharField(max_length=40, blank=True)
    grade = models.CharField(max_length=6, blank=True, choices=GRADES)
    fault = models.CharField(max_length=30, blank=True)
    place = models.CharField(max_length=40, blank=True)
    loss = models.CharField(max_length=40, blank=True)
    day = models.DateField(null=True, blank=True)  # when it was graded
    words = models.CharField(max_length=200, blank=True)  # may be shown to others
    height_mm = models.FloatField(null=True, blank=True)
    width_mm = models.FloatField(null=True, blank=True)
    weight_g = models.FloatField(null=True, blank=True)
    colour_l = models.FloatField(null=True, blank=True)
    colour_a = models.FloatField(null=True, blank=True)
    colour_b = models.FloatField(null=True, blank=True)
    delivered = models.DateField(null=True, blank=True)
    note = models.TextField(blank=True)  # private

    class Meta:
        ordering: ClassVar = ["commission", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["commission", "number"], name="pieces_are_numbered_within_a_commission")
        ]
        indexes: ClassVar = [models.Index(fields=["commission", "form", "grade"], name="pieces_by_form_and_grade")]

    def __str__(self) -> str:
        return f"{self.commission.code}/{self.number}"


class MadeOf(Kept):
    """A board, or a single piece, was made of this lot of clay."""

    plain = ("lot_id",)
    lot = models.ForeignKey(ClayLot, on_delete=models.PROTECT, related_name="made")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, blank=True, related_name="made_of")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="made_of")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(board=None, piece__isnull=False) | models.Q(board__isnull=False, piece=None),
                name="clay_of_a_board_or_of_a_piece",
            ),
            models.UniqueConstraint(fields=["lot", "board"], name="a_board_names_a_lot_once"),
            models.UniqueConstraint(fields=["lot", "piece"], name="a_piece_names_a_lot_once"),
        ]

    def __str__(self) -> str:
        return f"{self.board or self.piece} of {self.lot}"


class Wears(Kept):
    """A board, or a single piece, was glazed from this bucket."""

    plain = ("batch_id",)
    batch = models.ForeignKey(GlazeBatch, on_delete=models.PROTECT, related_name="worn")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, blank=True, related_name="wears")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="wears")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(board=None, piece__isnull=False) | models.Q(board__isnull=False, piece=None),
                name="glaze_of_a_board_or_of_a_piece",
            ),
            models.UniqueConstraint(fields=["batch", "board"], name="a_board_names_a_batch_once"),
            models.UniqueConstraint(fields=["batch", "piece"], name="a_piece_names_a_batch_once"),
        ]

    def __str__(self) -> str:
        return f"{self.board or self.piece} wears {self.batch}"


class PiecePhoto(Kept):
    """A photograph of a piece, kept without the place and the time that a telephone writes into it."""

    plain = ("words", "shown")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="photos")
    file = models.ForeignKey(KeptFile, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=120, blank=True)
    shown = models.BooleanField(default=False)  # may go into the portfolio

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"photograph of {self.piece}"


class Reorder(Kept):
    """A commission ordered again: which one it repeats, and the version of the brief by which that was made."""

    plain = ("note",)
    commission = models.OneToOneField(Commission, on_delete=models.PROTECT, related_name="reorder")
    of = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="ordered_again")
    version = models.ForeignKey(Version, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=40, unique=True)
    made = models.DateField()  # the day by which what the first one was made with is looked up
    day = models.DateField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return f"{self.commission.code} again as {self.of.code}"


class Invoice(models.Model):
    """One invoice, or the counter entry that voids one. Neither is ever changed or deleted; numbers follow without gaps.

    ``lines`` holds [words, count, each] with the amounts as text; a counter entry's counts are below 0. ``sender`` (name and
    address), ``tax_number`` and ``how_to_pay`` are the workshop's own as they stood when it was kept; empty: for the pen.
    """

    number = models.PositiveIntegerField(unique=True)
    key = models.CharField(max_length=40, unique=True)
    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="invoices")
    counters = models.OneToOneField("self", on_delete=models.PROTECT, null=True, blank=True, related_name="countered")
    day = models.DateField()
    to = models.CharField(max_length=400, blank=True)
    lines = models.JSONField()
    currency = models.CharField(max_length=3)
    tax_share = models.DecimalField(max_digits=7, decimal_places=6, null=True, blank=True)
    tax_words = models.CharField(max_length=120, blank=True)
    sender = models.CharField(max_length=420, blank=True)
    tax_number = models.CharField(max_length=60, blank=True)
    how_to_pay = models.CharField(max_length=300, blank=True)
    why = models.CharField(max_length=200, blank=True)
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-number"]

    def __str__(self) -> str:
        return f"invoice {self.number}"

    def save(self, *args: Any, **more: Any) -> None:
        """Keep it; once kept it cannot be changed."""
        if not self._state.adding:
            raise OutOfRange(
                str(self), "what was invoiced is never changed", "Void it by a counter entry, write another"
            )
        super().save(*args, **more)

    def delete(self, *args: Any, **more: Any) -> tuple[int, dict[str, int]]:
        """Refused: the numbers follow without gaps."""
        raise OutOfRange(str(self), "an invoice is never deleted", "Void it by a counter entry")


class Claim(Kept):
    """What a client says is wrong with a piece that was delivered, and what came of it."""

    plain = ("day", "what", "words", "photo_id", "outcome", "outcome_words", "settled", "replaced_by_id")
    piece = models.ForeignKey(Piece, on_delete=models.PROTECT, related_name="claims")
    day = models.DateField()
    what = models.CharField(max_length=30)
    words = models.CharField(max_length=400, blank=True)
    photo = models.ForeignKey(KeptFile, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    outcome = models.CharField(max_length=10, choices=OUTCOMES, default="open")
    outcome_words = models.CharField(max_length=400, blank=True)
    settled = models.DateField(null=True, blank=True)
    replaced_by = models.ForeignKey(Piece, on_delete=models.PROTECT, null=True, blank=True, related_name="replaces")

    class Meta:
        ordering: ClassVar = ["-day", "-pk"]

    def __str__(self) -> str:
        return f"claim against {self.piece}: {self.what}"


class Portfolio(Kept):
    """What is shown of a commission: words, and whether its client allowed to be named."""

    plain = ("title", "words", "client_may_be_named")
    commission = models.OneToOneField(Commission, on_delete=models.PROTECT, related_name="portfolio")
    title = models.CharField(max_length=120, blank=True)
    words = models.CharField(max_length=1000, blank=True)
    client_may_be_named = models.BooleanField(default=False)

    def __str__(self) -> str:
        return f"portfolio of {self.commission.code}"
