"""The workshop's own figures as a plan takes them: learned from records, each with its range, how many records, and why.

What was typed in the brief or the workshop's file wins over these; these win over the usual figures. Keys are those of
``reference/defaults.csv``, followed where a figure belongs to one clay, glaze or kiln by a stroke and its plain name:
``shrinkage.height/stoneware-b``, ``glaze.dry_g_per_cm2/white``.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from wareboard.plan.slug import slug
from wareboard.working import Estimate

# Below this share of the answer a figure is still the usual one, moved a little; nobody calls it theirs.
CALLED_OWN = 0.5


@dataclass(frozen=True, slots=True)
class OwnFigure:
    """One figure learned from records: value and 90 % range, what it was learned from, and the usual figure it began from.

    ``records`` says how many of what ("14 pieces"); ``share`` is the part of the answer that comes from them, 0 to 1.
    """

    key: str
    label: str
    value: float
    low: float
    high: float
    unit: str
    records: str
    share: float
    usual: float
    usual_low: float
    usual_high: float
    usual_source: str

    @property
    def is_yours(self) -> bool:
        """Whether most of the answer comes from the workshop's own records."""
        return self.share >= CALLED_OWN

    @property
    def source(self) -> str:
        """Whose figure it is, as every line of working that leans on it says."""
        if self.is_yours:
            return f"yours, from {self.records}"
        return f"the usual figure, moved by {self.records} of yours"

    @property
    def estimate(self) -> Estimate:
        """The figure with its range."""
        return Estimate(self.value, self.low, self.high, self.source)

    @property
    def print(self) -> str:
        """What changes when the figure does."""
        return f"{self.value:.6g} {self.low:.6g} {self.high:.6g} {self.source}"


@dataclass(frozen=True, slots=True)
class Own:
    """Every figure of a workshop's own that a plan may lean on, by key."""

    figures: Mapping[str, OwnFigure] = field(default_factory=dict)

    @classmethod
    def of(cls, figures: Iterable[OwnFigure]) -> Own:
        """These figures, each under its key."""
        return cls({each.key: each for each in figures})

    def get(self, key: str) -> OwnFigure | None:
        """The figure of that key; None where nothing was learned."""
        return self.figures.get(key)

    def print_of(self, key: str) -> str:
        """What a plan that asked for ``key`` depends on: empty where nothing was learned."""
        found = self.figures.get(key)
        return found.print if found else ""

    def agrees(self, leans: Mapping[str, str]) -> bool:
        """Whether a plan that leant on these prints, by key, would lean on the same now."""
        return all(self.print_of(key) == print_then for key, print_then in leans.items())

    @property
    def print(self) -> str:
        """A digest of all figures together."""
        whole = json.dumps({key: each.print for key, each in sorted(self.figures.items())})
        return hashlib.sha256(whole.encode()).hexdigest() if self.figures else ""

    def as_plain(self) -> list[dict[str, Any]]:
        """The figures as plain data, to be kept with a commission."""
        return [asdict(each) for _, each in sorted(self.figures.items())]

    @classmethod
    def from_plain(cls, kept: Iterable[Mapping[str, Any]]) -> Own:
        """The figures that `as_plain` gave."""
        return cls.of(OwnFigure(**each) for each in kept)


NOTHING_LEARNED = Own()


def shrinkage_key(direction: str, clay: str, form: str = "") -> str:
    """The key of a clay's shrinkage in ``height`` or ``width``, or of one form's in that clay."""
    return "/".join(part for part in (f"shrinkage.{direction}", slug(clay) or "unnamed", slug(form)) if part)


def of_a_form(key: str, form: str) -> str:
    """The key of one form's own figure, where a kind of form has one."""
    return f"{key}/{slug(form)}"


def pick_up_key(glaze: str) -> str:
    """The key of a glaze's dry weight on the surface."""
    return f"glaze.dry_g_per_cm2/{slug(glaze)}"


def energy_key(kind: str, kiln: str) -> str:
    """The key of what a kiln takes over what is usually reckoned, for bisque or glaze firings."""
    return f"kiln.energy_factor.{kind}/{slug(kiln)}"


def hours_key(kind: str, kiln: str) -> str:
    """The key of the hours that a kiln takes to the top over its schedule's, for bisque or glaze firings."""
    return f"kiln.hours_factor.{kind}/{slug(kiln)}"


def wall_key(kiln: str) -> str:
    """The key of how many times as much as brick of 64 mm a kiln's wall conducts, by fits to its logs."""
    return f"kiln.wall_factor/{slug(kiln)}"


DRYING_KEY = "drying.factor"
