"""Colour as numbers: sRGB, linear light, XYZ, Lab, and how far apart two colours look (CIEDE2000).

Colours are arrays whose last axis holds the three numbers; any shape before it will do, and what is given is left alone.
sRGB and linear light run from 0 to 1. XYZ is scaled so that white has Y = 1. Lab is under D50, the light of printed
reference values, with the 2 degree observer.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wareboard.errors import OutOfRange

Floats = NDArray[np.float64]

# White points, 2 degree observer: D50 as colour profiles hold it (ICC.1:2010), D65 from the sRGB chromaticities.
D50 = np.array([0.9642, 1.0, 0.8249])
D65 = np.array([0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290])
WHITES = {"D50": D50, "D65": D65}
# Chromaticities of the sRGB primaries (IEC 61966-2-1).
PRIMARIES_XY = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
# Cone responses of the Bradford transform (Lam 1985, as in ICC.1).
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
# CIE 15: where Lab's cube root gives way to a straight line.
EPSILON, KAPPA = 216.0 / 24389.0, 24389.0 / 27.0
SEVEN = 25.0**7


def _primaries_to_xyz() -> Floats:
    columns = np.array([[x / y, 1.0, (1.0 - x - y) / y] for x, y in PRIMARIES_XY]).T
    return columns * np.linalg.solve(columns, D65)


RGB_TO_XYZ = _primaries_to_xyz()
XYZ_TO_RGB = np.linalg.inv(RGB_TO_XYZ)


def colours(given: ArrayLike, name: str = "colour") -> Floats:
    """``given`` as an array of finite numbers whose last axis has three.

    Raises:
        OutOfRange: if it is not that.
    """
    found = np.asarray(given, dtype=np.float64)
    if found.ndim == 0 or found.shape[-1] != 3:
        raise OutOfRange(f"{name} has shape {found.shape}", "a colour has three numbers", "Give red, green and blue")
    if not np.isfinite(found).all():
        raise OutOfRange(f"{name} holds a number that is not finite", "it is no colour", "Give plain numbers")
    return found


def _white(light: str) -> Floats:
    try:
        return WHITES[light]
    except KeyError:
        raise OutOfRange(f"light {light!r}", "no white is known by that name", f"Use {' or '.join(WHITES)}") from None


def linear_from_srgb(srgb: ArrayLike) -> Floats:
    """Linear light of sRGB values, 0 to 1 (values outside are carried on along the same curve, mirrored below 0).

    Source: IEC 61966-2-1:1999, 5.2.
    """
    given = colours(srgb)
    size = np.abs(given)
    linear: Floats = np.sign(given) * np.where(size <= 0.04045, size / 12.92, ((size + 0.055) / 1.055) ** 2.4)
    return linear


def srgb_from_linear(linear: ArrayLike) -> Floats:
    """sRGB values of linear light; the inverse of `linear_from_srgb`, not clipped.

    Source: IEC 61966-2-1:1999, 5.2.
    """
    given = colours(linear)
    size = np.abs(given)
    srgb: Floats = np.sign(given) * np.where(size <= 0.0031308, size * 12.92, 1.055 * size ** (1 / 2.4) - 0.055)
    return srgb


def xyz_from_linear(linear: ArrayLike) -> Floats:
    """XYZ under D65 of linear sRGB light. Source: IEC 61966-2-1:1999, from its primaries and white."""
    found: Floats = colours(linear) @ RGB_TO_XYZ.T
    return found


def linear_from_xyz(xyz: ArrayLike) -> Floats:
    """Linear sRGB light of XYZ under D65; below 0 or above 1 where the colour lies outside sRGB."""
    found: Floats = colours(xyz) @ XYZ_TO_RGB.T
    return found


def adapted(xyz: ArrayLike, seen_under: str, wanted_under: str) -> Floats:
    """XYZ of the same look under another white, "D50" or "D65".

    Source: linear Bradford transform, ICC.1:2010, annex E.
    """
    cones = (BRADFORD @ _white(wanted_under)) / (BRADFORD @ _white(seen_under))
    change = np.linalg.inv(BRADFORD) @ (cones[:, None] * BRADFORD)
    found: Floats = colours(xyz) @ change.T
    return found


def lab_from_xyz(xyz: ArrayLike, light: str = "D50") -> Floats:
    """Lab of XYZ, both under ``light``. Source: CIE 15:2004, 8.2.1."""
    share = colours(xyz) / _white(light)
    bent = np.where(share > EPSILON, np.cbrt(share), (KAPPA * share + 16.0) / 116.0)
    x, y, z = bent[..., 0], bent[..., 1], bent[..., 2]
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def xyz_from_lab(lab: ArrayLike, light: str = "D50") -> Floats:
    """XYZ of Lab, both under ``light``; the inverse of `lab_from_xyz`."""
    given = colours(lab)
    y = (given[..., 0] + 16.0) / 116.0
    bent = np.stack([y + given[..., 1] / 500.0, y, y - given[..., 2] / 200.0], axis=-1)
    found: Floats = np.where(bent**3 > EPSILON, bent**3, (116.0 * bent - 16.0) / KAPPA) * _white(light)
    return found


def lab_from_linear(linear: ArrayLike) -> Floats:
    """Lab under D50 of linear sRGB light."""
    return lab_from_xyz(adapted(xyz_from_linear(linear), "D65", "D50"))


def linear_from_lab(lab: ArrayLike) -> Floats:
    """Linear sRGB light of Lab under D50, not clipped."""
    return linear_from_xyz(adapted(xyz_from_lab(lab), "D50", "D65"))


def lab_from_srgb(srgb: ArrayLike) -> Floats:
    """Lab under D50 of sRGB values, 0 to 1."""
    return lab_from_linear(linear_from_srgb(srgb))


def srgb_from_lab(lab: ArrayLike) -> Floats:
    """sRGB values of Lab under D50, clipped to 0..1; ask `shown_by_srgb` whether anything was clipped."""
    return np.clip(srgb_from_linear(linear_from_lab(lab)), 0.0, 1.0)


def shown_by_srgb(lab: ArrayLike, slack: float = 1e-6) -> NDArray[np.bool_]:
    """Whether a screen of the usual kind can show each colour."""
    linear = linear_from_lab(lab)
    return np.asarray(((linear >= -slack) & (linear <= 1.0 + slack)).all(axis=-1))


def hex_of(lab: ArrayLike) -> str:
    """The nearest colour that a screen shows, written "#rrggbb"."""
    red, green, blue = (round(float(part) * 255.0) for part in srgb_from_lab(lab))
    return f"#{red:02x}{green:02x}{blue:02x}"


def ciede2000(first: ArrayLike, second: ArrayLike) -> Floats:
    """How far apart two colours look, in CIEDE2000 units (k_L = k_C = k_H = 1); Lab in, shapes broadcast together.

    About 1 is a difference that can just be told side by side; the formula was fitted to differences up to about 5 and
    ranks larger ones less well.

    Source: G. Sharma, W. Wu and E. N. Dalal, The CIEDE2000 color-difference formula: implementation notes, supplementary
        test data and mathematical observations, Color Research and Application 30(1), 2005, equations 2 to 22.
    """
    one, two = colours(first), colours(second)
    mean_chroma = (np.hypot(one[..., 1], one[..., 2]) + np.hypot(two[..., 1], two[..., 2])) / 2.0
    stretch = 1.5 - 0.5 * np.sqrt(mean_chroma**7 / (mean_chroma**7 + SEVEN))  # 1 + G
    chroma_1, hue_1 = _chroma_and_hue(one, stretch)
    chroma_2, hue_2 = _chroma_and_hue(two, stretch)
    grey = chroma_1 * chroma_2 == 0.0
    turn = hue_2 - hue_1
    turn = np.where(turn > 180.0, turn - 360.0, np.where(turn < -180.0, turn + 360.0, turn))
    turn = np.where(grey, 0.0, turn)
    lightness = two[..., 0] - one[..., 0]
    chroma = chroma_2 - chroma_1
    hue = 2.0 * np.sqrt(chroma_1 * chroma_2) * np.sin(np.radians(turn / 2.0))
    s_l, s_c, s_h, twist = _weights(
        (one[..., 0] + two[..., 0]) / 2.0, (chroma_1 + chroma_2) / 2.0, _mean_hue(hue_1, hue_2, grey)
    )
    l_part, c_part, h_part = lightness / s_l, chroma / s_c, hue / s_h
    # Rounding can leave a hair below nought where two colours are the same.
    squared = l_part**2 + c_part**2 + h_part**2 + twist * c_part * h_part
    found: Floats = np.sqrt(np.maximum(squared, 0.0))
    return found


def _chroma_and_hue(lab: Floats, stretch: Floats) -> tuple[Floats, Floats]:
    """C' and h' in degrees, 0 to 360 (equations 5 to 7)."""
    a = stretch * lab[..., 1]
    return np.hypot(a, lab[..., 2]), np.degrees(np.arctan2(lab[..., 2], a)) % 360.0


def _mean_hue(hue_1: Floats, hue_2: Floats, grey: NDArray[np.bool_]) -> Floats:
    """The hue half way, the short way round (equation 14)."""
    total = hue_1 + hue_2
    near = np.abs(hue_1 - hue_2) <= 180.0
    found: Floats = np.where(near, total / 2.0, np.where(total < 360.0, (total + 360.0) / 2.0, (total - 360.0) / 2.0))
    return np.where(grey, total, found)


def _weights(lightness: Floats, chroma: Floats, hue: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """S_L, S_C, S_H and R_T at the mean of the two colours (equations 15 to 21)."""
    t = (
        1.0
        - 0.17 * np.cos(np.radians(hue - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * hue))
        + 0.32 * np.cos(np.radians(3.0 * hue + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * hue - 63.0))
    )
    angle = 30.0 * np.exp(-(((hue - 275.0) / 25.0) ** 2))
    around = 2.0 * np.sqrt(chroma**7 / (chroma**7 + SEVEN))
    off = (lightness - 50.0) ** 2
    s_l = 1.0 + 0.015 * off / np.sqrt(20.0 + off)
    return s_l, 1.0 + 0.045 * chroma, 1.0 + 0.015 * chroma * t, -np.sin(np.radians(2.0 * angle)) * around
