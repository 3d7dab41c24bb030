"""Quantities as people write them.

Factors against NIST SP 811 (2008), appendix B.8 (inch 25.4 mm, pound 453.59237 g, US fluid ounce 29.573 53 ml, imperial
fluid ounce 28.413 06 ml, as printed), and against the general library pint.
"""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from wareboard.errors import Unreadable
from wareboard.quantities import (
    cone_name,
    duration_s,
    in_inches,
    length_mm,
    mass_g,
    share,
    show_duration,
    show_length,
    show_mass,
    show_share,
    show_temperature,
    show_volume,
    temperature_c,
    volume_ml,
)

UNITS = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("110 mm", 110),
        ("110", 110),
        (110, 110),
        ("11 cm", 110),
        ("11,5 cm", 115),
        ("0.11 m", 110),
        ("5 1/2 in", 139.7),
        ("5-1/2 in", 139.7),
        ("5½ in", 139.7),
        ("5 ½″", 139.7),
        ('3.5"', 88.9),
        ("3.5”", 88.9),
        ("1/2 in", 12.7),
        ("1 ft 2 in", 355.6),
        ("1' 2\"", 355.6),
        ("about 110 mm", 110),
        ("~ 110 mm", 110),
        (" 110\N{NO-BREAK SPACE}mm ", 110),
    ],
)
def test_lengths_are_read_as_written(text: str | float, mm: float) -> None:
    assert length_mm(text) == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "g"),
    [
        ("345 g", 345),
        ("1.2 kg", 1200),
        ("1 lb 2 oz", 18 * 28.349523125),
        ("1lb 2oz", 510.29141625),
        ("25 lb", 11339.80925),
    ],
)
def test_weights_are_read_as_written(text: str, g: float) -> None:
    assert mass_g(text) == pytest.approx(g, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "ml"),
    [
        ("about 300 ml", 300),
        ("1.2 l", 1200),
        ("12 fl oz", 354.88236),
        ("12 fl. oz", 354.88236),
        ("10 uk fl oz", 284.1306),
        ("1 uk pint", 568.26125),
        ("30 cl", 300),
    ],
)
def test_volumes_are_read_as_written(text: str, ml: float) -> None:
    assert volume_ml(text) == pytest.approx(ml, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "c"),
    [
        ("1945 F", 1062.7778),
        ("1222 °C", 1222),
        ("1222", 1222),
        ("300 K", 26.85),
        ("-5 C", -5),
        ("about 2232 °F", 1222.2222),
    ],
)
def test_temperatures_are_read_as_written(text: str, c: float) -> None:
    assert temperature_c(text) == pytest.approx(c, abs=1e-3)


@pytest.mark.parametrize(("text", "s"), [("8 h", 28800), ("1 h 30 min", 5400), ("2 days", 172800), ("1.5 h", 5400)])
def test_times_are_read_as_written(text: str, s: float) -> None:
    assert duration_s(text) == s


@pytest.mark.parametrize(
    ("text", "name"), [("cone 6", "6"), ("Cone 04", "04"), ("6", "6"), (6, "6"), ("5½", "5.5"), ("cone 05 1/2", "05.5")]
)
def test_cones_keep_their_nought(text: str | float, name: str) -> None:
    assert cone_name(text) == name


def test_a_share_is_a_fraction_and_a_bare_twelve_is_asked_about() -> None:
    assert share("12 %") == share(0.12) == share("0.12") == pytest.approx(0.12)
    assert share("12", bare="%") == pytest.approx(0.12)
    with pytest.raises(Unreadable, match="12 %"):
        share(12)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "🏺",
        "ten mm",
        "110 mn",
        "-5 mm",
        "nan",
        "NaN mm",
        "inf mm",
        "5 1/0 in",
        "1 in 2 ft",
        "5 6 mm",
        "1..2 mm",
        "110 mm tall",
    ],
)
def test_what_is_no_length_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(Unreadable) as caught:
        length_mm(text)
    assert caught.value.mend


@pytest.mark.parametrize("value", [math.nan, math.inf, -1.0, True, None, [1]])
def test_what_is_no_number_is_refused(value: object) -> None:
    with pytest.raises(Unreadable):
        length_mm(value)  # type: ignore[arg-type]


def test_a_comma_that_could_mean_two_things_is_asked_about() -> None:
    with pytest.raises(Unreadable, match="1250"):
        mass_g("1,250 g")
    assert mass_g("1,25 kg") == 1250


def test_a_cone_is_not_a_temperature() -> None:
    with pytest.raises(Unreadable, match="heat work"):
        temperature_c("cone 6")


@pytest.mark.parametrize("text", ["-300 C", "-500 F", "hot", "12 m", "9e99 C"])
def test_what_is_no_temperature_is_refused(text: str) -> None:
    with pytest.raises(Unreadable):
        temperature_c(text)


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (length_mm("1 in"), UNITS("1 inch").to("mm").magnitude),
        (length_mm("1 ft"), UNITS("1 foot").to("mm").magnitude),
        (mass_g("1 lb"), UNITS("1 pound").to("g").magnitude),
        (mass_g("1 oz"), UNITS("1 ounce").to("g").magnitude),
        (volume_ml("1 fl oz"), UNITS("1 US_fluid_ounce").to("ml").magnitude),
        (volume_ml("1 uk fl oz"), UNITS("1 imperial_fluid_ounce").to("ml").magnitude),
        (volume_ml("1 us gallon"), UNITS("1 US_liquid_gallon").to("ml").magnitude),
        (volume_ml("1 uk gallon"), UNITS("1 imperial_gallon").to("ml").magnitude),
        (temperature_c("1945 F"), UNITS.Quantity(1945, "degF").to("degC").magnitude),
    ],
)
def test_factors_meet_a_general_unit_library(ours: float, theirs: float) -> None:
    assert ours == pytest.approx(theirs, rel=1e-9)


def test_showing_rounds_as_the_trade_does() -> None:
    assert show_length(107.95) == "108 mm"
    assert show_length(139.7, "in") == "5 1/2 in"
    assert show_length(12.7, "in") == "1/2 in"
    assert show_length(-1.6, "in") == "-1/16 in"
    assert show_length(-30.2, "in") == "-1 3/16 in"
    assert show_length(-0.1, "in") == "0 in"
    assert show_mass(537.2) == "535 g"
    assert show_mass(45.3) == "45 g"
    assert show_mass(510.29, "lb") == "1 lb 2 oz"
    assert show_mass(96_300) == "96.3 kg"
    assert show_volume(452.4) == "450 ml"
    assert show_temperature(1222) == "1220 °C"
    assert show_temperature(1062.8, "F") == "1945 °F"
    assert show_share(0.12) == "12 %"
    assert show_share(0.1192) == "11.9 %"
    assert show_duration(30_600) == "8 h 30 min"
    assert show_duration(7 * 86400) == "7 days"


@given(st.floats(min_value=1, max_value=2000))
def test_an_inch_shown_reads_back_within_a_thirty_second(mm: float) -> None:
    assert abs(length_mm(show_length(mm, "in")) - mm) <= 25.4 / 32 + 1e-9


@given(st.text(max_size=40))
def test_any_words_are_read_or_refused_never_worse(text: str) -> None:
    try:
        value = length_mm(text)
    except Unreadable as problem:
        assert problem.mend
    else:
        assert value >= 0
        assert math.isfinite(value)


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        (("3 1/4 in", '5 1/2"'), True),
        (("3,25in", ""), True),
        (("about 3½ inches", None), True),
        (("1 ft 2 in.",), True),
        (("3 1/4 in", "140 mm"), False),
        (("95", ""), False),
        (("", None), False),
        (("95 min",), False),
    ],
)
def test_lengths_typed_in_inches_are_known_as_such(texts: tuple[str | None, ...], said: bool) -> None:
    assert in_inches(*texts) is said
