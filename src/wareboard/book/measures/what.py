"""What can be measured at the bench: its words, its unit, and between which ends a reading is possible at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from wareboard.errors import NotInTable

WEIGHT, HEIGHT, WIDTH, MOUTH, FOOT = "weight", "height", "width", "mouth", "foot"
WEIGH_IN, PICK_UP, DENSITY = "weigh-in", "pick-up", "slip density"
TEMPERATURE, HUMIDITY = "room temperature", "room humidity"


@dataclass(frozen=True, slots=True)
class What:
    """One thing that is measured.

    ``of_a_form``: it belongs to a form at a stage; ``least``, ``most``: beyond these it is a slip of the hand, in ``unit``;
    ``step``: one tap of the stepper, in ``shown`` (the unit that people write, such as % for a share).
    """

    name: str
    words: str
    unit: str
    of_a_form: bool
    least: float
    most: float
    step: float
    shown: str

    def show(self, value: float) -> str:
        """The value as people read it, with its unit."""
        if self.name == HUMIDITY:
            return f"{100.0 * value:.0f} %"
        digits = 3 if self.name == DENSITY else 1
        return f"{value:.{digits}f} {self.shown}".replace(".0 ", " ")


_ALL = (
    What(WEIGHT, "Weight", "g", True, 0.0, 100_000.0, 1.0, "g"),
    What(HEIGHT, "Height", "mm", True, 0.0, 2_000.0, 0.5, "mm"),
    What(MOUTH, "Mouth", "mm", True, 0.0, 2_000.0, 0.5, "mm"),
    What(FOOT, "Foot", "mm", True, 0.0, 2_000.0, 0.5, "mm"),
    What(WIDTH, "Widest", "mm", True, 0.0, 2_000.0, 0.5, "mm"),
    What(WEIGH_IN, "Drying weigh-in", "g", True, 0.0, 100_000.0, 1.0, "g"),
    What(PICK_UP, "Glaze pick-up", "g", False, 0.0, 5_000.0, 0.1, "g"),
    What(DENSITY, "Slip density", "g/ml", False, 0.9, 3.0, 0.01, "g/ml"),
    What(TEMPERATURE, "Room temperature", "°C", False, -30.0, 60.0, 0.5, "°C"),
    What(HUMIDITY, "Room humidity", "", False, 0.0, 1.0, 1.0, "%"),
)
KNOWN: Mapping[str, What] = {each.name: each for each in _ALL}
OF_A_FORM = tuple(each for each in _ALL if each.of_a_form)
SIZES = (HEIGHT, MOUTH, FOOT, WIDTH)
CHARTED = (WEIGHT, *SIZES)
# Wheel-thrown ware shrinks unlike in height and across: everything measured across is a width.
DIRECTION = {HEIGHT: "height", MOUTH: "width", FOOT: "width", WIDTH: "width"}


def what(name: str) -> What:
    """What is measured under that name.

    Raises:
        NotInTable: if nothing is.
    """
    if name not in KNOWN:
        raise NotInTable(f"measurement {name[:20]!r}", "nothing is measured under it", "Choose from the page")
    return KNOWN[name]
