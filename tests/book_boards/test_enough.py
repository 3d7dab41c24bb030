"""The chance of enough from pieces at several stages, against scipy's beta-binomial and a simulation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import betabinom

from wareboard.book.boards.enough import Group, chance_from, good_between, will_there_be
from wareboard.book.boards.stages import STAGES, is_behind, next_stage, share_ahead, stages_for
from wareboard.errors import OutOfRange
from wareboard.plan.overage import StageYield
from wareboard.working import worked_out

GROUPS = (Group("fired", 10, 1.0), Group("glazed", 9, 0.95), Group("drying", 12, 0.8))


def test_groups_add_up_as_independent_beta_binomial_counts() -> None:
    """Against scipy.stats.betabinom (a + b = 1/correlation - 1), the two distributions convolved."""
    rest = 1 / 0.05 - 1
    one = betabinom(9, 0.95 * rest, 0.05 * rest).pmf(np.arange(10))
    two = betabinom(12, 0.8 * rest, 0.2 * rest).pmf(np.arange(13))
    wanted = 26
    assert chance_from(GROUPS, wanted, 0.05) == pytest.approx(np.convolve(one, two)[wanted - 10 :].sum(), abs=1e-9)


def test_groups_add_up_as_they_do_when_simulated() -> None:
    """Against 200 000 draws with a fixed seed; the tolerance is four standard errors."""
    draw, rest = np.random.default_rng(7), 1 / 0.05 - 1
    good = 10 + sum(
        draw.binomial(group.pieces, draw.beta(group.share * rest, (1 - group.share) * rest, 200_000))
        for group in GROUPS[1:]
    )
    seen = float(np.mean(good >= 27))
    assert chance_from(GROUPS, 27, 0.05) == pytest.approx(seen, abs=4 * np.sqrt(seen * (1 - seen) / 200_000))


@given(st.integers(0, 12), st.integers(0, 12), st.integers(0, 26))
def test_one_more_piece_never_makes_it_less_likely(one: int, two: int, wanted: int) -> None:
    fewer = chance_from([Group("a", one, 0.9), Group("b", two, 0.7)], wanted, 0.0)
    assert chance_from([Group("a", one + 1, 0.9), Group("b", two, 0.7)], wanted, 0.0) >= fewer - 1e-12


def test_the_range_of_good_pieces_holds_nine_in_ten_when_simulated() -> None:
    """Against 200 000 draws with a fixed seed: the same quantiles of the simulated counts."""
    draw, rest = np.random.default_rng(11), 1 / 0.05 - 1
    good = 10 + sum(
        draw.binomial(group.pieces, draw.beta(group.share * rest, (1 - group.share) * rest, 200_000))
        for group in GROUPS[1:]
    )
    low, high = good_between(GROUPS, 0.05)
    assert (low, high) == tuple(np.quantile(good, [0.05, 0.95], method="inverted_cdf"))
    assert np.mean((good >= low) & (good <= high)) >= 0.9
    assert good_between([Group("fired", 10, 1.0)], 0.05) == (10, 10)


def test_how_many_more_is_the_fewest_that_will_do() -> None:
    found = will_there_be(GROUPS, 30, 0.75, 0.05, 0.9)
    assert found.chance < 0.9
    more = [*GROUPS, Group("begun now", found.more, 0.75)]
    assert chance_from(more, 30, 0.05) >= 0.9
    fewer = [*GROUPS, Group("begun now", found.more - 1, 0.75)]
    assert chance_from(fewer, 30, 0.05) < 0.9
    assert found.done == 10


def test_the_working_can_be_worked_out() -> None:
    step = will_there_be(GROUPS, 30, 0.75, 0.05, 0.9).steps[0]
    assert worked_out(step.formula, step.inputs) == pytest.approx(step.value)
    assert will_there_be((), 3, 0.75, 0.0, 0.9).chance == 0.0


def test_an_odd_chance_is_refused() -> None:
    with pytest.raises(OutOfRange, match="chance is 90"):
        will_there_be(GROUPS, 30, 0.75, 0.05, 90)


def test_a_form_goes_through_the_stages_that_its_work_needs() -> None:
    plain = stages_for({"weigh", "throw", "trim", "dip"})
    assert plain == ("ball", "thrown", "trimmed", "drying", "bone dry", "bisque", "glazed", "fired", "packed")
    assert stages_for({"trim", "handle", "mark", "sand", "liner", "paint", "dip", "grind"}) == STAGES
    assert next_stage("handled", plain) == "drying"  # a stage that the form does not have
    assert next_stage("packed", plain) is None


def test_only_the_losses_that_are_ahead_count() -> None:
    yields = [
        StageYield(stage, 0.5, 0.4, 0.6, "") for stage in ("thrown", "handled", "dried", "bisque", "glazed", "fired")
    ]
    cup = stages_for({"trim", "handle", "liner", "paint"})
    told = ("ball", "thrown", "trimmed", "handled", "bone dry", "bisque")
    assert [share_ahead(stage, cup, yields) for stage in told] == [
        0.5**6,
        0.5**6,  # the yield of throwing is that of throwing and trimming
        0.5**5,
        0.5**4,
        0.5**3,
        0.5**2,
    ]
    assert share_ahead("lined", cup, yields) == 0.25
    assert share_ahead("painted", cup, yields) == 0.5  # painting is the last of this form's glaze work
    assert share_ahead("fired", cup, yields) == share_ahead("packed", cup, yields) == 1.0
    assert is_behind("glazed", "washed", stages_for({"sand"}))  # nothing of it is glazed
    assert is_behind("thrown", "thrown", stages_for({"throw"}))  # nothing of it is trimmed
    assert not is_behind("thrown", "thrown", stages_for({"throw", "trim"}))
