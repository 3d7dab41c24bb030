"""How long ware of a form dries in this workshop: the rough rule, set right by the workshop's own weighings."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from wareboard.plan.assume import Assumer
from wareboard.plan.own import DRYING_KEY, OwnFigure
from wareboard.working import Estimate, Step

if TYPE_CHECKING:
    from wareboard.clay.drying import RoughDrying

LEAST_LEFT = 0.05


def drying_of(thickest_mm: float, flat: bool, assume: Assumer, air: str | None = None) -> RoughDrying:
    """Hours to leather-hard, open on the shelf, and days to bone dry under a light cover; rough, or as ware dries here.

    Args:
        thickest_mm: thickest wall or floor, wet, mm; taken as the nearest that the rough figures cover.
        flat: plates and other flat ware.
        assume: knows the workshop's own factor, where weighings gave one.
        air: "dry", "usual" or "damp" where the workshop's file says so; what it says wins over the factor.
    """
    from wareboard.clay.drying import THICKEST_MM, THINNEST_MM, rough_drying

    within = min(max(thickest_mm, THINNEST_MM), THICKEST_MM)
    first, later = (rough_drying(within, cover, air or "usual", flat) for cover in ("open", "light"))
    rough = replace(later, leather_hard_h=first.leather_hard_h, steps=(first.steps[0], later.steps[1]))
    factor = assume.learned(DRYING_KEY) if air is None else None
    if factor is None:
        return rough
    soft, soft_step = _as_here("leather-hard after, as ware dries here", rough.leather_hard_h, factor, "h")
    dry, dry_step = _as_here("bone dry after, as ware dries here", rough.bone_dry_days, factor, "days")
    return replace(rough, leather_hard_h=soft, bone_dry_days=dry, steps=(*rough.steps, soft_step, dry_step))


def _as_here(name: str, usual: Estimate, factor: OwnFigure, unit: str) -> tuple[Estimate, Step]:
    """A usual time of drying, times the workshop's own factor.

    The usual range is mostly how workshops differ, which the factor has settled; what is left of it goes with the share of
    the factor that is still the usual one.
    """
    value, left = usual.value * factor.value, 1.0 - factor.share
    down = math.hypot(left * (1.0 - usual.low / usual.value), 1.0 - factor.low / factor.value)
    up = math.hypot(left * (usual.high / usual.value - 1.0), factor.high / factor.value - 1.0)
    found = Estimate(value, value * max(LEAST_LEFT, 1.0 - down), value * (1.0 + up), factor.source)
    given = {"usual": usual.value, "factor": factor.value}
    return found, Step(name, "usual * factor", given, value, factor.source, unit, found.low, found.high)
