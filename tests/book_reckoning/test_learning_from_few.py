"""Learned figures against the last value and the fixed default, on simulated workshops: a short form of the benchmark."""

from __future__ import annotations

import pytest

from benchmarks.learning_from_few import FIGURES, measure


@pytest.mark.parametrize("figure", FIGURES, ids=[figure[0] for figure in FIGURES])
@pytest.mark.parametrize("count", [2, 5, 10])
def test_a_learned_figure_errs_less_than_the_last_value_and_than_the_default(figure: tuple, count: int) -> None:
    got = measure(figure, count, 1.0, 120)
    assert got["last"] < 0.9
    assert got["fixed"] < 0.9
    assert 0.82 <= got["mean held"] <= 0.97
    assert 0.82 <= got["next held"] <= 1.0  # counts are whole: their ranges hold more than they say


def test_one_record_is_never_much_worse_than_itself() -> None:
    """With a wide default one record is nearly the answer: the learned figure ties with the last value and does not lose."""
    for figure in FIGURES:
        assert measure(figure, 1, 1.0, 150)["last"] < 1.02
