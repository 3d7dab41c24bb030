"""Two people who measure differently."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.book_reckoning.working import meets_its_working
from wareboard.book.reckoning.gauge_study import gauge_study, repeatability
from wareboard.errors import OutOfRange

# Ten parts, three people, three repeats: the worked example of the manual of measurement systems analysis, 4th ed.; data and
# results as reprinted in several places that were read.
TEN_PARTS = [
    [
        [0.29, -0.56, 1.34, 0.47, -0.80, 0.02, 0.59, -0.31, 2.26, -1.36],
        [0.41, -0.68, 1.17, 0.50, -0.92, -0.11, 0.75, -0.20, 1.99, -1.25],
        [0.64, -0.58, 1.27, 0.64, -0.84, -0.21, 0.66, -0.17, 2.01, -1.31],
    ],
    [
        [0.08, -0.47, 1.19, 0.01, -0.56, -0.20, 0.47, -0.63, 1.80, -1.68],
        [0.25, -1.22, 0.94, 1.03, -1.20, 0.22, 0.55, 0.08, 2.12, -1.62],
        [0.07, -0.68, 1.34, 0.20, -1.28, 0.06, 0.83, -0.34, 2.19, -1.50],
    ],
    [
        [0.04, -1.38, 0.88, 0.14, -1.46, -0.29, 0.02, -0.46, 1.77, -1.49],
        [-0.11, -1.13, 1.09, 0.20, -1.07, -0.67, 0.01, -0.56, 1.45, -1.77],
        [-0.15, -0.96, 0.67, 0.11, -1.45, -0.49, 0.21, -0.49, 1.87, -2.16],
    ],
]
READINGS = np.array(TEN_PARTS).transpose(0, 2, 1)
PEOPLE = ("A", "B", "C")


def test_the_analysis_of_variance_meets_the_manuals_example() -> None:
    """Printed: repeat 0.199933, people 0.226838, interaction 0, all measuring 0.302373, parts 1.042327, 4 classes.

    The printed sum of all measuring is put together from rounded squares: the sixth figure is off by one.
    """
    study = gauge_study(READINGS, PEOPLE)
    assert study.repeat == pytest.approx(0.199933, abs=5e-7)
    assert study.people == pytest.approx(0.226838, abs=5e-7)
    assert study.by_piece == 0.0
    assert study.gauge == pytest.approx(0.302373, abs=2e-6)
    assert study.pieces == pytest.approx(1.042327, abs=5e-7)
    assert study.classes == 4
    meets_its_working(study.steps)


def test_the_ranges_meet_the_manuals_example() -> None:
    """Printed, by factors of four figures: 0.2019, 0.2297, 0.3058, 1.1046 and 5 classes."""
    study = gauge_study(READINGS, PEOPLE, by_ranges=True)
    printed = (0.2019, 0.2297, 0.3058, 1.1046)
    assert (study.repeat, study.people, study.gauge, study.pieces) == pytest.approx(printed, abs=2.5e-4)
    assert study.classes == 5
    meets_its_working(study.steps)


def test_a_real_interaction_is_kept_apart() -> None:
    """Worked by hand: mean squares 600, 150, 48 and 2 give 2, 23, 17 and 92 as variances."""
    crossed = np.array([[4, -4, 0], [-4, 0, 4], [0, 4, -4]], float)
    cells = np.array([0.0, 5.0, -5.0])[:, None] + np.array([10.0, 20.0, 30.0])[None, :] + crossed
    study = gauge_study(cells[:, :, None] + np.array([-1.0, 1.0]), PEOPLE, agreed_span=60.0)
    squares = [study.repeat**2, study.by_piece**2, study.people**2, study.pieces**2]
    assert squares == pytest.approx([2.0, 23.0, 17.0, 92.0])
    assert study.tolerance_share == pytest.approx(6.0 * math.sqrt(42.0) / 60.0)


def test_repeatability_within_settings_meets_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 2.4.4.4 (read): five sums of squares, 60 degrees each, 0.10290; range by scipy."""
    from scipy import stats

    sums = [0.48115, 0.69209, 0.48483, 1.21752, 0.30076]
    found = repeatability(sums, [60.0] * 5)
    assert found.value == pytest.approx(0.10290, abs=5e-6)
    assert found.value == pytest.approx(0.1028972, abs=5e-8)
    ends = np.sqrt(sum(sums) / stats.chi2(300).ppf([0.95, 0.05]))
    assert (found.low, found.high) == pytest.approx(tuple(ends))


def test_a_person_who_reads_high_is_named_and_one_who_does_not_is_left_in_peace() -> None:
    chance = np.random.default_rng(9)
    true = chance.normal(90.0, 1.0, 8)
    offsets = np.array([0.0, 0.0, 1.0])
    readings = true[None, :, None] + offsets[:, None, None] + chance.normal(0.0, 0.1, (3, 8, 2))
    study = gauge_study(readings, ("Ada", "Ben", "Cleo"), agreed_span=6.0, unit="mm")
    real = {(each.first, each.second): each.real for each in study.between}
    assert real == {("Ada", "Ben"): False, ("Ada", "Cleo"): True, ("Ben", "Cleo"): True}
    assert "Cleo reads" in study.verdict
    assert "let one person measure" in study.verdict
    assert study.between[1].difference.value == pytest.approx(-1.0, abs=0.15)


def test_simulated_scatters_are_found_again() -> None:
    """Known deviations 0.2 (repeat) and 1.0 (pieces), twelve people so that 0.5 between them can be seen."""
    chance = np.random.default_rng(10)
    size = (12, 30, 3)
    readings = chance.normal(0, 0.5, 12)[:, None, None] + chance.normal(0, 1.0, 30)[None, :, None]
    study = gauge_study(readings + chance.normal(0, 0.2, size), [f"person {number}" for number in range(12)])
    assert study.repeat == pytest.approx(0.2, rel=0.06)
    assert study.people == pytest.approx(0.5, rel=0.5)
    assert study.pieces == pytest.approx(1.0, rel=0.3)


@pytest.mark.parametrize(("span", "words"), [(100.0, "good enough"), (10.0, "usable with care"), (3.0, "cannot judge")])
def test_the_usual_thresholds_decide_the_words(span: float, words: str) -> None:
    """10 % and 30 % of the tolerance, from memory of the manual: six times 0.302 over the span is 2, 18 and 60 %."""
    assert words in gauge_study(READINGS, PEOPLE, agreed_span=span).verdict


def test_readings_that_are_no_block_are_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="not a full block"):
        gauge_study([[[1.0, 2.0], [1.0]], [[1.0, 2.0], [1.0, 2.0]]], ("A", "B"))
    with pytest.raises(OutOfRange, match="names"):
        gauge_study(READINGS, ("A", "B"))
    with pytest.raises(OutOfRange, match="reading 2 of piece 1, person 1"):
        gauge_study([[[1.0, float("nan")], [1.0, 2.0]], [[1.0, 2.0], [1.0, 2.0]]], ("A", "B"))
    with pytest.raises(OutOfRange, match="per setting"):
        repeatability([1.0], [1.0, 2.0])


def test_readings_that_never_differ_do_not_break_it() -> None:
    still = np.array([10.0, 11.0, 12.0])[None, :, None] + np.zeros((2, 3, 2))
    study = gauge_study(still, ("A", "B"), agreed_span=2.0)
    assert study.gauge == 0.0
    assert study.tolerance_share == 0.0
    assert not study.between[0].real
