"""A small reader of PDF pages, apart from the typesetter: straight lines in mm on the paper, and text with its size.

It follows the content streams by ISO 32000-1 (8.3 coordinate systems, 8.5 paths, 9.4 text), as far as these sheets need:
m, l and re paths, cm, q, Q, form XObjects, and text in composite fonts through their ToUnicode maps.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pikepdf

MM = 25.4 / 72


@dataclass(frozen=True)
class Line:
    """A straight line, mm from the page's lower left corner."""

    x1: float
    y1: float
    x2: float
    y2: float

    @property
    def length(self) -> float:
        return float(np.hypot(self.x2 - self.x1, self.y2 - self.y1))


@dataclass(frozen=True)
class Words:
    """Text as it is shown in one go, with its size in points on the paper and where it begins, mm."""

    text: str
    points: float
    x: float
    y: float


@dataclass(frozen=True)
class Page:
    """What stands on a page."""

    lines: tuple[Line, ...]
    words: tuple[Words, ...]
    size_mm: tuple[float, float]

    @property
    def text(self) -> str:
        return "".join(each.text for each in self.words)

    def level_lines(self) -> list[Line]:
        return [each for each in self.lines if abs(each.y1 - each.y2) < 1e-6]


def pages_of(file: Path) -> list[Page]:
    """Every page of a PDF file."""
    return list(_pages(file.read_bytes()))


@cache
def _pages(pdf: bytes) -> tuple[Page, ...]:
    with pikepdf.open(io.BytesIO(pdf)) as document:
        return tuple(_page(page) for page in document.pages)


def text_of(file: Path) -> str:
    """All text of a PDF, its spaces and line ends squeezed out, so that line breaks cannot hide a word."""
    return squeezed("".join(page.text for page in pages_of(file)))


def squeezed(words: str) -> str:
    return re.sub(r"\s+", "", words)


def _page(page: pikepdf.Page) -> Page:
    box = [float(each) for each in page.mediabox]
    reader = _Reader()
    reader.read(page, np.eye(3))
    return Page(tuple(reader.lines), tuple(reader.words), ((box[2] - box[0]) * MM, (box[3] - box[1]) * MM))


def _matrix(operands: list[pikepdf.Object]) -> np.ndarray:
    a, b, c, d, e, f = (float(each) for each in operands)
    return np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]])


class _Reader:
    def __init__(self) -> None:
        self.lines: list[Line] = []
        self.words: list[Words] = []

    def read(self, stream: pikepdf.Page | pikepdf.Object, outer: np.ndarray) -> None:
        resources = stream.get("/Resources", pikepdf.Dictionary())
        fonts = {str(name): _to_unicode(font) for name, font in resources.get("/Font", pikepdf.Dictionary()).items()}
        objects = resources.get("/XObject", pikepdf.Dictionary())
        here, kept = outer, []
        path, text = _Path(self.lines), _Text(self.words, fonts)
        for operands, operator in pikepdf.parse_content_stream(stream):
            match str(operator):
                case "q":
                    kept.append(here)
                case "Q":
                    here = kept.pop()
                case "cm":
                    here = _matrix(list(operands)) @ here
                case "Do":
                    inner = objects[str(operands[0])]
                    if inner.get("/Subtype") == "/Form":
                        own = _matrix(list(inner.get("/Matrix", [1, 0, 0, 1, 0, 0])))
                        self.read(inner, own @ here)
                case other:
                    path.take(other, operands, here)
                    text.take(other, operands, here)


class _Path:
    """Straight pieces of the path that is being built, put among the lines when it is painted."""

    def __init__(self, lines: list[Line]) -> None:
        self.lines, self.path, self.at = lines, [], (0.0, 0.0)

    def take(self, operator: str, operands: list[pikepdf.Object], here: np.ndarray) -> None:
        match operator:
            case "m":
                self.at = _place(operands, here)
            case "l":
                to = _place(operands, here)
                self.path.append(Line(*self.at, *to))
                self.at = to
            case "c" | "v" | "y":
                self.at = _place(operands[-2:], here)
            case "S" | "s" | "B" | "B*" | "b" | "b*" | "f" | "f*":
                self.lines += self.path
                self.path = []
            case "n":
                self.path = []


class _Text:
    """Text as it is shown, through its font's map to Unicode."""

    def __init__(self, words: list[Words], fonts: dict[str, dict[int, str]]) -> None:
        self.words, self.fonts = words, fonts
        self.matrix, self.size, self.font = np.eye(3), 0.0, {}

    def take(self, operator: str, operands: list[pikepdf.Object], here: np.ndarray) -> None:
        match operator:
            case "Tf":
                self.font, self.size = self.fonts.get(str(operands[0]), {}), float(operands[1])
            case "BT":
                self.matrix = np.eye(3)
            case "Tm":
                self.matrix = _matrix(list(operands))
            case "Td":
                self.matrix = _matrix([1, 0, 0, 1, *operands]) @ self.matrix
            case "Tj":
                self._say([operands[0]], self.matrix @ here)
            case "TJ":
                self._say(list(operands[0]), self.matrix @ here)

    def _say(self, parts: list[pikepdf.Object], where: np.ndarray) -> None:
        said = ""
        for part in parts:
            if isinstance(part, pikepdf.String):
                code = bytes(part)
                said += "".join(
                    self.font.get(int.from_bytes(code[i : i + 2], "big"), "") for i in range(0, len(code), 2)
                )
        tall = self.size * float(np.hypot(where[1, 0], where[1, 1]))
        self.words.append(Words(said, tall, float(where[2, 0]) * MM, float(where[2, 1]) * MM))


def _place(operands: list[pikepdf.Object], here: np.ndarray) -> tuple[float, float]:
    x, y, _ = np.array([float(operands[0]), float(operands[1]), 1.0]) @ here
    return float(x) * MM, float(y) * MM


def _to_unicode(font: pikepdf.Object) -> dict[int, str]:
    if "/ToUnicode" not in font:
        return {}
    table = font.ToUnicode.read_bytes().decode("latin-1")
    found: dict[int, str] = {}
    for block in re.findall(r"beginbfchar(.*?)endbfchar", table, re.DOTALL):
        for code, says in re.findall(r"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>", block):
            found[int(code, 16)] = bytes.fromhex(says).decode("utf-16-be")
    for block in re.findall(r"beginbfrange(.*?)endbfrange", table, re.DOTALL):
        for low, high, says in re.findall(r"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]+)>", block):
            first = bytes.fromhex(says).decode("utf-16-be")
            for step in range(int(high, 16) - int(low, 16) + 1):
                found[int(low, 16) + step] = first[:-1] + chr(ord(first[-1]) + step)
    return found
