"""How far a bucket goes before the first piece."""

from __future__ import annotations

import pytest

from wareboard.errors import OutOfRange
from wareboard.glaze.forecast import before_the_first
from wareboard.working import Estimate, worked_out

FORTY = Estimate(40.0, 30.0, 60.0, "invented")


def test_the_usable_slip_is_shared_out() -> None:
    """Arithmetic: 2400 ml less 400 dead, by 40 ml a piece (30 to 60): 50, of 33 to 66."""
    found = before_the_first(2400.0, FORTY, dead_ml=400.0, still_to_do=45)
    assert (found.more, found.low, found.high) == (50, 33, 66)
    assert "may just last" in found.words
    assert worked_out(found.steps[0].formula, found.steps[0].inputs) == found.steps[0].value


def test_the_words_say_whether_it_lasts() -> None:
    assert "should last" in before_the_first(2400.0, FORTY, still_to_do=10).words
    assert "falls 40 short" in before_the_first(2400.0, FORTY, still_to_do=100).words
    assert before_the_first(300.0, FORTY, dead_ml=400.0).more == 0


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(OutOfRange, match="slip in the bucket"):
        before_the_first(-1.0, FORTY)
    with pytest.raises(OutOfRange, match="slip a piece takes"):
        before_the_first(100.0, Estimate(0.0, 0.0, 0.0, "invented"))
