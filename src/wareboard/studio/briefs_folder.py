"""Briefs that lie as files in the workshop folder, taken in once each when the studio starts."""

from __future__ import annotations

import logging
from pathlib import Path

from django.db import transaction

from wareboard.book import keeping
from wareboard.book.models import Commission, Version
from wareboard.errors import WareboardError
from wareboard.named_file import text_of
from wareboard.plan.reading import read_brief
from wareboard.studio.naming import name_in
from wareboard.studio.today import now

FOLDER = "briefs"
log = logging.getLogger(__name__)


def take_in(folder: Path) -> list[Commission]:
    """A commission for each ``briefs/*.toml`` that none was begun from yet; one that cannot be read is left and logged."""
    found = []
    for file in sorted((folder / FOLDER).glob("*.toml")):
        why = why_taken_in(file)
        if Version.objects.filter(why=why, number=1).exists():
            continue
        try:
            text = text_of(file)
            if Version.objects.filter(text=text).exists():  # the same brief came in some other way
                continue
            read_brief(text)
        except WareboardError as problem:
            log.warning("%s was not taken in: %s", file.name, problem)
            continue
        begun = keeping.new_commission(text, name_in(text), why=why, who="", when=now())
        keep_pictures(begun, text, file.parent)
        found.append(begun)
    return found


def why_taken_in(file: Path) -> str:
    """What the first version of a commission says that was begun from this file."""
    return f"Taken in from {FOLDER}/{file.name}"


def keep_pictures(commission: Commission, text: str, folder: Path) -> None:
    """Keep the pictures that a commission's brief names; what cannot be used is logged, and the page asks for it."""
    from wareboard.book.firings.signing import Signed
    from wareboard.studio.prototypes.named_pictures import keep_named

    try:
        with transaction.atomic():
            keep_named(commission, read_brief(text), folder, Signed("", now()))
    except WareboardError as problem:
        log.warning("%s: its pictures were not taken in: %s", commission.code, problem)
