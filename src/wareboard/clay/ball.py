"""Weight of the ball of clay for one piece: from the volume of its wall, or from the weight of a fired example.

Weights in g, volumes in mm3 (fired), densities in g/ml, shares as fractions. ``kept`` is the wet clay that ends in the
piece; ``ball`` is that with what is trimmed off. Handles, spouts and lids are weighed apart.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from wareboard.clay.body import fired_density_g_per_ml
from wareboard.clay.usual import usual_ranges
from wareboard.given import positive, share
from wareboard.reference import rows
from wareboard.working import Step, per_cent

__all__ = [
    "Agreement",
    "BallWeight",
    "ChartRow",
    "Spread",
    "agreement",
    "chart_warning",
    "chart_weight_g",
    "fired_density_g_per_ml",
    "from_fired_weight",
    "from_volume",
]

# Two routes to one weight that part by more than this have a wrong number between them ("more than a few per cent").
APART_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class Spread:
    """What one figure's range does to the weight, as natural logarithms of (end of range / best value)."""

    name: str
    down: float
    up: float
    given: bool


@dataclass(frozen=True, slots=True)
class BallWeight:
    """Clay to weigh out for one piece, g, with the working behind it; low and high hold nine in ten where known."""

    ball_g: float
    kept_g: float
    trimmed_g: float
    steps: tuple[Step, ...]
    low_g: float | None = None
    high_g: float | None = None
    spreads: tuple[Spread, ...] = ()


def from_volume(
    clay_volume_fired_mm3: float,
    shrinkage_height: float,
    shrinkage_width: float,
    wet_density_g_per_ml: float,
    trimming_share: float,
    density_low: float | None = None,
    density_high: float | None = None,
    what: str = "body",
    source: str = "saturated-body",
    shrinkage_low: float | None = None,
    shrinkage_high: float | None = None,
    trimming_low: float | None = None,
    trimming_high: float | None = None,
    volume_low_mm3: float | None = None,
    volume_high_mm3: float | None = None,
) -> BallWeight:
    """Ball for a piece whose fired clay volume is known from its profile and wall.

    Args:
        clay_volume_fired_mm3: volume of the fired clay itself, mm3.
        shrinkage_height, shrinkage_width: total linear, fractions of the wet length.
        wet_density_g_per_ml: of the plastic clay, usually 1.85 to 2.00.
        trimming_share: share of the ball that is trimmed off, fraction.
        density_low ... volume_high_mm3: 90 % ranges, each optional; the shrinkage range stands for both directions at once.
        what: the part in plain words.
        source: on whose word the working stands.
    Raises:
        OutOfRange: if a figure is not such a number.
    Source: definition of linear shrinkage; wet volume = fired volume / ((1 - s_h)(1 - s_w)^2).
    """
    positive(clay_volume_fired_mm3, "volume of fired clay", "mm3")
    share(shrinkage_height, "shrinkage in height", "the wet length")
    share(shrinkage_width, "shrinkage in width", "the wet length")
    positive(wet_density_g_per_ml, "wet density", "g/ml")
    sizes = {
        "fired_mm3": clay_volume_fired_mm3,
        "shrinkage_height": shrinkage_height,
        "shrinkage_width": shrinkage_width,
    }
    wet_mm3 = clay_volume_fired_mm3 / ((1 - shrinkage_height) * (1 - shrinkage_width) ** 2)
    kept_g = wet_mm3 / 1000 * wet_density_g_per_ml
    formula = "fired_mm3 / ((1 - shrinkage_height) * (1 - shrinkage_width) ** 2)"
    weigh = {"wet_mm3": wet_mm3, "wet_density_g_per_ml": wet_density_g_per_ml}
    steps = (
        Step(f"{what}: clay when wet", formula, sizes, wet_mm3, source, unit="mm3", key="wet_volume"),
        Step(
            f"{what}: clay kept", "wet_mm3 / 1000 * wet_density_g_per_ml", weigh, kept_g, source, unit="g", key="kept"
        ),
    )
    spreads = (
        _spread("wet density", wet_density_g_per_ml, density_low, density_high, 1),
        _spread("volume of the wall", clay_volume_fired_mm3, volume_low_mm3, volume_high_mm3, 1),
        _spread_of_rest(
            "shrinkage", 1 - (shrinkage_height + 2 * shrinkage_width) / 3, shrinkage_low, shrinkage_high, -3
        ),
        _spread_of_rest("trimming", 1 - trimming_share, trimming_low, trimming_high, -1),
    )
    return _with_trimming(kept_g, trimming_share, steps, spreads, what, source)


def from_fired_weight(
    fired_g: float,
    water_share: float,
    loss_on_ignition: float,
    trimming_share: float,
    water_low: float | None = None,
    water_high: float | None = None,
    loss_low: float | None = None,
    loss_high: float | None = None,
    trimming_low: float | None = None,
    trimming_high: float | None = None,
    what: str = "body",
    source: str = "weaver-weight-loss",
) -> BallWeight:
    """Ball for a piece of which a fired, unglazed example has been weighed.

    Args:
        fired_g: weight of the fired clay, g; take the glaze off it first.
        water_share: water in the plastic clay, share of the WET weight.
        loss_on_ignition: share of the DRY weight lost in the fire.
        trimming_share: share of the ball that is trimmed off, fraction.
        water_low ... trimming_high: 90 % ranges, each optional.
        what: the part in plain words.
        source: on whose word the working stands.
    Raises:
        OutOfRange: if a figure is not such a number.
    Source: conservation of the clay itself: fired = wet * (1 - water)(1 - loss on ignition).
    """
    positive(fired_g, "fired weight", "g")
    share(water_share, "water", "the wet weight")
    share(loss_on_ignition, "loss on ignition", "the dry weight")
    kept_g = fired_g / ((1 - water_share) * (1 - loss_on_ignition))
    given = {"fired_g": fired_g, "water_share": water_share, "loss_on_ignition": loss_on_ignition}
    formula = "fired_g / ((1 - water_share) * (1 - loss_on_ignition))"
    steps = (Step(f"{what}: clay kept", formula, given, kept_g, source, unit="g", key="kept"),)
    spreads = (
        _spread_of_rest("water in the clay", 1 - water_share, water_low, water_high, -1),
        _spread_of_rest("loss on ignition", 1 - loss_on_ignition, loss_low, loss_high, -1),
        _spread_of_rest("trimming", 1 - trimming_share, trimming_low, trimming_high, -1),
    )
    return _with_trimming(kept_g, trimming_share, steps, spreads, what, source)


def _with_trimming(
    kept_g: float,
    trimming_share: float,
    steps: tuple[Step, ...],
    spreads: tuple[Spread | None, ...],
    what: str,
    source: str,
) -> BallWeight:
    share(trimming_share, "trimming", "the ball")
    ball_g = kept_g / (1 - trimming_share)
    known = tuple(each for each in spreads if each is not None)
    low = high = None
    if known:
        # Independent ranges of a product: their logarithms add in quadrature, each side on its own.
        low = ball_g * math.exp(-math.hypot(*(each.down for each in known)))
        high = ball_g * math.exp(math.hypot(*(each.up for each in known)))
    given = {"kept_g": kept_g, "trimming_share": trimming_share}
    formula = "kept_g / (1 - trimming_share)"
    last = Step(f"{what}: ball", formula, given, ball_g, source, unit="g", low=low, high=high, key="ball")
    return BallWeight(ball_g, kept_g, ball_g - kept_g, (*steps, last), low, high, known)


def _spread(name: str, value: float, low: float | None, high: float | None, power: int) -> Spread | None:
    """What the range of a factor does to a weight that goes with its ``power``; nothing when no range was given."""
    if low is None and high is None:
        return None
    small = positive(value if low is None else low, f"low end of {name}")
    great = positive(value if high is None else high, f"high end of {name}")
    ends = (power * math.log(small / value), power * math.log(great / value))
    return Spread(name, min(0.0, *ends), max(0.0, *ends), given=True)


def _spread_of_rest(name: str, rest: float, low: float | None, high: float | None, power: int) -> Spread | None:
    """The same for a share that goes off: the weight goes with a power of what is left, 1 - share."""
    if low is None and high is None:
        return None
    left_low = rest if high is None else 1 - share(high, f"high end of {name}", "the whole")
    left_high = rest if low is None else 1 - share(low, f"low end of {name}", "the whole")
    return _spread(name, rest, left_low, left_high, power)


@dataclass(frozen=True, slots=True)
class Agreement:
    """How far two routes to the same ball part, and in words what that means."""

    difference_g: float
    difference_share: float
    verdict: str
    steps: tuple[Step, ...]
    agrees: bool = True
    likely_wrong: str = ""


def agreement(by_volume: BallWeight, by_weight: BallWeight) -> Agreement:
    """Whether the drawn wall and the weighed example ask for the same ball, and if not, which figure to look at first.

    Both routes describe one piece of clay, so they can only part when a figure is wrong (mass and volume of a saturated
    body belong together). The figure to look at first is the one whose usual range would be stretched least by taking the
    whole gap upon itself.

    Args:
        by_volume: from `from_volume`.
        by_weight: from `from_fired_weight`, for the same piece.
    Source: saturated-body; usual ranges from ``clay/usual_ranges``.
    """
    gap_g = by_volume.ball_g - by_weight.ball_g
    gap_share = gap_g / by_weight.ball_g
    log_gap = math.log(by_volume.ball_g / by_weight.ball_g)
    given = {"by_volume_g": by_volume.ball_g, "by_weight_g": by_weight.ball_g}
    step = Step(
        "the two ways of reckoning the ball part by",
        "by_volume_g / by_weight_g - 1",
        given,
        gap_share,
        "saturated-body",
        key="gap",
    )
    allowed = max(APART_SHARE, _allowed(by_volume, by_weight))
    if abs(log_gap) <= math.log1p(allowed):
        verdict = (
            f"The drawn wall and the weighed piece ask for the same ball within {per_cent(abs(gap_share), 1)} "
            f"({abs(gap_g):.0f} g), as well as their figures allow."
        )
        return Agreement(gap_g, gap_share, verdict, (step,))
    name, stretch = _least_stretched(by_volume, by_weight, log_gap)
    where = f"it would have to lie {stretch:.1f} times its usual range away"
    if name == "trimming":
        where = "the two do not take the same share off"
    more = "more" if gap_g > 0 else "less"
    verdict = (
        f"The drawn wall asks for {abs(gap_g):.0f} g {more} ({per_cent(abs(gap_share))}) than the weighed piece; mass "
        f"and volume belong together, so one figure is wrong. Look first at the {name}: {where}."
    )
    return Agreement(gap_g, gap_share, verdict, (step,), agrees=False, likely_wrong=name)


def _allowed(by_volume: BallWeight, by_weight: BallWeight) -> float:
    # Trimming is the same cut in both, so its range cannot explain a gap.
    spreads = [each for each in (*by_volume.spreads, *by_weight.spreads) if each.name != "trimming"]
    return math.expm1(math.hypot(*(max(-each.down, each.up) for each in spreads))) if spreads else 0.0


def _least_stretched(by_volume: BallWeight, by_weight: BallWeight, log_gap: float) -> tuple[str, float]:
    """Name of the figure that could best take the gap upon itself, and how many times its range that would be."""
    usual = {each.name: Spread(each.name, each.down, each.up, given=False) for each in _usual_spreads()}
    of_volume = usual | {each.name: each for each in by_volume.spreads if each.given}
    of_weight = usual | {each.name: each for each in by_weight.spreads if each.given}
    reach: dict[str, float] = {}
    for name in ("volume of the wall", "wet density", "shrinkage"):
        reach[name] = -of_volume[name].down if log_gap > 0 else of_volume[name].up
    for name in ("water in the clay", "loss on ignition"):
        reach[name] = of_weight[name].up if log_gap > 0 else -of_weight[name].down
    trims = (by_volume.ball_g / by_volume.kept_g, by_weight.ball_g / by_weight.kept_g)
    if abs(math.log(trims[0] / trims[1])) > abs(log_gap) / 2:
        return "trimming", 0.0
    name = max(reach, key=lambda each: reach[each])
    return name, abs(log_gap) / reach[name]


def _usual_spreads() -> tuple[Spread, ...]:
    """What the usual ranges do to a weight, for each figure that was given without one."""
    usual = usual_ranges()
    density, wall = usual["wet density"], usual["volume of the wall"]
    found = [
        _spread("wet density", density.value, density.low, density.high, 1),
        _spread("volume of the wall", wall.value, wall.low, wall.high, 1),
        *(
            _spread_of_rest(name, 1 - usual[name].value, usual[name].low, usual[name].high, power)
            for name, power in (("shrinkage", -3), ("water in the clay", -1), ("loss on ignition", -1))
        ),
    ]
    return tuple(each for each in found if each is not None)


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One row of the published chart: sizes in mm on the freshly thrown pot, clay in g, and how far off the sizes are.

    ``distance`` is the root of the summed squares of the natural logarithms of the two size ratios: 0.1 is about 10 %.
    """

    form: str
    clay_g: float
    height_mm: float
    width_mm: float
    distance: float
    source: str


def chart_weight_g(height_mm: float, width_mm: float, how_many: int = 3) -> tuple[ChartRow, ...]:
    """The published chart's rows that lie nearest to a freshly thrown pot of this size, nearest first.

    For a warning only: potters disagree with any such chart by tens of per cent.

    Args:
        height_mm, width_mm: wet, as thrown, mm.
        how_many: rows wanted.
    Raises:
        OutOfRange: if a size is not a finite number above 0.
    Source: school-chart.
    """
    positive(height_mm, "height", "mm")
    positive(width_mm, "width", "mm")
    found = []
    for row in rows("clay/chart_weights"):
        size = float(row["height_mm"]), float(row["width_mm"])
        distance = math.hypot(math.log(size[0] / height_mm), math.log(size[1] / width_mm))
        found.append(ChartRow(row["form"], float(row["clay_g"]), *size, distance, row["source"]))
    return tuple(sorted(found, key=lambda each: (each.distance, each.clay_g))[:how_many])


def chart_warning(ball_g: float, height_mm: float, width_mm: float, near: float = 0.25, apart: float = 0.4) -> str:
    """A sentence when the ball lies far from the chart's nearest row, or nothing when it does not or no row is near.

    Args:
        ball_g: the ball as reckoned, g.
        height_mm, width_mm: wet, as thrown, mm.
        near: greatest `ChartRow.distance` at which the chart has anything to say.
        apart: share by which the ball may differ, either way, without a word.
    Raises:
        OutOfRange: if the ball or a size is not a finite number above 0.
    Source: school-chart; that charts are off by tens of per cent is common practice.
    """
    positive(ball_g, "ball", "g")
    row = chart_weight_g(height_mm, width_mm, how_many=1)[0]
    if row.distance > near or abs(math.log(ball_g / row.clay_g)) <= math.log1p(apart):
        return ""
    return (
        f"The ball comes to {ball_g:.0f} g; a published chart gives {row.clay_g:.0f} g for the nearest size, "
        f"{row.form} ({row.height_mm:.0f} mm high, {row.width_mm:.0f} mm wide when thrown). Charts are often off by a "
        f"third: weigh, throw and cut one in half before weighing out the rest."
    )
