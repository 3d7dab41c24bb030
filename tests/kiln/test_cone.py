"""Cone end points: the printed figure at a printed rate, the heat-work model elsewhere."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import NotInTable, OutOfRange
from wareboard.kiln.chart import chart
from wareboard.kiln.cone import FORMS, cones, end_point_c, reading
from wareboard.working import worked_out


@pytest.mark.parametrize(
    ("cone", "form", "rate", "temp"),
    [
        ("6", "self-supporting", 15, 1185),
        ("6", "self-supporting", 60, 1222),
        ("6", "self-supporting", 150, 1243),
        ("08", "self-supporting", 15, 922),
        ("08", "self-supporting", 150, 956),
        ("018", "self-supporting", 60, 715),
        ("10", "self-supporting", 60, 1285),
        ("04", "self-supporting", 60, 1063),
        ("7", "large", 60, 1237),
        ("7", "large", 150, 1255),
        ("5", "large", 60, 1184),
    ],
)
def test_a_printed_rate_gives_the_printed_figure(cone: str, form: str, rate: float, temp: float) -> None:
    """The cone maker's chart in °C, as seen in two or more copies (kiln-s1 to kiln-s5, kiln-s17)."""
    assert end_point_c(cone, rate, form) == temp


def test_every_row_of_both_charts_comes_back_exactly() -> None:
    for edition in ("2016", "older"):
        for (cone, form), rows in chart(edition).items():
            for row in rows:
                assert end_point_c(cone, row.rate_c_per_h, form, edition) == row.temp_c


def test_the_model_meets_the_printed_rows_from_either_side_without_a_step() -> None:
    """Just beside a printed rate the model gives what is printed there."""
    for (cone, form), rows in chart().items():
        for row in rows:
            for beside in (0.9999, 1.0001):
                assert end_point_c(cone, row.rate_c_per_h * beside, form) == pytest.approx(row.temp_c, abs=0.02)


def test_1222_is_two_cones_of_two_charts() -> None:
    """Older large cone 6 at 150 °C/h and present self-supporting cone 6 at 60 °C/h are both printed as 1222 °C."""
    old, new = reading("6", 150, "large", "older"), reading("6", 60)
    assert old.temp_c == new.temp_c == 1222.0
    assert (old.form, old.rate_c_per_h, old.edition) != (new.form, new.rate_c_per_h, new.edition)
    assert end_point_c("6", 150, "large") == 1241.0


def test_two_roads_to_the_same_kiln_temperature() -> None:
    """Cone 5 at 60 °C/h and cone 6 at 15 °C/h end within a degree of one another, as potters note (chart rows)."""
    assert end_point_c("5", 60) == pytest.approx(end_point_c("6", 15), abs=1.0)


@given(
    st.sampled_from(FORMS).flatmap(lambda form: st.tuples(st.just(form), st.sampled_from(cones(form)))),
    st.floats(5.0, 600.0),
    st.floats(1.001, 3.0),
)
def test_faster_heating_ends_higher(which: tuple[str, str], rate: float, faster: float) -> None:
    form, cone = which
    if rate * faster <= 600.0:
        assert end_point_c(cone, rate * faster, form) > end_point_c(cone, rate, form)


@pytest.mark.parametrize("rate", [5.0, 10.0, 30.0, 100.0, 300.0, 600.0])
def test_a_harder_self_supporting_cone_ends_higher_at_any_rate(rate: float) -> None:
    assert np.all(np.diff([end_point_c(cone, rate) for cone in cones()]) > 0.0)


@pytest.mark.parametrize("rate", [4.9, 601.0, 0.0, -60.0, float("nan"), float("inf")])
def test_rates_that_no_chart_covers_are_refused(rate: float) -> None:
    with pytest.raises(OutOfRange, match="rate is"):
        end_point_c("6", rate)


def test_the_older_chart_is_never_fitted() -> None:
    with pytest.raises(OutOfRange, match="to recognise old figures"):
        end_point_c("6", 100, "large", "older")


def test_cones_that_are_not_made_are_refused_by_name() -> None:
    with pytest.raises(NotInTable, match="99"):
        end_point_c("99", 60)
    with pytest.raises(NotInTable, match="small cones 022 to 12"):
        end_point_c("14", 60, "small")


def test_a_reading_says_how_firmly_it_is_known() -> None:
    firm, remembered, modelled = reading("6", 60), reading("04", 15), reading("6", 100)
    assert (firm.status, firm.published, firm.from_memory) == ("confirmed", True, False)
    assert (remembered.status, remembered.published, remembered.from_memory) == ("from memory", True, True)
    assert not modelled.published
    assert firm.high_c - firm.low_c < modelled.high_c - modelled.low_c
    assert firm.high_c - firm.low_c < remembered.high_c - remembered.low_c
    assert remembered.steps[0].source == "from-memory"
    assert "self-supporting" in str(firm)
    assert "60 °C/h" in str(firm)


def test_beyond_the_printed_rates_the_range_is_wider_than_between_them() -> None:
    between, beyond = reading("6", 100), reading("6", 300)
    assert beyond.high_c - beyond.low_c > between.high_c - between.low_c


def test_the_range_holds_the_printed_row_nine_times_in_ten_when_it_is_left_out() -> None:
    """Range widths against the chart: misses at a middle rate left out, 90th percentile, over self-supporting cones."""
    from tests.kiln.test_arrhenius import _grid
    from wareboard.kiln.arrhenius import fit, ramp_end_k

    rates, ends = _grid()
    energy, ln_a = fit(rates[:, [0, 2]], ends[:, [0, 2]])
    miss = np.abs(ramp_end_k(60.0, energy, ln_a) - ends[:, 1])
    half = reading("6", 100).temp_c - reading("6", 100).low_c
    assert float(np.mean(miss <= half)) >= 0.9


@pytest.mark.parametrize("rate", [15, 47, 60, 100, 300])
def test_the_working_works_out(rate: float) -> None:
    for step in reading("6", rate).steps:
        if step.formula:
            assert worked_out(step.formula, step.inputs) == pytest.approx(step.value, abs=1e-9)
