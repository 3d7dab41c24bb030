"""The stages of the making in their order, which of them a form needs, and the words for what goes wrong at each."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wareboard.plan.overage import StageYield

STAGES = (
    "ball",
    "thrown",
    "trimmed",
    "handled",
    "marked",
    "drying",
    "bone dry",
    "bisque",
    "washed",
    "lined",
    "painted",
    "glazed",
    "fired",
    "ground",
    "packed",
)
ORDER = {stage: place for place, stage in enumerate(STAGES)}
LAST = STAGES[-1]
WRAPPED, IN_KILN = "wrapped", "in the kiln"
STATES = ("", WRAPPED, IN_KILN)
# The minutes that a plan holds for a form say which of these stages it needs; the others every piece goes through.
WORK_OF = {
    "trimmed": "trim",
    "handled": "handle",
    "marked": "mark",
    "washed": "sand",
    "lined": "liner",
    "painted": "paint",
    "glazed": "dip",
    "ground": "grind",
}
WORDS = {
    "ball": "Balls weighed",
    "thrown": "Thrown",
    "trimmed": "Trimmed",
    "handled": "Handled",
    "marked": "Marked",
    "drying": "Drying",
    "bone dry": "Bone dry",
    "bisque": "Bisqued",
    "washed": "Washed",
    "lined": "Lined",
    "painted": "Painted",
    "glazed": "Glazed",
    "fired": "Fired",
    "ground": "Ground",
    "packed": "Packed",
}
# A yield of the plan is behind a piece once its board stands at this stage or a later one.
YIELD_BEHIND = {
    "thrown": "trimmed",  # "good after throwing and trimming": fresh ware has the trimming still ahead
    "handled": "handled",
    "dried": "bone dry",
    "carried": "bisque",
    "bisque": "bisque",
    "glazed": "glazed",
    "fired": "fired",
}
GLAZE_WORK = ("lined", "painted", "glazed")
_WET = ("slumped", "thin", "crooked", "cracked", "knocked")
_DRY = ("cracked", "warped", "handle", "knocked")
_BISQUE = ("cracked", "exploded", "chipped", "glaze", "knocked")
_FIRED = ("crawled", "pinholes", "ran", "stuck", "cracked", "warped", "colour", "chipped")
PLACES = ("rim", "wall", "foot", "handle", "inside", "top shelf", "middle shelf", "bottom shelf")


def stages_for(minutes: Collection[str]) -> tuple[str, ...]:
    """The stages that a form goes through, in order.

    Args:
        minutes: the tasks for which the form's plan holds minutes, such as trim, handle, mark, liner, paint.
    """
    return tuple(stage for stage in STAGES if stage not in WORK_OF or WORK_OF[stage] in minutes)


def next_stage(stage: str, stages: Sequence[str]) -> str | None:
    """The stage after this one among those that the form needs; None after the last."""
    return next((each for each in stages if ORDER[each] > ORDER[stage]), None)


def is_behind(yield_stage: str, stage: str, stages: Sequence[str]) -> bool:
    """Whether the losses that a plan's yield stands for are behind pieces at ``stage``."""
    passed = YIELD_BEHIND.get(yield_stage, LAST)
    if passed == "trimmed" and passed not in stages:
        passed = "thrown"
    if passed == "glazed":
        passed = next((each for each in reversed(GLAZE_WORK) if each in stages), "washed")
    return ORDER[stage] >= ORDER[passed]


def share_ahead(stage: str, stages: Sequence[str], yields: Sequence[StageYield]) -> float:
    """The share of pieces at ``stage`` that comes through all that is still ahead."""
    share = 1.0
    for each in yields:
        if not is_behind(each.stage, stage, stages):
            share *= each.good_share
    return share


def reasons_at(stage: str) -> tuple[str, ...]:
    """The words for what usually goes wrong with pieces at ``stage``: common practice."""
    if ORDER[stage] < ORDER["drying"]:
        return _WET
    if ORDER[stage] < ORDER["bisque"]:
        return _DRY
    return _BISQUE if ORDER[stage] < ORDER["fired"] else _FIRED
