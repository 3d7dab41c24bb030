"""The size at which a mark is drawn on leather-hard clay so that it comes out of the fire as asked.

Lengths in mm; shares of shrinkage stand on the wet length, as everywhere in the trade's sheets. Up and across shrink apart.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from wareboard.errors import OutOfRange
from wareboard.given import positive, share
from wareboard.reference import rows
from wareboard.working import Estimate, Step

STAGES = ("wet", "leather-hard", "dry", "bisque", "fired")
NO_STAGES: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Shrinkage:
    """Shares of the wet length gone in one direction: by leather-hard, in all, and at other stages where known.

    Raises:
        OutOfRange: if a share is no fraction from 0 up to 1, a stage has no such name, or the shares fall as stages
            go on.
    """

    total: float
    leather_hard: float
    between: Mapping[str, float] = field(
        default_factory=lambda: NO_STAGES
    )  # "dry", "bisque": shares of the wet length gone by then

    def __post_init__(self) -> None:
        gone, earlier = 0.0, "wet"
        for stage in STAGES[1:]:
            if (here := self._given(stage)) is None:
                continue
            share(here, f"shrinkage by {stage}", "the wet length")
            if here < gone - 1e-12:
                raise OutOfRange(
                    f"shrinkage by {stage} is {here:g}",
                    why=f"by {earlier} it was {gone:g} already, and clay does not grow back",
                    mend="Give every share on the wet length, adding up from stage to stage",
                )
            gone, earlier = here, stage
        strange = set(self.between) - {"dry", "bisque"}
        if strange:
            raise OutOfRange(f"stage {min(strange)!r}", why="no such stage is kept between", mend="Use dry or bisque")

    def _given(self, stage: str) -> float | None:
        return {"leather-hard": self.leather_hard, "fired": self.total, **self.between}.get(stage)

    @property
    def to_come(self) -> float:
        """Leather-hard length for each fired mm: what the drawing is multiplied by."""
        return (1.0 - self.leather_hard) / (1.0 - self.total)


@dataclass(frozen=True, slots=True)
class MarkSize:
    """One mark fired and at leather-hard, mm, and the working of both directions, stage by stage and back."""

    fired_width_mm: float
    fired_height_mm: float
    width_mm: float
    height_mm: float
    width_factor: float
    height_factor: float
    steps: tuple[Step, ...]


def leather_hard_size(
    fired_width_mm: float, fired_height_mm: float, across: Shrinkage, up: Shrinkage | None = None
) -> MarkSize:
    """Size at leather-hard of a mark that is to be so wide and so high when fired.

    Args:
        fired_width_mm, fired_height_mm: wanted fired size, mm, above 0.
        across, up: shrinkage round the piece and up its wall; ``up`` as ``across`` when left out.
    Raises:
        OutOfRange: if a size is not a finite number above 0.
    Source: definition, leather-hard = fired (1 - s so far) / (1 - s total).
    """
    upwards = across if up is None else up
    width, width_steps = _traced(fired_width_mm, across, "width of the mark")
    height, height_steps = _traced(fired_height_mm, upwards, "height of the mark")
    return MarkSize(
        fired_width_mm, fired_height_mm, width, height, across.to_come, upwards.to_come, (*width_steps, *height_steps)
    )


def _traced(fired_mm: float, shrinkage: Shrinkage, what: str) -> tuple[float, list[Step]]:
    """The leather-hard length, with a step for every stage that is known, from asked size to wet and on to fired."""
    positive(fired_mm, f"fired {what}", "mm")
    wet = fired_mm / (1.0 - shrinkage.total)
    given = {"fired_mm": fired_mm, "shrinkage": shrinkage.total}
    steps = [Step(f"{what}, had it been drawn wet", "fired_mm / (1 - shrinkage)", given, wet, "definition", unit="mm")]
    leather_hard = fired_mm * shrinkage.to_come
    both = {"fired_mm": fired_mm, "gone": shrinkage.leather_hard, "shrinkage": shrinkage.total}
    formula = "fired_mm * (1 - gone) / (1 - shrinkage)"
    steps.append(
        Step(f"{what}, leather-hard", formula, both, leather_hard, "definition", unit="mm", key="leather-hard")
    )
    before, gone = leather_hard, shrinkage.leather_hard
    for stage in STAGES[2:]:
        here = shrinkage._given(stage)
        if here is None:
            continue
        after = before * (1.0 - here) / (1.0 - gone)
        inputs = {"before_mm": before, "gone": gone, "then": here}
        steps.append(
            Step(
                f"{what}, {stage}",
                "before_mm * (1 - then) / (1 - gone)",
                inputs,
                after,
                "definition",
                unit="mm",
                key=stage,
            )
        )
        before, gone = after, here
    return leather_hard, steps


def figure(name: str) -> Estimate:
    """One of the usual figures for grooves, with its range and source, from ``mark/grooves``."""
    row = next(row for row in rows("mark/grooves") if row["figure"] == name)
    return Estimate(float(row["value"]), float(row["low"]), float(row["high"]), row["source"])


def greatest_depth(wall_mm: float, of_wall: float | None = None) -> Step:
    """How deep to carve at most, mm, in a wall as thick as it is at leather-hard.

    Args:
        wall_mm: thickness of the leather-hard wall, mm, above 0.
        of_wall: share of the wall; about a third when left out.
    Raises:
        OutOfRange: if the wall is not a finite number above 0, or the share no fraction.
    Source: at most a third of the wall, common practice.
    """
    positive(wall_mm, "wall", "mm")
    usual = figure("greatest depth of the wall")
    part = usual.value if of_wall is None else share(of_wall, "depth", "the wall")
    source = usual.source if of_wall is None else "given"
    inputs = {"wall_mm": wall_mm, "part": part}
    return Step("greatest depth of carving", "wall_mm * part", inputs, wall_mm * part, source, unit="mm", key="depth")


def least_groove(across: Shrinkage, fired_mm: float | None = None) -> Step:
    """Narrowest groove at leather-hard, mm, that does not fill with glaze once fired.

    Args:
        across: shrinkage across the groove.
        fired_mm: least width fired, mm; the usual one when left out.
    Raises:
        OutOfRange: if the width is not a finite number above 0.
    Source: ``mark/grooves``; 0.8 to 1.5 mm fired, from memory.
    """
    usual = figure("least groove width")
    width = usual.value if fired_mm is None else positive(fired_mm, "least groove", "mm")
    inputs = {"fired_mm": width, "gone": across.leather_hard, "shrinkage": across.total}
    return Step(
        "narrowest groove, leather-hard",
        "fired_mm * (1 - gone) / (1 - shrinkage)",
        inputs,
        width * across.to_come,
        "given" if fired_mm is not None else usual.source,
        unit="mm",
        low=usual.low * across.to_come if fired_mm is None else None,
        high=usual.high * across.to_come if fired_mm is None else None,
        key="groove",
    )
