"""What a picture comes as, made into upright rows of red, green and blue bytes."""

from __future__ import annotations

import math
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import OutOfRange

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_DOTS = 60_000_000
LEAST_SIDE = 96


def reduced(picture: NDArray[np.uint8], side: int) -> tuple[NDArray[np.uint8], int]:
    """A picture so many times smaller that no side has more dots than ``side``; and how many times."""
    from PIL import Image as Pictures

    factor = max(1, math.ceil(max(picture.shape[:2]) / side))
    return np.asarray(Pictures.fromarray(picture).reduce(factor)), factor


def opened_colours(
    image: NDArray[np.generic] | Image | bytes | str | PathLike[str], lens_35mm: float | None
) -> tuple[NDArray[np.uint8], float | None]:
    """Colours of the picture, and its lens where the file names one and no other is given."""
    from wareboard.pictures import picture_from_bytes, picture_from_file

    if isinstance(image, bytes | str | PathLike):
        opened = picture_from_bytes(image) if isinstance(image, bytes) else picture_from_file(Path(image))
        return as_bytes(opened.rgb), lens_35mm or opened.lens_35mm
    return as_bytes(_upright(image)), lens_35mm


def _upright(image: NDArray[np.generic] | Image) -> NDArray[np.generic] | Image:
    """A Pillow picture turned as the camera says it was held; an array is as it is."""
    from PIL import Image as Pictures
    from PIL import ImageOps

    if not isinstance(image, Pictures.Image):
        return image
    _refuse_size(*image.size)
    return ImageOps.exif_transpose(image).convert("RGBA" if "A" in image.getbands() else "RGB")


def as_bytes(image: NDArray[np.generic] | Image) -> NDArray[np.uint8]:
    """(h, w, 3) bytes of a picture; what is see-through is laid on white.

    Raises:
        OutOfRange: if it is no picture of grey, RGB or RGBA, too small or too large, or not finite throughout.
    """
    picture = np.asarray(image)
    if picture.ndim == 2:
        picture = np.repeat(picture[..., None], 3, axis=2)
    if picture.ndim != 3 or picture.shape[2] not in (3, 4) or picture.dtype.kind not in "uif":
        raise OutOfRange(
            f"picture has shape {picture.shape}",
            why="it must be rows and columns of red, green and blue",
            mend="Open it as an RGB picture",
        )
    _refuse_size(picture.shape[1], picture.shape[0])
    if picture.dtype.kind == "f":
        if not np.isfinite(picture).all():
            raise OutOfRange("picture holds numbers that are not finite", "they are no colours", "Open it again")
        picture = np.clip(np.rint(picture * (255.0 if picture.max() <= 1.0 else 1.0)), 0, 255)
    elif picture.dtype.itemsize > 1:
        picture = picture >> 8 if picture.max() > 255 else picture
    colours = picture[..., :3].astype(np.uint8)
    if picture.shape[2] == 4:
        share = picture[..., 3:].astype(np.float64) / 255.0
        colours = np.rint(colours * share + 255.0 * (1.0 - share)).astype(np.uint8)
    return np.ascontiguousarray(colours)


def _refuse_size(width: int, height: int) -> None:
    if min(height, width) < LEAST_SIDE or height * width > MOST_DOTS:
        raise OutOfRange(
            f"picture has {width} x {height} dots",
            why=f"it must have at least {LEAST_SIDE} each way, and at most {MOST_DOTS // 1_000_000} million in all",
            mend="Send the picture as the camera made it, or make it smaller",
        )
