"""The share that comes good, learned by the load."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book_reckoning.working import meets_its_working
from wareboard.book.reckoning.beta import BetaShare, beta_binomial, beta_for_range, chance_of_enough, share_range
from wareboard.book.reckoning.learned import Prior, leave_each_out, prior
from wareboard.book.reckoning.learned_losses import (
    ClusteredShare,
    LoadCount,
    correlation_by_variance,
    fewest_to_start,
    learn_losses,
)
from wareboard.errors import OutOfRange

CUPS = prior("yield.cup.fired")
BY_LOAD = prior("overage.correlation")


@pytest.mark.parametrize(
    ("pieces", "chance"),
    [
        (26, 0.538695),
        (27, 0.703030),
        (28, 0.818278),
        (29, 0.892746),
        (30, 0.938307),
        (31, 0.965155),
        (32, 0.980568),
    ],
)
def test_the_chance_of_24_good_meets_the_worked_table(pieces: int, chance: float) -> None:
    """Beta(45, 5) on the yield shared by the batch: worked out apart from this code with scipy 1.17.1."""
    assert chance_of_enough(BetaShare(45.0, 5.0).count_chances(pieces), 24) == pytest.approx(chance, abs=5e-7)


# a, b; then for 6, 12, 24 and 48 wanted the counts for chances of 0.90, 0.95 and 0.99.
TABLE = [
    (19, 1, "7/8/9 14/15/17 28/29/32 55/57/63"),
    (45, 5, "8/9/10 15/16/18 30/31/34 58/60/65"),
    (18, 2, "8/9/11 16/17/19 30/32/37 60/63/71"),
    (9, 1, "8/9/12 16/18/22 32/34/42 63/68/82"),
    (17, 3, "9/10/12 17/19/22 33/36/41 66/70/80"),
    (8.5, 1.5, "9/10/14 18/20/25 35/39/48 69/76/95"),
    (40, 10, "10/10/12 18/19/22 35/37/41 68/71/78"),
    (8, 2, "10/12/16 20/22/29 39/44/56 77/86/108"),
]


@pytest.mark.parametrize(("good", "lost", "row"), TABLE)
def test_the_fewest_to_start_meet_the_worked_table(good: float, lost: float, row: str) -> None:
    """Beta-binomial counts for 6, 12, 24, 48 wanted: worked out apart from this code with scipy 1.17.1."""
    held = BetaShare(good, lost)
    for wanted, cell in zip((6, 12, 24, 48), row.split(), strict=True):
        found = [fewest_to_start(held, wanted, chance) for chance in (0.90, 0.95, 0.99)]
        assert "/".join(map(str, found)) == cell


def test_counts_meet_scipys_beta_binomial() -> None:
    from scipy import stats

    ours = beta_binomial(20, np.array([4.5]), np.array([0.7]))[0]
    assert ours == pytest.approx(stats.betabinom(20, 4.5, 0.7).pmf(np.arange(21)), rel=1e-9)
    assert ours.sum() == pytest.approx(1.0)


def test_a_sharp_share_is_the_binomial_of_the_table() -> None:
    """Binomial, 24 wanted at 0.9: 0.857888 for 28 and 0.974173 for 30 (worked out with scipy by two ways)."""
    held = BetaShare(0.9e9, 0.1e9)
    assert chance_of_enough(held.count_chances(28), 24) == pytest.approx(0.857888, abs=1e-5)
    assert chance_of_enough(held.count_chances(30), 24) == pytest.approx(0.974173, abs=1e-5)


# Share good; then for 6, 12, 24 and 48 wanted the counts for chances of 0.90, 0.95 and 0.99, every piece for itself.
BINOMIAL = [
    (0.95, "7/7/8 14/14/15 27/27/29 53/53/55"),
    (0.90, "8/8/9 15/16/17 29/30/31 57/58/60"),
    (0.85, "9/9/10 16/17/19 31/32/34 61/62/65"),
    (0.80, "9/10/12 18/19/20 34/35/37 65/67/70"),
    (0.70, "11/12/14 21/22/25 39/41/44 76/78/82"),
]


@pytest.mark.parametrize(("share", "row"), BINOMIAL)
def test_a_share_known_sharply_recovers_the_binomial_table(share: float, row: str) -> None:
    """Binomial counts, worked out apart from this code with scipy 1.17.1: the limit of the beta-binomial."""
    held = BetaShare(share * 1e7, (1.0 - share) * 1e7)
    for wanted, cell in zip((6, 12, 24, 48), row.split(), strict=True):
        found = [fewest_to_start(held, wanted, chance) for chance in (0.90, 0.95, 0.99)]
        assert "/".join(map(str, found)) == cell


def test_every_piece_for_itself_is_the_plain_beta() -> None:
    """Conjugate update: the good and the lost are added to what the prior is worth."""
    loads = [LoadCount(20, 18), LoadCount(25, 25)]
    learned = learn_losses("cups", loads, CUPS, 0.0)
    a, b = beta_for_range(CUPS.value, CUPS.low, CUPS.high)
    assert learned.posterior == BetaShare(a + 43.0, b + 2.0)
    assert learned.mean.value == pytest.approx((a + 43.0) / (a + b + 45.0))
    assert learned.own_share == pytest.approx(45.0 / (a + b + 45.0))
    meets_its_working(learned.steps)


def test_the_grid_without_clustering_meets_the_plain_beta() -> None:
    """The closed form is the outside measure of how coarse the grid is."""
    loads = [LoadCount(20, 18), LoadCount(25, 25), LoadCount(18, 15)]
    plain = learn_losses("cups", loads, CUPS, 0.0)
    grid = learn_losses("cups", loads, CUPS, 1e-4)
    assert grid.mean.value == pytest.approx(plain.mean.value, abs=0.001)
    assert grid.mean.low == pytest.approx(plain.mean.low, abs=0.004)
    assert grid.mean.high == pytest.approx(plain.mean.high, abs=0.004)


def test_the_grid_meets_a_quadrature_of_the_same_model() -> None:
    """Second way: adaptive quadrature of scipy over share and correlation, prior times beta-binomial of each load."""
    from scipy import stats
    from scipy.integrate import dblquad

    start = Prior(0.9, 0.8, 0.97, "from-memory", "share")
    a, b = beta_for_range(0.9, 0.8, 0.97)
    c, d = beta_for_range(BY_LOAD.value, BY_LOAD.low, BY_LOAD.high)
    loads = [LoadCount(20, 18), LoadCount(20, 11)]

    def weight(rho: float, share: float) -> float:
        whole = 1.0 / rho - 1.0
        chances = [stats.betabinom.pmf(x.good, x.started, share * whole, (1 - share) * whole) for x in loads]
        return float(np.prod(chances) * stats.beta.pdf(share, a, b) * stats.beta.pdf(rho, c, d))

    limits = (0.3, 0.9999, 1e-3, 0.6)
    total = dblquad(weight, *limits, epsabs=1e-8, epsrel=1e-4)[0]
    mean = dblquad(lambda r, s: s * weight(r, s), *limits, epsabs=1e-8, epsrel=1e-4)[0] / total
    rho = dblquad(lambda r, s: r * weight(r, s), *limits, epsabs=1e-8, epsrel=1e-4)[0] / total
    learned = learn_losses("cups", loads, start, BY_LOAD)
    assert isinstance(learned.posterior, ClusteredShare)
    assert learned.mean.value == pytest.approx(mean, abs=0.002)
    assert learned.posterior.correlation.value == pytest.approx(rho, abs=0.004)


COUNTS = st.lists(st.tuples(st.integers(5, 30), st.floats(0.5, 1.0)), min_size=2, max_size=6)


@settings(max_examples=20, deadline=None)
@given(COUNTS, st.integers(1, 5))
def test_load_by_load_or_at_once_is_the_same(counts: list[tuple[int, float]], cut: int) -> None:
    loads = [LoadCount(started, round(started * share)) for started, share in counts]
    whole = learn_losses("cups", loads, CUPS, BY_LOAD).posterior
    first = learn_losses("cups", loads[:cut], CUPS, BY_LOAD).posterior
    rest = loads[cut:]
    started, good = (np.array([getattr(load, name) for load in rest], float) for name in ("started", "good"))
    both = first.after(started, good, np.ones(len(rest))) if rest else first
    assert both.mean == pytest.approx(whole.mean, rel=1e-9)
    assert both.mean_range() == pytest.approx(whole.mean_range(), rel=1e-7)


def test_losses_that_come_by_the_load_count_for_less_and_call_for_more_pieces() -> None:
    """As many lost in all, in one bad load or spread evenly: pieces of one load are not witnesses of their own."""
    start = Prior(0.85, 0.7, 0.93, "from-memory", "share")
    even = learn_losses("cups", [LoadCount(20, 17)] * 6, start, BY_LOAD)
    lumped = learn_losses("cups", [LoadCount(20, 20)] * 5 + [LoadCount(20, 2)], start, BY_LOAD)
    assert isinstance(even.posterior, ClusteredShare)
    assert isinstance(lumped.posterior, ClusteredShare)
    assert even.posterior.correlation.value < BY_LOAD.value < lumped.posterior.correlation.value
    assert lumped.own_share < even.own_share
    assert lumped.next.low < even.next.low
    assert fewest_to_start(lumped.posterior, 24, 0.9) > fewest_to_start(even.posterior, 24, 0.9)
    meets_its_working(lumped.steps)


def test_the_correlation_by_variance_meets_its_definition_at_both_ends() -> None:
    """Closed form: loads all good or all lost are correlated 1; loads that all lose alike give the least, -1/(n - 1)."""
    all_or_none = correlation_by_variance(np.array([10.0, 10.0, 10.0, 10.0]), np.array([10.0, 0.0, 10.0, 0.0]))
    alike = correlation_by_variance(np.array([10.0, 10.0, 10.0]), np.array([8.0, 8.0, 8.0]))
    assert all_or_none == pytest.approx(1.0)
    assert alike == pytest.approx(-1.0 / 9.0)
    with pytest.raises(OutOfRange, match="two loads"):
        correlation_by_variance(np.array([10.0]), np.array([8.0]))


def test_a_simulated_correlation_is_found_by_both_ways() -> None:
    """Loads drawn with a correlation of 0.15: the moment figure and the grid agree with it within sampling."""
    chance = np.random.default_rng(5)
    whole = 1.0 / 0.15 - 1.0
    started = np.full(150, 20.0)
    good = chance.binomial(20, chance.beta(0.85 * whole, 0.15 * whole, 150)).astype(float)
    assert correlation_by_variance(started, good) == pytest.approx(0.15, abs=0.06)
    learned = learn_losses("cups", [LoadCount(20, int(count)) for count in good], CUPS, BY_LOAD)
    assert isinstance(learned.posterior, ClusteredShare)
    assert learned.posterior.correlation.low < 0.15 < learned.posterior.correlation.high
    assert learned.mean.low < 0.85 < learned.mean.high


def test_without_loads_the_default_stands_and_says_so() -> None:
    learned = learn_losses("cups", [], CUPS, BY_LOAD)
    assert (learned.mean.value, learned.mean.low, learned.mean.high) == (CUPS.value, CUPS.low, CUPS.high)
    assert "no load of your own yet" in learned.words
    meets_its_working(learned.steps)


def test_the_prior_keeps_its_mean_and_its_far_end() -> None:
    """scipy.stats.beta: one in twenty lies past the far end."""
    from scipy import stats

    for key in ("yield.cup.fired", "yield.plate.dried", "yield.jug.handled", "overage.correlation"):
        figure = prior(key)
        a, b = beta_for_range(figure.value, figure.low, figure.high)
        assert a / (a + b) == pytest.approx(figure.value)
        far_is_low = figure.value - figure.low >= figure.high - figure.value
        past = stats.beta(a, b).cdf(figure.low) if far_is_low else stats.beta(a, b).sf(figure.high)
        assert past == pytest.approx(0.05, abs=1e-6), key


def test_old_loads_fade() -> None:
    bad_once = [LoadCount(20, 10, age=60.0), *[LoadCount(20, 19, age=float(age)) for age in range(5)]]
    kept = learn_losses("cups", bad_once, CUPS, BY_LOAD)
    faded = learn_losses("cups", bad_once, CUPS, BY_LOAD, half_life=10.0)
    assert faded.mean.value > kept.mean.value
    assert faded.counted < 5.0


def test_leaving_a_load_out_shows_the_bad_one() -> None:
    loads = [LoadCount(20, 19, label=f"load {number}") for number in range(6)] + [LoadCount(20, 6, label="hot shelf")]
    left = leave_each_out(loads, lambda kept: learn_losses("c", kept, CUPS, BY_LOAD), lambda x: x.good / x.started)
    assert [each.label for each in left if not each.expected_it] == ["hot shelf"]


def test_the_next_load_is_held_about_nine_times_in_ten() -> None:
    """Workshops drawn from the priors; counts are whole, so that the range holds a little more than it says."""
    chance = np.random.default_rng(11)
    a, b = beta_for_range(CUPS.value, CUPS.low, CUPS.high)
    c, d = beta_for_range(BY_LOAD.value, BY_LOAD.low, BY_LOAD.high)
    held = 0
    for _ in range(80):
        true, rho = np.clip(chance.beta(a, b), 1e-4, 1 - 1e-4), max(chance.beta(c, d), 1e-4)
        whole = 1.0 / rho - 1.0
        good = chance.binomial(20, chance.beta(true * whole, (1 - true) * whole, 5))
        learned = learn_losses("c", [LoadCount(20, int(count)) for count in good[:-1]], CUPS, BY_LOAD)
        held += learned.next.low <= good[-1] / 20.0 <= learned.next.high
    assert 0.85 <= held / 80 <= 1.0


def test_a_range_of_counts_holds_what_it_says() -> None:
    """Naive way: add up the chances inside the range."""
    chances = BetaShare(9.0, 1.0).count_chances(20)
    low, high = share_range(chances)
    assert chances[round(low * 20) : round(high * 20) + 1].sum() >= 0.9


def test_impossible_counts_are_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="shelf 2: 21 good of 20"):
        learn_losses("cups", [LoadCount(20, 21, label="shelf 2")], CUPS, BY_LOAD)
    with pytest.raises(OutOfRange, match="correlation"):
        learn_losses("cups", [], CUPS, 1.0)
    with pytest.raises(OutOfRange, match="next load"):
        learn_losses("cups", [], CUPS, 0.0, next_started=0)
    with pytest.raises(OutOfRange, match="out of reach"):
        fewest_to_start(BetaShare(0.01, 10.0), 2, 0.99)
    with pytest.raises(OutOfRange, match="inside its range"):
        beta_for_range(0.9, 0.95, 0.99)
