"""Photographs of boards: small, upright, without place; kept once; what will not do is refused by name.

EXIF is read back with Pillow, an independent reader: tag 0x8825 is the place (GPS), 0x0112 the orientation (CIPA DC-008).
"""

from __future__ import annotations

import io
from datetime import timedelta

import pytest
from PIL import Image

from tests.book_boards.conftest import NINE, key, on_board
from wareboard.book.boards.models import Photo
from wareboard.book.boards.photographs import LARGEST_BYTES, keep_photograph, shrunk
from wareboard.book.models import Commission
from wareboard.errors import NotInTable, OutOfRange, Unreadable

GPS, ORIENTATION = 0x8825, 0x0112


def taken(width: int = 3000, height: int = 2000, turned: int = 6) -> bytes:
    """A picture as a telephone takes it, with its place and its way up; the left part red, the right part blue."""
    picture = Image.new("RGB", (width, height), (20, 30, 200))
    picture.paste((200, 20, 30), (0, 0, width // 2, height))
    notes = Image.Exif()
    notes[ORIENTATION] = turned
    notes.get_ifd(GPS).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)})
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=notes)
    return out.getvalue()


def test_it_is_small_and_upright_and_says_nothing_of_where_it_was_taken() -> None:
    data = taken()
    with Image.open(io.BytesIO(data)) as before:
        assert before.getexif().get_ifd(GPS)
    found = shrunk(data)
    for content, side in ((found.content, 2000), (found.small, 320)):
        with Image.open(io.BytesIO(content)) as after:
            assert max(after.size) <= side
            assert after.height > after.width  # turned a quarter, as the camera was held
            assert not after.getexif()
            red, _, blue = after.convert("RGB").getpixel((after.width // 2, 4))  # type: ignore[misc]
            assert red > blue  # what was left is now on top
    assert b"Exif" not in found.content


def test_it_is_kept_once_by_its_key_for_the_board_at_its_stage(tea: Commission) -> None:
    on_board(tea, 24, "thrown")
    own = key()
    photo, already = keep_photograph(own, "c1", taken(), "  rim of  the third ", "Ada", NINE - timedelta(hours=1), NINE)
    again, twice = keep_photograph(own, "c1", taken(), "", "Ada", NINE, NINE)
    assert (already, twice, photo.pk) == (False, True, again.pk)
    assert (photo.words, photo.stage, photo.happened) == ("rim of the third", "thrown", NINE - timedelta(hours=1))
    assert Photo.objects.count() == 1


def test_forty_megabytes_are_refused_with_a_word_before_they_are_read(tea: Commission) -> None:
    with pytest.raises(OutOfRange, match="a photograph of 40 MB"):
        shrunk(bytes(LARGEST_BYTES + 1))


def test_what_is_no_picture_or_is_cut_short_is_refused(tea: Commission) -> None:
    with pytest.raises(Unreadable, match="whatever its name says"):
        shrunk(b"not a picture")
    with pytest.raises(Unreadable, match="cut short"):
        shrunk(taken()[:4000])
    with pytest.raises(NotInTable, match="board C9"):
        keep_photograph(key(), "C9", taken(), "", "", NINE, NINE)
    with pytest.raises(Unreadable, match="no key"):
        keep_photograph("", "C9", taken(), "", "", NINE, NINE)
