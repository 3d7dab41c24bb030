"""The density of a bucket's slip as it was last known: off its card, or measured at the bench."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wareboard.book.firings.models import Change
from wareboard.book.glazes.models import BucketLine, GlazeBatch
from wareboard.book.measures.models import Measurement
from wareboard.book.measures.what import DENSITY
from wareboard.working import Step


@dataclass(frozen=True, slots=True)
class Density:
    """The specific gravity last measured, with its working."""

    value: float
    step: Step
    at_the_bench: bool


def density_now(batch: GlazeBatch, lines: Sequence[BucketLine]) -> Density | None:
    """What was measured last, by the moment it was written down; None where nothing was."""
    line = next((line for line in reversed(lines) if line.gravity), None)
    bench = (
        Measurement.objects.filter(what=DENSITY, stands=True, batch=batch, value__gte=1.0).order_by("-happened").first()
    )
    if bench is not None and (line is None or _is_later(bench, line)):
        words = f"measured at the bench on {bench.happened:%Y-%m-%d}"
        return Density(bench.value, Step("specific gravity", "", {}, bench.value, "own records", how=words), True)
    return of_weighing(line.weighed_g or 0.0, line.weighed_ml or 0.0) if line is not None else None


def of_weighing(weighed_g: float, weighed_ml: float) -> Density:
    """By the net weight of a known volume."""
    value = weighed_g / weighed_ml
    inputs = {"weight": weighed_g, "volume": weighed_ml}
    return Density(value, Step("specific gravity", "weight / volume", inputs, value, "definition"), False)


def gravity_now(batch: GlazeBatch, lines: Sequence[BucketLine]) -> float:
    """The specific gravity last measured, else the one wanted."""
    found = density_now(batch, lines)
    return found.value if found else batch.wanted_gravity


def _is_later(bench: Measurement, line: BucketLine) -> bool:
    """A card's line has a day and no hour: when it was written down tells."""
    written = Change.objects.filter(of="BucketLine", record=line.pk, undoes=None).order_by("pk").first()
    return written is None or bench.happened > written.written
