"""How much larger a print is drawn so that it comes out true on its printer, from what its lines of 100 mm measured."""

from __future__ import annotations

import math
from dataclasses import dataclass

from wareboard.errors import OutOfRange
from wareboard.working import per_cent

CHECK_MM = 100.0
MOST_OFF = 0.05


@dataclass(frozen=True, slots=True)
class Correction:
    """How much larger a print is drawn, across and up, so that it comes out true; 1 where nothing is known."""

    across: float = 1.0
    up: float = 1.0
    printer: str = ""

    @property
    def words(self) -> str:
        """What is told on a print that is drawn larger or smaller; nothing on one that is not."""
        if (self.across, self.up) == (1.0, 1.0):
            return ""
        return f"Drawn {self.across:.4f} times across and {self.up:.4f} times up for {self.printer or 'this printer'}."

    def __post_init__(self) -> None:
        for name, factor in (("across", self.across), ("up", self.up)):
            if not (math.isfinite(factor) and 1 / (1 + MOST_OFF) - 1e-9 <= factor <= 1 / (1 - MOST_OFF) + 1e-9):
                raise OutOfRange(
                    f"correction {name} of {factor:g}",
                    why=f"no printer is out by more than {per_cent(MOST_OFF)}; it was asked to fit the page instead",
                    mend='Print at 100 %, without "fit to page", and measure again',
                )


def correction_from(
    measured_across_mm: float,
    measured_up_mm: float | None = None,
    drawn: Correction | None = None,
    printer: str = "",
) -> Correction:
    """The correction for a printer from what its lines of 100 mm measured on the paper.

    Args:
        measured_across_mm, measured_up_mm: of the two lines; the other's when left out.
        drawn: with which correction that page was printed; none when left out.
        printer: its name.
    Raises:
        OutOfRange: if the printer would be out by more than 5 %.
    Source: proportion: drawn 100 f mm, came out m mm, so the printer's own scale is m / (100 f).
    """
    before = drawn or Correction()
    up = measured_across_mm if measured_up_mm is None else measured_up_mm
    factors = []
    for name, measured, factor in (("across", measured_across_mm, before.across), ("up", up, before.up)):
        own = measured / (CHECK_MM * factor) if math.isfinite(measured) else math.nan
        if not 1 - MOST_OFF <= own <= 1 + MOST_OFF:
            raise OutOfRange(
                f"line {name} of {measured:g} mm",
                why=f"it was drawn {CHECK_MM * factor:.1f} mm long, and no printer is out by more than {per_cent(MOST_OFF)}",
                mend='Print at 100 %, without "fit to page", and measure in mm from end to end',
            )
        factors.append(1 / own)
    return Correction(factors[0], factors[1], printer)


def hundred(unit: str) -> str:
    """The length of the line that a print is checked by, in words; with its inches beside it for whoever measures so."""
    return "100 mm (3 15/16 in)" if unit == "in" else "100 mm"
