"""What is taken where the brief is silent: the workshop's own figure, else one learned from its records, else a default.

`Assumer` is asked for a figure by its key in ``reference/defaults.csv`` and told what the brief and the workshop say. It
hands back an `Estimate` and keeps a list of every figure that nobody typed, so that the plan can mark each as a default or
as learned; and of what was typed against the workshop's own records.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from wareboard import reference
from wareboard.plan.own import NOTHING_LEARNED, Own, OwnFigure
from wareboard.plan.workshop import Kiln
from wareboard.working import Estimate

GIVEN = "given in the brief"
OWN = "the workshop's own figure"


@dataclass(frozen=True, slots=True)
class Assumed:
    """A figure that a plan leans on and nobody typed: what it is, its value and range, and on whose word.

    ``learned`` is the workshop's own figure where records gave it; None for a default.
    """

    key: str
    label: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    learned: OwnFigure | None = None


@dataclass(frozen=True, slots=True)
class Overruled:
    """Something typed that lies outside the range of the workshop's own records; what was typed was taken."""

    typed: float
    where: str
    learned: OwnFigure


@dataclass(slots=True)
class Assumer:
    """Answers "which figure?" and remembers which answers nobody had typed."""

    own: Own = NOTHING_LEARNED
    used: dict[str, Assumed] = field(default_factory=dict)
    asked: dict[str, str] = field(default_factory=dict)
    overruled: dict[str, Overruled] = field(default_factory=dict)

    def figure(self, key: str, given: float | None = None, own: float | None = None, learned_as: str = "") -> Estimate:
        """The brief's figure, else the workshop's, else its records', else the default named ``key`` with its range.

        Args:
            key: of ``reference/defaults.csv``.
            given, own: what was typed in the brief and in the workshop's file.
            learned_as: the key of the figure learned from records, where it is not ``key`` itself.
        """
        typed, where = (given, GIVEN) if given is not None else (own, OWN)
        if typed is not None:
            self.compare(learned_as or key, typed, where)
            return Estimate(typed, typed, typed, where)
        usual = reference.default(key)
        learned = self.learned(learned_as or key)
        if learned is not None:
            self.used[learned.key] = replace(self.used[learned.key], key=key)
            return learned.estimate
        self.used[key] = Assumed(key, usual.label, usual.value, usual.low, usual.high, usual.unit, usual.source)
        return usual.estimate

    def learned(self, key: str) -> OwnFigure | None:
        """What the workshop's records say of ``key``, noted; None where they say nothing."""
        found = self._look_up(key)
        if found is not None:
            self.used[key] = Assumed(
                key, found.label, found.value, found.low, found.high, found.unit, found.source, found
            )
        return found

    def nearest(self, *keys: str) -> str:
        """The first of these keys of which the records say something, else the last; all of them count as asked for."""
        return next((key for key in keys if self._look_up(key) is not None), keys[-1])

    def compare(self, key: str, typed: float, where: str) -> None:
        """Note where what was typed lies outside the range of the workshop's own records."""
        found = self._look_up(key)
        if found is not None and not found.low <= typed <= found.high:
            self.overruled[key] = Overruled(typed, where, found)

    def _look_up(self, key: str) -> OwnFigure | None:
        self.asked[key] = self.own.print_of(key)
        return self.own.get(key)

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
