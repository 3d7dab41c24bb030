"""A glaze's calculated expansion beside a body's measured one: which way the glaze will be pulled, where that can be told.

Better than any of it is a test on the body: crazing, shivering, freezer and boiling water.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.glaze.expansion import Expansion
from wareboard.working import Step

IN_SEVENTHS = 1e7  # 1/K to the 1e-7/K that figures are spoken of in
# Steatite, porcelain and earthenware bodies lie between these, 1e-7/K; what lies outside was written in another unit.
LEAST_BODY, MOST_BODY = 10.0, 200.0
# A body is quoted over about the same stretch as a factor set; further apart than this, the two are of unlike things.
UNLIKE_C = 150.0
# Closer than this, 1e-7/K, a set does not tell which of two glazes expands more: of pairs further apart Appen's set put
# 96 in 100 of F. P. Hall's measured glazes in the right order.
APART = 5.0


@dataclass(frozen=True, slots=True)
class Beside:
    """How far a glaze's calculated expansion lies below a body's measured one, 1e-7/K, with the words for it.

    ``pull`` is "compression" or "tension" where the whole range of the glaze lies on one side of the body, else "not told".
    """

    gap: Step
    pull: str
    words: str
    notes: tuple[str, ...]


def beside_body(glaze: Expansion, body_per_k: float, from_c: float, to_c: float) -> Beside:
    """The glaze's calculated expansion beside a body's measured one.

    A glaze that shrinks less than its body on cooling ends in compression; one that shrinks more, in tension, and crazes.

    Args:
        glaze: with its set's range, which holds nine measured glazes in ten.
        body_per_k: linear expansion of the fired body, 1/K. from_c, to_c: between which temperatures it was measured, C.
    Raises:
        OutOfRange: for a body outside 10 to 200 (1e-7/K), or temperatures the wrong way round.
    Source: common practice; difference of two figures, range of the set (``glaze/expansion_checked.csv``).
    """
    body = positive(body_per_k, "expansion of the body", "1/K") * IN_SEVENTHS
    if not LEAST_BODY <= body <= MOST_BODY:
        raise OutOfRange(
            f"expansion of the body is {body:g} x 1e-7/K",
            f"fired bodies lie between {LEAST_BODY:g} and {MOST_BODY:g}",
            "Write it in 1e-7 for each degree, linear: 6.5e-6/K is 65",
        )
    if not to_c > from_c:
        raise OutOfRange(f"measured from {from_c:g} to {to_c:g} C", "it ends no warmer than it began", "Mend the two")
    value, low, high = (each * IN_SEVENTHS for each in (glaze.value_per_k, glaze.low_per_k, glaze.high_per_k))
    gap = Step(
        "body less glaze", "body - glaze", {"body": body, "glaze": value}, body - value, glaze.factor_set,
        "1e-7/K", body - high, body - low,
    )  # fmt: skip
    pull = "compression" if body > high else "tension" if body < low else "not told"
    return Beside(gap, pull, _words(pull, glaze.factor_set), _notes(glaze, from_c, to_c))


def _words(pull: str, name: str) -> str:
    if pull == "compression":
        return "The glaze shrinks less than the body over the whole range: in compression. Too much of it shivers."
    if pull == "tension":
        return "The glaze shrinks more than the body over the whole range: in tension. Look for crazing."
    return f"It cannot be told: the body lies within what set {name} is known to be off by. A test on the body tells."


def _notes(glaze: Expansion, from_c: float, to_c: float) -> tuple[str, ...]:
    notes = ["Set beside a measurement, a set's own bias counts in full; its range allows for that."]
    if to_c - from_c < UNLIKE_C:
        notes.append(f"The body was measured over {to_c - from_c:g} degrees only; the set is for {glaze.temperature}.")
    if from_c < 573.0 < to_c:
        notes.append("Measured through 573 C: free quartz turns there, and the figure holds that step too.")
    return tuple(notes)


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A glaze tested on a body: its expansion by one set, 1e-7/K, and "none", "crazed", "shivered" or "cracked"."""

    name: str
    units: float
    outcome: str


def beside_tests(units: float, tested: Sequence[Neighbour]) -> str:
    """Where a glaze lies among those tested on one body, all by the same set, in words.

    Args:
        units: its calculated expansion, 1e-7/K. tested: the others, of the same set.
    Raises:
        OutOfRange: for an expansion that is not a number.
    Source: common practice; a glaze that expands more than one that crazed crazes too, less than one that shivered shivers
        too, as far as the set tells the order (``APART``).
    """
    positive(units, "calculated expansion", "1e-7/K")
    crazed = [each for each in tested if each.outcome == "crazed"]
    shivered = [each for each in tested if each.outcome in ("shivered", "cracked")]
    held = [each for each in tested if each.outcome == "none"]
    if worst := [each for each in crazed if units >= each.units + APART]:
        return f"It expands more than {_lowest(worst).name}, which crazed on this body: look for crazing."
    if worst := [each for each in shivered if units <= each.units - APART]:
        return f"It expands less than {_highest(worst).name}, which shivered or cracked on this body: look at rims."
    near = [each for each in (*crazed, *shivered) if abs(units - each.units) < APART]
    if near:
        return f"Too near to {near[0].name}, which {near[0].outcome} on this body, for the set to tell them apart: test it."
    if held and _lowest(held).units - APART < units < _highest(held).units + APART:
        return "It lies among glazes in which nothing was seen on this body. Test it all the same."
    return "It lies between what held and what failed on this body, or beyond all that was tested: test it."


def _lowest(tested: Sequence[Neighbour]) -> Neighbour:
    return min(tested, key=lambda each: each.units)


def _highest(tested: Sequence[Neighbour]) -> Neighbour:
    return max(tested, key=lambda each: each.units)
