"""The invented commission's own pictures: a drawn mark, a painted reed bed, and tiles by colour. All are made up."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np

INVENTED = "Invented example, drawn by Wareboard"
WIDE, HIGH = 1200, 360
GROUND, GREEN, BROWN = (226, 221, 208), (92, 112, 88), (96, 58, 40)
BLUE, GREY = (70, 92, 122), (112, 124, 136)
STEMS = ((60, 60), (160, 30), (260, 96), (560, 50), (650, 104), (750, 36), (840, 84), (1100, 66))
STEM_WIDE, HEAD_WIDE, HEAD_HIGH = 25, 38, 80
# A heron standing, x to the right and y down, in parts of its height.
HERON = ((0.30, 0.02), (0.52, 0.08), (0.36, 0.14), (0.34, 0.30), (0.62, 0.42), (0.74, 0.62), (0.54, 0.64), (0.50, 1.0),
         (0.41, 1.0), (0.40, 0.63), (0.22, 0.46), (0.24, 0.16), (0.20, 0.06))  # fmt: skip
HERON_AT = (330, 70), (870, 90)
HERON_HIGH = 215
TILES = """name,glaze,fired,raw,coats,over,over_coats,body,cone,runs,note
Bare buff,,#c9b48f,#dcc9a8,0,,,Buff stoneware (invented),6,no,{note}
White ground,White ground,#e2ddd0,#e8dcd8,2,,,Buff stoneware (invented),6,no,{note}
Reed green on white,Reed green,#5c7058,#c4c6bf,3,White ground,2,Buff stoneware (invented),6,no,{note}
Reed brown on white,Reed brown,#603a28,#a5553e,2,White ground,2,Buff stoneware (invented),6,no,{note}
Water blue on white,Water blue,#465c7a,#b9b3c4,3,White ground,2,Buff stoneware (invented),6,yes,{note}
Heron grey on white,Heron grey,#707c88,#2f2d2e,3,White ground,2,Buff stoneware (invented),6,no,{note}
"""


def heron_svg() -> bytes:
    """A standing heron in one line and an eye of one stroke, 30 by 60 mm."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="60mm" viewBox="0 0 30 60">'
        f"<title>{INVENTED}</title>"
        '<path fill="none" stroke="#000" d="M2 9 L12 6 C16 3 19 6 17 11 C14 18 9 20 12 26 C18 28 26 34 29 43 '
        'C22 44 17 43 15 40 C9 36 8 31 12 26 M15 41 L15 58 L9 58 M20 43 L21 58 L27 58"/></svg>'
    ).encode()


def reed_bed_png() -> bytes:
    """The artwork that goes once round a piece and meets itself: reeds, water, two herons, in flat colours."""
    from PIL import Image, ImageDraw
    from PIL.PngImagePlugin import PngInfo

    picture = Image.new("RGB", (WIDE, HIGH), GROUND)
    pen = ImageDraw.Draw(picture)
    x = np.arange(WIDE + 1)
    # Whole waves, so that the right edge meets the left one.
    shore = 292 + 12 * np.sin(2 * np.pi * 3 * x / WIDE) + 6 * np.sin(2 * np.pi * 7 * x / WIDE)
    for left, top in HERON_AT:
        pen.polygon([(left + u * HERON_HIGH, top + v * HERON_HIGH) for u, v in HERON], fill=GREY)
        leg = left + 0.45 * HERON_HIGH
        pen.line([(leg, top + 0.6 * HERON_HIGH), (leg, HIGH)], fill=GREY, width=STEM_WIDE)
    for middle, top in STEMS:
        pen.rectangle([middle - STEM_WIDE // 2, top, middle + STEM_WIDE // 2, HIGH], fill=GREEN)
        pen.rounded_rectangle(
            [middle - HEAD_WIDE // 2, top, middle + HEAD_WIDE // 2, top + HEAD_HIGH], HEAD_WIDE // 2, fill=BROWN
        )
    pen.polygon([*zip(x.tolist(), shore.tolist(), strict=True), (WIDE, HIGH), (0, HIGH)], fill=BLUE)
    out, about = io.BytesIO(), PngInfo()
    about.add_text("Description", INVENTED)
    picture.save(out, "PNG", pnginfo=about)
    return out.getvalue()


def tiles_csv() -> str:
    """Tiles by raw and fired colour, as `wareboard paint` reads them."""
    return TILES.replace("{note}", "invented example")


def write(folder: Path) -> tuple[Path, ...]:
    """The pictures and the tiles as files of a folder; what stands there already is left."""
    folder.mkdir(parents=True, exist_ok=True)
    made = []
    for name, data in (
        ("heron.svg", heron_svg()),
        ("reed-bed.png", reed_bed_png()),
        ("tiles.csv", tiles_csv().encode()),
    ):
        if not (folder / name).exists():
            (folder / name).write_bytes(data)
        made.append(folder / name)
    return tuple(made)
