"""Whether the hand holds what was agreed.

Source: NIST/SEMATECH, e-Handbook of Statistical Methods, 6.1.6 (from memory): limits 8 and 20, mean 16, deviation 2 give
Cp 1.0, Cpk 0.6667; the rest worked out apart from this code with scipy 1.17.1.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.book_reckoning.working import meets_its_working
from wareboard.book.reckoning.capability import capability, capability_from
from wareboard.errors import OutOfRange


def test_the_handbooks_example_is_met_with_its_intervals() -> None:
    found = capability_from(16.0, 2.0, 30, (8.0, 20.0), 14.0, share=0.95)
    assert found.span.value == pytest.approx(1.0)
    assert found.nearer.value == pytest.approx(0.6667, abs=5e-5)
    assert found.nearer.value == pytest.approx(found.span.value * (1.0 - 0.3333), abs=5e-5)
    assert found.on_target.value == pytest.approx(0.70711, abs=5e-6)
    assert found.outside == pytest.approx(0.022782, abs=5e-7)
    assert (found.span.low, found.span.high) == pytest.approx((0.7439, 1.2556), abs=5e-5)
    assert (found.nearer.low, found.nearer.high) == pytest.approx((0.4577, 0.8756), abs=5e-5)
    meets_its_working(found.steps)


def test_the_ranges_hold_the_truth_about_as_often_as_they_say() -> None:
    """Simulated pieces: with mean 15.5 and scatter 2 the three figures are known by their definitions."""
    chance = np.random.default_rng(6)
    true = {"span": 1.0, "nearer": 0.75, "on_target": 12.0 / (6.0 * np.hypot(2.0, 1.5))}
    held = dict.fromkeys(true, 0)
    for _ in range(400):
        found = capability(list(chance.normal(15.5, 2.0, 40)), (8.0, 20.0), 14.0)
        for name, value in true.items():
            estimate = getattr(found, name)
            held[name] += estimate.low <= value <= estimate.high
    assert all(0.85 <= count / 400 <= 0.95 for count in held.values()), held


def test_few_pieces_say_that_they_cannot_tell() -> None:
    assert "cannot tell yet" in capability_from(14.0, 2.0, 6, (8.0, 20.0)).words
    assert "holds what was agreed" in capability_from(14.0, 1.0, 30, (8.0, 20.0)).words
    assert "does not hold" in capability_from(14.0, 4.0, 30, (8.0, 20.0)).words


def test_strange_ends_are_refused() -> None:
    with pytest.raises(OutOfRange, match="in order"):
        capability_from(14.0, 2.0, 30, (20.0, 8.0))
    with pytest.raises(OutOfRange, match="scatter"):
        capability([14.0, 14.0, 14.0], (8.0, 20.0))
