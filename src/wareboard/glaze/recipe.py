"""A recipe in parts, and the batch to weigh out from it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from wareboard.errors import OutOfRange
from wareboard.given import positive
from wareboard.glaze.given import parts
from wareboard.working import Step, signed

# Half a step of the scale is then a tenth of the line at most.
LEAST_STEPS_A_LINE = 5
USUAL_SCALE_STEPS_G = (1.0, 0.5, 0.1, 0.01, 0.001)
ON_TOP = "common-practice"


@dataclass(frozen=True, slots=True)
class Recipe:
    """A glaze in parts by dry weight: a base, and additions counted on top of 100 parts of base."""

    name: str
    base: Mapping[str, float]
    additions: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        parts(self.base, f"the base of {self.name}")
        parts(self.additions, f"the additions of {self.name}")
        if not sum(self.base.values()) > 0:
            raise OutOfRange(
                f"recipe {self.name}", "its base holds nothing", "Give at least one material with its parts"
            )
        object.__setattr__(self, "base", MappingProxyType(dict(self.base)))
        object.__setattr__(self, "additions", MappingProxyType(dict(self.additions)))

    @property
    def base_parts(self) -> float:
        """What the parts of the base add up to."""
        return math.fsum(self.base.values())

    @property
    def sums_to_100(self) -> bool:
        """Whether the base sums to 100 parts, within 0.005."""
        return math.isclose(self.base_parts, 100.0, abs_tol=0.005)

    def to_100(self) -> Recipe:
        """The same recipe with its base brought to 100; additions keep their figures, being per cent of the base."""
        return Recipe(
            self.name, {name: 100.0 * amount / self.base_parts for name, amount in self.base.items()}, self.additions
        )

    @property
    def dry_parts(self) -> float:
        """Parts of dry mix, additions and all, to 100 parts of base."""
        return 100.0 + math.fsum(self.additions.values())

    def parts_of_all(self) -> Mapping[str, float]:
        """Every material's parts to 100 parts of base; one that stands in base and additions is added up."""
        amounts = {name: 100.0 * amount / self.base_parts for name, amount in self.base.items()}
        for name, amount in self.additions.items():
            amounts[name] = amounts.get(name, 0.0) + amount
        return amounts


@dataclass(frozen=True, slots=True)
class WeighLine:
    """One line to weigh: ``share`` is a fraction of the base, ``running_total_g`` the sum of the lines so far.

    ``scale_step_g`` is what the scale for this line reads to: small lines go on the fine one.
    """

    material: str
    share: float
    grams: float
    running_total_g: float
    is_addition: bool
    exact_g: float
    scale_step_g: float

    @property
    def rounding_g(self) -> float:
        """What rounding to the scale's step added (below 0: took away), g."""
        return self.grams - self.exact_g


@dataclass(frozen=True, slots=True)
class Batch:
    """What to weigh out. ``dry_g`` is the sum of the rounded lines; ``notes`` are things to tell the potter."""

    recipe: Recipe
    lines: tuple[WeighLine, ...]
    dry_g: float
    scale_step_g: float
    notes: tuple[str, ...]
    steps: tuple[Step, ...]


def scaled(
    recipe: Recipe,
    dry_total_g: float | None = None,
    base_g: float | None = None,
    *,
    scale_step_g: float = 0.1,
    fine_step_g: float = 0.1,
) -> Batch:
    """The batch to weigh for a weight of base, or for a dry weight with the additions in.

    The base is brought to 100 first and the additions are per cent of it, on top. Lines are rounded to the scale's step; a
    line lighter than five steps goes on the fine scale. The running total is the sum of the rounded lines.

    Args:
        dry_total_g: dry weight wanted, additions and all, g. Give this or ``base_g``, not both.
        base_g: weight of the base alone, g.
        scale_step_g: what the scale reads to, g. fine_step_g: what the scale for colouring oxides reads to, g.
    Raises:
        OutOfRange: if neither or both weights are given, a figure is not positive, or a line would be lighter than five
            steps of the finer scale (rounding could then be more than a tenth of it); the least batch is named.
    Source: additions on top of 100, common practice.
    """
    if (dry_total_g is None) == (base_g is None):
        raise OutOfRange("batch weight", "give the dry total or the base, one of the two", "Leave the other out")
    positive(scale_step_g, "scale step", "g")
    fine_g = min(scale_step_g, positive(fine_step_g, "fine scale step", "g"))
    if base_g is None:
        base_g = positive(dry_total_g or 0.0, "dry total", "g") * 100.0 / recipe.dry_parts
    positive(base_g, "base", "g")
    wanted = [(name, amount / recipe.base_parts, False) for name, amount in recipe.base.items() if amount > 0]
    wanted += [(name, amount / 100.0, True) for name, amount in recipe.additions.items() if amount > 0]
    _refuse_what_the_scale_cannot_show(recipe, wanted, base_g, fine_g)
    lines = _weighed(wanted, base_g, scale_step_g, fine_g)
    notes, steps = _notes(recipe, lines, scale_step_g), _steps(recipe, lines, base_g)
    return Batch(recipe, lines, lines[-1].running_total_g, scale_step_g, notes, steps)


def _weighed(
    wanted: list[tuple[str, float, bool]], base_g: float, scale_step_g: float, fine_g: float
) -> tuple[WeighLine, ...]:
    lines: list[WeighLine] = []
    running = 0.0
    for name, share, is_addition in wanted:
        exact_g = share * base_g
        step_g = float(scale_step_g if _shows(scale_step_g, exact_g) else fine_g)
        grams = round(math.floor(exact_g / step_g + 0.5) * step_g, 9)  # a tenth added three times is three tenths
        running = round(running + grams, 9)
        lines.append(WeighLine(name, share, grams, running, is_addition, exact_g, step_g))
    return tuple(lines)


def _shows(step_g: float, grams: float) -> bool:
    """Whether a scale reading to ``step_g`` shows ``grams`` within a tenth."""
    # A hair of room, so that the least batch that the error names is itself accepted.
    return grams >= LEAST_STEPS_A_LINE * step_g * (1 - 1e-9)


def _refuse_what_the_scale_cannot_show(
    recipe: Recipe, wanted: list[tuple[str, float, bool]], base_g: float, scale_step_g: float
) -> None:
    name, smallest, _ = min(wanted, key=lambda line: line[1])
    if _shows(scale_step_g, smallest * base_g):
        return
    enough_g = math.ceil(LEAST_STEPS_A_LINE * scale_step_g / smallest * recipe.dry_parts / 100.0)
    finer = [step for step in USUAL_SCALE_STEPS_G if _shows(step, smallest * base_g)]
    other = f", or weigh it on a scale that reads to {finer[0]:g} g" if finer else ""
    raise OutOfRange(
        f"{name} comes to {smallest * base_g:.3g} g",
        why=f"a scale that reads to {scale_step_g:g} g cannot weigh it within a tenth",
        mend=f"Mix at least {enough_g:d} g dry in all{other}",
    )


def _notes(recipe: Recipe, lines: tuple[WeighLine, ...], scale_step_g: float) -> tuple[str, ...]:
    notes = []
    if not recipe.sums_to_100:
        notes.append(f"The base added up to {recipe.base_parts:g} parts; it was brought to 100 before weighing.")
    fine = [line.material for line in lines if line.scale_step_g < scale_step_g]
    if fine:
        step_g = min(line.scale_step_g for line in lines)
        notes.append(f"Weigh {', '.join(fine)} on the scale that reads to {step_g:g} g.")
    worst = max(lines, key=lambda line: abs(line.rounding_g) / line.exact_g)
    if abs(worst.rounding_g) > 0.01 * worst.exact_g:
        notes.append(
            f"Rounding to the scale changes {worst.material} by {signed(worst.rounding_g, 2)} g "
            f"({signed(100.0 * worst.rounding_g / worst.exact_g, 1)} %)."
        )
    notes.append("Care: dust from dry glaze harms the lungs. Wear a fitted respirator, and clean up wet.")
    return tuple(notes)


def _steps(recipe: Recipe, lines: tuple[WeighLine, ...], base_g: float) -> tuple[Step, ...]:
    share = recipe.dry_parts / 100.0
    steps = [
        Step("parts of the base", "", {}, recipe.base_parts, "given", "parts", how="the base's parts added up"),
        Step(
            "dry weight, additions on top",
            "base * dry_for_base",
            {"base": base_g, "dry_for_base": share},
            base_g * share,
            ON_TOP,
            "g",
        ),
    ]
    for line in lines:
        sign = "addition, on top: " if line.is_addition else ""
        steps.append(
            Step(
                f"{sign}{line.material}",
                "floor(base * share / scale_step + 0.5) * scale_step",
                {"base": base_g, "share": line.share, "scale_step": line.scale_step_g},
                line.grams,
                ON_TOP if line.is_addition else "given",
                "g",
            )
        )
    dry_g = lines[-1].running_total_g
    steps.append(
        Step(
            "what rounding to the scale adds to the whole",
            "weighed - wanted",
            {"weighed": dry_g, "wanted": base_g * share},
            dry_g - base_g * share,
            "derived",
            "g",
        )
    )
    return tuple(steps)
