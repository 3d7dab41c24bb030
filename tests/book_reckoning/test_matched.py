"""The best-matched set against every choice tried."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.book_reckoning.working import meets_its_working
from wareboard.book.reckoning.matched import best_matched, settings_of
from wareboard.errors import OutOfRange


def widest(rows: np.ndarray) -> float:
    return max((float(np.linalg.norm(a - b)) for a, b in combinations(rows, 2)), default=0.0)


def partitions(places: tuple[int, ...], size: int) -> Iterator[list[tuple[int, ...]]]:
    if not places:
        yield []
        return
    for rest in combinations(places[1:], size - 1):
        group = (places[0], *rest)
        left = tuple(place for place in places if place not in group)
        for others in partitions(left, size):
            yield [group, *others]


SIZES = st.lists(st.integers(0, 400), min_size=3, max_size=9)


@given(SIZES, st.data())
def test_one_measure_meets_every_choice_tried(tenths: list[int], data: st.DataObject) -> None:
    """Exhaustive search over all sets."""
    wanted = data.draw(st.integers(1, len(tenths)))
    heights = np.array(tenths)[:, None] / 10.0
    best = min(widest(heights[list(each)]) for each in combinations(range(len(tenths)), wanted))
    found = best_matched(heights, [1.0], wanted)
    assert found.unlike == pytest.approx(best, abs=1e-7)
    assert widest(heights[list(found.chosen)]) == pytest.approx(found.unlike, abs=1e-7)
    assert found.proved
    assert len(set(found.chosen)) == wanted


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.integers(6, 11), st.integers(2, 3), st.integers(2, 6), st.booleans())
def test_several_measures_meet_every_choice_tried(
    seed: int, count: int, columns: int, wanted: int, aimed: bool
) -> None:
    """Exhaustive search over all sets, with and without the approved sample counted in."""
    chance = np.random.default_rng(seed)
    measures = chance.normal(0.0, 1.0, (count, columns)).round(2)
    seen = [1.0, 0.5, 2.0][:columns]
    aim = chance.normal(0.0, 0.5, columns) if aimed else None
    scaled = measures / np.array(seen)
    extra = np.empty((0, columns)) if aim is None else (aim / np.array(seen))[None, :]
    best = min(widest(np.vstack([scaled[list(each)], extra])) for each in combinations(range(count), wanted))
    found = best_matched(measures, seen, wanted, None if aim is None else list(aim))
    assert found.unlike == pytest.approx(best, abs=1e-7)
    assert found.proved
    assert found.at_least <= found.unlike <= max(found.whole, best) + 1e-9
    meets_its_working(found.steps)


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([(6, 2), (6, 3), (8, 4), (9, 3)]), st.integers(1, 3))
def test_settings_meet_every_way_of_sharing_out(seed: int, shape: tuple[int, int], columns: int) -> None:
    """Exhaustive search over all ways to put the pieces into settings."""
    count, size = shape
    measures = np.random.default_rng(seed).normal(0.0, 1.0, (count, columns)).round(2)
    best = min(max(widest(measures[list(g)]) for g in ways) for ways in partitions(tuple(range(count)), size))
    found = settings_of(measures, [1.0] * columns, size)
    assert found.unlike == pytest.approx(best, abs=1e-7)
    assert found.proved
    assert sorted(place for group in found.settings for place in group) == list(range(count))
    assert {len(group) for group in found.settings} == {size}


def test_a_lot_of_cups_gives_up_its_odd_ones() -> None:
    """Invented cups: 28 alike and four that are not; 24 are wanted."""
    chance = np.random.default_rng(3)
    cups = np.column_stack([chance.normal(95, 0.8, 32), chance.normal(85, 0.7, 32), chance.normal(60, 0.5, 32)])
    cups[[4, 11, 20, 29]] += [5.0, -4.0, 3.0]
    found = best_matched(cups, [1.5, 1.0, 2.0], 24)
    assert not {4, 11, 20, 29} & set(found.chosen)
    assert found.proved
    assert found.unlike < 0.7 * found.whole
    assert "24 of 32" in found.words
    again = best_matched(cups, [1.5, 1.0, 2.0], 24)
    assert again == found


def test_a_search_cut_short_says_what_is_not_proved() -> None:
    """With hardly any work allowed the answer still is a set, its bound holds, and nothing is claimed that was not shown."""
    chance = np.random.default_rng(8)
    pieces = chance.normal(0.0, 1.0, (60, 4))
    cut = best_matched(pieces, [1.0] * 4, 24, work=1e-6)
    full = best_matched(pieces, [1.0] * 4, 24, work=20.0)
    assert len(cut.chosen) == 24
    assert cut.at_least <= full.unlike + 1e-9
    assert full.unlike <= cut.unlike + 1e-9
    assert not cut.proved
    assert "no choice is more alike than" in cut.words
    assert full.proved


def test_the_approved_sample_pulls_the_set_to_it() -> None:
    heights = [[90.0], [90.1], [90.2], [95.0], [95.4], [95.6]]
    assert best_matched(heights, [1.0], 3).chosen == (0, 1, 2)
    assert best_matched(heights, [1.0], 3, [95.2]).chosen == (3, 4, 5)


def test_strange_lots_are_refused_by_name() -> None:
    with pytest.raises(OutOfRange, match="4 wanted of 3"):
        best_matched([[1.0], [2.0], [3.0]], [1.0], 4)
    with pytest.raises(OutOfRange, match="measure 2 of piece 1"):
        best_matched([[1.0, float("nan")], [1.0, 2.0]], [1.0, 1.0], 1)
    with pytest.raises(OutOfRange, match="same 2 measures"):
        best_matched([[1.0], [2.0]], [1.0, 1.0], 1)
    with pytest.raises(OutOfRange, match="just seen"):
        best_matched([[1.0], [2.0]], [0.0], 1)
    with pytest.raises(OutOfRange, match="whole settings"):
        settings_of([[1.0], [2.0], [3.0]], [1.0], 2)
