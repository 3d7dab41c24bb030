"""Whether a lid goes into its body when both have shrunk, each by its own share; and where a spout's tip comes to.

Lengths in mm, shrinkage as a fraction of the wet length with its 90 % range.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wareboard.errors import OutOfRange
from wareboard.form.vessel import HALF_WIDTH_OF_90_PER_CENT
from wareboard.given import not_negative, positive, share
from wareboard.working import Estimate, Step


@dataclass(frozen=True, slots=True)
class LidFit:
    """The fired play between mouth and flange, how likely the lid goes in, and what to throw the flange to."""

    play: Estimate
    goes_in: float
    flange_wet_mm: float
    steps: tuple[Step, ...]


def _deviation(estimate: Estimate, name: str) -> float:
    share(estimate.value, name, "the wet length")
    if not estimate.low <= estimate.value <= estimate.high:
        raise OutOfRange(
            f"{name} is {estimate.value:g}", why="it lies outside its own range", mend="Give its low and high end"
        )
    return (estimate.high - estimate.low) / 2 / HALF_WIDTH_OF_90_PER_CENT


def lid_fit(
    mouth_wet_mm: float,
    flange_wet_mm: float,
    body: Estimate,
    lid: Estimate,
    play_wanted_mm: float = 1.5,
    what: str = "lid",
) -> LidFit:
    """How a lid fits its body after both have fired.

    Args:
        mouth_wet_mm, flange_wet_mm: inside of the mouth and outside of the lid's flange, wet, across.
        body, lid: total linear shrinkage of each, with 90 % range; taken to err apart from one another.
        play_wanted_mm: difference across that is wanted, fired; 1 to 2 mm is common practice.
        what: the lid in plain words.
    Raises:
        OutOfRange: if a length or shrinkage cannot be.
    Source: difference of two normal errors (any text on probability); shrinkage by its definition.
    """
    mouth, flange = positive(mouth_wet_mm, "mouth", "mm"), positive(flange_wet_mm, "flange", "mm")
    not_negative(play_wanted_mm, "play wanted", "mm")
    off_body, off_lid = _deviation(body, "shrinkage of the body"), _deviation(lid, "shrinkage of the lid")
    given = {"mouth_mm": mouth, "s_body": body.value, "flange_mm": flange, "s_lid": lid.value}
    play = mouth * (1 - body.value) - flange * (1 - lid.value)
    deviation = math.hypot(mouth * off_body, flange * off_lid)
    half = HALF_WIDTH_OF_90_PER_CENT * deviation
    goes_in = 0.5 * (1 + math.erf(play / deviation / math.sqrt(2))) if deviation else float(play > 0)
    throw = (mouth * (1 - body.value) - play_wanted_mm) / (1 - lid.value)
    positive(throw, "flange that would leave so much play", "mm")
    word = "derived"
    steps = (
        Step(
            f"{what}: play across, fired",
            "mouth_mm * (1 - s_body) - flange_mm * (1 - s_lid)",
            given,
            play,
            word,
            unit="mm",
            low=play - half,
            high=play + half,
        ),
        Step(
            f"{what}: flange to throw, wet",
            "(mouth_mm * (1 - s_body) - play_mm) / (1 - s_lid)",
            {"mouth_mm": mouth, "s_body": body.value, "play_mm": play_wanted_mm, "s_lid": lid.value},
            throw,
            word,
            unit="mm",
        ),
    )
    return LidFit(Estimate(play, play - half, play + half, word), goes_in, throw, steps)


def spout_tip(
    joined_wet_mm: float,
    long_wet_mm: float,
    lean_deg: float,
    body: Estimate,
    spout: Estimate,
    full_mm: float,
    what: str = "spout",
) -> Step:
    """How far the tip of a spout comes above the level of the full pot, fired; below 0 it runs over before it is full.

    Args:
        joined_wet_mm: height of the middle of the join above the foot, wet.
        long_wet_mm: from there to the tip, straight, wet.
        lean_deg: the spout's rise above level, -90 to 90.
        body, spout: total linear shrinkage of each, with 90 % range.
        full_mm: level of the full pot above the foot, fired.
        what: the spout in plain words.
    Raises:
        OutOfRange: if a length, shrinkage or the lean cannot be.
    Source: liquid stands level in vessels that are joined; shrinkage by its definition.
    """
    joined, long = positive(joined_wet_mm, "join", "mm"), positive(long_wet_mm, "spout", "mm")
    full = positive(full_mm, "level of the full pot", "mm")
    if not (math.isfinite(lean_deg) and -90 <= lean_deg <= 90):
        raise OutOfRange(f"lean of {lean_deg:g} degrees", why="it lies between -90 and 90", mend="Count from level")
    off_body, off_spout = _deviation(body, "shrinkage of the body"), _deviation(spout, "shrinkage of the spout")
    rise = long * math.sin(math.radians(lean_deg))
    given = {"joined_mm": joined, "s_body": body.value, "rise_mm": rise, "s_spout": spout.value, "full_mm": full}
    value = joined * (1 - body.value) + rise * (1 - spout.value) - full
    half = HALF_WIDTH_OF_90_PER_CENT * math.hypot(joined * off_body, rise * off_spout)
    formula = "joined_mm * (1 - s_body) + rise_mm * (1 - s_spout) - full_mm"
    name = f"{what}: tip above the full level"
    return Step(name, formula, given, value, "derived", unit="mm", low=value - half, high=value + half)
