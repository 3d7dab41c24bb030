"""How truly and how fast is a kiln followed through a day of heating and cooling?

An invented kiln, fired two ways until 24 h are over: with all its power to 1222 °C, which is a few smooth stretches and
suits an integrator that chooses its own steps; and by a glaze schedule, where the power changes with every step. The same
equations, cell by cell and under the power that our controller found, are given to scipy's integrator for stiff equations,
once with its usual tolerance and once with a fine one, which serves as the truth.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import scipy
from scipy.integrate import solve_ivp

from wareboard.kiln.schedule import Schedule, Segment, glaze_schedule
from wareboard.kiln.thermal import BRICK_23, Fired, KilnModel, Layer, simulate
from wareboard.kiln.wall_heat import STEFAN_BOLTZMANN, ZERO_C_K, cells, outer_film

QUESTION = "Is ware followed through a day within 2 °C, and in what time beside a general integrator?"
REFERENCE = (
    f"scipy {scipy.__version__} solve_ivp, BDF, usual tolerance, on the same equations and handed our controller's power; "
    "truth: the same with a relative tolerance of 1e-7"
)
KILN = KilnModel(9.0, (Layer(BRICK_23, 64.0),), 2.2, 30.0, 25.0)
CASES = (
    (Schedule("flat out", (Segment(2000.0, 1222.0),)), (120.0, 60.0, 20.0)),
    (glaze_schedule("6"), (120.0, 60.0)),
)
DAY_S, RUNS, ROOM_C, DONE_C = 86400.0, 2, 20.0, 26.0


def radiation(one_c: float, other_c: float, emissivity: float) -> float:
    """W/(m² K) between two grey faces, with 5 for convection: written out anew."""
    a, b = one_c + ZERO_C_K, other_c + ZERO_C_K
    return (
        emissivity * STEFAN_BOLTZMANN * (a**4 - b**4) / (a - b) + 5.0
        if abs(a - b) > 1e-9
        else (4.0 * emissivity * STEFAN_BOLTZMANN * a**3 + 5.0)
    )


def rates(kiln: KilnModel) -> Callable[[float, np.ndarray, float], np.ndarray]:
    """K/s of ware, chamber and cells for given temperatures and power, W."""
    grid, area = cells(kiln.wall), kiln.wall_area_m2

    def at(_: float, temps: np.ndarray, power_w: float) -> np.ndarray:
        ware, chamber, wall = float(temps[0]), float(temps[1]), temps[2:]
        half = grid.size_m / (2.0 * grid.conductivity(wall))
        face = chamber
        for _pass in range(6):  # the face between film and first cell holds no heat of its own
            film = radiation(chamber, face, kiln.emissivity)
            face = (film * chamber + wall[0] / half[0]) / (film + 1.0 / half[0])
        to_ware = kiln.ware_area_m2 * radiation(chamber, ware, kiln.emissivity) * (chamber - ware)
        flows = np.empty(len(wall) + 1)
        flows[0] = area * (face - wall[0]) / half[0]
        flows[1:-1] = area * (wall[:-1] - wall[1:]) / (half[:-1] + half[1:])
        flows[-1] = area * outer_film(float(wall[-1]), float(half[-1]), kiln.room_c, None) * (wall[-1] - kiln.room_c)
        out = np.empty(len(temps))
        heat = kiln.ware_kg * (kiln.ware.c0 + kiln.ware.c1 * ware) + kiln.shelves_kg * (
            kiln.shelf.c0 + kiln.shelf.c1 * ware
        )
        out[0] = to_ware / heat
        lost = flows[0] + kiln.leak_w_per_k * (chamber - kiln.room_c)
        out[1] = (power_w - to_ware - lost) / (1000.0 * kiln.chamber_kj_per_k)
        out[2:] = (flows[:-1] - flows[1:]) / (area * grid.size_m * grid.density * (grid.c0 + grid.c1 * wall))
        return out

    return at


def same_powers(fired: Fired) -> list[tuple[float, float, float]]:
    """Stretches of one power: from, to, s, and W."""
    power = 1000.0 * fired.power_kw[1:]
    turns = [0, *(np.flatnonzero(np.abs(np.diff(power)) > 1e-6) + 1), len(power)]
    return [(fired.times_s[a], fired.times_s[b], float(power[a])) for a, b in pairwise(turns)]


def integrated(fired: Fired, rtol: float, atol: float) -> np.ndarray:
    """(times, 2) chamber and ware, °C, at the times of ``fired``, by solve_ivp under the same power."""
    at, count = rates(KILN), len(cells(KILN.wall).size_m)
    state, out = np.full(count + 2, ROOM_C), np.empty((len(fired.times_s), 2))
    out[0] = ROOM_C
    for begin, end, power_w in same_powers(fired):
        inside = (fired.times_s > begin) & (fired.times_s <= end)
        found = solve_ivp(at, (begin, end), state, "BDF", fired.times_s[inside], args=(power_w,), rtol=rtol, atol=atol)
        out[inside], state = found.y[[1, 0]].T, found.y[:, -1]
    return out


def a_day(schedule: Schedule, step_s: float) -> tuple[Fired, float]:
    """The first 24 h of a firing and its cooling, and the share of the run that they are."""
    fired = simulate(KILN, schedule, cool_to_c=DONE_C, step_s=step_s)
    kept, count = int(np.searchsorted(fired.times_s, DAY_S, side="right")), len(fired.times_s)
    names = ("times_s", "chamber_c", "ware_c", "power_kw", "outer_c")
    return replace(fired, **{name: getattr(fired, name)[:kept] for name in names}), kept / count


def least_seconds(task: Callable[[], object]) -> float:
    """Processor seconds of the best of a few runs."""
    found = []
    for _ in range(RUNS):
        begun = time.process_time()
        task()
        found.append(time.process_time() - begun)
    return min(found)


def row(schedule: Schedule, step_s: float) -> dict[str, str]:
    """One way of firing with one step."""
    fired, share = a_day(schedule, step_s)
    truth, usual = integrated(fired, 1e-7, 1e-6), integrated(fired, 1e-3, 1e-6)
    ours = np.column_stack([fired.chamber_c, fired.ware_c])
    seconds = share * least_seconds(lambda: simulate(KILN, schedule, cool_to_c=DONE_C, step_s=step_s))
    theirs = least_seconds(lambda: integrated(fired, 1e-3, 1e-6))
    miss, their_miss = np.abs(ours - truth), np.abs(usual - truth)
    return {
        "firing": schedule.name,
        "step": f"{step_s:g} s, {len(fired.times_s)} steps",
        "ratio of time": f"{seconds / theirs:.2f}",
        "ware off, °C (worst)": f"{miss[:, 1].max():.2f}",
        "of 2 °C": f"{miss[:, 1].max() / 2.0:.2f}",
        "chamber off, °C (worst, rms)": f"{miss[:, 0].max():.1f}, {np.sqrt(np.mean(miss[:, 0] ** 2)):.2f}",
        "integrator's ware off, °C": f"{their_miss[:, 1].max():.2f}",
        "ratio of error": f"{miss[:, 1].max() / their_miss[:, 1].max():.2f}",
    }


def run() -> list[dict[str, str]]:
    """A row for each way of firing and each step."""
    return [row(schedule, step_s) for schedule, steps in CASES for step_s in steps]


if __name__ == "__main__":
    print(QUESTION, REFERENCE, sep="\n")
    for line in run():
        print(line)
