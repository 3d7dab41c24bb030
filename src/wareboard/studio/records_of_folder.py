"""What the records of a workshop folder teach, for a command that plans without opening the studio. Only reads."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from wareboard.errors import Unreadable
from wareboard.named_file import text_of
from wareboard.studio.settings_table import RECORDS

if TYPE_CHECKING:
    from wareboard.plan.own import Own
    from wareboard.plan.result import Plan
    from wareboard.plan.workshop import Workshop
    from wareboard.sheets.since_approval import Since

Found = TypeVar("Found")


def own_in(folder: Path, day: date, workshop: Workshop) -> Own | None:
    """The learned figures of the folder's records on that day; None where it keeps none.

    Raises:
        Unreadable: if its records are of an earlier form than this program's.
    """

    def asked() -> Own | None:
        from wareboard.book.learning.own import figures_on, own_of

        return own_of(figures_on(day, workshop))

    return _read(folder, asked)


def approval_in(folder: Path, brief_file: Path, plan: Plan) -> Since | None:
    """What the folder's records say of the approval of a brief's prototype, and what has changed since in this plan.

    The commission is the one that holds this very brief, or else the one that was taken in from the file. None where the
    folder keeps no records, has no such commission, or nothing of it is approved.

    Raises:
        Unreadable: if its records are of an earlier form than this program's.
    """

    def asked() -> Since | None:
        from wareboard.book.models import Commission, Version
        from wareboard.studio.briefs_folder import why_taken_in
        from wareboard.studio.prototypes.approval_pages import since_approval

        text = text_of(brief_file)
        versions = Version.objects.filter(text=text)
        for found in (versions, Version.objects.filter(why=why_taken_in(brief_file), number=1)):
            papers = found.values_list("paper", flat=True)
            held = Commission.objects.filter(paper__in=list(papers)).order_by("-pk").first()
            if held is not None:
                return since_approval(held, plan)
        return None

    return _read(folder, asked)


def _read(folder: Path, asked: Callable[[], Found | None]) -> Found | None:
    if not (folder / RECORDS).is_file():
        return None
    os.environ["WAREBOARD_FOLDER"] = str(folder)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "wareboard.studio.settings")
    import django
    from django.db import OperationalError, ProgrammingError

    django.setup()
    try:
        return asked()
    except (OperationalError, ProgrammingError) as problem:
        raise Unreadable(
            str(folder / RECORDS),
            f"its records cannot be read as they are ({problem})",
            "Open the studio on this folder once, which brings them up to date, or plan with --no-records",
        ) from None
