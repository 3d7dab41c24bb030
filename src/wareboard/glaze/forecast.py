"""How far a bucket goes before its first piece is glazed, by a figure with a range; after that, by what the pieces took."""

from __future__ import annotations

import math

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive
from wareboard.glaze.application import Reach
from wareboard.working import Estimate, Step

# Where the low end of what a piece takes is next to nothing, the high end of the count says no more than this many times.
MOST_TIMES = 10


def before_the_first(
    stock_ml: float, each_ml: Estimate, *, dead_ml: float = 0.0, still_to_do: int | None = None
) -> Reach:
    """How many pieces a bucket will do, by what one is reckoned to take.

    Args:
        stock_ml: slip in the bucket. each_ml: slip a piece takes, with its range. dead_ml: what cannot be used.
        still_to_do: pieces still to be glazed, for the words.
    Raises:
        OutOfRange: for volumes that cannot be.
    Source: conservation of volume; the ends of the range each taken alone, so that it holds as the figure's own does.
    """
    not_negative(stock_ml, "slip in the bucket", "ml")
    not_negative(dead_ml, "what cannot be used", "ml")
    positive(each_ml.value, "slip a piece takes", "ml")
    if not not_negative(each_ml.low, "least slip a piece takes") <= each_ml.value <= each_ml.high < math.inf:
        raise OutOfRange("slip a piece takes", "its range does not hold its value", "Mend the range")
    usable = max(0.0, stock_ml - dead_ml)
    most = usable / max(each_ml.low, each_ml.value / MOST_TIMES)
    best, low, high = math.floor(usable / each_ml.value), math.floor(usable / each_ml.high), math.floor(most)
    step = Step(
        "pieces the bucket does", "floor(max(0, stock - dead) / each)",
        {"stock": stock_ml, "dead": dead_ml, "each": each_ml.value}, float(best), each_ml.source, "pieces",
        float(low), float(high),
    )  # fmt: skip
    return Reach(best, low, high, each_ml, _words(best, low, still_to_do), (step,))


def _words(best: int, low: int, still_to_do: int | None) -> str:
    told = f"By the figure for one piece this bucket does {best}, {low} at least where pieces take the most."
    if still_to_do is None:
        return told
    if low >= still_to_do:
        return f"{told} {still_to_do} are to do: it should last. Tell it again after five."
    if best >= still_to_do:
        return (
            f"{told} {still_to_do} are to do: it may just last. Weigh or measure the first five, and it is told again."
        )
    return f"{told} {still_to_do} are to do: it falls {still_to_do - best} short. Mix more before the first piece."
