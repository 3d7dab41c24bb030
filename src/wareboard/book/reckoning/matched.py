"""The best-matched set: from the good pieces, the ones most alike, and those put into settings.

A piece is a row of measures; each measure is divided by the difference in it that is just seen, so that height,
width, weight and colour can be weighed together. A set is as unlike as its two most unlike pieces: the eye finds that pair.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wareboard.book.reckoning.given import Floats, positive
from wareboard.errors import OutOfRange
from wareboard.working import Step

# Distances that differ by less than this share count as one.
SAME_DISTANCE = 1e-9
SEARCH_SEED = 1
MOST_PIECES = 400


@dataclass(frozen=True, slots=True)
class MatchedSet:
    """The pieces chosen (places in the list given, rising) and how unlike the two most unlike of them are.

    ``unlike`` is in just-seen differences; ``at_least`` is what no choice can beat; ``proved`` says that the two meet;
    ``whole`` is the same for all pieces together.
    """

    chosen: tuple[int, ...]
    unlike: float
    at_least: float
    proved: bool
    whole: float
    words: str
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Settings:
    """Pieces put into settings of equal size: places in the list given, and how unlike the worst setting is."""

    settings: tuple[tuple[int, ...], ...]
    unlike: float
    at_least: float
    proved: bool


def best_matched(
    measures: Sequence[Sequence[float]] | Floats,
    just_seen: Sequence[float],
    wanted: int,
    aim: Sequence[float] | None = None,
    work: float = 5.0,
) -> MatchedSet:
    """The ``wanted`` pieces most alike.

    Args:
        measures: (m, p) sizes, weight, colour values: any units, one column for each; left alone.
        just_seen: (p,) the difference in each column that is just seen (or the agreed tolerance), above 0, in its unit.
        wanted: pieces in the set, from 1 to m.
        aim: (p,) the approved sample: it then counts as one of the set, so that the set is alike to it as well.
        work: limit of the search in the solver's own deterministic seconds; past it the best so far comes back unproved.
    Raises:
        OutOfRange: if shapes do not match, a number is not finite, or more pieces are wanted than there are.
    Source: one measure: the window of sorted values with least spread, exact (common practice). Several: the least distance
        within which ``wanted`` pieces all lie of one another, found by halving, each question settled by CP-SAT.
    """
    scaled = _scaled(measures, just_seen)
    _check_wanted(wanted, len(scaled))
    fixed = None if aim is None else _scaled([list(aim)], just_seen)[0]
    if scaled.shape[1] == 1:
        chosen, bound = _window(scaled[:, 0], wanted, None if fixed is None else float(fixed[0]))
    else:
        chosen, bound = _several(scaled, wanted, fixed, work)
    rows = scaled[list(chosen)] if fixed is None else np.vstack([scaled[list(chosen)], fixed])
    unlike = float(_distances(rows).max())
    bound = min(bound, unlike)
    proved = unlike <= bound * (1.0 + SAME_DISTANCE) + SAME_DISTANCE
    whole = float(_distances(scaled).max())
    words = _words(len(scaled), wanted, unlike, bound, whole, proved)
    return MatchedSet(chosen, unlike, bound, proved, whole, words, _steps(rows, unlike, wanted, len(scaled), proved))


def settings_of(
    measures: Sequence[Sequence[float]] | Floats, just_seen: Sequence[float], size: int, work: float = 5.0
) -> Settings:
    """The pieces put into settings of ``size``, so that the worst setting is as alike as it can be.

    Args:
        measures, just_seen: as for `best_matched`; the number of pieces must be a multiple of ``size``.
        size: pieces in one setting, 1 or more.
        work: limit of the search in the solver's own deterministic seconds.
    Raises:
        OutOfRange: if the pieces do not fill whole settings, or shapes do not match.
    Source: one measure: neighbours in sorted order, exact; several: smallest threshold, found by halving with CP-SAT.
    """
    scaled = _scaled(measures, just_seen)
    count = len(scaled)
    if size < 1 or count % size:
        raise OutOfRange(
            f"{count} pieces in settings of {size}",
            "they must fill whole settings",
            f"Choose {count - count % max(size, 1)}",
        )
    distances = _distances(scaled)
    order = _along_the_longest(scaled)
    groups = [sorted(order[start : start + size]) for start in range(0, count, size)]
    worst = _worst(distances, groups)
    if scaled.shape[1] == 1 or size == 1 or size == count:
        return Settings(_in_order(groups), worst, worst, True)
    groups = _swapped(distances, groups)
    levels = _levels(distances, _nearest_bound(distances, size), _worst(distances, groups))
    groups, bound = _halved(levels, groups, lambda level: _share_out(distances <= level, size, work), distances)
    worst = _worst(distances, groups)
    return Settings(_in_order(groups), worst, min(bound, worst), bound >= worst * (1.0 - SAME_DISTANCE))


def _scaled(measures: Sequence[Sequence[float]] | Floats, just_seen: Sequence[float]) -> Floats:
    scale = np.array([positive(each, "difference that is just seen") for each in just_seen], dtype=np.float64)
    try:
        array = np.array(measures, dtype=np.float64)
    except ValueError:
        array = np.empty(0)
    if array.ndim != 2 or array.shape[1] != scale.size or not 1 <= len(array) <= MOST_PIECES:
        raise OutOfRange(
            f"measures of {len(measures)} pieces",
            f"each of up to {MOST_PIECES} pieces needs the same {scale.size} measures",
            "Measure what is missing",
        )
    if not np.isfinite(array).all():
        piece, column = np.argwhere(~np.isfinite(array))[0]
        raise OutOfRange(f"measure {column + 1} of piece {piece + 1}", "it is not a finite number", "Measure it again")
    return np.asarray(array / scale, dtype=np.float64)


def _check_wanted(wanted: int, count: int) -> None:
    if not 1 <= wanted <= count:
        raise OutOfRange(
            f"{wanted} wanted of {count}", "there must be one at least, and no more than there are", "Make more"
        )


def _distances(rows: Floats) -> Floats:
    apart = rows[:, None, :] - rows[None, :, :]
    return np.asarray(np.sqrt((apart**2).sum(axis=2)), dtype=np.float64)


def _window(values: Floats, wanted: int, aim: float | None) -> tuple[tuple[int, ...], float]:
    """The window of sorted values with least spread (the aim counted in), and of equals the one nearest the middle."""
    order = np.argsort(values, kind="stable")
    low, high = values[order[: values.size - wanted + 1]], values[order[wanted - 1 :]]
    spread = high - low if aim is None else np.maximum(high, aim) - np.minimum(low, aim)
    middle = float(np.median(values)) if aim is None else aim
    best = np.flatnonzero(spread <= spread.min() + SAME_DISTANCE)
    start = int(best[np.argmin(np.abs(0.5 * (low + high)[best] - middle))])
    return tuple(sorted(int(place) for place in order[start : start + wanted])), float(spread.min())


def _several(scaled: Floats, wanted: int, fixed: Floats | None, work: float) -> tuple[tuple[int, ...], float]:
    distances = _distances(scaled)
    to_aim = np.zeros(len(scaled)) if fixed is None else np.sqrt(((scaled - fixed) ** 2).sum(axis=1))
    pull = np.sqrt(((scaled - (np.median(scaled, axis=0) if fixed is None else fixed)) ** 2).sum(axis=1))
    first = _nearest_together(distances, to_aim, wanted)
    worst = max(_worst(distances, [first]), float(to_aim[first].max()))
    least = max(_nearest_bound(distances, wanted), float(np.sort(to_aim)[wanted - 1]))
    levels = _levels(np.maximum(distances, to_aim[None, :]), least, worst)

    def within(level: float) -> list[list[int]] | bool | None:
        near = (distances <= level) & (to_aim <= level)[None, :] & (to_aim <= level)[:, None]
        return _all_near(near, wanted, pull, work)

    both = np.maximum(distances, np.maximum(to_aim[:, None], to_aim[None, :]))
    groups, bound = _halved(levels, [first], within, both)
    return tuple(sorted(groups[0])), bound


def _nearest_together(distances: Floats, to_aim: Floats, wanted: int) -> list[int]:
    """A good set to start from: round each piece its nearest, the best of those."""
    nearest = np.argsort(np.maximum(distances, to_aim[None, :]), axis=1, kind="stable")[:, :wanted]
    worst = [max(float(distances[np.ix_(each, each)].max()), float(to_aim[each].max())) for each in nearest]
    return [int(place) for place in nearest[int(np.argmin(worst))]]


def _nearest_bound(distances: Floats, wanted: int) -> float:
    """No set of ``wanted`` is more alike than the least distance from a piece to its ``wanted`` - 1 nearest."""
    return float(np.sort(distances, axis=1)[:, wanted - 1].min())


def _levels(distances: Floats, least: float, worst: float) -> Floats:
    """The distances between which the answer lies, rising; the last is one that is known to do."""
    inside = distances[(distances >= least - SAME_DISTANCE) & (distances <= worst + SAME_DISTANCE)]
    rounded = np.unique(np.concatenate((inside, [worst])))
    keep = np.concatenate((np.diff(rounded) > SAME_DISTANCE, [True]))
    return np.asarray(rounded[keep] + SAME_DISTANCE, dtype=np.float64)


def _halved(levels: Floats, known: list[list[int]], ask: Any, distances: Floats) -> tuple[list[list[int]], float]:
    """The best groups, and the least level not ruled out: a question left open rules out nothing."""
    low, high = 0, len(levels) - 1
    bound = float(levels[0]) - SAME_DISTANCE
    while low < high:
        middle = (low + high) // 2
        found = ask(float(levels[middle]))
        if isinstance(found, list):
            known = found
            reached = _worst(distances, known)
            high = min(middle, int(np.searchsorted(levels, reached)))
        else:
            # False proves that this level, and each below it, is too small; None is a question left open.
            low = middle + 1
            if found is False:
                bound = float(levels[low]) - SAME_DISTANCE
    return known, bound


def _worst(distances: Floats, groups: Sequence[Sequence[int]]) -> float:
    return max(float(distances[np.ix_(list(group), list(group))].max()) for group in groups)


def _all_near(near: NDArray[np.bool_], wanted: int, pull: Floats, work: float) -> list[list[int]] | bool | None:
    """``wanted`` pieces all near one another, those nearest the middle first; False if there are none, None if left open."""
    alive = near.diagonal().copy()
    while True:
        # A piece with too few neighbours left can be in no such set; taking it out may strand others.
        kept = alive & ((near & alive[None, :]).sum(axis=1) >= wanted)
        if kept.sum() < wanted:
            return False
        if (kept == alive).all():
            break
        alive = kept
    places = np.flatnonzero(alive)
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    takes = [model.new_bool_var("") for _ in places]
    model.add(sum(takes) == wanted)
    for one in range(len(places)):
        for other in range(one + 1, len(places)):
            if not near[places[one], places[other]]:
                model.add_at_most_one(takes[one], takes[other])
    ranks = np.argsort(np.argsort(pull[places], kind="stable"), kind="stable")
    model.minimize(sum(int(rank) * take for rank, take in zip(ranks, takes, strict=True)))
    return _solved(
        model, work, lambda solver: [[int(p) for p, t in zip(places, takes, strict=True) if solver.value(t)]]
    )


def _share_out(near: NDArray[np.bool_], size: int, work: float) -> list[list[int]] | bool | None:
    """The pieces in groups of ``size``, all near one another within each; False if there is no way, None if left open."""
    from ortools.sat.python import cp_model

    count = len(near)
    if int(near.sum(axis=1).min()) < size:
        return False
    groups = count // size
    model = cp_model.CpModel()
    # Piece p may lie in group g <= p only: groups are numbered by their first piece, so that no way is tried twice over.
    lies = [[model.new_bool_var("") for _ in range(min(piece + 1, groups))] for piece in range(count)]
    for row in lies:
        model.add_exactly_one(row)
    for group in range(groups):
        members = [lies[piece][group] for piece in range(count) if group < len(lies[piece])]
        model.add(sum(members) == size)
    for one in range(count):
        for other in range(one + 1, count):
            if not near[one, other]:
                for group in range(len(lies[one])):
                    model.add_at_most_one(lies[one][group], lies[other][group])
    for piece in range(count):
        for group in range(1, len(lies[piece])):
            model.add_bool_or([lies[p][group - 1] for p in range(piece) if group - 1 < len(lies[p])]).only_enforce_if(
                lies[piece][group]
            )

    def read(solver: Any) -> list[list[int]]:
        return [
            [piece for piece in range(count) if group < len(lies[piece]) and solver.value(lies[piece][group])]
            for group in range(groups)
        ]

    return _solved(model, work, read)


def _solved(model: Any, work: float, read: Any) -> list[list[int]] | bool | None:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEARCH_SEED
    solver.parameters.max_deterministic_time = work
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        groups: list[list[int]] = read(solver)
        return groups
    return False if status == cp_model.INFEASIBLE else None


def _along_the_longest(scaled: Floats) -> list[int]:
    """The pieces in order along the direction in which they differ most."""
    centred = scaled - scaled.mean(axis=0)
    direction = np.linalg.svd(centred, full_matrices=False)[2][0]
    return [int(place) for place in np.argsort(centred @ direction, kind="stable")]


def _swapped(distances: Floats, groups: list[list[int]]) -> list[list[int]]:
    """The same groups after every swap of two pieces that makes the worse of their groups more alike."""
    groups = [list(group) for group in groups]
    better = True
    while better:
        better = False
        for one in range(len(groups)):
            for other in range(one + 1, len(groups)):
                better = _swap_once(distances, groups, one, other) or better
    return groups


def _swap_once(distances: Floats, groups: list[list[int]], one: int, other: int) -> bool:
    now = max(_worst(distances, [groups[one]]), _worst(distances, [groups[other]]))
    for i, a in enumerate(groups[one]):
        for j, b in enumerate(groups[other]):
            first, second = [*groups[one]], [*groups[other]]
            first[i], second[j] = b, a
            if max(_worst(distances, [first]), _worst(distances, [second])) < now - SAME_DISTANCE:
                groups[one], groups[other] = first, second
                return True
    return False


def _in_order(groups: Sequence[Sequence[int]]) -> tuple[tuple[int, ...], ...]:
    return tuple(sorted(tuple(sorted(group)) for group in groups))


def _words(count: int, wanted: int, unlike: float, bound: float, whole: float, proved: bool) -> str:
    how = "no other choice is more alike" if proved else f"no choice is more alike than {bound:.2f}"
    seen = "no pair can be told apart" if unlike <= 1.0 else "the two most unlike can be told apart"
    return (
        f"{wanted} of {count}: the two most unlike differ by {unlike:.2f} just-seen differences ({seen}), "
        f"all {count} by {whole:.2f}; {how}."
    )


def _steps(rows: Floats, unlike: float, wanted: int, count: int, proved: bool) -> tuple[Step, ...]:
    distances = _distances(rows)
    one, other = np.unravel_index(int(distances.argmax()), distances.shape)
    apart = np.abs(rows[one] - rows[other])
    names = [f"apart_{number}" for number in range(1, apart.size + 1)]
    formula = "sqrt(" + " + ".join(f"{name} ** 2" for name in names) + ")"
    given = dict(zip(names, map(float, apart), strict=True))
    how = "each measure's difference over the one that is just seen, for the two most unlike of the set"
    worst = Step("the two most unlike", formula, given, math.sqrt(float((apart**2).sum())), "definition", how=how)
    found = "proved the best" if proved else "the best found"
    chosen = {"wanted": float(wanted), "there are": float(count)}
    return (worst, Step("most alike set", "", chosen, unlike, "worked out", how=found, key="matched.unlike"))
