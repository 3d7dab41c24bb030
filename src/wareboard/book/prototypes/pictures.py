"""The client's pictures as they are kept: opened safely, without what a camera wrote beside them, and never thrown away."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.db import transaction
from django.utils import timezone

from wareboard.book.firings import signing
from wareboard.book.firings.models import KeptFile
from wareboard.book.firings.recording import content_of, keep_file
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.book.prototypes.models import ClientPicture
from wareboard.pictures import Picture, picture_from_bytes
from wareboard.plan.slug import slug
from wareboard.svg_lines import lines_in_svg

MOST_ACROSS = 2000
SVG = "image/svg+xml"


def keep(
    commission: Commission,
    kind: str,
    form: str,
    sent: tuple[bytes, str] | None,
    given: Mapping[str, str],
    by: Signed,
    same_as: ClientPicture | None = None,
) -> ClientPicture:
    """The mark or painting of one form, with a new file where one was sent, and the boxes as they were typed.

    Args:
        form: the form's name in the brief.
        sent: the file's bytes and its name; the kept one stays where it is None.
        same_as: another form's picture whose file is used, whichever it will be; a file that was sent goes before it.
    Raises:
        Unreadable: if what was sent is no picture (nor, for a mark, an SVG of lines), or nothing was ever sent.
        OutOfRange: if it is too large.
    """
    from wareboard.errors import Unreadable

    plain = _cleaned(kind, *sent) if sent else None
    with transaction.atomic():
        Commission.objects.select_for_update().get(pk=commission.pk)
        held = _of(commission, kind, form)
        other = None if plain else _root(same_as, held)
        if plain is None and held is None and other is None:
            raise Unreadable("the picture", "none was chosen", "Choose a file, or take a photograph")
        sent_file = keep_file(plain[0], sent[1] if sent else "", plain[1], by) if plain else None
        file = sent_file or (other.file if other else file_of(held) if held else None)
        words = _why(kind, held, sent_file is not None, other)
        if held is None:
            new = ClientPicture(
                commission=commission, kind=kind, form=form, file=file, given=dict(given), same_as=other
            )
            return signing.begin(new, words, by)
        assert file is not None  # one was sent, or is another's, or stood there
        fields = {"given": dict(given), "put_away": None, "file_id": file.pk, "same_as_id": other.pk if other else None}
        return signing.change(held, fields, words, by)


def _root(same_as: ClientPicture | None, held: ClientPicture | None) -> ClientPicture | None:
    """The picture that has the file of its own that is meant."""
    from wareboard.errors import OutOfRange

    chain = _chain(same_as) if same_as else []
    if held is not None and held in chain:
        raise OutOfRange(
            f"the {held.kind} of {held.form}, the same as that of {same_as.form if same_as else ''}",
            "that one is the same as this one already",
            "Choose a file, or another form’s",
        )
    return chain[-1] if chain else None


def _why(kind: str, held: ClientPicture | None, sent: bool, other: ClientPicture | None) -> str:
    if sent:
        return f"Picture of the {kind} changed"
    if other is not None and (held is None or held.same_as_id != other.pk):
        return f"The {kind} is the same as that of {other.form}"
    return f"Boxes of the {kind} changed"


def _cleaned(kind: str, data: bytes, name: str) -> tuple[bytes, str]:
    if kind == "mark" and data[:512].lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"):
        lines_in_svg(data, name=name)  # refuses scripts, entities and what holds no line
        return data, SVG
    return as_png(picture_from_bytes(data)), "image/png"


def as_png(picture: Picture) -> bytes:
    """The picture alone as PNG, see-through parts kept, no more than 2000 dots across."""
    from PIL import Image

    opened = Image.fromarray(picture.rgb)
    if picture.alpha is not None:
        opened.putalpha(Image.fromarray(picture.alpha))
    opened.thumbnail((MOST_ACROSS, MOST_ACROSS))
    out = io.BytesIO()
    opened.save(out, "PNG")
    return out.getvalue()


def standing(commission: Commission, kind: str, form: str) -> ClientPicture | None:
    """The picture of that kind for a form, by the form's name, if there is one."""
    found = _of(commission, kind, form)
    return found if found is not None and found.put_away is None else None


def all_of(commission: Commission, kind: str = "") -> list[ClientPicture]:
    """Every mark and painting that stands, or those of one kind, in the order in which they were first kept."""
    rows = ClientPicture.objects.select_related("file").filter(commission=commission, put_away=None).order_by("pk")
    return list(rows.filter(kind=kind) if kind else rows)


def ever(commission: Commission, kind: str, form: str) -> ClientPicture | None:
    """The picture of that kind for a form, put away or not."""
    return _of(commission, kind, form)


def file_of(picture: ClientPicture) -> KeptFile:
    """The file that is used: its own, or that of the form's whose it is the same as."""
    return _chain(picture)[-1].file


def bytes_of(picture: ClientPicture) -> bytes:
    """The file that is used, as it was kept."""
    return content_of(file_of(picture))


def move(picture: ClientPicture, form: str, by: Signed) -> ClientPicture:
    """The picture kept for another form, and put away for the one that it was for.

    Raises:
        OutOfRange: if that form has one of its own.
    """
    from wareboard.errors import OutOfRange

    with transaction.atomic():
        held = _of(picture.commission, picture.kind, form)
        if held is not None and held.put_away is None:
            raise OutOfRange(
                f"the {picture.kind} of {form}", "it has one already", "Put that away first, or leave this"
            )
        fields = {"file_id": file_of(picture).pk, "given": picture.given, "same_as_id": picture.same_as_id}
        why = f"Moved from {picture.form}"
        if held is None:
            new = ClientPicture(commission=picture.commission, kind=picture.kind, form=form, **fields)
            held = signing.begin(new, why, by)
        else:
            fields |= {"put_away": None} | ({"same_as_id": None} if picture.same_as_id == held.pk else {})
            held = signing.change(held, fields, why, by)
        for follower in ClientPicture.objects.filter(same_as=picture).exclude(pk=held.pk):
            signing.change(follower, {"same_as_id": held.pk}, f"The same as that of {form}", by)
        signing.put_away(picture, f"Moved to {form}", by)
    return held


@dataclass(frozen=True, slots=True)
class Stood:
    """A picture as it stood on a day: its own file, its boxes, and the key of the one that it was the same as."""

    kind: str
    form: str
    file_id: int
    given: Mapping[str, str]
    same_as_id: int | None


def stood_on(commission: Commission, day: date | None = None) -> dict[int, Stood]:
    """Every picture by its key as it stood at the end of a day; as it stands now where it came later, or without a day."""
    found = {}
    for row in ClientPicture.objects.filter(commission=commission).order_by("pk"):
        changes = signing.history(row) if day is not None else ()
        then = next(
            (each.after for each in changes if timezone.localtime(each.written).date() <= (day or date.max)), None
        )
        state = then or signing.state(row)
        if state["put_away"] is None:
            found[row.pk] = Stood(row.kind, row.form, state["file_id"], state["given"], state.get("same_as_id"))
    return found


def file_then(found: Mapping[int, Stood], key: int) -> KeptFile:
    """The file that one of several pictures used: its own, or that of the one that it was the same as."""
    root, last = _root_of(found, key)
    return KeptFile.objects.get(pk=found[root].file_id) if last is None else file_of(last)


def _root_of(found: Mapping[int, Stood], key: int) -> tuple[int, ClientPicture | None]:
    """The last picture of those found on the way to the one with a file of its own; and the next, where it is not found."""
    seen = {key}
    while (after := found[key].same_as_id) is not None and after not in seen:
        if after not in found:
            return key, ClientPicture.objects.get(pk=after)
        seen.add(after)
        key = after
    return key, None


def copy_all(commission: Commission, new: Commission, why: str, by: Signed, day: date | None = None) -> None:
    """Every picture kept with another commission too, with the same ones the same as each other.

    Args:
        day: as they stood then; as they stand now when left out.
    """
    found = stood_on(commission, day)
    copies: dict[int, ClientPicture] = {}
    with transaction.atomic():
        for key in sorted(found, key=lambda each: (_root_of(found, each)[0] != each, each)):
            row, root = found[key], _root_of(found, key)[0]
            copy = ClientPicture(
                commission=new, kind=row.kind, form=row.form, file=file_then(found, key), given=dict(row.given),
                same_as=copies.get(root),
            )  # fmt: skip
            copies[key] = signing.begin(copy, why, by)


def _of(commission: Commission, kind: str, form: str) -> ClientPicture | None:
    rows = ClientPicture.objects.select_related("file").filter(commission=commission, kind=kind)
    return next((row for row in rows if slug(row.form) == slug(form)), None)


def _chain(picture: ClientPicture) -> list[ClientPicture]:
    """The picture, the one that it is the same as, and so on to one with a file of its own; no one twice."""
    found = [picture]
    while (after := found[-1].same_as) is not None and after not in found:
        found.append(after)
    return found
