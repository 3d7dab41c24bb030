"""What the records of a workshop folder teach, for a command that plans without opening the studio. Only reads."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from wareboard.errors import Unreadable
from wareboard.studio.settings_table import RECORDS

if TYPE_CHECKING:
    from wareboard.plan.own import Own
    from wareboard.plan.workshop import Workshop


def own_in(folder: Path, day: date, workshop: Workshop) -> Own | None:
    """The learned figures of the folder's records on that day; None where it keeps none.

    Raises:
        Unreadable: if its records are of an earlier form than this program's.
    """
    if not (folder / RECORDS).is_file():
        return None
    os.environ["WAREBOARD_FOLDER"] = str(folder)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "wareboard.studio.settings")
    import django
    from django.db import OperationalError, ProgrammingError

    django.setup()
    from wareboard.book.learning.own import figures_on, own_of

    try:
        return own_of(figures_on(day, workshop))
    except (OperationalError, ProgrammingError) as problem:
        raise Unreadable(
            str(folder / RECORDS),
            f"its records cannot be read as they are ({problem})",
            "Open the studio on this folder once, which brings them up to date, or plan with --no-records",
        ) from None
