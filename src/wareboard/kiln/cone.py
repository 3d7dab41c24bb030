"""End points of cones: the printed figure where the chart has one, the heat-work model elsewhere; always form and rate.

A bare cone temperature is worthless: 1222 °C is a large cone 6 at 150 °C/h in the older chart and a self-supporting
cone 6 at 60 °C/h in the present one. So a reading carries form, rate, edition and how firmly it is known.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from wareboard.errors import OutOfRange
from wareboard.kiln.arrhenius import ZERO_C_K
from wareboard.kiln.chart import (
    EDITIONS,
    FORMS,
    PRESENT,
    ChartRow,
    chart_rows,
    cone_name,
    cone_order,
    cones,
    next_cone,
)
from wareboard.kiln.figures import firing_figure
from wareboard.kiln.heat_work import Z_90, HeatWork, equivalent, ladder
from wareboard.working import Step

__all__ = [
    "EDITIONS",
    "FORMS",
    "ConeEndPoint",
    "HeatWork",
    "cone_name",
    "cone_order",
    "cones",
    "end_point_c",
    "equivalent",
    "next_cone",
    "reading",
]
SLOWEST_C_PER_H, FASTEST_C_PER_H = 5.0, 600.0
# Half width, °C, of the range that we give a printed row: copies that agree, one copy, and a row set down from memory.
TRUST_C = {"confirmed": 3.0, "single": 4.0, "from memory": 8.0}


@dataclass(frozen=True, slots=True)
class ConeEndPoint:
    """Where a cone's tip comes level with its base, °C, for one form at one rate.

    ``low_c`` and ``high_c`` hold nine in ten. ``published`` says that the chart prints this very rate; ``status`` is that of
    the weakest row used: confirmed, single or from memory.
    """

    cone: str
    temp_c: float
    low_c: float
    high_c: float
    published: bool
    edition: str
    form: str
    rate_c_per_h: float
    status: str
    steps: tuple[Step, ...]

    @property
    def from_memory(self) -> bool:
        """Whether the end point was written down from memory, and not read off the printed chart."""
        return self.status == "from memory"

    def __str__(self) -> str:
        known = "" if self.published else ", by the heat-work model"
        return (
            f"cone {self.cone}, {self.form}, {self.rate_c_per_h:g} °C/h: {self.temp_c:.0f} °C "
            f"({self.low_c:.0f} to {self.high_c:.0f}; {self.edition} chart, {self.status}{known})"
        )


def end_point_c(cone: str | float, rate_c_per_h: float, form: str = FORMS[0], edition: str = PRESENT) -> float:
    """End point of a cone, °C, when the last 100 °C or so rise at a steady rate.

    Exactly the printed figure at a printed rate; between and beyond the printed rates by the Arrhenius heat-work model
    (2.8 °C root mean square at a middle rate left out, 6.7 °C beyond the rates, over the self-supporting cones).

    Args:
        cone: "6", "04", "cone 6", "Δ6" or a number from 1 up; the number 4 is cone 4 and never 04.
        rate_c_per_h: 5 to 600 °C/h.
        form: one of `FORMS`.
        edition: one of `EDITIONS`; the older chart answers at its printed rates only.
    Raises:
        OutOfRange: if the rate is outside 5 to 600 °C/h, or the older chart is asked for a rate that it does not print.
        NotInTable: if the cone, form or edition is unknown; the message names those there are.
    Source: reference/kiln/cones_2016.csv and cones_older.csv; model in `kiln.heat_work`.
    """
    printed = chart_rows(cone, form, edition)
    _check_rate(rate_c_per_h)
    for row in printed:
        if math.isclose(row.rate_c_per_h, rate_c_per_h, rel_tol=1e-9):
            return row.temp_c
    if edition != PRESENT:
        rates = ", ".join(f"{row.rate_c_per_h:g}" for row in printed)
        raise OutOfRange(
            f"cone {printed[0].cone} at {rate_c_per_h:g} °C/h in the {edition} chart",
            why=f"that chart is kept to recognise old figures and answers at {rates} °C/h only",
            mend=f"Use the {PRESENT} chart, which is fitted for every rate",
        )
    steps = ladder(form)
    return steps.end_k(steps.place(cone), rate_c_per_h) - ZERO_C_K


def _check_rate(rate_c_per_h: float) -> None:
    if not (math.isfinite(rate_c_per_h) and SLOWEST_C_PER_H <= rate_c_per_h <= FASTEST_C_PER_H):
        raise OutOfRange(
            f"rate is {rate_c_per_h:g} °C/h",
            why=f"cones are charted from 15 to 300 °C/h, and the heat-work model is trusted from {SLOWEST_C_PER_H:g} to "
            f"{FASTEST_C_PER_H:g}",
            mend="Give the rate of the last 100 °C before the end point, in °C per hour",
        )


def reading(cone: str | float, rate_c_per_h: float, form: str = FORMS[0], edition: str = PRESENT) -> ConeEndPoint:
    """End point of a cone with its range, form, rate, edition and working.

    Arguments, errors and source as `end_point_c`.
    """
    temp_c = end_point_c(cone, rate_c_per_h, form, edition)
    printed = chart_rows(cone, form, edition)
    used = tuple(row for row in printed if math.isclose(row.rate_c_per_h, rate_c_per_h, rel_tol=1e-9))
    published = bool(used)
    leant_on = used or _rows_leant_on(printed, rate_c_per_h)
    status = max((row.status for row in leant_on), key=lambda word: TRUST_C[word])
    half_c = TRUST_C[status] if published else math.hypot(TRUST_C[status], _model_half_width_c(printed, rate_c_per_h))
    low_c, high_c = temp_c - half_c, temp_c + half_c
    name = f"end point of cone {leant_on[0].cone}, {form}, at {rate_c_per_h:g} °C/h"
    source = "from-memory" if status == "from memory" else f"cone-chart-{edition}"
    step = (
        Step(name, "", {}, temp_c, source, "°C", low_c, high_c, how=f"the {edition} chart, {status}", key="end_point_c")
        if published
        else _model_step(name, leant_on[0], rate_c_per_h, temp_c, (low_c, high_c), source)
    )
    return ConeEndPoint(
        leant_on[0].cone, temp_c, low_c, high_c, published, edition, form, float(rate_c_per_h), status, (step,)
    )


def _rows_leant_on(printed: tuple[ChartRow, ...], rate_c_per_h: float) -> tuple[ChartRow, ...]:
    """The printed rows on either side of a rate, or the last two on the side where the chart ends."""
    at = int(np.searchsorted([row.rate_c_per_h for row in printed], rate_c_per_h))
    start = min(max(at - 1, 0), max(len(printed) - 2, 0))
    return printed[start : start + 2]


def _model_half_width_c(printed: tuple[ChartRow, ...], rate_c_per_h: float) -> float:
    between = printed[0].rate_c_per_h < rate_c_per_h < printed[-1].rate_c_per_h
    return Z_90 * firing_figure("model_between_rates" if between else "model_beyond_rates").value


def _model_step(
    name: str, row: ChartRow, rate_c_per_h: float, temp_c: float, bounds_c: tuple[float, float], source: str
) -> Step:
    """The working as a short form: e-folds of rate from a printed row times the rise for each, which the model gives."""
    folds = math.log(rate_c_per_h / row.rate_c_per_h)
    return Step(
        name,
        "printed_c + rise_per_efold_c * log(rate_c_per_h / printed_rate_c_per_h)",
        {
            "printed_c": row.temp_c,
            "printed_rate_c_per_h": row.rate_c_per_h,
            "rate_c_per_h": float(rate_c_per_h),
            "rise_per_efold_c": (temp_c - row.temp_c) / folds,
        },
        temp_c,
        source,
        "°C",
        *bounds_c,
        how="heat work by Arrhenius, fitted to the printed rows of this cone",
        key="end_point_c",
    )
