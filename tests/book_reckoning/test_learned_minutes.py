"""Minutes a piece, by task and person."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.book_reckoning.working import meets_its_working
from wareboard.book.reckoning.learned import Prior, leave_each_out, prior
from wareboard.book.reckoning.learned_minutes import Sitting, learn_minutes
from wareboard.book.reckoning.normal import NormalInverseGamma, variance_of_scatter
from wareboard.errors import OutOfRange

THROW = prior("minutes.throw.cup")
SCATTER = prior("scatter.minutes_log")
SITTINGS = [Sitting(3.1, "A"), Sitting(2.8, "A"), Sitting(4.4, "B"), Sitting(4.0, "B"), Sitting(4.6, "B")]


def test_one_kind_of_people_is_the_normal_inverse_gamma_of_the_logarithms() -> None:
    """Second way: with people alike the linear model is the closed form for one mean."""
    learned = learn_minutes("throw", SITTINGS, THROW, SCATTER)
    shape, scale = variance_of_scatter(SCATTER)
    deviation = math.log(THROW.high / THROW.low) / (2.0 * 1.6448536269514722)
    level = math.log(THROW.value) - 0.5 * scale / shape
    start = NormalInverseGamma(level, scale / shape / deviation**2, shape, scale)
    held = start.after(np.log([sitting.minutes for sitting in SITTINGS]), np.ones(5))
    assert learned.posterior.level == pytest.approx(held.mean, rel=1e-6)
    assert learned.posterior.scatter == pytest.approx(held.scatter, rel=1e-6)
    low, high = held.next_range()
    assert learned.next.low == pytest.approx(math.exp(low), rel=1e-6)
    assert learned.next.high == pytest.approx(math.exp(high), rel=1e-6)


def test_two_people_meet_the_generalised_least_squares_of_the_same_model() -> None:
    """Second way: the mean of a normal given others, from the joint covariance (conditioning instead of least squares)."""
    spread = 0.25
    learned = learn_minutes("throw", SITTINGS, THROW, SCATTER, spread, "A")
    shape, scale = variance_of_scatter(SCATTER)
    variance = scale / shape
    deviation = math.log(THROW.high / THROW.low) / (2.0 * 1.6448536269514722)
    level = math.log(THROW.value) - 0.5 * variance
    same = np.array([[a.person == b.person for b in SITTINGS] for a in SITTINGS], dtype=float)
    covariance = deviation**2 + spread**2 * same + variance * np.eye(5)
    cross = np.array([deviation**2 + spread**2 * (sitting.person == "A") for sitting in SITTINGS])
    logs = np.log([sitting.minutes for sitting in SITTINGS])
    expected = level + cross @ np.linalg.solve(covariance, logs - level)
    assert learned.posterior.level == pytest.approx(expected, rel=1e-9)


def test_each_person_leans_on_the_others() -> None:
    of_a = learn_minutes("throw", SITTINGS, THROW, SCATTER, 0.25, "A")
    of_b = learn_minutes("throw", SITTINGS, THROW, SCATTER, 0.25, "B")
    new = learn_minutes("throw", SITTINGS, THROW, SCATTER, 0.25, "C")
    assert of_a.mean.value < new.mean.value < of_b.mean.value
    assert new.mean.high / new.mean.low > of_a.mean.high / of_a.mean.low
    assert new.records == 0
    assert "no sitting" in new.words
    assert "other people" in new.words
    assert of_a.own is not None
    assert of_a.own.value < of_a.mean.value
    for learned in (of_a, of_b, new):
        meets_its_working(learned.steps)


def test_without_sittings_the_default_stands() -> None:
    learned = learn_minutes("throw", [], THROW, SCATTER, 0.25)
    assert (learned.mean.value, learned.mean.low, learned.mean.high) == (THROW.value, THROW.low, THROW.high)
    assert learned.posterior.mean == pytest.approx(THROW.value)
    meets_its_working(learned.steps)


def test_many_sittings_find_the_mean_of_a_skew_task() -> None:
    """Draws from a lognormal with a known mean: exp(level + scatter^2 / 2)."""
    chance = np.random.default_rng(3)
    minutes = np.exp(chance.normal(math.log(4.0), 0.3, 400))
    learned = learn_minutes("throw", [Sitting(float(each)) for each in minutes], THROW, SCATTER)
    assert learned.mean.value == pytest.approx(4.0 * math.exp(0.045), rel=0.05)
    assert learned.posterior.scatter == pytest.approx(0.3, rel=0.1)
    assert learned.own_share > 0.99


def test_ranges_hold_about_nine_workshops_in_ten() -> None:
    """Workshops drawn from the prior itself."""
    chance = np.random.default_rng(7)
    shape, scale = variance_of_scatter(SCATTER)
    logs = Prior(math.log(THROW.value), math.log(THROW.low), math.log(THROW.high), "from-memory", "t")
    held = 0
    for _ in range(200):
        sigma = math.sqrt(scale / chance.gamma(shape))
        level = chance.normal(logs.value - 0.5 * scale / shape, logs.deviation)
        minutes = np.exp(chance.normal(level, sigma, 5))
        learned = learn_minutes("t", [Sitting(float(each)) for each in minutes[:-1]], THROW, SCATTER)
        held += learned.next.low <= minutes[-1] <= learned.next.high
    assert 0.83 <= held / 200 <= 0.96


def test_a_sitting_that_stands_apart_is_shown() -> None:
    sittings = [Sitting(2.4, label="Monday"), Sitting(2.5), Sitting(2.3), Sitting(2.6), Sitting(24.0, label="Friday")]
    left = leave_each_out(sittings, lambda kept: learn_minutes("t", kept, THROW, SCATTER), lambda each: each.minutes)
    assert [each.label for each in left if not each.expected_it] == ["Friday"]


def test_old_sittings_fade() -> None:
    slow_once = [Sitting(5.0, age=100.0), Sitting(2.0), Sitting(2.1)]
    kept = learn_minutes("throw", slow_once, THROW, SCATTER)
    faded = learn_minutes("throw", slow_once, THROW, SCATTER, half_life=20.0)
    assert faded.mean.value < kept.mean.value


def test_strange_minutes_are_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="Friday"):
        learn_minutes("throw", [Sitting(0.0, label="Friday")], THROW, SCATTER)
    with pytest.raises(OutOfRange, match="spread between people"):
        learn_minutes("throw", [], THROW, SCATTER, -0.1)
