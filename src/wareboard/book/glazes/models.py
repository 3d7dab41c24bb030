"""What is kept of glazes. Weights in g, volumes in ml, areas in mm2, shares as fractions, oxides in weight % of raw powder.

Every change of a record is kept beside it with who made it and when, so that it can be undone. A recipe's versions and a
batch's lines are never changed after they are written; nothing is deleted, a record is put away and fetched back.
"""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from wareboard.book.firings.models import Kept, KeptFile

ANALYSES = (
    ("shipped", "Theoretical mineral or printed analysis, from the shipped table"),
    ("supplier", "The supplier's sheet"),
    ("typed", "Typed in"),
)
SOLUBILITIES = (("", "No, as far as is known"), ("slight", "Slightly"), ("soluble", "Yes"))
FIT_TESTS = (
    ("crazing", "Crazing: hot, then into cold water"),
    ("freeze-boil", "Freezer, then boiling water"),
    ("shivering", "Shivering: rims and edges tapped and scratched"),
)
OUTCOMES = (("none", "Nothing seen"), ("crazed", "Crazed"), ("shivered", "Shivered"), ("cracked", "Cracked through"))
SURFACES = (("inside", "Inside, in contact with food"), ("rim", "Rim"), ("outside", "Outside"))
BLENDS = (("line", "Line"), ("triaxial", "Triaxial"), ("quadraxial", "Quadraxial: four corners, a square"),
          ("four", "Four corners: every mix"), ("grid", "Alumina against silica"))  # fmt: skip


class ShelfMaterial(Kept):
    """A raw material on the shelf, with the analysis that recipes are worked out by."""

    plain = ("name", "oxides_wt", "loi_share", "hazards", "is_clay", "solubility", "analysis_from", "source", "note")
    name = models.CharField(max_length=80, unique=True)
    oxides_wt = models.JSONField(default=dict)
    loi_share = models.FloatField(default=0.0)
    hazards = models.JSONField(default=list)
    is_clay = models.BooleanField(default=False)
    solubility = models.CharField(max_length=8, blank=True, choices=SOLUBILITIES)
    analysis_from = models.CharField(max_length=8, choices=ANALYSES)
    source = models.CharField(max_length=200, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class Lot(Kept):
    """One delivery of a material: whose, its code, when, at what price, how much is left. ``replaced_by`` is the next."""

    plain = ("supplier", "code", "day", "price_per_kg", "stock_g", "note", "replaced_by_id")
    material = models.ForeignKey(ShelfMaterial, on_delete=models.PROTECT, related_name="lots")
    supplier = models.CharField(max_length=80, blank=True)
    code = models.CharField(max_length=60)
    day = models.DateField(null=True, blank=True)
    price_per_kg = models.FloatField(null=True, blank=True)
    stock_g = models.FloatField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    replaced_by = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True, related_name="replaces")

    class Meta:
        ordering: ClassVar = ["-day", "-pk"]

    def __str__(self) -> str:
        return f"{self.material.name} {self.code}"


class GlazeRecipe(Kept):
    """A glaze by its name, with the version that counts now and what it is known by when fired."""

    plain = ("name", "current_id", "cone", "surface", "colour_words", "notes")
    name = models.CharField(max_length=80)
    current = models.ForeignKey("RecipeVersion", on_delete=models.PROTECT, null=True, related_name="+")
    cone = models.CharField(max_length=6, blank=True)
    surface = models.CharField(max_length=80, blank=True)
    colour_words = models.CharField(max_length=160, blank=True)
    notes = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class RecipeVersion(models.Model):
    """One version of a recipe: parts of the base and of the additions, in the order in which they were written."""

    recipe = models.ForeignKey(GlazeRecipe, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveIntegerField()
    base = models.JSONField()
    additions = models.JSONField(default=list)
    parent = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="+")
    who = models.CharField(max_length=80, blank=True)
    why = models.CharField(max_length=200, blank=True)
    written = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["recipe", "number"], name="recipe_versions_are_numbered")
        ]

    def __str__(self) -> str:
        return f"{self.recipe.name}, version {self.number}"


class GlazeBatch(Kept):
    """One bucket as it was mixed, by its number in the workshop."""

    plain = ("day", "water_ml", "wanted_gravity", "dry_density", "dead_ml", "note")
    number = models.PositiveIntegerField(unique=True)
    version = models.ForeignKey(RecipeVersion, on_delete=models.PROTECT, related_name="batches")
    day = models.DateField()
    water_ml = models.FloatField(null=True, blank=True)
    wanted_gravity = models.FloatField()
    dry_density = models.FloatField()
    dead_ml = models.FloatField(default=0.0)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-number"]

    def __str__(self) -> str:
        return f"batch {self.number}"


class BatchLine(models.Model):
    """One material of a batch as it was weighed in, and from which lot."""

    batch = models.ForeignKey(GlazeBatch, on_delete=models.PROTECT, related_name="lines")
    material = models.CharField(max_length=80)
    grams = models.FloatField()
    is_addition = models.BooleanField(default=False)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, null=True, blank=True, related_name="lines")
    taken_g = models.FloatField(null=True, blank=True)  # what the lot's stock was lessened by

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"{self.grams:g} g {self.material}"


class BucketLine(Kept):
    """One line of a bucket's card, a session: its density, what is left, and which pieces wore it since the last line."""

    plain = (
        "day", "weighed_g", "weighed_ml", "cup_s", "stock_ml", "water_added_ml", "dry_added_g", "pieces", "form",
        "commission_code", "cone", "schedule", "place", "dwell_s", "coats", "each_took_ml", "still_to_do", "note",
        "poured_ml", "dumped_ml", "topped_ml", "topped_gravity",
    )  # fmt: skip
    batch = models.ForeignKey(GlazeBatch, on_delete=models.PROTECT, related_name="card")
    day = models.DateField()
    weighed_g = models.FloatField(null=True, blank=True)
    weighed_ml = models.FloatField(null=True, blank=True)
    cup_s = models.FloatField(null=True, blank=True)
    stock_ml = models.FloatField(null=True, blank=True)
    water_added_ml = models.FloatField(null=True, blank=True)
    dry_added_g = models.FloatField(null=True, blank=True)
    pieces = models.PositiveIntegerField(null=True, blank=True)
    form = models.CharField(max_length=60, blank=True)
    commission_code = models.CharField(max_length=12, blank=True)
    cone = models.CharField(max_length=6, blank=True)
    schedule = models.CharField(max_length=80, blank=True)
    place = models.CharField(max_length=80, blank=True)
    dwell_s = models.FloatField(null=True, blank=True)
    coats = models.PositiveIntegerField(null=True, blank=True)
    each_took_ml = models.JSONField(default=list)
    still_to_do = models.PositiveIntegerField(null=True, blank=True)
    poured_ml = models.FloatField(null=True, blank=True)
    dumped_ml = models.FloatField(null=True, blank=True)
    topped_ml = models.FloatField(null=True, blank=True)
    topped_gravity = models.FloatField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["day", "pk"]

    def __str__(self) -> str:
        return f"line of {self.day} on {self.batch}"

    @property
    def gravity(self) -> float | None:
        """Specific gravity by weighing a known volume."""
        if not self.weighed_g or not self.weighed_ml:
            return None
        return self.weighed_g / self.weighed_ml


class WeighedPiece(Kept):
    """One piece or shard weighed dry before and after glazing, for the pick-up of this glaze on this bisque."""

    plain = ("day", "dwell_s", "before_g", "after_g", "area_mm2", "gravity", "absorption_share")
    batch = models.ForeignKey(GlazeBatch, on_delete=models.PROTECT, related_name="weighed")
    day = models.DateField()
    dwell_s = models.FloatField()
    before_g = models.FloatField()
    after_g = models.FloatField()
    area_mm2 = models.FloatField()
    gravity = models.FloatField()
    absorption_share = models.FloatField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["day", "pk"]

    def __str__(self) -> str:
        return f"{self.after_g - self.before_g:g} g in {self.dwell_s:g} s"


class BlendPlan(Kept):
    """A blend laid out: which corners, how many tiles. ``corners`` keeps each corner's recipe as it was."""

    plain = ("name", "corners", "figures")
    stem = models.CharField(max_length=8, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=BLENDS)
    corners = models.JSONField()
    figures = models.JSONField(default=dict)
    written = models.DateTimeField()

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return f"{self.stem} {self.name}"


class TestTile(Kept):
    """A tile: what is on it, how it was laid and fired, and how it came out."""

    __test__ = False  # no test of pytest's
    plain = (
        "version_id", "place_in_blend", "body", "cone", "place", "coats", "dwell_s", "surface", "colour_words", "notes",
        "day", "photo_id", "batch_id",
    )  # fmt: skip
    code = models.CharField(max_length=16, unique=True)
    version = models.ForeignKey(RecipeVersion, on_delete=models.PROTECT, null=True, blank=True, related_name="tiles")
    batch = models.ForeignKey(GlazeBatch, on_delete=models.PROTECT, null=True, blank=True, related_name="tiles")
    blend = models.ForeignKey(BlendPlan, on_delete=models.PROTECT, null=True, blank=True, related_name="tiles")
    place_in_blend = models.CharField(max_length=4, blank=True)
    body = models.CharField(max_length=80, blank=True)
    cone = models.CharField(max_length=6, blank=True)
    place = models.CharField(max_length=80, blank=True)
    coats = models.PositiveIntegerField(null=True, blank=True)
    dwell_s = models.FloatField(null=True, blank=True)
    surface = models.CharField(max_length=80, blank=True)
    colour_words = models.CharField(max_length=160, blank=True)
    notes = models.TextField(blank=True)
    day = models.DateField(null=True, blank=True)
    photo = models.ForeignKey(KeptFile, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["code"]

    def __str__(self) -> str:
        return self.code


class FitTest(Kept):
    """A test of whether a glaze fits a body, and what was seen."""

    plain = ("day", "test", "outcome", "body", "body_lot", "batch_id", "cone", "cycles", "difference_c", "notes")
    version = models.ForeignKey(RecipeVersion, on_delete=models.PROTECT, related_name="fit_tests")
    batch = models.ForeignKey(GlazeBatch, on_delete=models.PROTECT, null=True, blank=True, related_name="fit_tests")
    day = models.DateField()
    test = models.CharField(max_length=12, choices=FIT_TESTS)
    outcome = models.CharField(max_length=10, choices=OUTCOMES)
    body = models.CharField(max_length=80)
    body_lot = models.CharField(max_length=60, blank=True)
    cone = models.CharField(max_length=6, blank=True)
    cycles = models.PositiveIntegerField(null=True, blank=True)
    difference_c = models.FloatField(null=True, blank=True)
    notes = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-day", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_test_display()}: {self.get_outcome_display()}"


class MeasuredBody(Kept):
    """A clay body whose expansion was measured: by whom, between which temperatures."""

    plain = ("name", "per_k", "from_c", "to_c", "measured", "day", "note")
    name = models.CharField(max_length=80)
    per_k = models.FloatField()
    from_c = models.FloatField()
    to_c = models.FloatField()
    measured = models.CharField(max_length=200)
    day = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class TiedGlaze(Kept):
    """A glaze of a commission's brief, tied to the recipe version that it is, and to the bucket that it comes out of."""

    plain = ("version_id", "batch_id")
    commission_code = models.CharField(max_length=12)
    glaze = models.CharField(max_length=80)
    version = models.ForeignKey(RecipeVersion, on_delete=models.PROTECT, related_name="tied")
    batch = models.ForeignKey(GlazeBatch, on_delete=models.PROTECT, null=True, blank=True, related_name="tied")

    class Meta:
        ordering: ClassVar = ["commission_code", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["commission_code", "glaze"], name="a_glaze_is_tied_once")
        ]

    def __str__(self) -> str:
        return f"{self.glaze} of {self.commission_code}"


class FoodWare(Kept):
    """Ware for food as it is made now: body and lot, cone, the glaze of each surface, its inside, where it is sold."""

    plain = (
        "name", "body", "body_lot", "cone", "inside_id", "rim_id", "outside_id", "depth_mm", "capacity_ml", "use",
        "places",
    )  # fmt: skip
    name = models.CharField(max_length=80)
    body = models.CharField(max_length=80, blank=True)
    body_lot = models.CharField(max_length=60, blank=True)
    cone = models.CharField(max_length=6, blank=True)
    inside = models.ForeignKey(GlazeRecipe, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    rim = models.ForeignKey(GlazeRecipe, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    outside = models.ForeignKey(GlazeRecipe, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    depth_mm = models.FloatField()
    capacity_ml = models.FloatField()
    use = models.CharField(max_length=8, default="table")
    places = models.JSONField(default=list)

    class Meta:
        ordering: ClassVar = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class LabResult(Kept):
    """What a laboratory found, for one body x glaze x cone x lots, as they stood on the day; it lapses when one changes."""

    plain = ("day", "laboratory", "report", "metal", "place", "figures", "outcome")
    ware = models.ForeignKey(FoodWare, on_delete=models.PROTECT, related_name="results")
    surface = models.CharField(max_length=8, choices=SURFACES)
    day = models.DateField()
    laboratory = models.CharField(max_length=80)
    report = models.CharField(max_length=60, blank=True)
    place = models.CharField(max_length=40)
    metal = models.CharField(max_length=8)
    figures = models.JSONField(default=list)
    outcome = models.CharField(max_length=300, blank=True)
    body = models.CharField(max_length=80)
    body_lot = models.CharField(max_length=60, blank=True)
    glaze = models.CharField(max_length=120)
    glaze_lot = models.CharField(max_length=600, blank=True)
    cone = models.CharField(max_length=6, blank=True)

    class Meta:
        ordering: ClassVar = ["day", "pk"]

    def __str__(self) -> str:
        return f"report {self.report} of {self.day}"
