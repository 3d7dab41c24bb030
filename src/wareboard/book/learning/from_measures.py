"""What pieces measured at the bench teach: shrinkage from sizes wet and fired, pick-up from weights before and after."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.utils import timezone

from wareboard.book.learning.briefs import facts_of
from wareboard.book.learning.figures import Seen
from wareboard.book.learning.shrinkage import Measured
from wareboard.book.measures import read
from wareboard.book.measures.what import DIRECTION

MM2_IN_A_CM2 = 100.0


def measured_pieces(before: datetime) -> Iterator[Measured]:
    """The sizes of pieces measured both as thrown and fired, each with the clay of its commission's brief."""
    for pair in read.wet_and_fired(before):
        clay = facts_of(pair.commission).clay
        wet, fired = pair.wet, pair.fired
        words = f"{fired.what} of {fired.form} {fired.piece}, {wet.value:g} mm as thrown and {fired.value:g} mm fired"
        yield Measured(
            f"measured/{wet.pk}/{fired.pk}",
            clay,
            fired.form,
            DIRECTION[fired.what],
            wet.value,
            fired.value,
            timezone.localdate(fired.happened),
            f"{words}, {pair.commission.code}",
            ("commission", pair.commission.code),
        )


def pick_ups_at_the_bench(before: datetime) -> Iterator[tuple[str, Seen]]:
    """Dry glaze laid on, g/cm2, with the glaze's name, from pieces whose bucket and glazed area are known."""
    for row in read.pickups(before):
        assert row.batch is not None
        assert row.area_mm2 is not None
        name = row.batch.version.recipe.name
        dwell = f" in {row.dwell_s:g} s" if row.dwell_s else ""
        words = f"{row.value:.3g} g on {row.area_mm2 / MM2_IN_A_CM2:.0f} cm²{dwell}, batch {row.batch.number}"
        value, at = row.value / row.area_mm2 * MM2_IN_A_CM2, ("bucket", str(row.batch.number))
        yield name, Seen(f"measured/{row.pk}", value, words, timezone.localdate(row.happened), at)
