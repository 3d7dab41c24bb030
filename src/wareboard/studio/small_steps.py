"""Working for the figures that a page reckons itself from a plan's: a difference, a product, a sum of stretches."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from wareboard.working import Step

if TYPE_CHECKING:
    from wareboard.clay.ball import BallWeight
    from wareboard.clay.block import BlockCut
    from wareboard.kiln.segment import Schedule
    from wareboard.plan.price import FormPrice


def trimmed(ball: BallWeight) -> Step:
    """What is trimmed off a ball, g."""
    return Step(
        "clay trimmed off",
        "ball_g - kept_g",
        {"ball_g": ball.ball_g, "kept_g": ball.kept_g},
        ball.trimmed_g,
        "derived",
        "g",
    )


def heating(schedule: Schedule) -> Step:
    """Hours from switching on to the end of the hold at the peak: each ramp and each hold added up."""
    parts: list[str] = []
    inputs: dict[str, float] = {"start_c": schedule.start_c}
    before = "start_c"
    for number, segment in enumerate(schedule.segments, start=1):
        if segment.target_c < inputs[before]:
            break
        inputs[f"to_{number}_c"] = segment.target_c
        inputs[f"rate_{number}"] = segment.rate_c_per_h
        parts.append(f"(to_{number}_c - {before}) / rate_{number}")
        if segment.hold_min:
            inputs[f"hold_{number}_min"] = segment.hold_min
            parts.append(f"hold_{number}_min / 60")
        before = f"to_{number}_c"
    return Step("heating, with its holds", " + ".join(parts), inputs, schedule.heating_h, "derived", "h")


def together(form: FormPrice, currency: str) -> Step:
    """The price of all the pieces of a form."""
    given = {"wanted": float(form.wanted), "price_each": float(form.price_each)}
    return Step(f"{form.name}, all of them", "wanted * price_each", given, float(form.total), "derived", currency)


def balls_a_block(cut: BlockCut) -> Step:
    """Balls out of one block: the grid, and the slab cut otherwise where there is one."""
    across, deep, high = (float(count) for count in cut.counts)
    inputs = {"across": across, "deep": deep, "high": high}
    formula = "across * deep * high"
    if cut.slab is not None:
        for name, count in zip(("slab_across", "slab_deep", "slab_high"), cut.slab.counts, strict=True):
            inputs[name] = float(count)
        formula += " + slab_across * slab_deep * slab_high"
    if cut.blocks_per_portion > 1:
        formula, inputs = "", {"blocks_a_ball": float(cut.blocks_per_portion)}
    return Step("balls out of one block", formula, inputs, float(cut.portions), "derived", how=cut.words)


def valued(steps: Sequence[Step], value: float) -> Step | None:
    """The step among these that gave ``value``."""
    return next((step for step in steps if step.value == value), None)
