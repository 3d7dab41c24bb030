"""Heat work as a rate that rises with heat: W = ∫ A exp(-E/RT) dt, and a cone is down when W reaches 1.

Temperatures in K, times in h, energies in kJ/mol; every function works on arrays that broadcast and leaves them alone.
Source: Arrhenius (1889) law and the exponential integral, Abramowitz and Stegun, Handbook of Mathematical Functions, 1964,
5.1.22 (continued fraction) and 5.1.14 (recurrence).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
GAS_KJ_PER_MOL_K = 8.314462618e-3
ZERO_C_K = 273.15
FRACTION_DEPTH = 10  # enough for 1e-14 where E/RT > 15, that is for any cone at any heat that a kiln reaches


def scaled_e2(x: ArrayLike) -> Array:
    """exp(x) E2(x), the exponential integral of order two freed of its underflow; to 1e-14 for x from 15 up.

    Source: Abramowitz and Stegun 5.1.22, continued fraction for E_n with n = 2.
    """
    x = np.asarray(x, dtype=np.float64)
    tail = x + 0.0
    for k in range(FRACTION_DEPTH, 0, -1):
        # e^x E_n(x) = 1/(x + n/(1 + 1/(x + (n+1)/(1 + 2/(x + ...)))))
        tail = x + (1.0 + k) / (1.0 + k / tail)
    return np.asarray(1.0 / tail)


def ln_ramp_integral(temp_k: ArrayLike, energy_kj: ArrayLike) -> Array:
    """ln of ∫ from 0 K to T of exp(-E/RT') dT' = ln(T E2(E/RT)), kelvin inside the logarithm.

    Heat work of a ramp from cold at rate b is A/b times this integral.
    """
    temp_k = np.asarray(temp_k, dtype=np.float64)
    x = np.asarray(energy_kj) / (GAS_KJ_PER_MOL_K * temp_k)
    return np.asarray(np.log(temp_k * scaled_e2(x)) - x)


def scale_k(temp_k: ArrayLike, energy_kj: ArrayLike) -> Array:
    """Rise of temperature, K, over which heat work by a ramp grows e-fold: close to RT²/E."""
    temp_k, energy_kj = np.asarray(temp_k, dtype=np.float64), np.asarray(energy_kj, dtype=np.float64)
    x = energy_kj / (GAS_KJ_PER_MOL_K * temp_k)
    return np.asarray(temp_k * scaled_e2(x))


def ln_frequency(end_k: ArrayLike, rate_k_per_h: ArrayLike, energy_kj: ArrayLike) -> Array:
    """ln A, A in 1/h, of the cone whose end point at a steady rate is ``end_k``."""
    return np.asarray(np.log(np.asarray(rate_k_per_h, dtype=np.float64)) - ln_ramp_integral(end_k, energy_kj))


def ramp_end_k(rate_k_per_h: ArrayLike, energy_kj: ArrayLike, ln_a: ArrayLike, start_k: ArrayLike = 1400.0) -> Array:
    """Temperature, K, at which a steady ramp has done a heat work of 1."""
    wanted = np.log(np.asarray(rate_k_per_h, dtype=np.float64)) - np.asarray(ln_a)
    temp_k = np.broadcast_to(np.asarray(start_k, dtype=np.float64), np.broadcast(wanted, np.asarray(energy_kj)).shape)
    for _ in range(60):
        # Newton on ln of the integral; the step is held to a tenth of T, since a soft cone lies far from the start.
        step = (ln_ramp_integral(temp_k, energy_kj) - wanted) * scale_k(temp_k, energy_kj)
        temp_k = temp_k - np.clip(step, -0.1 * temp_k, 0.1 * temp_k)
        if np.all(np.abs(step) < 1e-9):
            break
    return temp_k


def fit(rate_k_per_h: Array, end_k: Array, energy_kj: Array | None = None) -> tuple[Array, Array]:
    """Energy, kJ/mol, and ln A, A in 1/h, which meet printed end points best (least squares in temperature).

    Args:
        rate_k_per_h: (n, k) rates, one row for each cone, NaN where the chart prints nothing.
        end_k: (n, k) end points in K, NaN in the same places.
        energy_kj: (n,) energies to hold fixed; NaN or None to fit them, which needs two rates for that cone.
    """
    known = np.isfinite(end_k)
    rates, ends = np.where(known, rate_k_per_h, 60.0), np.where(known, end_k, 1200.0)
    free = np.ones(len(ends), dtype=bool) if energy_kj is None else ~np.isfinite(energy_kj)
    mean = np.sum(np.where(known, ends, 0.0), axis=1) / known.sum(axis=1)
    spread = np.where(known, np.log(rates), np.nan)
    slope = (np.nanmax(end_k, axis=1) - np.nanmin(end_k, axis=1)) / np.maximum(
        np.nanmax(spread, axis=1) - np.nanmin(spread, axis=1), 1e-9
    )
    guess = GAS_KJ_PER_MOL_K * mean**2 / np.where(slope > 0.0, slope, 26.0)
    energy = guess if energy_kj is None else np.where(free, guess, energy_kj)
    at_60 = mean.copy()
    for _ in range(40):
        energy, at_60, moved = _gauss_newton_step(rates, ends, known, energy, at_60, free)
        if moved < 1e-7:
            break
    return energy, ln_frequency(at_60, 60.0, energy)


def _gauss_newton_step(
    rates: Array, ends: Array, known: NDArray[np.bool_], energy: Array, at_60: Array, free: NDArray[np.bool_]
) -> tuple[Array, Array, float]:
    """One step on (ln E, end point at 60 K/h) for all cones together, and how far the furthest moved."""

    def model(energy: Array, at_60: Array) -> Array:
        return ramp_end_k(rates, energy[:, None], ln_frequency(at_60, 60.0, energy)[:, None], ends)

    here = model(energy, at_60)
    miss = np.where(known, ends - here, 0.0)
    by_energy = np.where(known & free[:, None], (model(energy * (1.0 + 1e-5), at_60) - here) / 1e-5, 0.0)
    by_end = np.where(known, (model(energy, at_60 + 1e-3) - here) / 1e-3, 0.0)
    aa, bb, ab = (by_energy**2).sum(1), (by_end**2).sum(1), (by_energy * by_end).sum(1)
    a_miss, b_miss = (by_energy * miss).sum(1), (by_end * miss).sum(1)
    turn = aa * bb - ab**2
    solvable = free & (turn > 1e-12)
    safe = np.where(solvable, turn, 1.0)
    d_energy = np.where(solvable, (bb * a_miss - ab * b_miss) / safe, 0.0)
    d_end = np.where(solvable, (aa * b_miss - ab * a_miss) / safe, b_miss / bb)
    d_energy = np.clip(d_energy, -0.3, 0.3)
    return energy * (1.0 + d_energy), at_60 + d_end, float(np.max(np.abs(d_energy) * 100.0 + np.abs(d_end)))
