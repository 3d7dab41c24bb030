"""How much more a part shrinks that was thrown wetter than the rest of its pot."""

from __future__ import annotations

from wareboard.given import share
from wareboard.working import Step

CLAY_SOLIDS_G_PER_ML = 2.6  # kaolinite and its like, without pores; from memory


def wetter(shrinkage: float, water_share: float, other_share: float, what: str = "lid") -> Step:
    """Total linear shrinkage of clay thrown at another moisture than that whose shrinkage is known.

    While it is plastic its pores are full, so that each gram of water is a millilitre of its volume; both come to one size
    once fired. Good to about the point between which potters tell wet from stiff; below leather-hard it does not hold.

    Args:
        shrinkage: of the clay whose shrinkage is known, share of its wet length.
        water_share: its water when it was measured, share of its wet weight.
        other_share: the water of the part.
        what: the part in plain words.
    Raises:
        OutOfRange: if a share is no fraction from 0 up to 1.
    Source: volume of solids and water of a saturated body (any text on clay drying); solids 2.6 g/ml, from memory.
    """
    known = share(shrinkage, "shrinkage", "the wet length")
    given = {
        "shrinkage": known,
        "water": share(water_share, "water", "the wet weight"),
        "water_of_part": share(other_share, f"water of the {what}", "the wet weight"),
        "solids": CLAY_SOLIDS_G_PER_ML,
    }
    before, after = (1 / CLAY_SOLIDS_G_PER_ML + wet / (1 - wet) for wet in (water_share, other_share))
    return Step(
        f"{what}: shrinkage at its own moisture",
        "1 - (1 - shrinkage) * ((1 / solids + water / (1 - water)) / (1 / solids + water_of_part / (1 - water_of_part)))"
        " ** (1 / 3)",
        given,
        1 - (1 - known) * (before / after) ** (1 / 3),
        "from memory",
    )
