"""Photographs of boards: made smaller, turned upright, without the place, time and owner that a camera writes into them."""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from wareboard.book.boards.asking import KEY
from wareboard.book.boards.codes import read_code
from wareboard.book.boards.models import Board, Entry, Photo
from wareboard.errors import NotInTable, OutOfRange, Unreadable
from wareboard.pictures import picture_from_bytes

LARGEST_BYTES = 40_000_000
SIDE, SMALL_SIDE = 2000, 320


@dataclass(frozen=True, slots=True)
class Shrunk:
    """A picture as it is kept, its small copy, and its size before, bytes."""

    content: bytes
    small: bytes
    before: int


def too_large(size: int) -> OutOfRange | None:
    """What is wrong with a file of so many bytes, or nothing: asked before it is read."""
    if size <= LARGEST_BYTES:
        return None
    return OutOfRange(
        f"a photograph of {size / 1e6:.0f} MB",
        f"{LARGEST_BYTES / 1e6:.0f} MB is the most",
        "Send it from the bench's page with scripts, which makes it smaller first, or take a smaller one",
    )


def shrunk(data: bytes) -> Shrunk:
    """The picture no more than 2000 px wide or high, as JPEG of nothing but the picture.

    Raises:
        OutOfRange: if it is larger than 40 MB, or more dots than `wareboard.pictures` unpacks.
        Unreadable: if it is no picture of a kind that is read, or is broken.
    """
    if (trouble := too_large(len(data))) is not None:
        raise trouble
    from PIL import Image

    upright = Image.fromarray(picture_from_bytes(data).rgb)
    return Shrunk(_jpeg(upright, SIDE, 84), _jpeg(upright, SMALL_SIDE, 76), len(data))


def _jpeg(picture: object, side: int, quality: int) -> bytes:
    from PIL import Image

    assert isinstance(picture, Image.Image)
    fitted = picture.copy()
    fitted.thumbnail((side, side))
    out = io.BytesIO()
    fitted.save(out, "JPEG", quality=quality)  # nothing is handed on but the pixels
    return out.getvalue()


def keep_photograph(
    key: str, board_code: str, data: bytes, words: str, who: str, happened: datetime, now: datetime, entry_key: str = ""
) -> tuple[Photo, bool]:
    """The photograph kept for a board, once by its key, and whether it was there already.

    Args:
        entry_key: the key of the entry that it shows, if it is of one.
    Raises:
        Unreadable, OutOfRange, NotInTable: what is wrong with it, by name.
    """
    if not KEY.fullmatch(key):
        raise Unreadable(
            "the photograph has no key of its own", "sent twice it would be kept twice", "Load the page again"
        )
    found = Photo.objects.filter(key=key).select_related("board").first()
    if found is not None:
        return found, True
    code = read_code(board_code)
    board = Board.objects.filter(code=code).first()
    if board is None:
        raise NotInTable(f"board {code}", "there is no board of that code", "Look it up on the bench page")
    picture = shrunk(data)
    made = {
        "board": board,
        "entry": Entry.objects.filter(key=entry_key, board=board).first() if entry_key else None,
        "words": " ".join(words.split())[:200],
        "stage": board.stage,
        "kind": "image/jpeg",
        "digest": hashlib.sha256(picture.content).hexdigest(),
        "size": len(picture.content),
        "content": picture.content,
        "small": picture.small,
        "who": who[:80],
        "happened": min(happened, now),
        "written": now,
    }
    with transaction.atomic():
        photo, fresh = Photo.objects.get_or_create(key=key, defaults=made)
    return photo, not fresh


def photos_of(board: Board, most: int = 12) -> list[Photo]:
    """The latest photographs of a board that are not put away, without their bytes."""
    found = Photo.objects.filter(board=board, put_away=None).defer("content", "small").select_related("entry")
    return list(found.order_by("-pk")[:most])
