"""Colour against the published pairs, the standard's own matrix, and scikit-image as a second opinion."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from skimage import color

from wareboard.errors import OutOfRange
from wareboard.paint.colour import (
    RGB_TO_XYZ,
    adapted,
    ciede2000,
    hex_of,
    lab_from_linear,
    lab_from_srgb,
    lab_from_xyz,
    linear_from_lab,
    linear_from_srgb,
    shown_by_srgb,
    srgb_from_lab,
    srgb_from_linear,
    xyz_from_lab,
    xyz_from_linear,
)
from wareboard.reference import rows

DATA = Path(__file__).parent / "data"
# One lightness and chroma after another, spread over the solid of colours.
SPREAD = np.random.default_rng(4).uniform([0, -110, -110], [100, 110, 110], size=(4000, 3))
PARTS = st.tuples(*[st.floats(0.0, 1.0)] * 3)


def table(name: str) -> np.ndarray:
    return np.genfromtxt(DATA / name, delimiter=",", skip_header=2 if "card" in name else 1)


def test_all_34_published_pairs_are_met() -> None:
    """Sharma, Wu and Dalal 2005, table 1, four decimals printed."""
    pairs = table("ciede2000_pairs.csv")
    assert len(pairs) == 34
    found = ciede2000(pairs[:, 1:4], pairs[:, 4:7])
    assert np.abs(found - pairs[:, 7]).max() < 1e-4
    assert np.abs(ciede2000(pairs[:, 4:7], pairs[:, 1:4]) - pairs[:, 7]).max() < 1e-4


def test_a_second_opinion_agrees_over_the_whole_solid() -> None:
    """scikit-image's deltaE_ciede2000, written by others."""
    other = np.roll(SPREAD, 7, axis=0)
    assert ciede2000(SPREAD, other) == pytest.approx(color.deltaE_ciede2000(SPREAD, other), abs=1e-9)


def test_the_matrix_is_the_one_that_the_standard_prints() -> None:
    """IEC 61966-2-1:1999, equation for XYZ, four decimals."""
    printed = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    assert pytest.approx(np.array(printed), abs=6e-5) == RGB_TO_XYZ


def test_lab_agrees_with_scikit_image_under_either_light() -> None:
    """skimage.color, whose D65 and D50 differ from the standards' in the fourth decimal of Z."""
    srgb = np.random.default_rng(5).uniform(size=(500, 3))
    xyz = xyz_from_linear(linear_from_srgb(srgb))
    assert xyz == pytest.approx(color.rgb2xyz(srgb), abs=4e-4)
    assert lab_from_xyz(xyz, "D65") == pytest.approx(color.xyz2lab(xyz, illuminant="D65"), abs=0.04)
    assert lab_from_xyz(xyz, "D50") == pytest.approx(color.xyz2lab(xyz, illuminant="D50"), abs=0.04)


def test_bradford_is_the_matrix_that_profiles_carry() -> None:
    """D65 to D50: the matrix that the sRGB profile of the ICC carries in its chad tag, five decimals."""
    printed = np.array([[1.04788, 0.02292, -0.05020], [0.02959, 0.99048, -0.01704], [-0.00923, 0.01508, 0.75168]])
    change = adapted(np.eye(3), "D65", "D50").T
    assert change == pytest.approx(printed, abs=5e-5)


def test_the_newer_cards_colours_come_out_as_another_program_shows_them() -> None:
    """8-bit sRGB of the 24 patches worked out elsewhere; either route's rounding can move a value by 1."""
    lab = np.array([[float(row[key]) for key in ("lightness", "a", "b")] for row in rows("paint/card_after_2014")])
    shown = np.round(srgb_from_lab(lab) * 255)
    assert np.abs(shown - table("card_after_2014_srgb.csv")[:, 1:]).max() <= 1
    assert list(np.flatnonzero(~shown_by_srgb(lab, slack=2e-3))) == [17], "only cyan lies outside sRGB"


def test_the_older_cards_lab_meets_its_published_chromaticities() -> None:
    """GretagMacbeth 2005, x y Y to four decimals: two publications of one card."""
    lab = np.array([[float(row[key]) for key in ("lightness", "a", "b")] for row in rows("paint/card_before_2014")])
    xyz = xyz_from_lab(lab)
    printed = table("card_before_2014_xyy.csv")
    assert xyz[:, :2] / xyz.sum(axis=1, keepdims=True) == pytest.approx(printed[:, 1:3], abs=3e-4)
    assert xyz[:, 1] == pytest.approx(printed[:, 3], abs=1.5e-4)


@given(PARTS)
def test_there_and_back_is_where_it_began(srgb: tuple[float, float, float]) -> None:
    linear = linear_from_srgb(srgb)
    assert srgb_from_linear(linear) == pytest.approx(np.array(srgb), abs=1e-6)
    assert linear_from_lab(lab_from_linear(linear)) == pytest.approx(linear, abs=1e-9)


@given(PARTS, PARTS)
def test_a_difference_is_the_same_both_ways_and_nought_from_itself(
    one: tuple[float, float, float], two: tuple[float, float, float]
) -> None:
    first, second = lab_from_srgb(one), lab_from_srgb(two)
    assert ciede2000(first, second) == pytest.approx(ciede2000(second, first), abs=1e-9)
    assert ciede2000(first, first) == 0.0


def test_white_and_black_are_what_they_are() -> None:
    assert lab_from_srgb([1, 1, 1]) == pytest.approx(np.array([100, 0, 0]), abs=0.01)
    assert lab_from_srgb([0, 0, 0]) == pytest.approx(np.zeros(3), abs=1e-9)
    assert hex_of([100, 0, 0]) == "#ffffff"


@pytest.mark.parametrize("wrong", [[1.0, 2.0], 0.5, [float("nan"), 0, 0], [[1, 2, 3, 4]]])
def test_what_is_no_colour_is_refused(wrong: object) -> None:
    with pytest.raises(OutOfRange):
        ciede2000(wrong, [0, 0, 0])  # type: ignore[arg-type]


def test_a_light_that_is_not_known_is_refused() -> None:
    with pytest.raises(OutOfRange, match="candle"):
        adapted([1, 1, 1], "candle", "D50")
