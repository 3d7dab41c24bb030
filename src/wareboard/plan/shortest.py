"""The shortest plan for jobs that wait for each other and share what there is only so much of.

The bare core beneath the calendar, kept by itself because published problems with known answers exist for it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from wareboard.errors import OutOfRange

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

Status = Literal["proved", "best found", "no plan"]
# The solver stops by counted work, so that the same problem gives the same plan; the clock is a last resort only.
CLOCK_OVER_WORK = 3.0


@dataclass(frozen=True, slots=True)
class ShortestPlan:
    """Start of every job, when all is done, and the bound below which no plan can finish."""

    makespan: int | None
    bound: int
    status: Status
    starts: tuple[int, ...]

    @property
    def gap(self) -> float | None:
        """How far the plan may lie above the best, as a share of it; None without a plan."""
        if self.makespan is None:
            return None
        return (self.makespan - self.bound) / self.makespan if self.makespan else 0.0


def shortest_plan(
    durations: ArrayLike,
    successors: Sequence[Sequence[int]],
    demands: ArrayLike,
    capacities: ArrayLike,
    seconds: float = 10,
    workers: int = 2,
    seed: int = 0,
    on_progress: Callable[[int, int], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> ShortestPlan:
    """The plan that finishes soonest: no job before those it waits for, and never more in use than there is.

    Args:
        durations: (n,) whole times, 0 or more; any unit.
        successors: for each job the jobs (counted from 0) that wait for its end.
        demands: (n, k) whole amounts that each job uses of each of k things while it lasts.
        capacities: (k,) how much there is of each.
        seconds: work allowed, in the solver's counted seconds, so that the same input gives the same plan.
        workers: searches run side by side.
        seed: of the solver.
        on_progress: told the best finish and the bound whenever a better plan is found.
        stop: asked at every better plan or bound; True ends the search with what there is.
    Raises:
        OutOfRange: on shapes that do not fit, negative or broken numbers, a job that must wait for itself, or a job that
            needs more than there is.
    Source: constraint model with one interval a job, Google OR-Tools CP-SAT.
    """
    from ortools.sat.python import cp_model

    lengths = _whole("durations", durations, 1)
    use = _whole("demands", demands, 2)
    there = _whole("capacities", capacities, 1)
    if use.size == 0:
        use = use.reshape(len(lengths), len(there))
    _check_shapes(lengths, successors, use, there)
    order_of_waiting(successors)
    _check_enough(use, there)
    if not len(lengths):
        return ShortestPlan(0, 0, "proved", ())
    model = cp_model.CpModel()
    horizon = int(lengths.sum())
    starts = [model.new_int_var(0, horizon - int(length), f"start {job}") for job, length in enumerate(lengths)]
    bars = [
        model.new_fixed_size_interval_var(starts[job], int(lengths[job]), f"job {job}") for job in range(len(lengths))
    ]
    finish = model.new_int_var(0, horizon, "finish")
    for job, later in enumerate(successors):
        model.add(finish >= starts[job] + int(lengths[job]))
        for following in later:
            model.add(starts[following] >= starts[job] + int(lengths[job]))
    for thing in range(len(there)):
        users = [job for job in range(len(lengths)) if use[job, thing] > 0 and lengths[job] > 0]
        if users:
            model.add_cumulative(
                [bars[job] for job in users], [int(use[job, thing]) for job in users], int(there[thing])
            )
    model.minimize(finish)
    solver = counted_solver(seconds, workers, seed)
    status, _ = watched(solver, model, on_progress, stop)
    bound = max(0, int(np.ceil(solver.best_objective_bound - 1e-6)))
    if status == "no plan":
        return ShortestPlan(None, bound, status, ())
    return ShortestPlan(solver.value(finish), bound, status, tuple(solver.value(start) for start in starts))


def counted_solver(seconds: float, workers: int, seed: int, counted_per_second: float = 1.0) -> Any:
    """A solver that gives the same answer to the same question: seeded, and stopped by counted work.

    ``counted_per_second`` is how many of the solver's counted seconds pass in one by the clock, for the kind of model.
    """
    from ortools.sat.python import cp_model

    if not (np.isfinite(seconds) and seconds > 0):
        raise OutOfRange(f"seconds is {seconds:g}", "the search needs some time", "Give a number over 0")
    if workers < 1:
        raise OutOfRange(f"workers is {workers}", "at least one must search", "Give 1 or more")
    solver = cp_model.CpSolver()
    # Left on, the solver takes Ctrl-C for itself and does not give it back: the studio could then not close in order.
    solver.parameters.catch_sigint_signal = False
    solver.parameters.random_seed = int(seed)
    solver.parameters.num_workers = int(workers)
    # Searches that run freely side by side end in whichever order the machine likes; taking turns keeps them repeatable.
    solver.parameters.interleave_search = workers > 1
    solver.parameters.max_deterministic_time = counted_per_second * float(seconds)
    solver.parameters.max_time_in_seconds = CLOCK_OVER_WORK * float(seconds)
    return solver


def watched(
    solver: Any, model: Any, on_progress: Callable[[int, int], None] | None, stop: Callable[[], bool] | None
) -> tuple[Status, bool]:
    """Run the solver, telling of progress and asking whether to stop; the outcome, and whether a plan is ruled out."""
    from ortools.sat.python import cp_model

    class Watch(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            if on_progress is not None:
                on_progress(round(self.objective_value), int(np.ceil(self.best_objective_bound - 1e-6)))
            if stop is not None and stop():
                self.stop_search()

    watch = Watch()
    if stop is not None:
        solver.best_bound_callback = lambda _bound: solver.stop_search() if stop() else None
    found = solver.solve(model, watch)
    words: dict[Any, Status] = {cp_model.OPTIMAL: "proved", cp_model.FEASIBLE: "best found"}
    return words.get(found, "no plan"), found == cp_model.INFEASIBLE


def order_of_waiting(successors: Sequence[Sequence[int]], names: Sequence[str] | None = None) -> list[int]:
    """The jobs in an order in which none comes before one that it waits for.

    Raises:
        OutOfRange: if a job must wait for itself, naming the ring of jobs.
    """
    waiting = [0] * len(successors)
    for later in successors:
        for job in later:
            waiting[job] += 1
    ready = [job for job, count in enumerate(waiting) if count == 0]
    order = []
    for job in ready:
        order.append(job)
        for following in successors[job]:
            waiting[following] -= 1
            if waiting[following] == 0:
                ready.append(following)
    if len(order) < len(successors):
        ring = _ring(successors, {job for job in range(len(successors)) if waiting[job] > 0})
        words = " -> ".join(names[job] if names else str(job) for job in ring)
        raise OutOfRange(f"jobs that wait for themselves: {words}", "none of them can ever begin", "Take one wait away")
    return order


def _ring(successors: Sequence[Sequence[int]], stuck: set[int]) -> list[int]:
    # Every stuck job waits for a stuck one, so walking backwards must come round.
    before = {job: next(one for one in stuck if job in successors[one]) for job in stuck}
    seen, job = [], min(stuck)
    while job not in seen:
        seen.append(job)
        job = before[job]
    ring = seen[seen.index(job) :]
    return [job, *reversed(ring[1:]), job]


def _whole(name: str, given: ArrayLike, dimensions: int) -> np.ndarray[Any, np.dtype[np.int64]]:
    numbers = np.asarray(given, dtype=float)
    if numbers.size == 0:
        return np.zeros((0,) * dimensions, dtype=np.int64)
    if numbers.ndim != dimensions:
        raise OutOfRange(f"{name} has {numbers.ndim} dimensions", f"it must have {dimensions}", "Check its shape")
    if not np.isfinite(numbers).all() or (numbers < 0).any() or (numbers != np.round(numbers)).any():
        raise OutOfRange(
            f"{name} holds a number that will not do", "they are whole and 0 or more", "Choose a finer unit"
        )
    return numbers.astype(np.int64)


def _check_shapes(
    lengths: np.ndarray[Any, Any],
    successors: Sequence[Sequence[int]],
    use: np.ndarray[Any, Any],
    there: np.ndarray[Any, Any],
) -> None:
    if len(successors) != len(lengths):
        raise OutOfRange(
            f"successors of {len(successors)} jobs but durations of {len(lengths)}",
            "they must match",
            "Check the lists",
        )
    if use.shape != (len(lengths), len(there)):
        raise OutOfRange(
            f"demands has the shape {use.shape}",
            f"it must be {(len(lengths), len(there))}",
            "One row a job, one column a thing",
        )
    for job, later in enumerate(successors):
        for following in later:
            if not 0 <= following < len(lengths):
                raise OutOfRange(
                    f"job {job} has the successor {following}", f"jobs are 0 to {len(lengths) - 1}", "Count jobs from 0"
                )


def _check_enough(use: np.ndarray[Any, Any], there: np.ndarray[Any, Any]) -> None:
    for job, thing in np.argwhere(use > there):
        raise OutOfRange(
            f"job {job} needs {use[job, thing]} of thing {thing}",
            f"there is only {there[thing]}",
            "Split the job or get more",
        )
