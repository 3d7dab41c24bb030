"""What is kept of kilns and firings. Temperatures in °C, lengths in mm, energy in kWh, resistance in ohm.

Every change of a record is kept beside it with who made it and when (`Change`), so that it can be undone; nothing is
deleted, a record is put away and fetched back. What was uploaded (a logger's file, a photograph) is kept as it came.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from wareboard.book.boards.models import Board

KINDS = (("bisque", "Bisque"), ("glaze", "Glaze"))
PARTS = (("elements", "Elements"), ("thermocouple", "Thermocouple"), ("relays", "Relays"))


class Kept(models.Model):
    """Any record that changes: ``plain`` names the fields that a change keeps, and ``put_away`` takes it off the page."""

    plain: ClassVar[tuple[str, ...]] = ()
    put_away = models.DateTimeField(null=True, blank=True)

    class Meta:
        abstract = True


class Kiln(Kept):
    """A kiln that has been fired, by its name in the workshop's file.

    ``continues`` is the record that it carries on, where the same kiln was recorded under another name before; ``apart``
    holds the keys of those that a person said it is not. ``counted`` is how many firings its offsets are learned from.
    """

    plain = ("name", "counted", "continues_id", "apart")
    name = models.CharField(max_length=60, unique=True)
    slug = models.CharField(max_length=70, unique=True)
    counted = models.PositiveSmallIntegerField(default=10)
    continues = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="continued_by")
    apart = models.JSONField(default=list, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class KeptFile(models.Model):
    """A file as it was uploaded: never changed, packed with gzip where ``packed``."""

    name = models.CharField(max_length=200)
    kind = models.CharField(max_length=60)
    digest = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    packed = models.BooleanField(default=False)
    content = models.BinaryField()
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class Firing(Kept):
    """One firing: numbered within its kiln, what it was for, how it was planned, and what was read off afterwards."""

    plain = (
        "kind",
        "cone",
        "form",
        "day",
        "commission_code",
        "load_number",
        "schedule",
        "notes",
        "kwh",
        "meter_before_kwh",
        "meter_after_kwh",
        "resistance_ohm",
        "losses",
    )
    kiln = models.ForeignKey(Kiln, on_delete=models.PROTECT, related_name="firings")
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=10, choices=KINDS)
    cone = models.CharField(max_length=6)
    form = models.CharField(max_length=30, default="self-supporting")
    day = models.DateField()
    commission_code = models.CharField(max_length=12, blank=True)
    load_number = models.PositiveIntegerField(null=True, blank=True)  # which load of the commission's plan
    schedule = models.JSONField(null=True, blank=True)
    notes = models.TextField(blank=True)
    kwh = models.FloatField(null=True, blank=True)
    meter_before_kwh = models.FloatField(null=True, blank=True)
    meter_after_kwh = models.FloatField(null=True, blank=True)
    resistance_ohm = models.FloatField(null=True, blank=True)
    losses = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kiln", "number"], name="firings_are_numbered_within_a_kiln")
        ]

    def __str__(self) -> str:
        return f"{self.kiln.name}, firing {self.number}"

    @property
    def energy_kwh(self) -> float | None:
        """What the firing took: as written, else the meter's two readings apart."""
        if self.kwh is not None:
            return self.kwh
        if self.meter_before_kwh is None or self.meter_after_kwh is None:
            return None
        return self.meter_after_kwh - self.meter_before_kwh


class FiringLog(Kept):
    """A logger's file of one firing: how it was read, what is odd in it or why it cannot be read, and what it came to.

    ``summary`` holds what pages show, so that no page reads a million samples; ``samples`` holds them all, packed. ``fit``
    is what the kiln's model came to when it was fitted to this log.
    """

    plain = ("options", "trouble", "findings", "fit")
    firing = models.ForeignKey(Firing, on_delete=models.PROTECT, related_name="logs")
    file = models.ForeignKey(KeptFile, on_delete=models.PROTECT, related_name="+")
    options = models.JSONField(default=dict)
    trouble = models.TextField(blank=True)
    findings = models.JSONField(default=list)
    summary = models.JSONField(null=True, blank=True)
    samples = models.BinaryField(null=True, blank=True)
    fit = models.JSONField(null=True, blank=True)
    written = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return f"{self.file.name} of {self.firing}"


class ConeReading(Kept):
    """The witness pack of one level after a firing: how guide, target and guard lean, degrees from upright."""

    plain = (
        "level",
        "place",
        "guide",
        "target",
        "guard",
        "guide_deg",
        "target_deg",
        "guard_deg",
        "by_clock",
        "photo_id",
        "left_out",
        "notes",
    )
    firing = models.ForeignKey(Firing, on_delete=models.PROTECT, related_name="cones")
    level = models.CharField(max_length=40)
    place = models.PositiveIntegerField(default=0)  # from the bottom up
    guide = models.CharField(max_length=6, blank=True)
    target = models.CharField(max_length=6)
    guard = models.CharField(max_length=6, blank=True)
    guide_deg = models.FloatField(null=True, blank=True)
    target_deg = models.FloatField(null=True, blank=True)
    guard_deg = models.FloatField(null=True, blank=True)
    by_clock = models.BooleanField(default=True)
    photo = models.ForeignKey(KeptFile, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    left_out = models.BooleanField(default=False)  # of what offsets are learned from
    notes = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["place", "pk"]

    def __str__(self) -> str:
        return f"{self.level} of {self.firing}"


class PartsChange(Kept):
    """Elements, thermocouple or relays changed, after so many firings of the kiln."""

    plain = ("part", "day", "after_firing", "resistance_ohm", "notes")
    kiln = models.ForeignKey(Kiln, on_delete=models.PROTECT, related_name="parts_changes")
    part = models.CharField(max_length=14, choices=PARTS)
    day = models.DateField()
    after_firing = models.PositiveIntegerField(default=0)
    resistance_ohm = models.FloatField(null=True, blank=True)
    notes = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-after_firing", "-day", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_part_display()} of {self.kiln.name}"


class LoadedBoard(Kept):
    """A board, or some of its pieces, that went into a firing: how many of which form, and on which shelf if that was said.

    The board may be parted or merged afterwards; what stood on it when it was loaded is kept here.
    """

    plain = ("pieces", "shelf")
    firing = models.ForeignKey(Firing, on_delete=models.PROTECT, related_name="loaded")
    board = models.ForeignKey(Board, on_delete=models.PROTECT, related_name="firings")
    form = models.CharField(max_length=80)
    pieces = models.PositiveIntegerField()
    shelf = models.CharField(max_length=40, blank=True)
    written = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["firing", "board"], name="a_board_goes_into_a_firing_once")
        ]

    def __str__(self) -> str:
        return f"{self.board.code} in {self.firing}"


class MovedLoad(Kept):
    """One load of a commission as it was arranged by hand, over the planned one that had the print ``made_from``.

    ``places`` holds for each planned shelf a list of [shelf, x, y, angle], in the order of the plan's pieces; a shelf
    below 0 is "not loaded". Records from before pieces could change shelves hold [x, y, angle]. ``extra`` holds what was
    added: name, commission, sizes and place of each.
    """

    plain = ("made_from", "places", "extra")
    commission_code = models.CharField(max_length=12)
    kind = models.CharField(max_length=10, choices=KINDS)
    number = models.PositiveIntegerField()
    made_from = models.CharField(max_length=64)
    places = models.JSONField(default=list)
    extra = models.JSONField(default=list, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["commission_code", "kind", "number"], name="one_arrangement_of_a_load")
        ]

    def __str__(self) -> str:
        return f"{self.commission_code}, {self.kind} load {self.number}"


class Change(models.Model):
    """One signed change of a record: its plain fields before (none where it was begun) and after.

    ``undoes`` is the change that this one took back; ``undone`` says that a later one took this one back.
    """

    of = models.CharField(max_length=20)
    record = models.PositiveBigIntegerField()
    before = models.JSONField(null=True)
    after = models.JSONField()
    why = models.CharField(max_length=200)
    who = models.CharField(max_length=80, blank=True)
    written = models.DateTimeField()
    undoes = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="+")
    undone = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [models.Index(fields=["of", "record"], name="changes_of_a_record")]

    def __str__(self) -> str:
        return f"{self.why} ({self.of} {self.record})"
