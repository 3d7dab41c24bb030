"""A mean learned from few records.

Source of the printed numbers: A. Gelman and others, Bayesian Data Analysis, ch. 2 and 3 (formulas from memory), worked out
apart from this code with scipy 1.17.1. Total shrinkage, %: prior 12.0 +/- 0.5, scatter 0.3, bars 12.4 12.9 12.3 12.8.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book_reckoning.working import meets_its_working
from wareboard.book.reckoning.learned import (
    HALF_WIDTH_OF_90_PER_CENT,
    Prior,
    Record,
    ages_in_records,
    fading,
    leave_each_out,
    prior,
)
from wareboard.book.reckoning.learned_measure import learn_measure
from wareboard.book.reckoning.normal import NormalInverseGamma, NormalMean, variance_of_scatter
from wareboard.errors import NotInTable, OutOfRange
from wareboard.reference import default

BARS = np.array([12.4, 12.9, 12.3, 12.8])
WHOLE = np.ones(4)
HALF = 0.5 * HALF_WIDTH_OF_90_PER_CENT
TWELVE = Prior(12.0, 12.0 - HALF, 12.0 + HALF, "from-memory", "total shrinkage", "%")


def test_known_scatter_meets_the_worked_example() -> None:
    held = NormalMean(12.0, 0.5, 0.3).after(BARS, WHOLE)
    assert held.mean == pytest.approx(12.550459, abs=5e-7)
    assert held.deviation == pytest.approx(0.143674, abs=5e-7)
    assert held.next_deviation == pytest.approx(0.332629, abs=5e-7)
    assert held.chance_above(13.0) == pytest.approx(0.088271, abs=5e-7)


def test_one_bar_at_a_time_meets_each_printed_line_and_the_whole() -> None:
    held = NormalMean(12.0, 0.5, 0.3)
    printed = [(12.294118, 0.257248), (12.550847, 0.195283), (12.476190, 0.163663), (12.550459, 0.143674)]
    for bar, (mean, deviation) in zip(BARS, printed, strict=True):
        held = held.after(np.array([bar]), np.ones(1))
        assert (held.mean, held.deviation) == pytest.approx((mean, deviation), abs=5e-7)


def test_unknown_scatter_meets_the_worked_example() -> None:
    held = NormalInverseGamma(12.0, 2.0, 3.0, 0.27).after(BARS, WHOLE)
    assert (held.mean, held.worth, held.shape, held.scale) == pytest.approx((12.4, 6.0, 5.0, 0.64), abs=1e-12)
    assert held.freedom == 10.0
    assert held.next_scale == pytest.approx(0.386437, abs=5e-7)
    assert held.next_range(0.95) == pytest.approx((11.538965, 13.261035), abs=5e-7)


def test_ranges_meet_those_of_scipy() -> None:
    """Student's t and the inverse gamma of scipy.stats, as a second way."""
    from scipy import stats

    held = NormalInverseGamma(12.4, 6.0, 5.0, 0.64)
    of_mean = stats.t(10, 12.4, math.sqrt(0.64 / 5.0 / 6.0))
    assert held.mean_range() == pytest.approx(of_mean.interval(0.9))
    assert held.chance_above(13.0) == pytest.approx(stats.t(10, 12.4, held.next_scale).sf(13.0))
    variance = stats.invgamma(5.0, scale=0.64)
    assert held.scatter_range() == pytest.approx(tuple(np.sqrt(variance.ppf([0.05, 0.95]))))
    assert NormalMean(12.0, 0.5, 0.3).mean_range(0.8) == pytest.approx(stats.norm(12.0, 0.5).interval(0.8))


VALUES = st.lists(st.floats(5.0, 20.0), min_size=1, max_size=12)


@given(VALUES, st.integers(0, 12), st.floats(0.05, 1.0))
def test_in_two_parts_or_at_once_is_the_same(values: list[float], cut: int, weight: float) -> None:
    array, weights = np.array(values), np.full(len(values), weight)
    for start in (NormalMean(12.0, 0.5, 0.3), NormalInverseGamma(12.0, 2.0, 3.0, 0.27)):
        parts = start.after(array[:cut], weights[:cut]).after(array[cut:], weights[cut:])
        whole = start.after(array, weights)
        for name in type(start).__dataclass_fields__:
            assert getattr(parts, name) == pytest.approx(getattr(whole, name), rel=1e-9)


@given(st.permutations(list(BARS)))
def test_the_order_of_records_does_not_matter(bars: list[float]) -> None:
    learned = learn_measure("shrinkage", [Record(bar) for bar in bars], TWELVE, 0.3)
    assert learned.mean.value == pytest.approx(12.550459, abs=5e-7)


def test_the_scatter_prior_keeps_its_two_ends() -> None:
    """Quantiles of scipy.stats.invgamma at 5 % and 95 % are the squares of the stated ends."""
    from scipy import stats

    scatter = prior("scatter.shrinkage")
    shape, scale = variance_of_scatter(scatter)
    ends = np.sqrt(stats.invgamma(shape, scale=scale).ppf([0.05, 0.95]))
    assert tuple(ends) == pytest.approx((scatter.low, scatter.high), rel=1e-6)


def test_without_records_the_default_stands_with_its_own_range_and_says_so() -> None:
    figure = default("clay.shrinkage")
    learned = learn_measure("shrinkage", [], prior("clay.shrinkage"), prior("scatter.shrinkage"))
    assert (learned.mean.value, learned.mean.low, learned.mean.high) == (figure.value, figure.low, figure.high)
    assert learned.own is None
    assert learned.own_share == 0.0
    assert "no record of your own yet" in learned.words
    assert learned.next.low < learned.mean.low


def test_few_records_move_the_figure_and_narrow_its_range() -> None:
    records = [Record(0.131), Record(0.133), Record(0.130)]
    learned = learn_measure("shrinkage", records, prior("clay.shrinkage"), prior("scatter.shrinkage"))
    assert 0.12 < learned.mean.value < 0.1314
    assert learned.mean.high - learned.mean.low < 0.2 * (0.155 - 0.095)
    assert learned.next.low < learned.mean.low < learned.mean.high < learned.next.high
    assert learned.own is not None
    assert learned.own.value == pytest.approx(0.394 / 3.0)
    assert "your own figure, from 3 records" in learned.words
    meets_its_working(learned.steps)


def test_the_share_that_is_the_workshops_own_is_its_part_of_the_precision() -> None:
    """Definition: with known scatter, n / scatter^2 over the posterior precision."""
    learned = learn_measure("shrinkage", [Record(bar) for bar in BARS], TWELVE, 0.3)
    assert learned.own_share == pytest.approx((4 / 0.09) / (4 / 0.09 + 1 / 0.25))
    meets_its_working(learned.steps)


def test_a_record_a_half_life_old_counts_half() -> None:
    """Definition of a half-life."""
    assert fading([0.0, 10.0, 20.0], 10.0) == pytest.approx([1.0, 0.5, 0.25])
    assert fading([0.0, 10.0], None) == pytest.approx([1.0, 1.0])
    assert ages_in_records(3) == (2.0, 1.0, 0.0)


def test_fading_at_each_step_is_fading_by_age_at_the_end() -> None:
    """A second, naive way: forget a part of what the records added, then add the next record whole."""
    kept = 0.5 ** (1.0 / 5.0)
    precision, pull = 0.0, 0.0
    for bar in BARS:
        precision, pull = kept * precision + 1 / 0.09, kept * pull + bar / 0.09
    mean = (12.0 / 0.25 + pull) / (1 / 0.25 + precision)
    records = [Record(bar, age) for bar, age in zip(BARS, ages_in_records(4), strict=True)]
    learned = learn_measure("shrinkage", records, TWELVE, 0.3, half_life=5.0)
    assert learned.mean.value == pytest.approx(mean, rel=1e-12)
    assert learned.counted == pytest.approx(sum(kept**age for age in range(4)))
    assert "after fading" in learned.words


def test_a_new_lot_starts_from_the_others_widened_by_the_spread_between_lots() -> None:
    """Second way: lots as normal draws about one mean; the law of total variance for a lot not yet met."""
    records = [Record(12.4, lot="a"), Record(12.9, lot="a"), Record(12.3, lot="b"), Record(12.8, lot="b")]
    learned = learn_measure("shrinkage", records, TWELVE, 0.3, lot="c", lot_spread=0.4)
    each = 1.0 / (0.09 / 2.0 + 0.16)
    precision = 1 / 0.25 + 2.0 * each
    mean = (12.0 / 0.25 + each * (12.65 + 12.55)) / precision
    assert isinstance(learned.posterior, NormalMean)
    assert learned.posterior.mean == pytest.approx(mean)
    assert learned.posterior.deviation == pytest.approx(math.sqrt(1.0 / precision + 0.16))
    assert learned.records == 0
    assert "starts from 4 of other lots" in learned.words
    meets_its_working(learned.steps)


def test_lots_that_are_alike_are_one_lot() -> None:
    """With no spread between lots, records of other lots count as this lot's own."""
    records = [Record(12.4, lot="a"), Record(12.9, lot="a"), Record(12.3, lot="b"), Record(12.8, lot="b")]
    apart = learn_measure("shrinkage", records, TWELVE, 0.3, lot="b", lot_spread=0.0)
    together = learn_measure("shrinkage", records, TWELVE, 0.3)
    assert apart.mean.value == pytest.approx(together.mean.value)
    assert apart.mean.high == pytest.approx(together.mean.high)


def test_a_far_lot_hardly_counts_where_lots_differ_much() -> None:
    records = [Record(12.4, lot="a"), Record(12.9, lot="a"), Record(13.4, lot="b")]
    start, scatter = prior("clay.shrinkage"), prior("scatter.shrinkage")
    share = [Record(each.value / 100.0, lot=each.lot) for each in records]
    wide = learn_measure("shrinkage", share, start, scatter, lot="b", lot_spread=0.05)
    close = learn_measure("shrinkage", share, start, scatter, lot="b", lot_spread=0.001)
    assert close.mean.value < wide.mean.value < 0.134
    meets_its_working(wide.steps)


def test_leaving_one_out_shows_which_record_stands_apart() -> None:
    records = [Record(value, label=name) for name, value in (("a", 12.4), ("b", 12.5), ("c", 12.3), ("d", 13.4))]
    left = leave_each_out(records, lambda kept: learn_measure("s", kept, TWELVE, 0.3), lambda record: record.value)
    assert [each.label for each in left if not each.expected_it] == ["d"]
    assert left[3].shift < 0.0
    assert left[3].mean_without == pytest.approx(learn_measure("s", records[:3], TWELVE, 0.3).mean.value)
    with pytest.raises(OutOfRange, match="leaving one out"):
        leave_each_out(records[:1], lambda kept: learn_measure("s", kept, TWELVE, 0.3), lambda record: record.value)


@settings(deadline=None)
@given(st.sampled_from([1, 3, 8]), st.integers(0, 3))
def test_ranges_hold_about_nine_workshops_in_ten(count: int, seed: int) -> None:
    """Simulated workshops drawn from the prior itself: by the rules of chance nine in ten must be held, within sampling."""
    chance = np.random.default_rng(seed)
    start, scatter = prior("clay.shrinkage"), prior("scatter.shrinkage")
    shape, scale = variance_of_scatter(scatter)
    means, nexts, workshops = 0, 0, 150
    for _ in range(workshops):
        sigma = math.sqrt(scale / chance.gamma(shape))
        true = chance.normal(start.value, start.deviation)
        values = chance.normal(true, sigma, count + 1)
        learned = learn_measure("s", [Record(float(value)) for value in values[:-1]], start, scatter)
        means += learned.mean.low <= true <= learned.mean.high
        nexts += learned.next.low <= values[-1] <= learned.next.high
    assert 0.82 <= means / workshops <= 0.97
    assert 0.82 <= nexts / workshops <= 0.97


def test_strange_records_are_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match=r"shrinkage, bar 7,.*finite"):
        learn_measure("shrinkage", [Record(math.nan, label="bar 7")], TWELVE, 0.3)
    with pytest.raises(OutOfRange, match="age"):
        learn_measure("shrinkage", [Record(12.0, -1.0)], TWELVE, 0.3, half_life=5.0)
    with pytest.raises(OutOfRange, match="scatter"):
        learn_measure("shrinkage", [Record(12.0)], TWELVE, 0.0)
    with pytest.raises(OutOfRange, match="range of"):
        Prior(12.0, 12.5, 13.0, "from-memory", "shrinkage")
    with pytest.raises(NotInTable, match="no-such"):
        prior("no-such")
