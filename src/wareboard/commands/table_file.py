"""A CSV file that a command is given: its first line names the columns, in any order and case."""

from __future__ import annotations

import csv
import io
from collections.abc import Collection
from pathlib import Path


def rows_of(file: Path, known: Collection[str], needed: Collection[str], mend: str) -> csv.DictReader[str]:
    """The lines of a CSV file under the names of its first line, in small letters; the second line of the file comes first.

    Cells over the first line's stand under None, and what a short line has not is None, as `csv.DictReader` has it.

    Args:
        known: every column that there may be; needed: those that there must be.
        mend: what is said where the first line will not do.
    Raises:
        Unreadable: for a column that is not known, or one that is missing.
    """
    from wareboard.errors import Unreadable
    from wareboard.named_file import text_of

    rows = csv.DictReader(io.StringIO(text_of(file)))
    named = [(name or "").strip().lower() for name in rows.fieldnames or []]
    if not set(needed) <= set(named) <= set(known):
        raise Unreadable(file.name, f"its first line is {', '.join(named) or 'empty'}", mend)
    rows.fieldnames = named
    return rows
