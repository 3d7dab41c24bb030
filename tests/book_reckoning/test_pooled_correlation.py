"""How far losses come by the load, put together from several figures that each learned it."""

from __future__ import annotations

import numpy as np
import pytest

from wareboard.book.reckoning.beta import beta_for_range
from wareboard.book.reckoning.learned import prior
from wareboard.book.reckoning.learned_losses import ClusteredShare, LoadCount, learn_losses, pooled_correlation
from wareboard.errors import OutOfRange

BY_LOAD, GOOD = prior("overage.correlation"), prior("yield.plate.dried")
IN_A_LOAD = 20


def held_after(chance: np.random.Generator, loads: int, correlation: float) -> ClusteredShare:
    """What one stretch's loads leave, drawn with that correlation within a load."""
    a, b = beta_for_range(GOOD.value, GOOD.low, GOOD.high)
    true = float(np.clip(chance.beta(a, b), 1e-3, 1.0 - 1e-6))
    whole = 1.0 / max(correlation, 1e-4) - 1.0
    good = chance.binomial(IN_A_LOAD, chance.beta(true * whole, (1.0 - true) * whole, loads))
    counts = [LoadCount(IN_A_LOAD, int(each)) for each in good]
    held = learn_losses("good", counts, GOOD, BY_LOAD).posterior
    assert isinstance(held, ClusteredShare)
    return held


def test_one_figure_alone_is_what_it_had_learned_itself() -> None:
    held = held_after(np.random.default_rng(1), 8, 0.1)
    pooled = pooled_correlation("together", [held], BY_LOAD, BY_LOAD)
    assert pooled.mean.value == pytest.approx(held.correlation.value)
    assert pooled.mean.low == pytest.approx(held.correlation.low)


def test_figures_without_records_leave_the_prior_and_count_it_once() -> None:
    start = learn_losses("good", [], GOOD, BY_LOAD).posterior
    assert isinstance(start, ClusteredShare)
    pooled = pooled_correlation("together", [start] * 5, BY_LOAD, BY_LOAD)
    assert pooled.mean.value == pytest.approx(start.correlation.value)
    assert pooled.own_share == pytest.approx(0.0, abs=1e-9)


def test_ranges_hold_what_they_say_on_simulated_workshops() -> None:
    """120 workshops whose correlation is drawn from the prior, four stretches of six loads: nine in ten ranges hold it."""
    chance = np.random.default_rng(7)
    c, d = beta_for_range(BY_LOAD.value, BY_LOAD.low, BY_LOAD.high)
    within, error, fixed = 0, 0.0, 0.0
    for _ in range(120):
        true = float(chance.beta(c, d))
        found = pooled_correlation("together", [held_after(chance, 6, true) for _ in range(4)], BY_LOAD, BY_LOAD).mean
        within += found.low <= true <= found.high
        error += abs(found.value - true)
        fixed += abs(BY_LOAD.value - true)
    assert 0.83 <= within / 120 <= 0.97
    assert error < 0.9 * fixed


def test_figures_of_another_prior_are_refused() -> None:
    held = held_after(np.random.default_rng(1), 4, 0.05)
    other = ClusteredShare(held.shares, held.correlations * 0.5, held.weights)
    with pytest.raises(OutOfRange, match="2 figures"):
        pooled_correlation("together", [held, other], BY_LOAD, BY_LOAD)
    with pytest.raises(OutOfRange, match="0 figures"):
        pooled_correlation("together", [], BY_LOAD, BY_LOAD)
