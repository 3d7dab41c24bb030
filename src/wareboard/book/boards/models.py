"""What is kept of boards. Weights in g. An entry is never changed or deleted; what it did is taken back by another.

A board's row says how it stands now; its entries say how it came to that. Every entry carries a key made by whoever wrote
it, so that an entry sent twice is kept once.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from wareboard.book.boards.stages import STAGES, STATES
from wareboard.book.models import Commission, Version

KINDS = (
    ("begin", "put on the board"),
    ("move", "moved on"),
    ("split", "split off"),
    ("merge", "merged"),
    ("lose", "lost"),
    ("gain", "added"),
    ("count", "counted"),
    ("wrap", "wrapped"),
    ("unwrap", "unwrapped"),
    ("turn", "turned"),
    ("load", "loaded in the kiln"),
    ("weigh", "weighed"),
    ("note", "noted"),
    ("shelve", "put on a shelf"),
    ("undo", "undone"),
)
STANDS, WAITS, LET_GO = "stands", "waits", "let go"


class Board(models.Model):
    """Pieces of one form of one commission that move together, as they stand now."""

    code = models.CharField(max_length=9, unique=True)
    letters = models.CharField(max_length=3)
    number = models.PositiveIntegerField()
    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="boards")
    form = models.CharField(max_length=80)
    stage = models.CharField(max_length=10, choices=[(each, each) for each in STAGES])
    state = models.CharField(max_length=12, blank=True, choices=[(each, each) for each in STATES])
    pieces = models.PositiveIntegerField(default=0)
    since = models.DateTimeField()  # at this stage
    state_since = models.DateTimeField(null=True, blank=True)
    turned = models.DateTimeField(null=True, blank=True)
    shelf = models.CharField(max_length=40, blank=True)
    entries_made = models.PositiveIntegerField(default=0)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["letters", "number"], name="board_codes_are_used_once"),
        ]
        indexes: ClassVar = [
            # The boards that stand somewhere, without the thousands that were emptied long ago.
            models.Index(
                fields=["commission", "form", "stage"], condition=models.Q(pieces__gt=0), name="boards_that_hold_pieces"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code}: {self.pieces} × {self.form}, {self.stage}"


class Entry(models.Model):
    """One entry: what was done to a board, by whom, when, and what it changed."""

    key = models.CharField(max_length=40, unique=True)
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="entries")
    number = models.PositiveIntegerField()  # within the board
    kind = models.CharField(max_length=8, choices=KINDS)
    pieces = models.PositiveIntegerField(default=0)
    change = models.IntegerField(default=0)
    other = models.ForeignKey(Board, on_delete=models.PROTECT, null=True, related_name="entries_from_elsewhere")
    other_change = models.IntegerField(default=0)
    stage_from = models.CharField(max_length=10, blank=True)
    stage_to = models.CharField(max_length=10, blank=True)
    state_from = models.CharField(max_length=12, blank=True)
    state_to = models.CharField(max_length=12, blank=True)
    before = models.JSONField(default=dict)  # the board's times before this entry, for going back
    reason = models.CharField(max_length=30, blank=True)
    place = models.CharField(max_length=40, blank=True)
    grams = models.FloatField(null=True)
    note = models.CharField(max_length=500, blank=True)
    sheet = models.CharField(max_length=40, blank=True)  # the paper or grid it was entered from, with all its others
    who = models.CharField(max_length=80, blank=True)
    happened = models.DateTimeField()
    written = models.DateTimeField()
    undoes = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="undone_by")
    standing = models.CharField(max_length=6, default=STANDS)
    trouble = models.CharField(max_length=300, blank=True)  # why it waits to be settled

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["board", "number"], name="entries_are_numbered_within_a_board"),
        ]
        indexes: ClassVar = [
            models.Index(fields=["-written"], name="entries_by_time"),
            models.Index(fields=["who", "-id"], name="entries_of_a_person"),
            models.Index(fields=["written"], condition=models.Q(standing=WAITS), name="entries_that_wait"),
            models.Index(fields=["board", "stage_from"], condition=models.Q(kind="weigh"), name="weights_of_a_board"),
            models.Index(fields=["sheet"], condition=~models.Q(sheet=""), name="entries_of_a_sheet"),
        ]

    def __str__(self) -> str:
        return f"{self.board_id}.{self.number} {self.kind}"


class Tick(models.Model):
    """Something on the day's page that belongs to no board, done: a glaze mixed, a client told. Taken back by ``undone``."""

    key = models.CharField(max_length=40, unique=True)
    commission = models.ForeignKey(Commission, on_delete=models.PROTECT, related_name="ticks")
    what = models.CharField(max_length=80)
    detail = models.CharField(max_length=80, blank=True)
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()
    undone = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["commission", "what"], name="ticks_of_a_commission")]

    def __str__(self) -> str:
        return f"{self.what} {self.detail}".strip()


class LongTimer(models.Model):
    """A timer by its end and not by a count, so that neither a locked screen nor a closed browser stops it."""

    key = models.CharField(max_length=40, unique=True)
    words = models.CharField(max_length=60)
    begun = models.DateTimeField()
    ends = models.DateTimeField()
    who = models.CharField(max_length=80, blank=True)
    stopped = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["ends"], name="timers_by_end")]

    def __str__(self) -> str:
        return f"{self.words} until {self.ends:%H:%M}"


class Photo(models.Model):
    """A photograph of a board: never changed, without the place and time that a camera writes into it; put away by undo."""

    key = models.CharField(max_length=40, unique=True)
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="photos")
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, null=True, related_name="photos")
    words = models.CharField(max_length=200, blank=True)
    stage = models.CharField(max_length=10)
    kind = models.CharField(max_length=20)
    digest = models.CharField(max_length=64)
    size = models.PositiveIntegerField()
    content = models.BinaryField()
    small = models.BinaryField()  # for lists; JPEG
    who = models.CharField(max_length=80, blank=True)
    happened = models.DateTimeField()
    written = models.DateTimeField()
    put_away = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["board", "-id"], name="photos_of_a_board")]

    def __str__(self) -> str:
        return f"{self.board.code}, {self.stage}"


class KeptCourse(models.Model):
    """The course of a version of a brief as it was worked out on a day, so that a page need not work out a plan."""

    version = models.OneToOneField(Version, on_delete=models.CASCADE, related_name="kept_course")
    day = models.DateField()
    workshop_print = models.CharField(max_length=64)
    figures = models.JSONField()

    def __str__(self) -> str:
        return f"course of version {self.version_id}"


class DayStanding(models.Model):
    """How a commission stood when a day was first looked at: what today is held against yesterday with."""

    commission = models.ForeignKey(Commission, on_delete=models.CASCADE, related_name="standings")
    day = models.DateField()
    packed = models.DateField(null=True)
    planned = models.DateField(null=True)  # the calendar's last day
    chance = models.FloatField()

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["commission", "day"], name="one_standing_a_day")]
        indexes: ClassVar = [models.Index(fields=["day"], name="standings_by_day")]

    def __str__(self) -> str:
        return f"{self.commission_id} on {self.day}"


class Given(models.Model):
    """A job of a day given to a person; given again, the later counts. An empty person takes it back."""

    day = models.DateField()
    job = models.CharField(max_length=120)
    person = models.CharField(max_length=80, blank=True)
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()

    class Meta:
        indexes: ClassVar = [models.Index(fields=["day", "job"], name="jobs_given_on_a_day")]

    def __str__(self) -> str:
        return f"{self.job}: {self.person or 'nobody'}"


class BenchChoice(models.Model):
    """What a workshop chose for its bench: how its codes are made, which shelves it has. The latest of a name counts."""

    name = models.CharField(max_length=20)
    value = models.CharField(max_length=200)
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()

    class Meta:
        indexes: ClassVar = [models.Index(fields=["name", "-id"], name="choices_by_name")]

    def __str__(self) -> str:
        return f"{self.name}: {self.value}"


class KeptSheet(models.Model):
    """A paper or grid whose entries were made in one go, so that all of them can be undone in one go."""

    key = models.CharField(max_length=40, unique=True)
    words = models.CharField(max_length=60)
    entries = models.PositiveIntegerField(default=0)
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()
    undone = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.words}, {self.entries} entries"
