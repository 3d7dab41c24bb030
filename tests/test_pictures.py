"""Picture files opened without trusting them; the files are made here, by Pillow or byte by byte."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from wareboard.errors import OutOfRange, Unreadable
from wareboard.pictures import MOST_BYTES, picture_from_bytes, picture_from_file, to_keep

RED_LEFT = np.zeros((20, 40, 3), dtype=np.uint8)
RED_LEFT[:, :20] = (200, 30, 30)
RED_LEFT[:, 20:] = (30, 30, 200)


def file_of(picture: Image.Image, kind: str, **more: object) -> bytes:
    kept = io.BytesIO()
    picture.save(kept, kind, **more)
    return kept.getvalue()


def png_that_says(width: int, height: int) -> bytes:
    """A PNG whose head states a size that its few bytes do not hold, as a decompression bomb does."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_usual_kinds_open_with_their_colours(kind: str) -> None:
    found = picture_from_bytes(file_of(Image.fromarray(RED_LEFT), kind))
    assert found.kind == kind
    assert found.rgb.shape == (20, 40, 3)
    assert found.rgb[10, 5, 0] > 150
    assert found.rgb[10, 35, 2] > 150
    assert found.alpha is None


def test_a_turned_picture_stands_upright_and_its_place_is_gone() -> None:
    """Exif orientation 6: the first row of the file is the right side of what was seen (Exif 2.3, tag 0x0112)."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)})
    exif.get_ifd(0x8769)[0xA405] = 26
    data = file_of(Image.fromarray(RED_LEFT), "JPEG", exif=exif, quality=95)
    assert Image.open(io.BytesIO(data)).getexif().get_ifd(0x8825)  # the file does hold a place
    found = picture_from_bytes(data)
    assert found.rgb.shape == (40, 20, 3)
    assert found.rgb[5, 10, 0] > 150  # what was left is on top
    assert found.lens_35mm == 26
    kept = to_keep(found)
    assert b"Exif" not in kept
    assert len(Image.open(io.BytesIO(kept)).getexif()) == 0


def test_see_through_parts_are_laid_on_white_and_said() -> None:
    clear = np.dstack([RED_LEFT, np.full((20, 40), 255, dtype=np.uint8)])
    clear[:, :20, 3] = 0
    found = picture_from_bytes(file_of(Image.fromarray(clear), "PNG"))
    assert found.alpha is not None
    assert found.rgb[10, 5].tolist() == [255, 255, 255]
    assert any("white" in note for note in found.notes)


def test_printing_inks_grey_palette_and_deep_grey_all_open() -> None:
    inks = picture_from_bytes(file_of(Image.fromarray(RED_LEFT).convert("CMYK"), "JPEG"))
    assert any("CMYK" in note for note in inks.notes)
    assert inks.rgb[10, 5, 0] > inks.rgb[10, 5, 2]
    for mode in ("L", "P", "1", "LA"):
        assert picture_from_bytes(file_of(Image.fromarray(RED_LEFT).convert(mode), "PNG")).rgb.shape == (20, 40, 3)
    deep = Image.fromarray(np.full((20, 40), 51_400, dtype=np.uint16))
    assert picture_from_bytes(file_of(deep, "PNG")).rgb[0, 0].tolist() == [200, 200, 200]


@pytest.mark.parametrize(("width", "height"), [(20_000, 10_000), (60_000, 60_000), (2, 30_000)])
def test_two_hundred_million_dots_and_bombs_are_refused_before_they_are_unpacked(width: int, height: int) -> None:
    with pytest.raises(OutOfRange, match="million dots"):
        picture_from_bytes(png_that_says(width, height))


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"dear potter, here is my cup\n", "text"),
        (b"", "empty"),
        (b"<?xml version='1.0'?><svg xmlns='http://www.w3.org/2000/svg'/>", "SVG"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"GIF89a....", "GIF"),
        (bytes(range(256)), "no picture"),
    ],
)
def test_what_is_no_picture_is_named_whatever_its_name(data: bytes, word: str, tmp_path: Path) -> None:
    file = tmp_path / "cup.jpg"
    file.write_bytes(data)
    with pytest.raises(Unreadable, match=word) as found:
        picture_from_file(file)
    assert "cup.jpg" in str(found.value)


def test_a_picture_cut_short_is_said_to_be() -> None:
    data = file_of(Image.fromarray(np.random.default_rng(0).integers(0, 255, (90, 90, 3), dtype=np.uint8)), "PNG")
    for broken in (data[: len(data) // 2], data[:40]):
        with pytest.raises(Unreadable, match="cut short or broken"):
            picture_from_bytes(broken)


def test_heic_without_its_part_says_what_to_do() -> None:
    try:
        import pi_heif  # noqa: F401
    except ImportError:
        with pytest.raises(Unreadable, match="Save it as JPEG"):
            picture_from_bytes(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 50)
    else:
        with pytest.raises(Unreadable):
            picture_from_bytes(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 50)


def test_a_missing_file_and_a_heap_of_bytes_are_refused(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match="no such file"):
        picture_from_file(tmp_path / "none.jpg")
    with pytest.raises(OutOfRange, match="million bytes"):
        picture_from_bytes(b"\xff\xd8\xff" + b"\0" * MOST_BYTES)
