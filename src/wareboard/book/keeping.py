"""Keeping papers: write a version, undo, redo, bring an old one back. Every change is one short transaction."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from wareboard.book.models import Commission, Paper, Version
from wareboard.errors import WareboardError


class ChangedMeanwhile(WareboardError):
    """The paper is no longer at the version that the writer had seen."""

    def __init__(self, now: Version) -> None:
        super().__init__(
            "this was changed meanwhile",
            f"version {now.number} was written in another window ({now.why})",
            "Look at both below; keep yours, or take the other",
        )
        self.now = now


class NothingThere(WareboardError):
    """There is no version to go to."""


def start(kind: str, text: str, *, why: str, who: str, when: datetime) -> Paper:
    """A new paper with its first version."""
    with transaction.atomic():
        paper = Paper.objects.create(kind=kind)
        _add(paper, text, None, why, who, when)
    return paper


def write(paper: Paper, text: str, *, seen: int | None, why: str, who: str, when: datetime) -> Version:
    """The new version holding ``text``; the current one where the text is the same.

    Args:
        seen: key of the version that the writer had before them; None writes whatever stands there.
    Raises:
        ChangedMeanwhile: if another version has come since.
    """
    with transaction.atomic():
        held = _held(paper)
        now = _current(held)
        if seen is not None and now.pk != seen:
            raise ChangedMeanwhile(now)
        if now.text == text:
            return now
        return _add(held, text, now, why, who, when)


def undo(paper: Paper) -> Version:
    """The version before the current one, which is now the current one."""
    with transaction.atomic():
        held = _held(paper)
        before = _current(held).parent
        if before is None:
            raise NothingThere("nothing to undo", "this is the first version", "Go on from here")
        return _point(held, before)


def redo(paper: Paper) -> Version:
    """The latest version that grew out of the current one, which is now the current one."""
    with transaction.atomic():
        held = _held(paper)
        after = _current(held).children.order_by("-number").first()
        if after is None:
            raise NothingThere("nothing to redo", "this is the latest version", "Go on from here")
        return _point(held, after)


def bring_back(paper: Paper, number: int, *, who: str, when: datetime) -> Version:
    """A new version with the text of version ``number``, so that this too can be undone."""
    with transaction.atomic():
        held = _held(paper)
        old = held.versions.filter(number=number).first()
        if old is None:
            raise NothingThere(f"version {number}", "this paper has no such version", "Choose one from its history")
        now = _current(held)
        if now.text == old.text:
            return now
        return _add(held, old.text, now, f"Brought back version {number}", who, when)


def can_undo(paper: Paper) -> bool:
    """Whether there is a version before the current one."""
    return paper.current is not None and paper.current.parent_id is not None


def can_redo(paper: Paper) -> bool:
    """Whether a version grew out of the current one."""
    return paper.current is not None and paper.current.children.exists()


def new_commission(text: str, name: str, *, why: str, who: str, when: datetime) -> Commission:
    """A commission with the next free code of its year, such as 26-04."""
    with transaction.atomic():
        paper = start(Paper.Kind.BRIEF, text, why=why, who=who, when=when)
        return Commission.objects.create(code=_next_code(when), name=name[:120], paper=paper, created=when)


def rename(commission: Commission, name: str) -> None:
    """Give the commission the name its brief now has."""
    if name and commission.name != name[:120]:
        commission.name = name[:120]
        commission.save(update_fields=["name"])


def put_away(commission: Commission, when: datetime) -> None:
    """Take the commission off the list; nothing of it is lost."""
    commission.put_away = when
    commission.save(update_fields=["put_away"])


def fetch_back(commission: Commission) -> None:
    """Put the commission on the list again."""
    commission.put_away = None
    commission.save(update_fields=["put_away"])


def _next_code(when: datetime) -> str:
    stem = f"{when:%y}-"
    taken = [
        int(code.removeprefix(stem))
        for code in Commission.objects.filter(code__startswith=stem).values_list("code", flat=True)
        if code.removeprefix(stem).isdecimal()
    ]
    return f"{stem}{max(taken, default=0) + 1:02d}"


def _held(paper: Paper) -> Paper:
    return Paper.objects.select_for_update().get(pk=paper.pk)


def _current(paper: Paper) -> Version:
    if paper.current is None:
        raise NothingThere("an empty paper", "it has no version", "Restore the records from a backup")
    return paper.current


def _add(paper: Paper, text: str, parent: Version | None, why: str, who: str, when: datetime) -> Version:
    latest = paper.versions.order_by("-number").values_list("number", flat=True).first() or 0
    version = Version.objects.create(
        paper=paper, number=latest + 1, text=text, parent=parent, why=why[:200], who=who[:80], written=when
    )
    return _point(paper, version)


def _point(paper: Paper, version: Version) -> Version:
    paper.current = version
    paper.save(update_fields=["current"])
    return version
