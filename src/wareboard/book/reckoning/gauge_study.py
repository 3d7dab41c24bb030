"""Two people who measure differently: how much of the difference between pieces is the measuring and not the pieces.

Each of some people measures each of some pieces the same number of times, in mixed order and without seeing earlier
readings. Any unit, the same throughout.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from wareboard.book.reckoning.chart_constants import chart_constants
from wareboard.book.reckoning.given import Floats, finite, positive
from wareboard.book.reckoning.learned import NINE_IN_TEN, learning_figure
from wareboard.errors import OutOfRange
from wareboard.working import Estimate, Step, per_cent

SOURCE = "gauge-manual"
# A span of six deviations holds nearly all readings; older papers use 5.15 (from memory).
SPAN = 6.0
# Above this chance the people are taken to differ alike on every piece, and the two scatters are put together.
POOLED_ABOVE = 0.25
# A person is said to read high only where chance would do it once in a hundred: nine in ten would name too many wrongly.
NAMED_BEYOND = 0.99


@dataclass(frozen=True, slots=True)
class Between:
    """How two people differ on the same pieces: first less second, and whether that is more than chance."""

    first: str
    second: str
    difference: Estimate
    real: bool
    words: str


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """Standard deviations, in the unit of the readings, and what they are worth.

    ``repeat`` one person again on one piece; ``people`` between people; ``by_piece`` people differing more on some pieces;
    ``gauge`` the three together; ``pieces`` the pieces themselves. ``tolerance_share`` is six gauge deviations over the
    agreed span (None without one); ``classes`` the sizes that the measuring can tell apart.
    """

    repeat: float
    people: float
    by_piece: float
    gauge: float
    pieces: float
    tolerance_share: float | None
    classes: int
    between: tuple[Between, ...]
    verdict: str
    steps: tuple[Step, ...]


def gauge_study(
    readings: Sequence[Sequence[Sequence[float]]] | Floats,
    people: Sequence[str],
    agreed_span: float | None = None,
    unit: str = "",
    by_ranges: bool = False,
) -> GaugeStudy:
    """How much of the scatter is the measuring.

    Args:
        readings: (people, pieces, repeats), 2 or more of each; left alone.
        people: their names, in order.
        agreed_span: highest less lowest that the client accepts, in the unit; None where nothing was agreed.
        unit: of the readings.
        by_ranges: use mean ranges, which can be done by hand, in place of the analysis of variance.
    Raises:
        OutOfRange: if there are fewer than two of anything, names do not match, or a reading is not finite.
    Source: gauge-manual. Analysis of variance: two ways crossed, the interaction put with the repeats when its chance is
        above a quarter. Ranges: mean range over d2; spans of means over d2*, with d2*^2 = d2^2 + d3^2 for a single span.
    """
    array = _checked(readings, people)
    parts = _by_ranges(array) if by_ranges else _by_variance(array)
    repeat, person, by_piece, piece, _ = parts
    gauge = math.sqrt(repeat**2 + person**2 + by_piece**2)
    share = None if agreed_span is None else SPAN * gauge / positive(agreed_span, "agreed span")
    classes = math.floor(math.sqrt(2.0) * piece / gauge) if gauge > 0.0 else 0
    between = _between(array, people, unit)
    steps = _steps(parts, gauge, agreed_span, share, unit, by_ranges)
    verdict = _verdict(share, repeat, person, between)
    return GaugeStudy(repeat, person, by_piece, gauge, piece, share, max(classes, 0), between, verdict, steps)


def repeatability(sums_of_squares: Sequence[float], freedoms: Sequence[float], share: float = NINE_IN_TEN) -> Estimate:
    """Deviation of one setting from the squares within several: the root of their sum over all degrees of freedom.

    Args:
        sums_of_squares: within each setting, 0 or more.
        freedoms: degrees of freedom of each, above 0.
        share: chance with which the range holds.
    Raises:
        OutOfRange: if the two differ in length, or a number lies outside these.
    Source: nist-handbook 2.4.4.4; range by chi-square.
    """
    if len(sums_of_squares) != len(freedoms) or not freedoms:
        raise OutOfRange(
            f"{len(sums_of_squares)} sums, {len(freedoms)} degrees of freedom",
            "one of each per setting",
            "Pair them up",
        )
    freedom = sum(positive(each, "degrees of freedom") for each in freedoms)
    total = positive(sum(finite(each, "sum of squares") for each in sums_of_squares), "sum of squares in all")
    value = math.sqrt(total / freedom)
    low, high = _deviation_range(value, freedom, share)
    return Estimate(value, low, high, "nist-handbook")


def _deviation_range(value: float, freedom: float, share: float = NINE_IN_TEN) -> tuple[float, float]:
    from scipy.special import chdtri

    tail = 0.5 * (1.0 - share)
    low, high = (value * math.sqrt(freedom / float(chdtri(freedom, upper))) for upper in (tail, 1.0 - tail))
    return min(low, value), max(high, value)


def _checked(readings: Sequence[Sequence[Sequence[float]]] | Floats, people: Sequence[str]) -> Floats:
    try:
        array = np.array(readings, dtype=np.float64)
    except ValueError:
        array = np.empty(0)
    if array.ndim != 3 or min(array.shape) < 2:
        raise OutOfRange(
            "the readings are not a full block",
            "two people at least must each measure two pieces at least, each the same number of times, twice at least",
            "Measure the missing ones, or leave that piece out",
        )
    if not np.isfinite(array).all():
        where = np.argwhere(~np.isfinite(array))[0]
        finite(float(array[tuple(where)]), f"reading {where[2] + 1} of piece {where[1] + 1}, person {where[0] + 1},")
    if len(people) != array.shape[0] or len(set(people)) != len(people):
        raise OutOfRange(
            f"{len(people)} names for {array.shape[0]} people", "each needs a name of their own", "Name all"
        )
    return array


Parts = tuple[float, float, float, float, float]


def _by_variance(array: Floats) -> Parts:
    """Deviations of repeat, people, people by piece and pieces, and the degrees of freedom of the first."""
    from scipy.special import fdtrc

    people, pieces, repeats = array.shape
    whole, cells = array.mean(), array.mean(axis=2)
    of_people, of_pieces = cells.mean(axis=1), cells.mean(axis=0)
    free_both = (people - 1) * (pieces - 1)
    square_people = pieces * repeats * ((of_people - whole) ** 2).sum() / (people - 1)
    square_pieces = people * repeats * ((of_pieces - whole) ** 2).sum() / (pieces - 1)
    sum_both = repeats * ((cells - of_people[:, None] - of_pieces[None, :] + whole) ** 2).sum()
    sum_within, free_within = ((array - cells[:, :, None]) ** 2).sum(), people * pieces * (repeats - 1)
    within, both = sum_within / free_within, sum_both / free_both
    if within == 0.0 or fdtrc(free_both, free_within, both / within) <= POOLED_ABOVE:
        interaction = max(0.0, (both - within) / repeats)
        against, freedom = max(both, within) if interaction == 0.0 else both, float(free_within)
    else:
        within = (sum_within + sum_both) / (free_within + free_both)
        interaction, against, freedom = 0.0, within, float(free_within + free_both)
    person = max(0.0, (square_people - against) / (pieces * repeats))
    piece = max(0.0, (square_pieces - against) / (people * repeats))
    return float(within**0.5), float(person**0.5), float(interaction**0.5), float(piece**0.5), freedom


def _by_ranges(array: Floats) -> Parts:
    people, pieces, repeats = array.shape
    repeat = float(np.ptp(array, axis=2).mean()) / chart_constants(repeats).mean_range
    apart = float(np.ptp(array.mean(axis=(1, 2)))) / _one_span(people)
    person = math.sqrt(max(0.0, apart**2 - repeat**2 / (pieces * repeats)))
    piece = float(np.ptp(array.mean(axis=(0, 2)))) / _one_span(pieces)
    return repeat, person, 0.0, piece, float(people * pieces * (repeats - 1))


def _one_span(size: int) -> float:
    constants = chart_constants(size)
    return math.hypot(constants.mean_range, constants.range_deviation)


def _between(array: Floats, people: Sequence[str], unit: str) -> tuple[Between, ...]:
    """Each pair's difference, from the differences on each piece, so that the pieces' own sizes fall out."""
    from scipy.special import stdtrit

    pieces = array.shape[1]
    found = []
    for one, other in combinations(range(len(people)), 2):
        apart = array[one].mean(axis=1) - array[other].mean(axis=1)
        value, error = float(apart.mean()), float(apart.std(ddof=1)) / math.sqrt(pieces)
        half, sure = (float(stdtrit(pieces - 1, 0.5 + 0.5 * each)) * error for each in (NINE_IN_TEN, NAMED_BEYOND))
        real = abs(value) > sure
        first, second = people[one], people[other]
        high, low = (first, second) if value > 0.0 else (second, first)
        unit_word = f" {unit}" if unit else ""
        words = (
            f"{high} reads {abs(value):.3g}{unit_word} more than {low}: let one person measure, or agree how to hold it"
            if real
            else f"{first} and {second} read alike as far as these pieces can tell"
        )
        found.append(Between(first, second, Estimate(value, value - half, value + half, "own records"), real, words))
    return tuple(found)


def _verdict(share: float | None, repeat: float, person: float, between: tuple[Between, ...]) -> str:
    main = "re-seat the gauge and take the mean of several readings" if repeat >= person else "let one person measure"
    real = [each.words for each in between if each.real]
    tail = f" {real[0]}." if real else ""
    if share is None:
        return f"Nothing was agreed, so the measuring cannot be judged against it.{tail}"
    good, poor = learning_figure("gauge.good_share"), learning_figure("gauge.poor_share")
    if share <= good:
        return f"The measuring takes {per_cent(share)} of what was agreed: good enough.{tail}"
    if share <= poor:
        return f"The measuring takes {per_cent(share)} of what was agreed: usable with care; {main}.{tail}"
    return f"The measuring takes {per_cent(share)} of what was agreed: it cannot judge pieces yet; {main}.{tail}"


def _steps(
    parts: Parts, gauge: float, agreed_span: float | None, share: float | None, unit: str, by_ranges: bool
) -> tuple[Step, ...]:
    repeat, person, by_piece, piece, freedom = parts
    how = "from mean ranges" if by_ranges else "analysis of variance, two ways crossed"
    low, high = _deviation_range(repeat, freedom)
    steps = [
        Step("one person again on one piece", "", {}, repeat, SOURCE, unit, low, high, how, "gauge.repeat"),
        Step("from person to person", "", {}, person, SOURCE, unit, how=how, key="gauge.people"),
        Step("people differing by the piece", "", {}, by_piece, SOURCE, unit, how=how, key="gauge.by_piece"),
        Step("from piece to piece", "", {}, piece, SOURCE, unit, how=how, key="gauge.pieces"),
        Step(
            "all the measuring together",
            "sqrt(repeat ** 2 + people ** 2 + by_piece ** 2)",
            {"repeat": repeat, "people": person, "by_piece": by_piece},
            gauge,
            SOURCE,
            unit,
            key="gauge.all",
        ),
    ]
    if agreed_span is not None and share is not None:
        given = {"gauge": gauge, "agreed_span": agreed_span}
        formula = f"{SPAN:g} * gauge / agreed_span"
        steps.append(Step("share of what was agreed", formula, given, share, SOURCE, key="gauge.share"))
    return tuple(steps)
