"""How closely is a printed end point met by a cone model that has not seen it?

Each printed rate is left out in turn for all self-supporting cones printed at three rates; the two that stay give each cone
its own constants. The heat-work model and a straight line over the logarithm of the rate have the same two figures.
"""

from __future__ import annotations

import numpy as np

from wareboard.kiln.arrhenius import ZERO_C_K, fit, ramp_end_k
from wareboard.kiln.chart import PRESENT, chart_rows, cones

QUESTION = "Is an end point that was left out met within 3 °C between printed rates, and 7 °C beyond them?"
REFERENCE = (
    f"the cone maker's chart, edition {PRESENT}, self-supporting cones printed at 15, 60 and 150 °C/h; targets of 3 and "
    "7 °C root mean square; and a straight line over ln(rate) through the same two figures"
)
BETWEEN_C, BEYOND_C = 3.0, 7.0


def printed() -> tuple[np.ndarray, np.ndarray]:
    """(3,) rates and (cones, 3) end points, °C, of the cones that are printed at every rate."""
    full = [chart_rows(cone) for cone in cones() if len(chart_rows(cone)) == 3]
    return np.array([row.rate_c_per_h for row in full[0]]), np.array([[row.temp_c for row in each] for each in full])


def rms(miss: np.ndarray) -> float:
    """Root mean square."""
    return float(np.sqrt(np.mean(miss**2)))


def run() -> list[dict[str, str]]:
    """A row for each rate that is left out."""
    rates, ends = printed()
    told = []
    for left_out, rate in enumerate(rates):
        kept = [at for at in range(3) if at != left_out]
        energy, ln_a = fit(np.broadcast_to(rates[kept], ends[:, kept].shape), ends[:, kept] + ZERO_C_K)
        ours = ramp_end_k(rate, energy, ln_a) - ZERO_C_K - ends[:, left_out]
        low, high = np.log(rates[kept])
        share = (np.log(rate) - low) / (high - low)
        straight = ends[:, kept[0]] + share * (ends[:, kept[1]] - ends[:, kept[0]]) - ends[:, left_out]
        target = BETWEEN_C if left_out == 1 else BEYOND_C
        told.append(
            {
                "left out": f"{rate:g} °C/h, {len(ends)} cones",
                "heat work, °C rms": f"{rms(ours):.2f} (worst {np.abs(ours).max():.1f})",
                "straight line, °C rms": f"{rms(straight):.2f} (worst {np.abs(straight).max():.1f})",
                "ratio to the target": f"{rms(ours) / target:.2f} of {target:g} °C",
                "ratio to the straight line": f"{rms(ours) / rms(straight):.2f}",
            }
        )
    return told


if __name__ == "__main__":
    print(QUESTION, REFERENCE, sep="\n")
    for line in run():
        print(line)
