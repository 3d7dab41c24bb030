"""How many to start, beside scipy's distributions and tables worked out with them.

The tables below were worked out apart from this code with scipy 1.17.1 (binom, nbinom, betabinom); the same values for
12, 24, 50, 100 and 200 pieces stand in the trade facts sheet and were there checked by simulation. scipy itself is asked
again here as the outside reference.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from wareboard import reference
from wareboard.errors import OutOfRange
from wareboard.plan.overage import Overage, StageYield, chance_of_enough, how_many_to_start
from wareboard.working import worked_out


def one_stage(share: float) -> tuple[StageYield, ...]:
    return (StageYield("all", share, share, share, "given"),)


def stages(*shares: float) -> tuple[StageYield, ...]:
    return tuple(StageYield(f"stage {n}", y, y, y, "given") for n, y in enumerate(shares, start=1))


TABLE = {
    0.95: ((6, 7, 7, 8), (12, 14, 14, 15), (24, 27, 27, 29), (48, 53, 53, 55)),
    0.90: ((6, 8, 8, 9), (12, 15, 16, 17), (24, 29, 30, 31), (48, 57, 58, 60)),
    0.85: ((6, 9, 9, 10), (12, 16, 17, 19), (24, 31, 32, 34), (48, 61, 62, 65)),
    0.80: ((6, 9, 10, 12), (12, 18, 19, 20), (24, 34, 35, 37), (48, 65, 67, 70)),
    0.70: ((6, 11, 12, 14), (12, 21, 22, 25), (24, 39, 41, 44), (48, 76, 78, 82)),
}


@pytest.mark.parametrize(
    ("share", "wanted", "chance", "start"),
    [
        (share, row[0], chance, count)
        for share, table in TABLE.items()
        for row in table
        for chance, count in zip((0.90, 0.95, 0.99), row[1:], strict=True)
    ],
)
def test_independent_losses_meet_the_binomial_table(share: float, wanted: int, chance: float, start: int) -> None:
    assert how_many_to_start(wanted, one_stage(share), chance, correlation=0.0).start == start


BETA_TABLE = [
    (19, 1, (7, 8, 9), (14, 15, 17), (28, 29, 32), (55, 57, 63)),
    (45, 5, (8, 9, 10), (15, 16, 18), (30, 31, 34), (58, 60, 65)),
    (18, 2, (8, 9, 11), (16, 17, 19), (30, 32, 37), (60, 63, 71)),
    (9, 1, (8, 9, 12), (16, 18, 22), (32, 34, 42), (63, 68, 82)),
    (17, 3, (9, 10, 12), (17, 19, 22), (33, 36, 41), (66, 70, 80)),
    (8.5, 1.5, (9, 10, 14), (18, 20, 25), (35, 39, 48), (69, 76, 95)),
    (40, 10, (10, 10, 12), (18, 19, 22), (35, 37, 41), (68, 71, 78)),
    (8, 2, (10, 12, 16), (20, 22, 29), (39, 44, 56), (77, 86, 108)),
]


@pytest.mark.parametrize("row", BETA_TABLE, ids=lambda row: f"Beta({row[0]},{row[1]})")
def test_clustered_losses_meet_the_beta_binomial_table(row: tuple[float, ...]) -> None:
    a, b, *columns = row
    for wanted, counts in zip((6, 12, 24, 48), columns, strict=True):
        for chance, count in zip((0.90, 0.95, 0.99), counts, strict=True):
            found = how_many_to_start(wanted, one_stage(a / (a + b)), chance, correlation=1 / (a + b + 1))
            assert found.start == count, (wanted, chance)


@pytest.mark.parametrize(
    ("wanted", "share", "chance", "alone", "clustered"),
    [
        (12, 0.90, 0.90, 15, 16),
        (12, 0.90, 0.95, 16, 17),
        (24, 0.90, 0.90, 29, 31),
        (24, 0.90, 0.95, 30, 32),
        (50, 0.90, 0.90, None, 63),
        (50, 0.90, 0.95, 60, 66),
        (100, 0.90, 0.90, 116, 125),
        (100, 0.90, 0.95, 117, 131),
        (24, 0.80, 0.95, 35, None),
        (100, 0.95, 0.95, 109, None),
        (200, 0.85, 0.95, 246, None),
    ],
)
def test_the_trade_facts_are_met_with_and_without_correlation(
    wanted: int, share: float, chance: float, alone: int | None, clustered: int | None
) -> None:
    found = how_many_to_start(wanted, one_stage(share), chance, correlation=0.05)
    assert alone in (None, found.binomial_start)
    assert clustered in (None, found.start)


@pytest.mark.parametrize(("have", "chance"), [(27, 0.717898), (28, 0.857888), (29, 0.936283), (30, 0.974173)])
def test_the_chance_of_24_good_at_nine_in_ten_is_as_tabulated(have: int, chance: float) -> None:
    assert chance_of_enough(have, 24, 0.9, correlation=0.0) == pytest.approx(chance, abs=5e-7)


def test_the_chance_under_beta_45_5_is_as_tabulated() -> None:
    table = {26: 0.538695, 27: 0.703030, 28: 0.818278, 29: 0.892746, 30: 0.938307, 31: 0.965155, 32: 0.980568}
    for have, chance in table.items():
        assert chance_of_enough(have, 24, 0.9, correlation=1 / 51) == pytest.approx(chance, abs=5e-7)


def test_three_stages_multiply_and_need_17_for_12_and_32_for_24() -> None:
    three = stages(0.97, 0.95, 0.93)
    twelve = how_many_to_start(12, three, 0.95, correlation=0.0)
    assert twelve.good_share.value == pytest.approx(0.856995)
    assert twelve.start == 17
    assert how_many_to_start(24, three, 0.95, correlation=0.0).start == 32


@given(
    have=st.integers(1, 400),
    wanted=st.integers(1, 400),
    share=st.floats(0.02, 0.999),
    correlation=st.floats(1e-4, 0.9),
)
@settings(max_examples=200, deadline=None)
def test_the_chance_is_that_of_scipys_beta_binomial(have: int, wanted: int, share: float, correlation: float) -> None:
    whole = 1 / correlation - 1
    expected = stats.betabinom.sf(wanted - 1, have, share * whole, (1 - share) * whole)
    assert chance_of_enough(have, wanted, share, correlation) == pytest.approx(expected, abs=1e-8)


@given(have=st.integers(1, 3000), wanted=st.integers(1, 3000), share=st.floats(0.02, 1.0))
@settings(max_examples=200, deadline=None)
def test_without_correlation_it_is_scipys_binomial_and_its_negative_binomial(
    have: int, wanted: int, share: float
) -> None:
    chance = chance_of_enough(have, wanted, share, correlation=0.0)
    assert chance == pytest.approx(stats.binom.sf(wanted - 1, have, share), abs=1e-9)
    if have >= wanted:
        assert chance == pytest.approx(stats.nbinom.cdf(have - wanted, wanted, share), abs=1e-9)


@given(
    wanted=st.integers(1, 200),
    share=st.floats(0.5, 1.0),
    chance=st.floats(0.05, 0.99),
    correlation=st.sampled_from([0.0, 1e-6, 0.02, 0.05, 0.1]),
)
@settings(max_examples=100, deadline=None)
def test_one_piece_fewer_would_not_be_enough(wanted: int, share: float, chance: float, correlation: float) -> None:
    found = how_many_to_start(wanted, one_stage(share), chance, correlation)
    assert found.chance_reached >= chance
    assert chance_of_enough(found.start - 1, wanted, share, correlation) < chance
    assert found.start >= wanted


@given(share=st.floats(0.3, 0.99), wanted=st.integers(1, 60))
@settings(max_examples=50, deadline=None)
def test_as_the_correlation_goes_the_binomial_is_recovered(share: float, wanted: int) -> None:
    nearly = chance_of_enough(wanted + 10, wanted, share, correlation=1e-8)
    assert nearly == pytest.approx(chance_of_enough(wanted + 10, wanted, share, correlation=0.0), abs=1e-5)


def test_stage_counts_begin_with_the_start_and_end_with_the_wanted() -> None:
    found = how_many_to_start(24, stages(0.98, 0.98, 0.97, 0.99, 0.96, 0.97))
    assert found.stage_counts[0].going_in == found.start
    assert found.stage_counts[-1].fewest_after == 24
    assert found.stage_counts[-1].expected_after == pytest.approx(found.expected_good)
    fewest = [count.fewest_after for count in found.stage_counts]
    assert fewest == sorted(fewest, reverse=True)
    # the mug chain of the trade facts: 85.9 % come through
    assert found.good_share.value == pytest.approx(0.859, abs=0.0005)


def test_having_the_fewest_after_a_stage_still_gives_the_chance() -> None:
    shares = (0.98, 0.95, 0.95, 0.98, 0.95, 0.93)
    found = how_many_to_start(40, stages(*shares), chance=0.9, correlation=0.05)
    for number, count in enumerate(found.stage_counts[:-1], start=1):
        ahead = math.prod(shares[number:])
        assert chance_of_enough(count.fewest_after, 40, ahead, 0.05) >= 0.9
        assert chance_of_enough(count.fewest_after - 1, 40, ahead, 0.05) < 0.9


def test_the_range_of_the_chain_is_narrower_than_all_lows_at_once() -> None:
    rows = tuple(StageYield(f"s{n}", 0.95, 0.85, 0.99, "default") for n in range(5))
    share = how_many_to_start(10, rows).good_share
    assert 0.85**5 < share.low < share.value < share.high < 0.99**5 + 1e-12


def check_steps(found: Overage) -> None:
    for step in found.steps:
        assert step.formula or step.how
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
        if step.low is not None and step.high is not None:
            assert step.low <= step.value <= step.high


def test_every_line_of_working_works_out() -> None:
    check_steps(how_many_to_start(24, stages(0.98, 0.97, 0.96)))
    check_steps(how_many_to_start(3, (StageYield("all", 0.4, 0.01, 0.9, "default"),), 0.99, 0.3))


def test_the_sources_named_are_listed() -> None:
    found = how_many_to_start(24, one_stage(0.9))
    keys = {step.source for step in found.steps} - {"given"}
    assert all(reference.source_words(key) != key for key in keys), keys


def test_a_million_pieces_are_counted_and_meet_scipy() -> None:
    found = how_many_to_start(1_000_000, one_stage(0.9), 0.9, 0.05)
    assert stats.betabinom.sf(999_999, found.start, 17.1, 1.9) == pytest.approx(0.9, abs=1e-5)
    assert found.binomial_start == pytest.approx(1_000_000 / 0.9, rel=1e-3)


@pytest.mark.parametrize("wanted", [0, -3, 1_000_001, 2.5])
def test_counts_outside_are_refused(wanted: int) -> None:
    with pytest.raises(OutOfRange, match="pieces wanted"):
        how_many_to_start(wanted, one_stage(0.9))


@pytest.mark.parametrize("chance", [0.0, 1.0, -0.1, 1.5, math.nan])
def test_a_chance_outside_nought_to_one_is_refused(chance: float) -> None:
    with pytest.raises(OutOfRange, match="chance"):
        how_many_to_start(10, one_stage(0.9), chance)


@pytest.mark.parametrize("share", [0.0, -0.2, 1.01, math.nan, math.inf])
def test_a_yield_outside_is_refused_by_its_stage(share: float) -> None:
    with pytest.raises(OutOfRange, match="'dried'"):
        how_many_to_start(10, (StageYield("dried", share, 0.5, 1.0, "given"),))


@pytest.mark.parametrize("correlation", [-0.01, 1.0, math.nan])
def test_a_correlation_outside_is_refused(correlation: float) -> None:
    with pytest.raises(OutOfRange, match="correlation"):
        how_many_to_start(10, one_stage(0.9), 0.9, correlation)


def test_no_stages_and_a_range_that_misses_its_share_are_refused() -> None:
    with pytest.raises(OutOfRange, match="stages"):
        how_many_to_start(10, ())
    with pytest.raises(OutOfRange, match="range"):
        how_many_to_start(10, (StageYield("dried", 0.9, 0.95, 0.99, "given"),))


def test_a_yield_too_low_for_the_chance_says_so_instead_of_searching_for_ever() -> None:
    with pytest.raises(OutOfRange, match="out of reach"):
        how_many_to_start(100, one_stage(0.01), 0.99, 0.2)


def test_fewer_than_wanted_cannot_be_enough_and_none_wanted_always_is() -> None:
    assert chance_of_enough(10, 11, 0.99) == 0.0
    assert chance_of_enough(0, 0, 0.5) == 1.0
    assert chance_of_enough(5, 5, 1.0) == 1.0


def test_what_is_out_of_reach_is_said_in_words_and_per_cent() -> None:
    stages = [StageYield(stage, 0.05, 0.05, 0.05, "given") for stage in ("thrown", "dried", "bisque", "fired")]
    with pytest.raises(OutOfRange) as caught:
        how_many_to_start(24, stages, 0.9)
    assert "fewer than one in a thousand come good" in str(caught.value)
    assert "a chance of 90.0 %" in str(caught.value)
    assert "e-0" not in str(caught.value)
