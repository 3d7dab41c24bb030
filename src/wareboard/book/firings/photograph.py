"""Photographs made fit to keep: JPEG or PNG, without what a camera writes beside the picture (place, time, owner)."""

from __future__ import annotations

import struct
from typing import Literal

from wareboard.errors import Unreadable

LARGEST_BYTES = 40_000_000
PNG_HEAD = b"\x89PNG\r\n\x1a\n"
# Chunks of a PNG that draw it; whatever else a camera or a program wrote goes.
PNG_DRAWN = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"pHYs"}
# Of a JPEG's notes only these change how it looks: JFIF, the colour profile, and Adobe's word on the kind of colour.
JPEG_KEPT = ((0xE0, b"JFIF\0"), (0xE2, b"ICC_PROFILE\0"), (0xEE, b"Adobe"))
ORIENTATION = 0x0112  # the tag of EXIF that says which way is up (CIPA DC-008)
MEND = "Send the picture as JPEG or PNG; a telephone calls it 'most compatible'"


def stripped(data: bytes, name: str = "the photograph") -> tuple[bytes, str]:
    """The picture's bytes without notes (EXIF, XMP, comments, text, thumbnails), and its media type.

    Of a JPEG's EXIF the one figure that says which way is up is kept, alone, so that a picture is not shown on its side.
    The picture itself is left as it is.

    Args:
        data: the file, at most 40 MB.
        name: what to call it in an error.
    Raises:
        Unreadable: if it is larger, or is no JPEG or PNG, or is cut short.
    """
    if len(data) > LARGEST_BYTES:
        raise Unreadable(name, f"it has {len(data) / 1e6:.0f} MB, and 40 MB is the most", "Send a smaller picture")
    if data.startswith(PNG_HEAD):
        return _png(data, name), "image/png"
    if data.startswith(b"\xff\xd8\xff"):
        return _jpeg(data, name), "image/jpeg"
    raise Unreadable(name, "it is neither a JPEG nor a PNG", MEND)


def _png(data: bytes, name: str) -> bytes:
    out, at = [PNG_HEAD], len(PNG_HEAD)
    while at < len(data):
        size, kind = _png_chunk(data, at, name)
        if kind in PNG_DRAWN:
            out.append(data[at : at + 12 + size])
        at += 12 + size
        if kind == b"IEND":
            return b"".join(out)
    raise _cut(name)


def _png_chunk(data: bytes, at: int, name: str) -> tuple[int, bytes]:
    if at + 12 > len(data):
        raise _cut(name)
    size, kind = struct.unpack(">I4s", data[at : at + 8])
    if at + 12 + size > len(data):
        raise _cut(name)
    return size, kind


def _jpeg(data: bytes, name: str) -> bytes:
    """Segment by segment to the end mark; telephones hang films and second pictures behind it, and those go too."""
    out, at = [b"\xff\xd8"], 2
    way_up = 0
    while at + 2 <= len(data):
        if data[at] != 0xFF:
            raise _cut(name)
        mark = data[at + 1]
        if mark == 0xFF:  # a filling byte
            at += 1
            continue
        if mark == 0xD9:
            upright = [_way_up_alone(way_up)] if way_up else []
            return b"".join([out[0], *upright, *out[1:], b"\xff\xd9"])
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if end < at + 4 or end > len(data):
            raise _cut(name)
        if mark == 0xDA:  # a scan: its head, then the picture's own bytes
            end = _next_mark(data, end, name)
        if mark == 0xE1:
            way_up = way_up or _way_up(data[at + 4 : end])
        if not _is_a_note(mark, data[at + 4 : at + 16]):
            out.append(data[at:end])
        at = end
    raise _cut(name)


def _is_a_note(mark: int, lead: bytes) -> bool:
    noted = 0xE0 <= mark <= 0xEF or mark == 0xFE
    return noted and not any(mark == kept and lead.startswith(word) for kept, word in JPEG_KEPT)


def _way_up(note: bytes) -> int:
    """Which way is up by an EXIF note, 2 to 8; 0 where it is upright, not told, or the note is damaged."""
    tiff = note[6:]
    order: Literal["little", "big"] | None = {b"II": "little", b"MM": "big"}.get(tiff[:2])  # type: ignore[assignment]
    if not note.startswith(b"Exif\0\0") or order is None:
        return 0
    at = int.from_bytes(tiff[4:8], order)
    for row in range(min(int.from_bytes(tiff[at : at + 2], order), 200)):
        entry = tiff[at + 2 + 12 * row : at + 14 + 12 * row]
        if int.from_bytes(entry[:2], order) == ORIENTATION:
            told = int.from_bytes(entry[8:10], order)
            return told if 2 <= told <= 8 else 0
    return 0


def _way_up_alone(way_up: int) -> bytes:
    """An EXIF segment that says which way is up and nothing else."""
    entry = struct.pack("<HHIHH", ORIENTATION, 3, 1, way_up, 0)
    note = b"Exif\0\0II*\0" + struct.pack("<IH", 8, 1) + entry + bytes(4)
    return b"\xff\xe1" + struct.pack(">H", len(note) + 2) + note


def _next_mark(data: bytes, at: int, name: str) -> int:
    """Where a scan ends: at the next mark that is neither a stuffed FF nor a restart."""
    while (at := data.find(b"\xff", at)) >= 0 and at + 1 < len(data):
        if data[at + 1] == 0 or 0xD0 <= data[at + 1] <= 0xD7:
            at += 2
            continue
        return at
    raise _cut(name)


def _cut(name: str) -> Unreadable:
    return Unreadable(name, "the picture is cut short or damaged", "Take or send it again")
