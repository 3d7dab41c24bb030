"""What is taken where the brief is silent: the workshop's own figure, else a sourced default; each one noted.

`Assumer` is asked for a figure by its key in ``reference/defaults.csv`` and told what the brief and the workshop say. It
hands back an `Estimate` and keeps a list of every default it had to use, so that the plan can mark them as defaults.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from wareboard import reference
from wareboard.plan.workshop import Kiln
from wareboard.working import Estimate

GIVEN = "given in the brief"
OWN = "the workshop's own figure"


@dataclass(frozen=True, slots=True)
class Assumed:
    """A default that a plan leans on: what it is, its value and usual range, and on whose word."""

    key: str
    label: str
    value: float
    low: float
    high: float
    unit: str
    source: str


@dataclass(slots=True)
class Assumer:
    """Answers "which figure?" and remembers which answers were defaults."""

    used: dict[str, Assumed] = field(default_factory=dict)

    def figure(self, key: str, given: float | None = None, own: float | None = None) -> Estimate:
        """The brief's figure, else the workshop's, else the default named ``key`` with its range."""
        if given is not None:
            return Estimate(given, given, given, GIVEN)
        if own is not None:
            return Estimate(own, own, own, OWN)
        usual = reference.default(key)
        self.used[key] = Assumed(key, usual.label, usual.value, usual.low, usual.high, usual.unit, usual.source)
        return usual.estimate

    def note(self, key: str, label: str, value: float, unit: str, source: str = "common-practice") -> None:
        """Keep a default that is a choice rather than a figure of the table."""
        self.used[key] = Assumed(key, label, value, value, value, unit, source)

    @property
    def assumed(self) -> tuple[Assumed, ...]:
        return tuple(self.used.values())


def roomiest(kilns: Sequence[Kiln]) -> tuple[float, float]:
    """The widest shelf and the greatest usable height among the kilns, mm; the default kiln's where none is given."""
    shelf, height = reference.default("kiln.shelf_mm").value, reference.default("kiln.height_mm").value
    if not kilns:
        return shelf, height
    widths = [kiln.shelf_diameter or max(kiln.shelf_width or 0.0, kiln.shelf_depth or 0.0) or shelf for kiln in kilns]
    return max(widths), max(kiln.usable_height or height for kiln in kilns)
