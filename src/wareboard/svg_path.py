"""What the ``d`` and ``transform`` of an SVG path say, as points.

Source: W3C, Scalable Vector Graphics 1.1 (second edition, 2011), chapters 7.6 (transforms), 8.3 (paths) and appendix F.6
(arcs).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wareboard.errors import Unreadable

Floats = NDArray[np.float64]
NUMBER = re.compile(r"[\s,]*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
FLAG = re.compile(r"[\s,]*([01])")
LETTER = re.compile(r"[\s,]*([MmZzLlHhVvCcSsQqTtAa])")
TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
TRANSFORM = re.compile(r"\s*,?\s*(matrix|translate|scale|rotate|skewX|skewY)\s*\(([^()]*)\)")
MOST_PIECES = 400


def subpaths(d: str, within: float) -> list[tuple[Floats, bool]]:
    """Every subpath as ((n, 2) points in the path's own units, closed), its curves in chords no further off than ``within``.

    Raises:
        Unreadable: if ``d`` is no path data; what stands before the fault is not kept.
    """
    return _Pen(within).drawn(d)


def _commands(d: str) -> Iterator[tuple[str, list[float]]]:
    place, letter = 0, ""
    while place < len(d.rstrip(" \t\r\n,")):
        found = LETTER.match(d, place)
        if found:
            letter, place = found[1], found.end()
        elif not letter or letter in "Zz":
            raise _broken(d, place)
        numbers: list[float] = []
        for index in range(TAKES[letter.upper()]):
            pattern = FLAG if letter in "Aa" and index in (3, 4) else NUMBER
            value = pattern.match(d, place)
            if value is None:
                raise _broken(d, place)
            numbers.append(float(value[1]))
            place = value.end()
        if not all(abs(number) < 1e9 for number in numbers):
            raise _broken(d, place)
        yield letter, numbers
        # More numbers after a move are lines.
        letter = {"M": "L", "m": "l"}.get(letter, letter)


def _broken(d: str, place: int) -> Unreadable:
    return Unreadable(
        f"path {d[max(0, place - 12) : place + 12]!r}", "it is not path data", "Save the drawing again as plain SVG"
    )


class _Pen:
    """Where the pen is while a path is drawn."""

    def __init__(self, within: float) -> None:
        self.within = within
        self.done: list[tuple[Floats, bool]] = []
        self.line: list[complex] = []
        self.at = self.start = self.handle = 0j
        self.before = ""

    def drawn(self, d: str) -> list[tuple[Floats, bool]]:
        for letter, numbers in _commands(d):
            if not self.before and letter not in "Mm":
                raise _broken(d, 0)
            kind = letter.upper()
            base = self.at if letter.islower() else 0j
            getattr(self, f"_{kind.lower()}")(base, numbers, letter.islower())
            self.before = kind
        self._finish(closed=False)
        return self.done

    def _finish(self, closed: bool) -> None:
        points = np.array(self.line, dtype=np.complex128)
        if len(points):
            points = points[np.concatenate([[True], np.diff(points) != 0])]
            if closed and len(points) > 1 and points[0] == points[-1]:
                points = points[:-1]
        if len(points) > 1:
            self.done.append((np.column_stack([points.real, points.imag]), closed))
        self.line = []

    def _m(self, base: complex, n: list[float], _: bool) -> None:
        self._finish(closed=False)
        self.at = self.start = self.handle = base + complex(*n)
        self.line = [self.at]

    def _z(self, base: complex, n: list[float], _: bool) -> None:
        self._finish(closed=True)
        self.at = self.handle = self.start
        self.line = [self.at]

    def _to(self, end: complex) -> None:
        self.line.append(end)
        self.at = self.handle = end

    def _l(self, base: complex, n: list[float], _: bool) -> None:
        self._to(base + complex(*n))

    def _h(self, base: complex, n: list[float], relative: bool) -> None:
        self._to(complex(base.real + n[0], self.at.imag))

    def _v(self, base: complex, n: list[float], relative: bool) -> None:
        self._to(complex(self.at.real, base.imag + n[0]))

    def _c(self, base: complex, n: list[float], _: bool) -> None:
        self._curve([base + complex(*n[i : i + 2]) for i in (0, 2, 4)])

    def _s(self, base: complex, n: list[float], _: bool) -> None:
        first = 2 * self.at - self.handle if self.before in ("C", "S") else self.at
        self._curve([first, *(base + complex(*n[i : i + 2]) for i in (0, 2))])

    def _q(self, base: complex, n: list[float], _: bool) -> None:
        self._curve([base + complex(*n[i : i + 2]) for i in (0, 2)])

    def _t(self, base: complex, n: list[float], _: bool) -> None:
        first = 2 * self.at - self.handle if self.before in ("Q", "T") else self.at
        self._curve([first, base + complex(*n)])

    def _curve(self, controls: list[complex]) -> None:
        """A Bézier curve of any degree, in chords: their sagitta is at most (second difference) n (n - 1) / (8 pieces^2)."""
        corners = np.array([self.at, *controls])
        degree = len(controls)
        bend = float(np.abs(np.diff(corners, 2)).max()) * degree * (degree - 1)
        pieces = int(min(MOST_PIECES, max(1, math.ceil(math.sqrt(bend / (8 * self.within))))))
        part = np.arange(1, pieces + 1) / pieces
        level: list[Any] = list(corners)
        while len(level) > 1:
            level = [a + (b - a) * part for a, b in pairwise(level)]
        self.line.extend(np.asarray(level[0]).tolist())
        self.at, self.handle = controls[-1], controls[-2]

    def _a(self, base: complex, n: list[float], _: bool) -> None:
        """An elliptic arc, by its centre (W3C SVG 1.1 appendix F.6.5); radii too small are grown (F.6.6)."""
        end = base + complex(*n[5:])
        rx, ry, turn = abs(n[0]), abs(n[1]), complex(np.exp(1j * math.radians(n[2])))
        half = (self.at - end) / 2 / turn
        if rx == 0 or ry == 0 or half == 0:
            self._to(end)
            return
        grow = max(1.0, math.hypot(half.real / rx, half.imag / ry))
        rx, ry = rx * grow, ry * grow
        u = complex(half.real / rx, half.imag / ry)
        off = math.sqrt(max(0.0, 1 / abs(u) ** 2 - 1)) * (-1 if n[3] == n[4] else 1)
        centre = complex(u.imag, -u.real) * off
        first, last = np.angle(u - centre), np.angle(-u - centre)
        sweep = float((last - first) % (2 * np.pi)) if n[4] else -float((first - last) % (2 * np.pi))
        sagitta = min(1.0, self.within / max(rx, ry))
        pieces = int(min(MOST_PIECES, max(2, math.ceil(abs(sweep) / (2 * math.acos(1 - sagitta))))))
        angle = first + sweep * np.arange(1, pieces + 1) / pieces
        round_it = centre + np.exp(1j * angle)
        drawn = (rx * round_it.real + 1j * ry * round_it.imag) * turn + (self.at + end) / 2
        self.line.extend([*drawn[:-1].tolist(), end])
        self.at = self.handle = end


def matrix_of(transform: str) -> Floats:
    """The 3 x 3 matrix of a ``transform`` attribute.

    Raises:
        Unreadable: if it is not a list of transforms.
    """
    matrix, place = np.eye(3), 0
    while place < len(transform.rstrip(" \t\r\n,")):
        found = TRANSFORM.match(transform, place)
        numbers = [float(each) for each in NUMBER.findall(found[2])] if found else []
        step = _matrix(found[1], numbers) if found else None
        if found is None or step is None:
            raise Unreadable(f"transform {transform!r}", "it cannot be read", "Save the drawing again as plain SVG")
        matrix, place = matrix @ step, found.end()
    return matrix


def _matrix(name: str, n: list[float]) -> Floats | None:
    match name, len(n):
        case "matrix", 6:
            return np.array([[n[0], n[2], n[4]], [n[1], n[3], n[5]], [0, 0, 1]])
        case "translate", 1 | 2:
            return np.array([[1, 0, n[0]], [0, 1, n[1] if len(n) > 1 else 0], [0, 0, 1]], dtype=np.float64)
        case "scale", 1 | 2:
            return np.diag([n[0], n[-1], 1.0])
        case "rotate", 1 | 3:
            c, s = math.cos(math.radians(n[0])), math.sin(math.radians(n[0]))
            x, y = n[1:] if len(n) > 1 else (0.0, 0.0)
            return np.array([[c, -s, x - c * x + s * y], [s, c, y - s * x - c * y], [0, 0, 1]])
        case "skewX", 1:
            return np.array([[1, math.tan(math.radians(n[0])), 0], [0, 1, 0], [0, 0, 1]])
        case "skewY", 1:
            return np.array([[1, 0, 0], [math.tan(math.radians(n[0])), 1, 0], [0, 0, 1]])
    return None
