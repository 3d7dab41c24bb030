"""Numbers and workings as they are shown to people."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

import pytest

from tests.studio.conftest import DAY
from tests.written_by_people import as_arithmetic
from wareboard.plan import compile
from wareboard.plan.reading import read_brief
from wareboard.plan.workshop import Workshop
from wareboard.studio import words
from wareboard.working import worked_out


def test_days_money_and_numbers_read_as_people_write_them() -> None:
    assert words.day(date(2027, 2, 5)) == "5 Feb 2027"
    assert words.day(None) == "none"
    assert words.money(Decimal("1234.50"), "GBP") == "GBP\N{NO-BREAK SPACE}1,234"
    assert words.money(Decimal("31.905"), "EUR").endswith("31.90")
    assert [words.number(value) for value in (24.0, 0.1234, 83.305, 1234.5, -3.0)] == [
        "24",
        "0.123",
        "83.3",
        "1,234",
        "\N{MINUS SIGN}3",
    ]


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (107.95, "mm", "108 mm"),
        (5.7, "mm", "5.7 mm"),
        (537.0, "g", "535 g"),
        (4433.0, "ml", "4.4 l"),
        (1222.0, "°C", "1222 °C"),
        (1.0, "days", "1 day"),
        (12.0, "days", "12 days"),
        (28.1, "GBP/h", "GBP\N{NO-BREAK SPACE}28.10/h"),
    ],
)
def test_a_value_is_rounded_as_the_trade_would(value: float, unit: str, shown: str) -> None:
    assert words.with_unit(value, unit) == shown


def test_lengths_are_shown_in_inches_where_that_is_asked() -> None:
    assert words.with_unit(95.25, "mm", "in") == "3 3/4 in"


def test_a_source_key_becomes_words() -> None:
    assert words.source_in_words("from-memory").startswith("from memory")
    assert words.source_in_words("default: from-memory").startswith("usual figure: from memory")
    assert words.source_in_words("given in the brief") == "given in the brief"


def test_a_sentence_has_one_capital_and_one_full_stop() -> None:
    assert words.sentence("the ball is heavy.") == "The ball is heavy."
    assert words.sentence("weigh it") == "Weigh it."


def test_every_working_that_is_shown_works_out_to_the_number_that_is_shown(demo_text: str) -> None:
    """The line "With" of each figure, taken back to plain arithmetic and worked out, meets the figure's value.

    The numbers in it are shown to five figures, so the two agree to that, except where small differences of large numbers
    or rounding steps enlarge it.
    """
    plan = compile(read_brief(demo_text), Workshop(today=DAY), seconds=0.05)
    looked_at = off = 0
    for step in plan.all_steps():
        if not step.formula:
            continue
        shown = words.put_in(step)
        plain = as_arithmetic(shown)
        names = set(re.findall(r"[A-Za-z_]\w*", plain))
        assert names <= {
            "sqrt",
            "exp",
            "log",
            "sin",
            "cos",
            "ceil",
            "floor",
            "round",
            "abs",
            "min",
            "max",
            "pi",
            "e",
        }, shown
        looked_at += 1
        off += worked_out(plain, {}) != pytest.approx(step.value, rel=2e-3, abs=1e-3)
    assert looked_at > 200
    assert off <= looked_at * 0.02


def test_units_and_oxides_have_their_small_figures_and_nothing_is_minus_nought() -> None:
    from wareboard.quantities import show_share
    from wareboard.working import with_small_figures

    assert words.with_unit(0.05, "g/cm2") == "0.05 g/cm²"
    assert with_small_figures("Al2O3") == "Al₂O₃"
    assert show_share(-0.0001) == "0 %"
    assert words.money_between(108, 108, "GBP") == ""


def test_a_thin_size_in_inches_is_told_in_millimetres_besides() -> None:
    """A sixteenth of an inch is 1.5875 mm by definition (25.4 / 16): half as much again as a groove of 1.1 mm."""
    assert words.with_unit(1.09, "mm", "in") == "1/16 in (1.1 mm)"
    assert words.with_unit(139.7, "mm", "in") == "5 1/2 in"
    assert words.with_unit(1.09, "mm") == "1.1 mm"
