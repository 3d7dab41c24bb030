"""Working and errors: what is shown is what was run, and what went wrong says how to mend it."""

import math
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import OutOfRange, Problems, Unreadable
from wareboard.working import Step, as_people_write, per_cent, worked_out


def test_a_formula_is_worked_out_as_arithmetic() -> None:
    assert worked_out("fired_mm / (1 - shrinkage)", {"fired_mm": 95, "shrinkage": 0.12}) == pytest.approx(
        107.9545, abs=1e-4
    )
    assert worked_out("pi * (r ** 2)", {"r": 2}) == pytest.approx(4 * math.pi)
    assert worked_out("ceil(log(8) / log(2) - 1e-9) + min(a, b)", {"a": 1, "b": 2}) == 4


@pytest.mark.parametrize(
    "formula",
    [
        "__import__('os')",
        "a.b",
        "a if a else a",
        "[a]",
        "lambda: a",
        "a and a",
        "'a'",
        "missing + 1",
        "a @ a",
        "max(a, key=a)",
    ],
)
def test_nothing_but_arithmetic_is_worked_out(formula: str) -> None:
    with pytest.raises(ValueError, match="not plain arithmetic"):
        worked_out(formula, {"a": 1.0})


@given(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6), st.floats(0.1, 1e3))
def test_it_agrees_with_python_itself(a: float, b: float, c: float) -> None:
    formula = "(a + b) * c - a / c + -b"
    assert worked_out(formula, {"a": a, "b": b, "c": c}) == eval(formula, {}, {"a": a, "b": b, "c": c})


def test_a_line_of_working_reads_as_a_sentence() -> None:
    step = Step(
        "height, wet", "fired_mm / (1 - s)", {"fired_mm": 95, "s": 0.12}, 107.95, "definition", "mm", 105.6, 110.5
    )
    assert (
        str(step)
        == "height, wet = fired_mm / (1 - s) = 107.95 mm (105.6 to 110.5)  [fired_mm = 95, s = 0.12; definition]"
    )


def test_errors_keep_all_they_say_between_processes() -> None:
    problem = Problems(
        [OutOfRange("shrinkage is 3", "it must be below 1", "Write 0.12", where="line 4"), Unreadable("a", "b", "C")]
    )
    again = pickle.loads(pickle.dumps(problem))
    assert str(again) == str(problem)
    assert "shrinkage is 3 (line 4): it must be below 1. Write 0.12." in str(problem)


@pytest.mark.parametrize(
    ("formula", "written"),
    [
        ("ceil(clay_g / bag_g - 1e-9)", "rounded up (clay_g / bag_g)"),
        ("floor(peak_c + faster_c + 0.5)", "rounded (peak_c + faster_c)"),
        ("floor(min(a, b) + 0.5) * c", "rounded (smaller of (a, b)) × c"),
        ("floor((h - t) / (t + p) + 0.000000001) * n", "rounded down ((h − t) / (t + p)) × n"),
        ("pi * r ** 2 * sqrt(x) - log(y)", "π × r^2 × √(x) − ln(y)"),
        ("fired_mm3 / 1000 * glazed_cm2", "fired_mm³ / 1000 × glazed_cm²"),
        ("1e-9 * x1 * warm_up", "1e-9 × x1 × warm_up"),
    ],
)
def test_a_formula_is_shown_as_people_write_it(formula: str, written: str) -> None:
    assert as_people_write(formula) == written


def test_a_share_is_printed_with_a_space_before_its_sign() -> None:
    """SI brochure, 9th ed., 2019, 5.4.7: a space separates the number and the symbol %."""
    assert (per_cent(0.12), per_cent(0.0556, 1), per_cent(1.0)) == ("12 %", "5.6 %", "100 %")
