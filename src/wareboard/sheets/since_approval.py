"""What the foot of every sheet says of the approved prototype, and the list of what has changed since."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from wareboard.plan.approved import Difference
from wareboard.sheets.data import day


@dataclass(frozen=True, slots=True)
class Since:
    """The day of the approval, and everything that is no longer as it was approved."""

    approved: date
    changed: tuple[Difference, ...] = ()

    def for_sheets(self) -> Mapping[str, Any]:
        """What every sheet's data carries: one line for the foot, and rows of what, then and now."""
        if self.changed:
            things = "1 thing is" if len(self.changed) == 1 else f"{len(self.changed)} things are"
            words = f"Changed since approval on {day(self.approved)}: {things} listed at the end of this sheet."
        else:
            words = f"As approved on {day(self.approved)}: nothing has changed since."
        return {"approved": {"words": words, "changed": [[each.name, each.then, each.now] for each in self.changed]}}


def told(since: Since | None) -> Mapping[str, Any]:
    """What a sheet's data carries of the approval; nothing where none is known."""
    return since.for_sheets() if since else {}
