"""Which of the workshop's fillers fit in the gaps of a planned load: a proposal, for a person to take or leave."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from wareboard.plan.workshop import Filler

if TYPE_CHECKING:
    from wareboard.kiln.fillers import Filled
    from wareboard.kiln.inside import Load
    from wareboard.plan.result import FiringPlan

USUAL_MOST = 12  # of one filler in a load where the file does not say; from memory


def fillers_for(firing: FiringPlan, load: Load, fillers: Sequence[Filler]) -> tuple[Filled, ...]:
    """The fillers that this firing takes, in the gaps of one of its loads; sizes are taken as the file has them."""
    from wareboard.kiln.fillers import Filler as Small
    from wareboard.kiln.fillers import fill_gaps

    fit = [
        Small(each.name, each.across, each.height, USUAL_MOST if each.most is None else each.most)
        for each in fillers
        if each.firing in (None, firing.kind) and each.most != 0
    ]
    return fill_gaps(load, firing.inside, firing.loads.gap_mm, fit) if fit else ()


def filler_words(found: Sequence[Filled], load: Load) -> str:
    """What goes on which shelf: "shelf 1: 3 × Test tile; shelf 2: 1 × Ring"; empty where nothing fits."""
    counts: dict[int, dict[str, int]] = {}
    for each in found:
        on = counts.setdefault(each.shelf, {})
        on[each.filler.name] = on.get(each.filler.name, 0) + 1
    halves = any(layout.half for layout in load)

    def named(at: int) -> str:
        side = f" {'left' if load[at].half == 0 else 'right'}" if halves else ""
        return f"shelf {load[at].level + 1}{side}"

    return "; ".join(
        f"{named(at)}: " + ", ".join(f"{count} × {name}" for name, count in on.items())
        for at, on in sorted(counts.items())
    )
