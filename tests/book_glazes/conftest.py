"""An invented shelf, recipe and bucket."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from wareboard.book.firings.signing import Signed, begin
from wareboard.book.glazes import writing
from wareboard.book.glazes.models import GlazeBatch, GlazeRecipe, Lot, ShelfMaterial
from wareboard.glaze.material import material

BY = Signed("Ida", datetime(2026, 11, 25, 12, tzinfo=UTC))
DAY = date(2026, 11, 25)
BASE = (("potash feldspar", 40.0), ("silica / flint", 30.0), ("whiting", 20.0), ("kaolin", 10.0))
RED = (("red iron oxide", 8.0),)


@pytest.fixture
def by() -> Signed:
    """An invented potter on an invented day."""
    return BY


@pytest.fixture
def white(db: None) -> GlazeRecipe:
    """An invented white."""
    return writing.begin_recipe("Moor white", BASE, (), "Begun", BY, cone="6")


@pytest.fixture
def lots(db: None) -> dict[str, Lot]:
    """A lot of each of the white's materials."""
    writing.put_on_shelf([material(name) for name, _ in BASE], "shipped", BY)
    return {
        record.name: begin(
            Lot(
                material=record,
                supplier="Invented Minerals",
                code=f"L{record.pk}",
                day=DAY,
                price_per_kg=2.5,
                stock_g=5000.0,
            ),
            "Bought",
            BY,
        )
        for record in ShelfMaterial.objects.all()
    }


@pytest.fixture
def bucket(white: GlazeRecipe, lots: dict[str, Lot]) -> GlazeBatch:
    """A bucket of the white, 1000 g dry."""
    assert white.current is not None
    lines = [writing.Weighed(name, 10.0 * parts, lot=lots[name]) for name, parts in BASE]
    return writing.mix(white.current, writing.Mixed(DAY, lines, 1.45, 2.6, 800.0, 300.0), BY)
