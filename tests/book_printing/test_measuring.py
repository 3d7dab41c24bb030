"""What prints measured, and the correction that follows: proportion, worked out here by itself."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest

from wareboard.book.printing import measuring
from wareboard.book.printing.models import PrintMeasured
from wareboard.errors import OutOfRange, Unreadable

pytestmark = pytest.mark.django_db
WHEN = datetime(2026, 11, 25, 12, tzinfo=UTC)


def test_a_printer_that_prints_short_is_drawn_longer_until_it_is_taken_back() -> None:
    first = measuring.measured("Office laser", 98.0, 99.0, (1.0, 1.0), "Mina", WHEN)
    assert measuring.factors("Office laser") == pytest.approx((100 / 98, 100 / 99))
    drawn = measuring.factors("Office laser")
    # The corrected print came out a little long: the printer's own scale is 100.4 / (100 * 100 / 98).
    again = measuring.measured("office  laser", 100.4, 100.0, drawn, "Mina", WHEN + timedelta(hours=1))
    assert again.printer == "Office laser"
    assert measuring.factors("Office laser") == pytest.approx((100 / 98 / 1.004, 100 / 99))
    measuring.take_back(again, WHEN)
    assert measuring.factors("Office laser") == pytest.approx((100 / 98, 100 / 99))
    measuring.take_back(first, WHEN)
    assert measuring.factors("Office laser") == (1.0, 1.0)
    measuring.put_back(first)
    assert measuring.factors("Office laser") == pytest.approx((100 / 98, 100 / 99))
    assert PrintMeasured.objects.count() == 2
    assert measuring.factors("Another") == (1.0, 1.0)


@pytest.mark.parametrize("odd", [94.9, 105.2, 0.0, -3.0, math.nan, math.inf, 3.93])
def test_what_no_printer_does_is_not_kept(odd: float) -> None:
    with pytest.raises(OutOfRange, match="across"):
        measuring.measured("Office", odd, 100.0, (1.0, 1.0), "", WHEN)
    with pytest.raises(OutOfRange, match="up"):
        measuring.measured("Office", 100.0, odd, (1.0, 1.0), "", WHEN)
    assert not PrintMeasured.objects.exists()


def test_a_printer_needs_a_name() -> None:
    with pytest.raises(Unreadable, match="printer"):
        measuring.measured("  ", 100.0, 100.0, (1.0, 1.0), "", WHEN)
