"""A liner poured in and dumped out again, and a bucket topped up: what the ware keeps, what comes back, what it does.

Slip that is dumped out of dry ware comes back a little thicker or thinner than it went in, so it is weighed; water is
drawn into the bisque along with the layer that stays.
"""

from __future__ import annotations

from dataclasses import dataclass

from wareboard.errors import OutOfRange
from wareboard.given import not_negative, positive
from wareboard.working import Step


@dataclass(frozen=True, slots=True)
class Poured:
    """What a run of poured pieces kept and gave back, ml of slip."""

    kept_ml: float
    each_ml: float
    back_share: float
    steps: tuple[Step, ...]


def poured(poured_ml: float, dumped_ml: float, pieces: int) -> Poured:
    """What each piece kept of a liner that was poured in and dumped out again, and the share that came back.

    Only what the ware keeps counts as used: what is dumped goes back through the sieve.

    Args:
        poured_ml: poured in, all pieces together. dumped_ml: caught again. pieces: how many.
    Raises:
        OutOfRange: for volumes that cannot be, more dumped than poured, or no piece.
    Source: conservation of volume.
    """
    positive(poured_ml, "slip poured in", "ml")
    not_negative(dumped_ml, "slip dumped out", "ml")
    positive(pieces, "pieces")
    if dumped_ml > poured_ml:
        raise OutOfRange(
            f"{dumped_ml:g} ml dumped of {poured_ml:g} ml poured", "ware keeps some of it", "Measure both again"
        )
    inputs = {"poured": poured_ml, "dumped": dumped_ml}
    kept = poured_ml - dumped_ml
    each = Step("slip one piece kept", "(poured - dumped) / pieces", inputs | {"pieces": float(pieces)},
                kept / pieces, "own records", "ml")  # fmt: skip
    share = Step("came back, of what was poured", "100 * dumped / poured", inputs, 100 * dumped_ml / poured_ml,
                 "own records", "%")  # fmt: skip
    return Poured(kept, each.value, dumped_ml / poured_ml, (each, share))


@dataclass(frozen=True, slots=True)
class Joined:
    """Two slips of one glaze stirred together."""

    volume_ml: float
    specific_gravity: float
    steps: tuple[Step, ...]


def topped_up(volume_ml: float, gravity: float, added_ml: float, added_gravity: float) -> Joined:
    """What stands in a bucket after slip of another density is stirred in: dumped slip back, or a fresh batch on top.

    Args:
        volume_ml, gravity: what stands in the bucket. added_ml, added_gravity: what is stirred in.
    Raises:
        OutOfRange: for volumes below 0, nothing at all, or a gravity below that of water.
    Source: conservation of mass and volume.
    """
    not_negative(volume_ml, "slip in the bucket", "ml")
    not_negative(added_ml, "slip stirred in", "ml")
    for value, name in (
        (gravity, "specific gravity in the bucket"),
        (added_gravity, "specific gravity of what is added"),
    ):
        positive(value, name)
        if value < 1.0:
            raise OutOfRange(f"{name} is {value:g}", "slip is no lighter than water", "Weigh a known volume again")
    whole = positive(volume_ml + added_ml, "slip in all", "ml")
    inputs = {"there": volume_ml, "its_gravity": gravity, "added": added_ml, "added_gravity": added_gravity}
    now = (volume_ml * gravity + added_ml * added_gravity) / whole
    return Joined(whole, now, (
        Step("slip in all", "there + added", {"there": volume_ml, "added": added_ml}, whole, "derived", "ml"),
        Step("specific gravity after stirring", "(there * its_gravity + added * added_gravity) / (there + added)",
             inputs, now, "derived"),
    ))  # fmt: skip


def top_up_ml(need_ml: float, stock_ml: float, dead_ml: float = 0.0) -> Step:
    """Fresh slip to stir in so that the bucket does what is still to do, ml; 0 where it does already.

    Args:
        need_ml: slip that the pieces still to do will take. stock_ml: in the bucket. dead_ml: what cannot be used.
    Raises:
        OutOfRange: for volumes below 0.
    Source: conservation of volume.
    """
    inputs = {
        "need": not_negative(need_ml, "slip still needed", "ml"),
        "stock": not_negative(stock_ml, "slip in the bucket", "ml"),
        "dead": not_negative(dead_ml, "what cannot be used", "ml"),
    }
    value = max(0.0, need_ml + dead_ml - stock_ml)
    return Step("slip to top up with", "max(0, need + dead - stock)", inputs, value, "derived", "ml")
