"""A piece's own drying learned from two or three weighings: the usual figures, moved as far as the weights ask.

Least squares on the weights and on the usual figures together; each weighs as its own spread allows. How far wandering air
had set drying ahead of the clock or behind it at each weighing is found along with them. The spread is
first that of the linear problem at the best figures, and then set right by points weighed with their likelihood, because the
problem is not linear.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from wareboard.clay.damp_piece import Piece, Spell
from wareboard.clay.drying_belief import AHEAD, NAMES, TO_COME, Belief, even_normals, figures_of
from wareboard.clay.drying_course import curves, wandering_h
from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive

Floats = NDArray[np.float64]
LASTING = AHEAD  # the figures before the wandering ones
NUDGE = 1.0e-4  # in standard deviations, for the slopes
# A box is not the whole truth of a pot: the model may be off by this share of the water lost so far.
MODEL_APART = 0.008
CLOUD, WIDENED, LEAST_CARRYING = 4096, 1.25, 200
SURPRISING = 3.0  # standard deviations of one weighing from the course that fits best


@dataclass(frozen=True, slots=True)
class Weighing:
    """One weight of a piece: hours from the start, grams.

    Raises:
        OutOfRange: if the hours are negative, or the weight is not above 0.
    """

    hours: float
    weight_g: float

    def __post_init__(self) -> None:
        not_negative(self.hours, "hours of a weighing", "h")
        positive(self.weight_g, "weight", "g")


@dataclass(frozen=True, slots=True)
class Learned:
    """What the weighings taught.

    Attributes:
        belief: the nine figures after them.
        apart_g: each weight less the weight of the course that fits best, g.
        words: in plain words; says so when a weight does not fit.
    """

    belief: Belief
    apart_g: tuple[float, ...]
    words: str


def learned(
    piece: Piece, spells: Sequence[Spell], weighings: Sequence[Weighing], belief: Belief, scale_g: float = 1.0
) -> Learned:
    """The belief after weighings of one piece.

    Args:
        piece, spells: as for `drying`; the weighings lie within these spells.
        weighings: in any order, of one and the same piece; the start counts too, at 0 hours.
        belief: before them, as `usual_belief` gives it.
        scale_g: greatest error of one weight, g (a scale that shows whole grams has 0.5 to 1).
    Raises:
        OutOfRange: if there is no weighing, or a later weight is greater than an earlier one by more than the scale allows.
    Source: least squares with a normal prior, gelman-bda; scale error rectangular, jcgm-100 section 4.3.7.
    """
    positive(scale_g, "reading of the scale", "g")
    given = _in_order(weighings, scale_g)
    fit = _Fit.of(piece, tuple(spells), given, belief, scale_g)
    at, covariance = fit.weighed_again(*fit.found())
    to_belief = fit.to_belief()
    after = to_belief @ covariance @ to_belief.T
    after[TO_COME, TO_COME] = 1.0
    differences = -fit.misses(at[None, :])[0][: len(given)] * fit.apart_g
    words = f"own records, {len(given)} weighing{'s' if len(given) > 1 else ''}"
    return Learned(
        Belief(to_belief @ at, after, words, given[-1].hours, belief.wanders),
        tuple(float(each) for each in differences),
        _words(given, differences, fit.apart_g),
    )


@dataclass(frozen=True, slots=True)
class _Fit:
    """The least squares: unknown are the lasting figures and, at each weighing, how the air has wandered (unit normals)."""

    piece: Piece
    spells: tuple[Spell, ...]
    hours: Floats
    seen_g: Floats
    apart_g: Floats
    belief: Belief
    wander_root_h: Floats

    @classmethod
    def of(
        cls, piece: Piece, spells: tuple[Spell, ...], given: Sequence[Weighing], belief: Belief, scale_g: float
    ) -> _Fit:
        hours = np.array([each.hours for each in given])
        seen = np.array([each.weight_g for each in given])
        apart = np.hypot(scale_g / math.sqrt(3.0), MODEL_APART * np.maximum(0.0, seen.max() - seen))
        return cls(piece, spells, hours, seen, apart, belief, _square_root(_wandering_together(hours, belief.wanders)))

    @property
    def best(self) -> Floats:
        return self.belief.best[:LASTING]

    @property
    def deviations(self) -> Floats:
        """By which each unknown is nudged and scaled."""
        return np.append(np.sqrt(np.diag(self.belief.covariance)[:LASTING]), np.ones(len(self.hours)))

    def misses(self, points: Floats) -> Floats:
        """Misses in standard deviations at points of shape (m, 7 + n): n weights, then the unknowns; (m, 7 + 2 n)."""
        lasting, wander = points[:, :LASTING], points[:, LASTING:]
        padded = np.concatenate([lasting, np.zeros((len(points), len(NAMES) - LASTING))], axis=1)
        course = curves(self.piece, self.spells, figures_of(padded))
        clock = np.maximum(0.0, self.hours + wander @ self.wander_root_h.T)
        weights = np.stack([course.weight_g(clock[:, [place]]) for place in range(len(self.hours))], axis=-1)
        whitened = np.linalg.solve(_square_root(self.belief.covariance[:LASTING, :LASTING]), (lasting - self.best).T).T
        return np.concatenate([(weights - self.seen_g) / self.apart_g, whitened, wander], axis=-1)

    def slopes(self, at: Floats) -> Floats:
        steps = NUDGE * self.deviations
        both = self.misses(np.concatenate([at + np.diag(steps), at - np.diag(steps)]))
        return np.asarray((both[: len(at)] - both[len(at) :]).T / (2.0 * steps))

    def found(self) -> tuple[Floats, Floats]:
        """The best unknowns and their covariance there."""
        from scipy.optimize import least_squares

        start = np.append(self.best, np.zeros(len(self.hours)))
        found = least_squares(
            lambda at: self.misses(at[None, :])[0], start, jac=self.slopes, x_scale=self.deviations, max_nfev=100
        )
        at = np.asarray(found.x)
        jacobian = self.slopes(at)
        return at, np.asarray(np.linalg.inv(jacobian.T @ jacobian))

    def weighed_again(self, at: Floats, covariance: Floats) -> tuple[Floats, Floats]:
        """Mean and covariance of points laid about the best unknowns, each with its likelihood over its density there."""
        normals = even_normals(CLOUD, len(at))
        points = at + WIDENED * normals @ np.linalg.cholesky(covariance).T
        score = 0.5 * np.sum(normals**2, axis=-1) - 0.5 * np.sum(self.misses(points) ** 2, axis=-1)
        weight = np.exp(score - score.max())
        weight /= weight.sum()
        if 1.0 / np.sum(weight**2) < LEAST_CARRYING:
            return at, covariance  # too few points carry the weight: the linear answer stands
        mean = weight @ points
        apart = points - mean
        return mean, (apart * weight[:, None]).T @ apart

    def to_belief(self) -> Floats:
        """The matrix from the unknowns to the figures of a belief: of the weighings, only the last counts."""
        matrix = np.zeros((len(NAMES), LASTING + len(self.hours)))
        matrix[:LASTING, :LASTING] = np.eye(LASTING)
        matrix[AHEAD, LASTING:] = self.wander_root_h[-1]
        return matrix


def _wandering_together(hours: Floats, wanders: float) -> Floats:
    """Covariance of the hours ahead at several hours, h2: from the spread at each and at the time between them."""
    square = wandering_h(hours, wanders) ** 2
    return np.asarray(
        0.5 * (square[:, None] + square[None, :] - wandering_h(np.abs(hours[:, None] - hours), wanders) ** 2)
    )


def _square_root(covariance: Floats) -> Floats:
    """A matrix whose product with its own transpose is the covariance; figures known exactly get a trace of spread."""
    scale = np.sqrt(np.diag(covariance))
    scale = np.where(scale > 0.0, scale, 1e-9)
    return np.asarray(np.linalg.cholesky(covariance + np.diag((1e-9 * scale) ** 2)))


def _in_order(weighings: Sequence[Weighing], scale_g: float) -> list[Weighing]:
    given = sorted(weighings, key=lambda each: each.hours)
    if not given:
        raise OutOfRange(
            "no weighing", why="nothing can be learned from none", mend="Weigh one piece two or three times"
        )
    for before, after in pairwise(given):
        if after.weight_g > before.weight_g + 2.0 * scale_g:
            raise OutOfRange(
                f"{after.weight_g:g} g after {after.hours:g} h, {before.weight_g:g} g before it",
                why="ware does not gain weight as it dries",
                mend="See that it is the same piece, on the same scale, without bat or cover",
            )
    return given


def _words(given: Sequence[Weighing], differences: Floats, apart: Floats) -> str:
    strange = [
        f"{each.weight_g:g} g at {each.hours:g} h lies {abs(off):.1f} g off"
        for each, off, deviation in zip(given, differences, apart, strict=True)
        if abs(off) > SURPRISING * deviation
    ]
    if strange:
        return (
            "These weights do not fit any likely course: " + "; ".join(strange) + ". Weigh again, or look at the cover."
        )
    return "The weights fit one course."
