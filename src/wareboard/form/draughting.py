"""What drawings of a piece are made of: where it stands on the paper, lines, letters and dimension lines, as parts of SVG.

Sizes on the paper in mm, whatever the scale of the piece.
"""

from __future__ import annotations

from fractions import Fraction
from xml.sax.saxutils import escape

from wareboard.form.curve import Floats

INCH_MM = 25.4
LETTER, SMALL, GAP, ARROW = 3.4, 2.8, 7.0, 1.8


class Sheet:
    """Where the piece stands on the paper: from (height, radius) in mm to (x, y) on the sheet."""

    def __init__(self, x0: float, y0: float, scale: float, unit: str = "mm") -> None:
        self.x0, self.y0, self.scale, self.unit = x0, y0, scale, unit

    def size(self, value_mm: float) -> str:
        """A measure of the piece as it is written on the drawing, without its unit."""
        return sized(value_mm, self.unit)

    def x(self, radius_mm: float) -> float:
        """Where a distance out from the centre line stands, to the right."""
        return self.x0 + radius_mm * self.scale

    def y(self, height_mm: float) -> float:
        """Where a height above the foot stands, downwards."""
        return self.y0 - height_mm * self.scale

    def path(self, points_mm: Floats, closed: bool = False) -> str:
        """Points of (height, radius) as the path of a line."""
        places = " ".join(f"{short(self.x(radius))},{short(self.y(height))}" for height, radius in points_mm)
        return f"M{places}{'Z' if closed else ''}"


def short(value: float) -> str:
    """A number of the paper, to hundredths, without idle noughts."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def mm(value: float) -> str:
    """A length of the piece, to tenths."""
    return f"{value:.1f}".removesuffix(".0")


def sized(value_mm: float, unit: str) -> str:
    """A length of the piece in mm to tenths, or in inches to sixteenths, without its unit."""
    return sixteenths(value_mm) if unit == "in" else mm(value_mm)


def sixteenths(value_mm: float) -> str:
    """A length of the piece in inches, to the nearest sixteenth, without its unit: "3 11/16"."""
    whole, rest = divmod(round(abs(value_mm) / INCH_MM * 16), 16)
    part = f"{Fraction(rest, 16)}" if rest else ""
    sign = "-" if value_mm < 0 and (whole or rest) else ""
    return sign + (f"{whole} {part}" if whole and rest else part or str(whole))


def stroke(x1: float, y1: float, x2: float, y2: float, wide: float) -> str:
    """A straight line from one place to another."""
    return f'<path d="M{short(x1)},{short(y1)}L{short(x2)},{short(y2)}" stroke-width="{short(wide)}"/>'


def lettered(x: float, y: float, words: str, size: float, anchor: str = "middle", bold: bool = False) -> str:
    """Words whose middle, start or end stands at a place."""
    weight = ' font-weight="600"' if bold else ""
    return (
        f'<text x="{short(x)}" y="{short(y)}" font-size="{short(size)}" text-anchor="{anchor}" fill="currentColor" '
        f'stroke="none"{weight}>{escape(words)}</text>'
    )


def arrowed(x1: float, y1: float, x2: float, y2: float) -> str:
    """A dimension line with an arrow head at each end, level or upright."""
    along = ((x2 > x1) - (x2 < x1), (y2 > y1) - (y2 < y1))
    heads = []
    for x, y, sense in ((x1, y1, 1), (x2, y2, -1)):
        dx, dy = along[0] * sense * ARROW, along[1] * sense * ARROW
        heads.append(
            f"M{short(x + dx - dy * 0.28)},{short(y + dy - dx * 0.28)}L{short(x)},{short(y)}"
            f"L{short(x + dx + dy * 0.28)},{short(y + dy + dx * 0.28)}"
        )
    return f'<path d="M{short(x1)},{short(y1)}L{short(x2)},{short(y2)}{"".join(heads)}" stroke-width="0.2"/>'


def spanned(sheet: Sheet, size_mm: float, from_y: float, y: float, words: str) -> list[str]:
    """A level dimension line over a diameter, with its witness lines and its words above it."""
    ends = sheet.x(-size_mm / 2), sheet.x(size_mm / 2)
    sense = 1.0 if y > from_y else -1.0
    lines = [stroke(end, from_y + sense, end, y + sense * 1.5, 0.15) for end in ends]
    return [*lines, arrowed(ends[0], y, ends[1], y), lettered(sheet.x0, y - 1.2, words, LETTER)]
