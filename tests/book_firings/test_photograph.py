"""Photographs keep their picture and lose their notes.

Source for the layout of the files: JPEG by ITU T.81, annex B; PNG by W3C, Portable Network Graphics, third edition, clause
5; where EXIF stands in each: CIPA DC-008 (APP1 beginning with Exif, chunk eXIf). Pillow, where it is installed, reads the
pictures before and after and finds them alike.
"""

from __future__ import annotations

import io
import struct
import zlib

import pytest

from wareboard.book.firings.photograph import stripped
from wareboard.errors import Unreadable

SECRET = b"38.7223 N 9.1393 W of Invented"


def chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(*more: bytes) -> bytes:
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 2, 1, 8, 2, 0, 0, 0))
    picture = chunk(b"IDAT", zlib.compress(b"\0\xff\0\0\0\xff\0"))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(more) + picture + chunk(b"IEND", b"")


def segment(mark: int, data: bytes) -> bytes:
    return bytes([0xFF, mark]) + struct.pack(">H", len(data) + 2) + data


def jpeg(notes: bytes = b"", scans: int = 1) -> bytes:
    """A JPEG as far as its segments go: two scans with a table between them, stuffed and restart marks inside."""
    scan = segment(0xDA, b"\x01\x01\0\0\x3f\0") + b"\x12\xff\0\x34\xff\xd0\x56"
    body = segment(0xE0, b"JFIF\0\1\1") + notes + segment(0xDB, b"\0" * 65) + segment(0xC0, b"\x08\0\1\0\1\1\1\x11\0")
    return b"\xff\xd8" + body + (segment(0xC4, b"\xff\xd9\0") + scan) * scans + b"\xff\xd9"


def test_a_png_loses_exif_text_and_time_and_keeps_its_picture() -> None:
    noted = png(
        chunk(b"eXIf", SECRET), chunk(b"tEXt", SECRET), chunk(b"tIME", b"\0" * 7), chunk(b"gAMA", b"\0\0\xb1\x8f")
    )
    plain, kind = stripped(noted + SECRET)
    assert (plain, kind) == (png(chunk(b"gAMA", b"\0\0\xb1\x8f")), "image/png")


@pytest.mark.parametrize("scans", [1, 2])
def test_a_jpeg_loses_exif_comments_and_what_hangs_behind_it(scans: int) -> None:
    notes = segment(0xE1, b"Exif\0\0" + SECRET) + segment(0xFE, SECRET) + segment(0xED, SECRET)
    colour = segment(0xE2, b"ICC_PROFILE\0\1\1profile")
    plain, kind = stripped(jpeg(notes + colour, scans) + b"\xff\xd8" + SECRET)
    assert (plain, kind) == (jpeg(colour, scans), "image/jpeg")


def test_pillow_sees_the_same_picture_and_no_exif() -> None:
    image_room = pytest.importorskip("PIL.Image")
    picture = image_room.effect_noise((40, 30), 60.0).convert("RGB")
    exif = image_room.Exif()
    exif[0x010E] = SECRET.decode()
    for kind in ("JPEG", "PNG"):
        out = io.BytesIO()
        picture.save(out, kind, exif=exif, progressive=True)
        assert SECRET in out.getvalue()
        plain, _ = stripped(out.getvalue())
        assert SECRET not in plain
        with image_room.open(io.BytesIO(plain)) as after, image_room.open(io.BytesIO(out.getvalue())) as before:
            assert after.tobytes() == before.tobytes()
            assert not dict(after.getexif())


@pytest.mark.parametrize("way_up", [1, 3, 6, 8, 9])
def test_which_way_is_up_is_kept_alone(way_up: int) -> None:
    """Pillow, a general library, reads the one figure that is left, and writes EXIF in both byte orders."""
    image_room = pytest.importorskip("PIL.Image")
    for order in ("<", ">"):
        exif = image_room.Exif()
        exif.endian = order
        exif[0x010E], exif[0x0112] = SECRET.decode(), way_up
        out = io.BytesIO()
        image_room.new("RGB", (8, 6)).save(out, "JPEG", exif=exif)
        plain, _ = stripped(out.getvalue())
        assert SECRET not in plain
        with image_room.open(io.BytesIO(plain)) as after:
            assert dict(after.getexif()) == ({0x0112: way_up} if 2 <= way_up <= 8 else {})
        assert stripped(plain)[0] == plain


@pytest.mark.parametrize(
    "note", [b"", b"Exif\0\0", b"Exif\0\0II*\0\xff\xff\xff\xff", b"Exif\0\0MM\0*\0\0\0\x08\xff\xff"]
)
def test_a_damaged_note_only_goes(note: bytes) -> None:
    assert stripped(jpeg(segment(0xE1, note)))[0] == jpeg()


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "neither a JPEG nor a PNG"),
        (b"GIF89a", "neither a JPEG nor a PNG"),
        (png()[:-20], "cut short"),
        (jpeg()[:-6], "cut short"),
        (jpeg()[:20], "cut short"),
        (b"\xff\xd8\xff\xe1\0\1", "cut short"),
        (b"\x89PNG\r\n\x1a\n" + b"\xff" * 40, "cut short"),
    ],
)
def test_what_is_no_picture_is_refused_by_name(data: bytes, why: str) -> None:
    with pytest.raises(Unreadable, match=why) as refused:
        stripped(data, "top.jpg")
    assert refused.value.what == "top.jpg"


def test_a_picture_over_forty_megabytes_is_refused_with_its_size() -> None:
    with pytest.raises(Unreadable, match="41 MB, and 40 MB is the most"):
        stripped(b"\xff\xd8\xff" + bytes(41_000_000))
