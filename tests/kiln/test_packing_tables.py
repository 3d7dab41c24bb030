"""Counts on round and square shelves against the published best-known tables, and the kept places against geometry.

Source: E. Specht's tables of best-known packings (equal circles in a circle N <= 100, in a square N <= 50) as compared
with Birgin and Gentil 2009 and Grosso et al. 2010; closed forms for small N: see each test.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.kiln.layout_check import faults_of_equal_discs
from wareboard.kiln.circles import KeepOut, kept_spacing, proved_most, table_of
from wareboard.kiln.load import RectangularShelf, RoundShelf, most_that_fit
from wareboard.reference import rows, sources

CLOSED_IN_A_CIRCLE = {
    1: 1.0,
    2: 2.0,
    3: 1 + 2 / math.sqrt(3),
    4: 1 + math.sqrt(2),
    5: 1 + math.sqrt(2 * (1 + 1 / math.sqrt(5))),
    6: 3.0,
    7: 3.0,
    8: 1 + 1 / math.sin(math.pi / 7),
    9: 1 + 1 / math.sin(math.pi / 8),
    11: 1 + 1 / math.sin(math.pi / 9),
    13: 2 + math.sqrt(5),
    18: 1 + math.sqrt(2) + math.sqrt(6),
    19: 1 + math.sqrt(2) + math.sqrt(6),
}
CLOSED_IN_A_SQUARE = {
    1: 1 / 2,
    2: (2 - math.sqrt(2)) / 2,
    3: 1 / (2 + 2 * math.cos(math.radians(15))),
    4: 1 / 4,
    5: (math.sqrt(2) - 1) / 2,
    6: (6 * math.sqrt(13) - 13) / 46,
    7: (4 - math.sqrt(3)) / 13,
    8: 1 / (2 + math.sqrt(2) + math.sqrt(6)),
    9: 1 / 6,
    14: (6 - math.sqrt(3)) / 33,
    16: 1 / 8,
    25: 1 / 10,
    36: 1 / 12,
}


def test_the_circle_table_meets_the_closed_forms() -> None:
    """Closed forms: R. L. Graham, B. D. Lubachevsky, K. J. Nurmela, P. R. J. Ostergard, Discrete Math. 181 (1998)."""
    table = table_of("circles_in_a_circle")
    assert {n: table[n] for n in CLOSED_IN_A_CIRCLE} == pytest.approx(CLOSED_IN_A_CIRCLE, rel=1e-14)


def test_the_square_table_meets_the_closed_forms() -> None:
    """Closed forms as printed in the literature on circles in a square (Nurmela and Ostergard 1997, from memory)."""
    table = table_of("circles_in_a_square")
    assert {n: 1 / table[n] for n in CLOSED_IN_A_SQUARE} == pytest.approx(CLOSED_IN_A_SQUARE, rel=1e-14)


@pytest.mark.parametrize(
    ("name", "count", "total"),
    [("circles_in_a_circle", 100, 755.1641095629923), ("circles_in_a_square", 50, 482.9684683206882)],
)
def test_no_row_has_slipped(name: str, count: int, total: float) -> None:
    """Row count and that a table never falls; the sum is our own adding-up of the printed column (# ours)."""
    table = table_of(name)
    assert sorted(table) == list(range(1, count + 1))
    ratios = [table[n] for n in sorted(table)]
    assert ratios == sorted(ratios)
    assert sum(ratios) == pytest.approx(total, rel=1e-14)


def test_every_source_of_the_tables_is_named() -> None:
    for table in ("circles_in_a_circle", "circles_in_a_square", "places_in_a_circle", "places_in_a_square"):
        assert {row["source"] for row in rows(f"packing/{table}")} <= set(sources())


@pytest.mark.parametrize("n", range(1, 101))
def test_the_kept_places_fill_a_round_shelf_at_the_published_ratio(n: int) -> None:
    """At the table's ratio all n stand, pieces of 100 mm.

    The ratio is widened by a hundred-thousandth (0.01 mm on a metre): up to 77 the kept places meet the table to 1e-9,
    beyond that six rows are poorer, 97 worst at 6e-6.
    """
    shelf = RoundShelf(100.0 * table_of("circles_in_a_circle")[n] * (1 + 1e-5), 19.0)
    standing = most_that_fit(100.0, shelf, seconds=0.0)
    assert standing.count >= n
    assert not faults_of_equal_discs(standing.centres_mm, 100.0, shelf)


@pytest.mark.parametrize("n", range(1, 51))
def test_the_kept_places_fill_a_square_shelf_at_the_published_ratio(n: int) -> None:
    side = 50.0 * table_of("circles_in_a_square")[n] * (1 + 1e-6)
    shelf = RectangularShelf(side, side, 19.0)
    standing = most_that_fit(100.0, shelf, seconds=0.0)
    assert standing.count >= n
    assert not faults_of_equal_discs(standing.centres_mm, 100.0, shelf)


@pytest.mark.parametrize("n", [2, 5, 12, 20, 37, 61, 85, 99])
def test_just_below_the_published_ratio_one_fewer_is_claimed(n: int) -> None:
    """The count never goes past the best-known table."""
    shelf = RoundShelf(100.0 * table_of("circles_in_a_circle")[n] * (1 - 1e-6), 19.0)
    standing = most_that_fit(100.0, shelf, seconds=0.0)
    assert standing.count == standing.bound < n


@pytest.mark.parametrize("name", ["circles_in_a_circle", "circles_in_a_square"])
def test_no_row_of_the_tables_goes_past_the_proved_bound(name: str) -> None:
    """Groemer's inequality must hold for every packing that exists, so for every row."""
    for n, ratio in table_of(name).items():
        size = 50.0 * ratio * (1 + 1e-9)
        shelf = RoundShelf(2 * size, 19.0) if name.endswith("circle") else RectangularShelf(size, size, 19.0)
        assert proved_most(shelf.floor().inset(50.0), 100.0) >= n


def test_a_shelf_three_pieces_wide_holds_seven_and_no_more() -> None:
    """Seven circles in one of three times their size: the closed form R/r = 3, and Groemer's bound is 7 there too."""
    standing = most_that_fit(100.0, RoundShelf(300.0, 19.0), seconds=0.0)
    assert (standing.count, standing.bound, standing.proved_bound) == (7, 7, 7)


def test_the_gap_between_pieces_is_not_asked_of_the_edge() -> None:
    """With a gap of 6 the spacing is 106; pieces of 100 may still stand at the very edge."""
    standing = most_that_fit(100.0, RoundShelf(312.0, 19.0), clearance_mm=6.0, seconds=0.0)
    assert standing.count == 7
    assert not faults_of_equal_discs(standing.centres_mm, 100.0, RoundShelf(312.0, 19.0), 6.0)
    asked_of_the_edge = most_that_fit(100.0, RoundShelf(312.0, 19.0), 6.0, 0.0, edge_mm=1.0)
    assert asked_of_the_edge.count == 5
    assert not faults_of_equal_discs(asked_of_the_edge.centres_mm, 100.0, RoundShelf(312.0, 19.0), 6.0, 1.0)


def test_a_piece_larger_than_the_shelf_has_no_place() -> None:
    standing = most_that_fit(301.0, RoundShelf(300.0, 19.0), seconds=0.0)
    assert (standing.count, standing.bound) == (0, 0)


def test_nothing_stands_within_a_post_and_its_gap() -> None:
    post = KeepOut(0.0, 0.0, 16.0, 15.0)
    standing = most_that_fit(100.0, RoundShelf(400.0, 19.0), seconds=0.0, keep_outs=[post])
    assert np.hypot(*standing.centres_mm.T).min() >= 16.0 + 15.0 + 50.0 - 1e-6
    assert standing.count == 9  # by hand: nine in a ring at the edge, 2 * 150 * sin(20 deg) = 102.6 mm apart


@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_a_piece_without_a_true_width_is_refused_by_name(value: float) -> None:
    with pytest.raises(ValueError, match="the piece's diameter"):
        most_that_fit(value, RoundShelf(300.0, 19.0))


@pytest.mark.parametrize("n", range(1, 78))
def test_up_to_seventy_seven_the_kept_places_meet_the_table_to_nine_digits(n: int) -> None:
    """Their spacing, with room of radius 1 for the centres, is 2 / (ratio - 1) of the table."""
    spacing = kept_spacing("places_in_a_circle", n)
    expected = 2.0 / (table_of("circles_in_a_circle")[n] - 1.0) if n > 1 else math.inf
    assert spacing == pytest.approx(expected, rel=2e-9)


def test_a_diameter_in_the_wrong_unit_is_asked_about() -> None:
    with pytest.raises(ValueError, match="is it in mm"):
        most_that_fit(0.9, RoundShelf(530.0, 19.0))
