"""The workshop's file, ``workshop.toml``: kept beside the records, every version of it in the book.

The file is what commands read as well, so it is the truth; a change made to it by hand is taken into the book as a version.
"""

from __future__ import annotations

import os
import tempfile
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import transaction

from wareboard.book import keeping
from wareboard.book.models import Paper, Version

EMPTY = "# The workshop's own figures. Everything here is optional; the plan says where it used a default.\n"


def place() -> Path:
    """Where the file stands."""
    folder: Path = settings.WAREBOARD.folder
    return folder / "workshop.toml"


def text() -> str:
    """The file's text, or a line of explanation where there is none."""
    file = place()
    if not file.is_file():
        return EMPTY
    whole = file.read_bytes()
    try:
        return whole.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:  # saved by an older editor; every byte is a letter there, so it can at least be shown
        return whole.decode("latin-1").replace("\r\n", "\n")


def paper(when: datetime) -> Paper:
    """The workshop's paper, with what stands in the file as its current version."""
    there = text()
    with transaction.atomic():
        found = Paper.objects.select_for_update().filter(kind=Paper.Kind.WORKSHOP).first()
        if found is None:
            return keeping.start(Paper.Kind.WORKSHOP, there, why="As found", who="", when=when)
        if found.current is None or found.current.text != there:
            keeping.write(found, there, seen=None, why="Changed outside the studio", who="", when=when)
            found.refresh_from_db()
    return found


def put(version: Version) -> None:
    """Write a version's text to the file, all of it or none."""
    file = place()
    file.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=".workshop-", suffix=".toml")
    with os.fdopen(handle, "w", encoding="utf-8") as out:
        out.write(version.text)
    Path(name).chmod(0o644)
    Path(name).replace(file)
