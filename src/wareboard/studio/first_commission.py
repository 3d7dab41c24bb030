"""Handing a brief to the records from outside the pages, so that the studio opens with something on the boards."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from wareboard.book.models import Commission


def keep_if_empty(folder: Path, text: str, why: str, then: Callable[[Commission], None] | None = None) -> bool:
    """Keep the brief as the first commission of a workshop folder; False, and nothing changed, where there is one already.

    Args:
        then: what is to be kept with it, called with the new commission.
    Raises:
        Unreadable: if the folder cannot be used.
    """
    from wareboard.studio.serve import make_ready

    make_ready(folder)
    from wareboard.book import keeping
    from wareboard.book.models import Commission
    from wareboard.studio.naming import name_in
    from wareboard.studio.today import now

    if Commission.objects.exists():
        return False
    begun = keeping.new_commission(text, name_in(text), why=why, who="", when=now())
    if then is not None:
        then(begun)
    return True
