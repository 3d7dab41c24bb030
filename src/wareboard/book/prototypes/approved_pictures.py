"""The pictures that an approval holds fixed, and those that came, went or were replaced since, each by its day."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.utils import timezone

from wareboard.book.firings.models import KeptFile
from wareboard.book.models import Commission
from wareboard.book.pieces.models import Piece, PiecePhoto
from wareboard.book.prototypes import pictures
from wareboard.book.prototypes.models import Approval
from wareboard.plan.approved import NOT_THERE, Difference
from wareboard.quantities import show_day

PROTOTYPES = ("prototype", "sealed")
PHOTOGRAPH = "photograph of piece "


def pictures_of(commission: Commission) -> list[list[str]]:
    """Name and digest of every picture of the prototype: photographs of prototype pieces, each form's mark and painting."""
    photos = PiecePhoto.objects.filter(
        piece__commission=commission, piece__kind__in=PROTOTYPES, put_away=None, piece__put_away=None
    ).select_related("piece", "file")
    found = [[f"{PHOTOGRAPH}{each.piece.number}", each.file.digest] for each in photos]
    given = sorted(pictures.all_of(commission), key=lambda each: (each.kind, each.pk))
    return found + [[str(each), pictures.file_of(each).digest] for each in given]


def changed_pictures(approval: Approval) -> list[Difference]:
    """Pictures that came, went or were replaced, each told by what it shows and the day on which it was kept."""
    old = {tuple(row) for row in approval.pictures}
    new = {tuple(row) for row in pictures_of(approval.commission)}
    if old == new:
        return []
    kept, forms = _first_kept(digest for _, digest in old ^ new), _forms_of_pieces(approval.commission)
    found = []
    for name in sorted({name for name, _ in old ^ new}):
        then, now = ([kept.get(digest) for each, digest in rows if each == name] for rows in (old - new, new - old))
        to_the_minute = bool({_day(each) for each in then} & {_day(each) for each in now})
        found.append(Difference(_with_form(name, forms), _told(then, to_the_minute), _told(now, to_the_minute)))
    return found


def _first_kept(digests: Iterable[str]) -> dict[str, datetime]:
    """When each file was kept first, in the workshop's own time."""
    rows = KeptFile.objects.filter(digest__in=set(digests)).order_by("-written").values_list("digest", "written")
    return {digest: timezone.localtime(written) for digest, written in rows}


def _forms_of_pieces(commission: Commission) -> dict[str, str]:
    rows = Piece.objects.filter(commission=commission).values_list("number", "form")
    return {f"{PHOTOGRAPH}{number}": form for number, form in rows}


def _with_form(name: str, forms: dict[str, str]) -> str:
    form = forms.get(name, "")
    return f"{name} ({form})" if form else name


def _day(kept: datetime | None) -> str:
    return show_day(kept.date()) if kept else ""


def _told(kept: list[datetime | None], to_the_minute: bool) -> str:
    """The pictures on one side, by their days, and by the minute where the days alone would say the same of both sides."""
    if not kept:
        return NOT_THERE
    days = [f"{_day(each)}{f', {each:%H:%M}' if to_the_minute else ''}" for each in sorted(filter(None, kept))]
    if len(days) < len(kept):
        days.append("a day not known")
    return f"{'the one' if len(kept) == 1 else f'{len(kept)} pictures'} of {' and '.join(dict.fromkeys(days))}"
