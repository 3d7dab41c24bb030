"""The shipped cone charts, and how a cone is named."""

from __future__ import annotations

import pytest

from wareboard.errors import NotInTable, OutOfRange
from wareboard.kiln.chart import FORMS, chart, chart_rows, cone_name, cone_order, cones, next_cone
from wareboard.reference import rows, sources


@pytest.mark.parametrize(
    ("edition", "count", "celsius", "fahrenheit", "rates"),
    [("2016", 281, 290970, 532745, 32010), ("older", 72, 72817, 71490, 7560)],
)
def test_each_chart_holds_its_rows_and_sums(
    edition: str, count: int, celsius: int, fahrenheit: int, rates: int
) -> None:
    """Counts and sums of the table as it was typed in, so that a slipped key shows."""
    table = rows(f"kiln/cones_{edition}")
    assert len(table) == count
    assert sum(int(row["temp_c"]) for row in table) == celsius
    assert sum(int(row["temp_f"] or 0) for row in table) == fahrenheit
    assert sum(int(row["heating_rate_c_per_h"]) for row in table) == rates


@pytest.mark.parametrize("edition", ["2016", "older"])
def test_celsius_and_fahrenheit_were_set_down_apart_and_agree(edition: str) -> None:
    """Two columns remembered or copied apart convert into one another, by F = 32 + 1.8 C, within a rounding and a half."""
    apart = [
        abs(32.0 + 1.8 * float(row["temp_c"]) - float(row["temp_f"]))
        for row in rows(f"kiln/cones_{edition}")
        if row["temp_f"]
    ]
    assert max(apart) <= 1.35


def test_every_source_of_the_charts_is_listed() -> None:
    named = {
        key
        for edition in ("2016", "older")
        for row in rows(f"kiln/cones_{edition}")
        for key in row["source"].split("+")
    }
    assert named - {"from-memory"} <= set(sources())


def test_rows_that_contradict_their_chart_are_kept_in_the_file_and_answered_by_nobody() -> None:
    """Large cone 14 is printed slow above fast, a relic of the older chart."""
    assert [row["status"] for row in rows("kiln/cones_2016") if (row["cone"], row["form"]) == ("14", "large")] == [
        "set aside",
        "set aside",
    ]
    assert ("14", "large") not in chart()
    with pytest.raises(NotInTable, match="019 to 13"):
        chart_rows("14", "large")


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("6", "6"),
        (6, "6"),
        (5.5, "5.5"),
        (" cone 6 ", "6"),
        ("Cone 04", "04"),
        ("Δ6", "6"),
        ("^06", "06"),
        ("O4", "04"),
        ("05,5", "05.5"),
    ],
)
def test_a_cone_may_be_spelled_in_several_ways(said: str | float, name: str) -> None:
    assert cone_name(said) == name


def test_the_number_four_is_cone_four_and_never_04() -> None:
    assert cone_name(4) == "4" != cone_name("04")


@pytest.mark.parametrize("said", ["99", "6a", "", "cone", 0, 4.5])
def test_an_unknown_cone_is_refused_with_the_cones_there_are(said: str | float) -> None:
    with pytest.raises(NotInTable, match="the cones there are: 022, 021"):
        cone_name(said)


def test_a_seger_cone_is_told_apart() -> None:
    """Seger 6a is 1200 to 1240 °C by table, where cone 6 is 1185 to 1243 °C by rate: two series, one number."""
    with pytest.raises(NotInTable, match="Seger series"):
        cone_name("6a")


def test_a_negative_number_is_told_to_be_written_as_text() -> None:
    with pytest.raises(NotInTable, match="Write cone 04 as text"):
        cone_name(-4)


def test_cones_are_counted_one_by_one_across_01_and_1() -> None:
    whole = [cone for cone in cones() if "." not in cone]
    assert [cone_order(cone) for cone in whole] == list(range(-21, 15))


def test_the_guide_is_one_softer_and_the_guard_one_harder() -> None:
    assert (next_cone("6", -1), next_cone("6", 1)) == ("5", "7")
    assert (next_cone("04", -1), next_cone("04", 1), next_cone("01", 1)) == ("05", "03", "1")
    assert (next_cone("5.5", -1), next_cone("5.5", 1), next_cone("6", 0)) == ("5", "6", "6")


def test_past_the_end_of_the_chart_there_is_no_guard() -> None:
    with pytest.raises(OutOfRange, match="ends at 14"):
        next_cone("14", 1)


@pytest.mark.parametrize("form", FORMS)
def test_within_one_form_and_rate_a_harder_cone_ends_higher(form: str) -> None:
    """Printed rows of the present chart."""
    for rate in (15.0, 60.0, 150.0, 300.0):
        temps = [row.temp_c for cone in cones(form) for row in chart_rows(cone, form) if row.rate_c_per_h == rate]
        assert temps == sorted(temps)


def test_an_unknown_form_or_edition_is_refused_by_name() -> None:
    with pytest.raises(NotInTable, match="self-supporting"):
        cones("bar")
    with pytest.raises(NotInTable, match="2016"):
        chart("1950")
