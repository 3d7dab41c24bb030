"""The bare core against published problems whose shortest plans are known; sources in `known_plans`.

Every plan is checked again by plain counting, and small random ones against every order tried.
"""

from __future__ import annotations

from itertools import pairwise, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.plan.known_plans import KNOWN, Known, faults
from wareboard.errors import OutOfRange
from wareboard.plan.calendar import ShortestPlan, shortest_plan
from wareboard.plan.shortest import order_of_waiting


def solve(known: Known, workers: int = 1, seed: int = 0) -> ShortestPlan:
    return shortest_plan(known.durations, known.successors, known.demands, known.capacities, workers=workers, seed=seed)


@pytest.mark.parametrize("known", KNOWN, ids=lambda known: known.name)
def test_the_published_optimum_is_met_and_proved(known: Known) -> None:
    found = solve(known)
    assert found.status == "proved"
    assert found.makespan == found.bound == known.optimum
    assert found.gap == 0.0
    assert not faults(known, found.starts)
    assert max(start + time for start, time in zip(found.starts, known.durations, strict=True)) == known.optimum


@pytest.mark.parametrize("workers", [1, 2])
def test_the_same_question_gets_the_same_plan(workers: int) -> None:
    assert solve(KNOWN[2], workers=workers).starts == solve(KNOWN[2], workers=workers).starts


def test_two_searches_side_by_side_meet_the_optimum_too() -> None:
    found = solve(KNOWN[0], workers=2, seed=7)
    assert (found.makespan, found.status) == (55, "proved")
    assert not faults(KNOWN[0], found.starts)


def shortest_of_all_orders(known: Known) -> int:
    """Each job as early as it goes, in every order that keeps the waits; some shortest plan is among these."""
    best = None
    count = len(known.durations)
    waits = [{job for job in range(count) if other in known.successors[job]} for other in range(count)]
    for order in permutations(range(count)):
        starts: dict[int, int] = {}
        for job in order:
            if not waits[job] <= starts.keys():
                break
            start = max((starts[before] + known.durations[before] for before in waits[job]), default=0)
            while True:
                span = range(start, start + known.durations[job])
                running = [
                    [other for other in starts if starts[other] <= moment < starts[other] + known.durations[other]]
                    for moment in span
                ]
                if all(
                    sum(known.demands[other][thing] for other in row) + known.demands[job][thing] <= room
                    for row in running
                    for thing, room in enumerate(known.capacities)
                ):
                    break
                start += 1
            starts[job] = start
        else:
            finish = max(starts[job] + known.durations[job] for job in starts)
            best = finish if best is None else min(best, finish)
    assert best is not None
    return best


@st.composite
def small_projects(draw: st.DrawFn) -> Known:
    count = draw(st.integers(1, 5))
    capacities = [draw(st.integers(1, 4)) for _ in range(2)]
    durations = [draw(st.integers(0, 5)) for _ in range(count)]
    successors = [[later for later in range(job + 1, count) if draw(st.booleans())] for job in range(count)]
    demands = [[draw(st.integers(0, room)) for room in capacities] for _ in range(count)]
    return Known("small", durations, successors, demands, capacities, 0)


@given(small_projects())
@settings(max_examples=40, deadline=None)
def test_small_plans_are_as_short_as_the_best_of_all_orders(known: Known) -> None:
    found = solve(known)
    assert not faults(known, found.starts)
    assert found.makespan == shortest_of_all_orders(known)
    assert found.status == "proved"


def test_a_ring_of_waits_is_refused_and_named() -> None:
    with pytest.raises(OutOfRange, match="wait for themselves: 1 -> 2 -> 1"):
        shortest_plan([1, 1, 1], [[1], [2], [1]], [[0], [0], [0]], [1])
    with pytest.raises(OutOfRange, match="0 -> 0"):
        shortest_plan([1], [[0]], [[0]], [1])


@given(st.integers(2, 6), st.randoms(use_true_random=False))
@settings(max_examples=30, deadline=None)
def test_every_ring_named_is_a_ring(count: int, random: object) -> None:
    ring = list(range(count))
    random.shuffle(ring)  # type: ignore[attr-defined]
    successors: list[list[int]] = [[] for _ in range(count)]
    for job, following in zip(ring, [*ring[1:], ring[0]], strict=True):
        successors[job].append(following)
    with pytest.raises(OutOfRange) as caught:
        order_of_waiting(successors)
    named = [int(word) for word in caught.value.what.split(": ")[1].split(" -> ")]
    assert named[0] == named[-1]
    assert all(following in successors[job] for job, following in pairwise(named))


@pytest.mark.parametrize(
    ("durations", "successors", "demands", "capacities", "words"),
    [
        ([1], [[]], [[3]], [2], "needs 3 of thing 0"),
        ([-1], [[]], [[1]], [2], "durations"),
        ([1.5], [[]], [[1]], [2], "durations"),
        ([float("nan")], [[]], [[1]], [2], "durations"),
        ([1], [[]], [[-1]], [2], "demands"),
        ([1, 1], [[]], [[1], [1]], [2], "successors"),
        ([1, 1], [[2], []], [[1], [1]], [2], "successor 2"),
        ([1, 1], [[], []], [[1, 1]], [2, 2], "shape"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    durations: list[int], successors: list[list[int]], demands: list[list[int]], capacities: list[int], words: str
) -> None:
    with pytest.raises(OutOfRange, match=words):
        shortest_plan(durations, successors, demands, capacities)


def test_no_time_to_search_and_no_workers_are_refused() -> None:
    with pytest.raises(OutOfRange, match="seconds"):
        shortest_plan([1], [[]], [[0]], [1], seconds=0)
    with pytest.raises(OutOfRange, match="workers"):
        shortest_plan([1], [[]], [[0]], [1], workers=0)


def test_nothing_to_do_takes_no_time() -> None:
    assert shortest_plan([], [], [], []) == ShortestPlan(0, 0, "proved", ())


def test_jobs_that_need_nothing_run_side_by_side() -> None:
    assert shortest_plan([3, 5, 2], [[], [], []], [[0], [0], [0]], [0]).makespan == 5


def test_progress_is_told_and_the_search_can_be_stopped() -> None:
    told: list[tuple[int, int]] = []
    known = KNOWN[1]
    shortest_plan(
        known.durations,
        known.successors,
        known.demands,
        known.capacities,
        workers=1,
        on_progress=lambda best, bound: told.append((best, bound)),
    )
    assert told
    assert all(bound <= best for best, bound in told)
    assert [best for best, _ in told] == sorted((best for best, _ in told), reverse=True)
    stopped = shortest_plan(
        known.durations, known.successors, known.demands, known.capacities, workers=1, stop=lambda: True
    )
    assert stopped.status in ("best found", "no plan")
    assert stopped.bound <= 666
    if stopped.makespan is not None:
        assert stopped.makespan >= 666
        assert not faults(known, stopped.starts)
