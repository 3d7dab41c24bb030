"""The client's mark where it comes on the solid of its form, at leather-hard and every later stage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange
from wareboard.plan.marked import Marked
from wareboard.plan.result import FormPlan
from wareboard.plan.solids import STAGES, factors_at, profile_at

if TYPE_CHECKING:
    from wareboard.form.solid import Part

Floats = NDArray[np.float64]
CARVED = "leather-hard"
MARKED_STAGES = STAGES[STAGES.index(CARVED) :]
OUTLINE_MM = 0.6


@dataclass(frozen=True, slots=True, eq=False)
class MarkOnSolid:
    """A mark's lines with all repeats on the wall at one stage.

    ``lines_mm`` are (n, 3), z up and the handle along x; ``squares`` (n, 3) the outward directions square to the wall there;
    ``width_mm`` how wide a line is cut, or drawn where the lines are outlines.
    """

    stage: str
    lines_mm: tuple[Floats, ...]
    squares: tuple[Floats, ...]
    width_mm: float

    def ribbon(self) -> Part:
        """The lines as an open surface just outside the wall."""
        from wareboard.form.ribbon import ribbon

        return ribbon(self.lines_mm, self.squares, self.width_mm)


def mark_on_solid(found: Marked, form: FormPlan, stage: str = "fired") -> MarkOnSolid:
    """The mark on the form's solid at a stage, everything in mm of that stage.

    Args:
        found: the mark on that form, from `plan.marked.marked`.
        form: the form it was made for.
        stage: one of `MARKED_STAGES`.
    Raises:
        OutOfRange: before leather-hard, when nothing is carved yet, or if the mark is another form's.
    Source: rolled on by `wareboard.mark.wrap`, then shrunk by the form's own shrinkage each way.
    """
    from wareboard.mark.template import on_piece
    from wareboard.mark.wall import wall_of

    if found.form != form.name:
        raise OutOfRange(f"mark on {found.form}", why=f"it is not on {form.name}", mend="Choose the form it is on")
    if stage not in MARKED_STAGES:
        raise OutOfRange(
            f"mark at stage {stage!r}", why="it is carved at leather-hard", mend="Use " + ", ".join(MARKED_STAGES)
        )
    tall, wide = (at / carved for at, carved in zip(factors_at(form, stage), factors_at(form, CARVED), strict=True))
    lines = tuple(line * np.array([wide, wide, tall]) for line in on_piece(found.made, found.places, found.from_deg))
    wall = wall_of(profile_at(form, stage))
    lean = np.column_stack([np.diff(wall.heights_mm), -np.diff(wall.radii_mm)]) / np.diff(wall.along_mm)[:, None]

    def square_to(line: Floats) -> Floats:
        radii = np.hypot(line[:, 0], line[:, 1])
        along, _ = wall.nearest(radii, line[:, 2])
        step = np.clip(np.searchsorted(wall.along_mm, along, side="right") - 1, 0, len(lean) - 1)
        out, up = lean[step].T
        return np.column_stack([out * line[:, 0] / radii, out * line[:, 1] / radii, up])

    cut = found.groove.value * wide if found.drawing.kind == "lines" else OUTLINE_MM
    return MarkOnSolid(stage, lines, tuple(square_to(line) for line in lines), cut)
