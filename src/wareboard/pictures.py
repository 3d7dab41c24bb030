"""Opening a picture file without trusting it: bytes in, an upright array of colours out, and nothing of where it was taken.

Read are JPEG, PNG and WebP, and HEIC where the optional part for it is installed. What the file says it is counts for
nothing; its first bytes are looked at. Its size is read and judged before a single dot is unpacked.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange, Unreadable, placed

if TYPE_CHECKING:
    from pathlib import Path

    from PIL.Image import Image

MOST_BYTES = 80_000_000
MOST_DOTS = 60_000_000
LONGEST_SIDE = 20_000
HEIC_BRANDS = (b"heic", b"heix", b"hevc", b"hevx", b"mif1", b"msf1", b"heim", b"heis")
CAMERA_FIELDS, FOCAL_ON_FILM = 0x8769, 0xA405
SHOWN_AS_JPEG = 92
SEND = "Send a JPEG, PNG or WebP picture"


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A picture that was opened: colours and nothing else of the file but the lens, where it names one.

    ``rgb`` is (h, w, 3) bytes, upright, in sRGB, what is see-through laid on white; ``alpha`` (h, w) bytes where the
    file has see-through parts. ``lens_35mm`` is the focal length as on 35 mm film. ``notes`` say what was changed.
    """

    rgb: NDArray[np.uint8]
    alpha: NDArray[np.uint8] | None
    lens_35mm: float | None
    kind: str
    notes: tuple[str, ...]


def picture_from_file(file: Path) -> Picture:
    """The picture in a file; see `picture_from_bytes`.

    Raises:
        Unreadable: if there is no such file, or it is no picture.
    """
    if not file.is_file():
        raise Unreadable(str(file), "there is no such file", "Check its name")
    size = file.stat().st_size
    if size > MOST_BYTES:
        raise _too_heavy(size, file.name)
    with placed(file.name):
        return picture_from_bytes(file.read_bytes())


def picture_from_bytes(data: bytes) -> Picture:
    """The picture in ``data``.

    Args:
        data: the file's bytes, of at most `MOST_BYTES`.
    Raises:
        Unreadable: if it is no picture of a kind that is read, or is broken, saying which.
        OutOfRange: if it has more than `MOST_DOTS` dots, or too many bytes.
    """
    if len(data) > MOST_BYTES:
        raise _too_heavy(len(data), "")
    kind = kind_of(data)
    from PIL import Image as Pictures

    if kind == "HEIC":
        _with_heic()
    try:
        with warnings.catch_warnings():
            # Pillow warns of what is refused here by the size that the file itself states.
            warnings.simplefilter("ignore", Pictures.DecompressionBombWarning)
            with Pictures.open(io.BytesIO(data), formats=["HEIF" if kind == "HEIC" else kind]) as opened:
                _refuse_too_large(*opened.size)
                return _upright(opened, kind)
    except Pictures.DecompressionBombError as problem:
        raise _too_large("far more dots than a camera makes") from problem
    except (OSError, SyntaxError, ValueError, EOFError, IndexError, MemoryError) as problem:
        if isinstance(problem, OutOfRange | Unreadable):
            raise
        raise Unreadable(
            f"the {kind} picture", "it is cut short or broken", "Send it again, or save it anew"
        ) from problem


def fit_to_keep(data: bytes, name: str = "the photograph") -> tuple[bytes, str]:
    """A sent picture as the workshop keeps it, a JPEG of the picture alone, and its media type.

    Args:
        data: the file, of any kind that is read.
        name: what its sender calls it, for the errors.
    Raises:
        Unreadable: if it is no picture, or is broken.
        OutOfRange: if it is too large.
    """
    with placed(name):
        return to_keep(picture_from_bytes(data)), "image/jpeg"


def kind_of(data: bytes) -> str:
    """JPEG, PNG, WEBP or HEIC, by the first bytes.

    Raises:
        Unreadable: for anything else, naming what it is where that can be told.
    """
    if data.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    if data[4:8] == b"ftyp" and data[8:12] in HEIC_BRANDS:
        return "HEIC"
    raise Unreadable("the picture", f"it is {_what_it_is(data)}, whatever its name says", SEND)


def _what_it_is(data: bytes) -> str:
    if not data:
        return "an empty file"
    starts = {
        b"GIF8": "a GIF",
        b"%PDF": "a PDF",
        b"II*\0": "a TIFF",
        b"MM\0*": "a TIFF",
        b"BM": "a BMP",
        b"PK": "a zip",
    }
    for start, words in starts.items():
        if data.startswith(start):
            return words
    if data[4:8] == b"ftyp":
        return "a film or a picture of a kind that is not read"
    head = data[:2000].lstrip(b"\xef\xbb\xbf \t\r\n")
    if head.startswith(b"<") and b"<svg" in data[:4000].lower():
        return "an SVG drawing"
    try:
        data[:2000].decode("utf-8", errors="strict")
    except UnicodeDecodeError as problem:
        if problem.start < min(len(data), 2000) - 4:
            return "no picture of a kind that is read"
    return "text" if b"\0" not in data[:2000] else "no picture of a kind that is read"


def _with_heic() -> None:
    try:
        from pi_heif import register_heif_opener  # type: ignore[import-not-found,unused-ignore]
    except ImportError as problem:
        raise Unreadable(
            "the HEIC picture",
            "the part that opens this kind is not installed",
            'Save it as JPEG on the phone, or install the part with: pip install "wareboard[heic]"',
        ) from problem
    register_heif_opener()


def _too_heavy(size: int, name: str) -> OutOfRange:
    return OutOfRange(
        f"picture of {size / 1e6:.0f} million bytes",
        f"at most {MOST_BYTES / 1e6:.0f} million are taken in",
        "Send a smaller copy",
        name,
    )


def _too_large(words: str) -> OutOfRange:
    return OutOfRange(
        f"picture with {words}", f"at most {MOST_DOTS / 1e6:.0f} million dots are unpacked", "Send a smaller copy"
    )


def _refuse_too_large(width: int, height: int) -> None:
    if width * height > MOST_DOTS or max(width, height) > LONGEST_SIDE:
        raise _too_large(f"{width} x {height} = {width * height / 1e6:.0f} million dots")
    if min(width, height) < 1:
        raise Unreadable("the picture", "it has no dots", SEND)


def _upright(opened: Image, kind: str) -> Picture:
    from PIL import ImageOps

    notes = []
    if getattr(opened, "n_frames", 1) > 1:
        notes.append("It moves; only its first picture is used.")
    opened.load()
    lens = _lens(opened)
    turned = ImageOps.exif_transpose(opened)
    flat, alpha = _on_white(turned, notes)
    if alpha is not None and alpha.min() < 255:
        notes.append("Its see-through parts are laid on white.")
    else:
        alpha = None
    return Picture(np.array(flat, dtype=np.uint8), alpha, lens, kind, tuple(notes))


def _lens(opened: Image) -> float | None:
    """Focal length as on 35 mm film; nothing else that the camera wrote down is looked at."""
    try:
        value = float(opened.getexif().get_ifd(CAMERA_FIELDS).get(FOCAL_ON_FILM, 0))
    except (TypeError, ValueError, ZeroDivisionError, OSError, SyntaxError):
        return None
    return value if 8.0 <= value <= 1200.0 else None


def _on_white(picture: Image, notes: list[str]) -> tuple[Image, NDArray[np.uint8] | None]:
    from PIL import Image as Pictures

    if picture.mode == "CMYK":
        notes.append("Its printing inks (CMYK) were turned into light; colours may be a little off.")
    if picture.mode.startswith("I"):
        deep = np.asarray(picture)
        picture = Pictures.fromarray((deep >> 8 if deep.max() > 255 else deep).astype(np.uint8))
    seen_through = picture.mode in ("RGBA", "LA", "PA", "La", "RGBa") or "transparency" in picture.info
    alpha = np.asarray(picture.convert("RGBA").getchannel("A")) if seen_through else None
    colours = _in_srgb(picture, notes)
    if alpha is None:
        return colours, None
    white = Pictures.new("RGB", colours.size, (255, 255, 255))
    white.paste(colours, mask=Pictures.fromarray(alpha))
    return white, alpha


def _in_srgb(picture: Image, notes: list[str]) -> Image:
    """RGB picture, its own colour space turned into sRGB where it names one that can be read."""
    from PIL import ImageCms

    named = picture.info.get("icc_profile")
    if named and picture.mode in ("RGB", "CMYK", "L"):
        try:
            own = ImageCms.ImageCmsProfile(io.BytesIO(named))
            found = ImageCms.profileToProfile(picture, own, ImageCms.createProfile("sRGB"), outputMode="RGB")
        except (ImageCms.PyCMSError, OSError, ValueError):
            notes.append("Its colour space could not be read; colours are taken as sRGB.")
        else:
            if found is not None:
                return found
    return picture.convert("RGB")


def to_keep(picture: Picture) -> bytes:
    """JPEG bytes of the picture alone: no place, no time, no name of a camera; what the workshop keeps and shows."""
    from PIL import Image as Pictures

    kept = io.BytesIO()
    Pictures.fromarray(picture.rgb).save(kept, "JPEG", quality=SHOWN_AS_JPEG, optimize=True)
    return kept.getvalue()
