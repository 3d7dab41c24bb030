"""Does a kiln's log give back the kiln that made it, and do the stated ranges hold it?

A hundred invented kilns, each with its own wall and load, fired by a glaze schedule and left to cool; the log has a
reading a minute with 1.5 °C of noise and the meter is off by 2 % (one standard deviation each). The model starts from
the same description every time. Naive is to believe that description.
"""

from __future__ import annotations

import numpy as np

from wareboard.kiln.calibrate import calibrate, scaled
from wareboard.kiln.schedule import glaze_schedule
from wareboard.kiln.thermal import BRICK_23, KilnModel, Layer, simulate

QUESTION = "Does a kiln's log give back the kiln that made it, within the stated ranges?"
REFERENCE = "the factors each invented kiln was made with (known truth); naive: the description, both factors 1"
TRIALS, NOISE_C, METER = 100, 1.5, 0.02
Z_RATIO = 1.959964 / 1.644854  # a 95 % range from one of 90 %, normal


def run() -> list[dict[str, str]]:
    """A row for each of the two factors."""
    kiln, schedule, rng = (
        KilnModel(9.0, (Layer(BRICK_23, 64.0),), 2.2, 30.0, 25.0),
        glaze_schedule("6"),
        np.random.default_rng(1),
    )
    true, found, held = [], [], []
    for _ in range(TRIALS):
        factors = np.exp(rng.normal(0.0, (0.12, 0.15)))
        fired = simulate(scaled(kiln, *factors), schedule, cool_to_c=150.0)
        every = np.arange(0.0, fired.times_s[-1], 60.0)
        temps = np.interp(every, fired.times_s, fired.chamber_c) + rng.normal(0.0, NOISE_C, len(every))
        fit = calibrate(every, temps, kiln, schedule, fired.put_in_kwh * (1.0 + METER * rng.normal()))
        pair = (fit.wall_factor, fit.load_factor)
        true.append(factors)
        found.append([each.value for each in pair])
        held.append(
            [
                abs(np.log(at / each.value)) <= Z_RATIO * np.log(each.high / each.value)
                for at, each in zip(factors, pair, strict=True)
            ]
        )
    truth, ours, kept = np.array(true), np.array(found), np.array(held)
    off, naive = np.abs(ours / truth - 1.0).mean(axis=0), np.abs(1.0 / truth - 1.0).mean(axis=0)
    return [
        {
            "factor": name,
            "mean error": f"{off[at]:.2%}",
            "error of the description": f"{naive[at]:.2%}",
            "ratio": f"{off[at] / naive[at]:.3f}",
            "95 % ranges that held it": f"{kept[:, at].mean():.0%} of {TRIALS}",
        }
        for at, name in enumerate(("what the wall lets through", "what the load takes up"))
    ]


if __name__ == "__main__":
    for line in run():
        print(line)
