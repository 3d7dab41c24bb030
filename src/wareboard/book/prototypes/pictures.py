"""The client's pictures as they are kept: opened safely, without what a camera wrote beside them, and never thrown away."""

from __future__ import annotations

import io
from collections.abc import Mapping

from django.db import transaction

from wareboard.book.firings import signing
from wareboard.book.firings.recording import content_of, keep_file
from wareboard.book.firings.signing import Signed
from wareboard.book.models import Commission
from wareboard.book.prototypes.models import ClientPicture
from wareboard.pictures import Picture, picture_from_bytes
from wareboard.svg_lines import lines_in_svg

MOST_ACROSS = 2000
SVG = "image/svg+xml"


def keep(
    commission: Commission, kind: str, sent: tuple[bytes, str] | None, given: Mapping[str, str], by: Signed
) -> ClientPicture:
    """The commission's mark or painting, with a new file where one was sent, and the boxes as they were typed.

    Args:
        sent: the file's bytes and its name; the kept one stays where it is None.
    Raises:
        Unreadable: if what was sent is no picture (nor, for a mark, an SVG of lines), or nothing was ever sent.
        OutOfRange: if it is too large.
    """
    from wareboard.errors import Unreadable

    plain = _cleaned(kind, *sent) if sent else None
    with transaction.atomic():
        held = ClientPicture.objects.select_for_update().filter(commission=commission, kind=kind).first()
        if plain is None and held is None:
            raise Unreadable("the picture", "none was chosen", "Choose a file, or take a photograph")
        file = keep_file(plain[0], sent[1] if sent else "", plain[1], by) if plain else None
        words = f"{'Picture' if file else 'Boxes'} of the {kind} changed"
        if held is None:
            return signing.begin(
                ClientPicture(commission=commission, kind=kind, file=file, given=dict(given)), words, by
            )
        fields = {"given": dict(given), "put_away": None} | ({"file_id": file.pk} if file else {})
        return signing.change(held, fields, words, by)


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


def standing(commission: Commission, kind: str) -> ClientPicture | None:
    """The picture of that kind, if there is one."""
    return ClientPicture.objects.select_related("file").filter(commission=commission, kind=kind, put_away=None).first()


def bytes_of(picture: ClientPicture) -> bytes:
    """The kept file."""
    return content_of(picture.file)
