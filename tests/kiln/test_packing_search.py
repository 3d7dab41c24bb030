"""The search for places: against the best-known tables, an independent reading of each layout, and laws.

Source of the counts: E. Specht's best-known tables (see test_packing_tables). Containers here are a thousandth larger
than the best known, as a shelf is never so tight that the last hair counts.
"""

from __future__ import annotations

import threading
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from tests.kiln.layout_check import SLACK_MM, faults_of_equal_discs, room_to_edge_mm
from wareboard.kiln.circles import KeepOut, table_of
from wareboard.kiln.load import HalfRoundShelf, OctagonalShelf, RectangularShelf, RoundShelf, most_that_fit
from wareboard.kiln.packing import search_for_more
from wareboard.kiln.staggered_rows import best_lattice

NOTHING_BLOCKED = np.empty((0, 3))


@pytest.mark.parametrize("n", [8, 14, 22, 27, 33, 40, 50])
def test_the_search_alone_finds_the_best_known_count_on_a_round_shelf(n: int) -> None:
    """From staggered rows, without the kept places."""
    shelf = RoundShelf(100.0 * table_of("circles_in_a_circle")[n] * 1.001, 19.0)
    room = shelf.floor().inset(50.0)
    rows = best_lattice(room, 100.0, NOTHING_BLOCKED)
    found = search_for_more(room, 100.0, NOTHING_BLOCKED, rows, n, seconds=5.0)
    assert len(found.centres_mm) == n > len(rows)
    assert not faults_of_equal_discs(found.centres_mm, 100.0, shelf)


@pytest.mark.parametrize("n", [7, 10, 13, 19, 29, 37])
def test_the_search_alone_finds_the_best_known_count_on_a_square_shelf(n: int) -> None:
    side = 50.0 * table_of("circles_in_a_square")[n] * 1.001
    shelf = RectangularShelf(side, side, 19.0)
    room = shelf.floor().inset(50.0)
    rows = best_lattice(room, 100.0, NOTHING_BLOCKED)
    found = search_for_more(room, 100.0, NOTHING_BLOCKED, rows, n, seconds=5.0)
    assert len(found.centres_mm) == n > len(rows)
    assert not faults_of_equal_discs(found.centres_mm, 100.0, shelf)


@pytest.mark.parametrize(
    ("n", "wide", "deep"),
    [
        (10, 10.0, 4.0),
        (11, 8.0, 5.4641016151377553),
        (14, 5.4641016151377553, 10.0),
        (15, 3.7320508075688776, 16.0),
        (17, 5.4641016151377553, 12.0),
        (20, 14.0, 5.4641016151377553),
        (28, 12.0, 8.9282032302755123),
        (39, 27.0, 5.4641016151377553),
    ],
)
def test_rectangles_hold_what_is_published_for_them(n: int, wide: float, deep: float) -> None:
    """Rectangles of least area for n unit circles: E. G. Birgin and J. M. Gentil, 2009, tables 3 and 4."""
    shelf = RectangularShelf(50.0 * wide * (1 + 1e-9), 50.0 * deep * (1 + 1e-9), 19.0)
    standing = most_that_fit(100.0, shelf, seconds=0.0)
    assert standing.count >= n
    assert not faults_of_equal_discs(standing.centres_mm, 100.0, shelf)
    assert standing.count <= standing.proved_bound


@pytest.mark.parametrize("shelf", [HalfRoundShelf(530.0, 19.0), OctagonalShelf(400.0, 19.0), RoundShelf(420.0, 19.0)])
def test_round_posts_and_edges_are_kept_clear_of_while_searching(shelf: HalfRoundShelf | RoundShelf) -> None:
    posts = [KeepOut(float(x), float(y), 16.0, 15.0) for x, y in shelf.post_places_mm(38.0)]
    rows = most_that_fit(90.0, shelf, 6.0, 0.0, edge_mm=2.0, keep_outs=posts)
    more = most_that_fit(90.0, shelf, 6.0, 0.3, edge_mm=2.0, keep_outs=posts)
    assert more.count >= rows.count
    assert not faults_of_equal_discs(more.centres_mm, 90.0, shelf, 6.0, 2.0)
    for post in posts:
        gaps = np.hypot(more.centres_mm[:, 0] - post.x_mm, more.centres_mm[:, 1] - post.y_mm)
        assert gaps.min() >= 16.0 + 15.0 + 45.0 - SLACK_MM


SHELF = RectangularShelf(520.0, 400.0, 19.0)


def test_a_seed_gives_the_same_places_alone_and_in_a_pool() -> None:
    alone = most_that_fit(88.0, SHELF, 5.0, 0.3, seed=7)
    with ThreadPoolExecutor(2) as pool:
        pooled = most_that_fit(88.0, SHELF, 5.0, 0.3, seed=7, executor=pool)
    assert (alone.centres_mm == pooled.centres_mm).all()


def test_when_told_to_stop_the_best_so_far_comes_back() -> None:
    stop = threading.Event()
    seen: list[tuple[int, int]] = []

    def enough(placed: int, hoped: int) -> None:
        seen.append((placed, hoped))
        stop.set()

    standing = most_that_fit(60.0, SHELF, 5.0, 60.0, progress=enough, stop=stop)
    assert seen
    assert not standing.complete
    assert standing.count >= seen[0][0] > 0
    assert not faults_of_equal_discs(standing.centres_mm, 60.0, SHELF, 5.0)
    assert all(room_to_edge_mm(SHELF, x, y) >= 30.0 - SLACK_MM for x, y in standing.centres_mm)
