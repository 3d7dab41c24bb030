"""A logger's file as columns of text: encoding, delimiter, decimal comma, header and the line that each row came from."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

from wareboard.errors import Unreadable

DELIMITERS = (";", "\t", ",", "|")
LOOKED_AT = 200
CLOCK = re.compile(r"\d{1,2}:\d{2}")
NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?$")
QUOTED_COMMA = re.compile(r'"\s*([-+]?\d+),(\d+)\s*"')


@dataclass(frozen=True, slots=True)
class Finding:
    """Something seen in a log: what kind of thing, on which line of the file (0 for the whole), and in words."""

    kind: str
    line: int
    words: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.words}" if self.line else self.words


@dataclass(frozen=True, slots=True)
class Table:
    """Columns of text with their headings; ``lines`` holds the line number in the file of each row."""

    headings: tuple[str, ...]
    columns: tuple[list[str], ...]
    lines: range | list[int]
    findings: tuple[Finding, ...]


def decoded(data: bytes | str) -> tuple[str, tuple[Finding, ...]]:
    """The text of a log, and what had to be assumed about its encoding.

    UTF-8 (with or without mark), UTF-16 with mark, or else one of the old western pages, if the file holds to one.

    Raises:
        Unreadable: for an empty file, a binary file, and a file that mixes encodings, with the line.
    """
    if isinstance(data, str):
        text, found = data.removeprefix("\ufeff"), ()
        if "\x00" in text:
            raise _binary(text.count("\n", 0, text.index("\x00")) + 1)
        return _not_empty(text), found
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return _not_empty(data.decode("utf-16", errors="replace")), ()
    if b"\x00" in data:
        raise _binary(data.count(b"\n", 0, data.index(b"\x00")) + 1)
    try:
        return _not_empty(data.decode("utf-8-sig")), ()
    except UnicodeDecodeError as exc:
        line = data.count(b"\n", 0, exc.start) + 1
        # Bytes that are good UTF-8 beside bytes that are not: two programs wrote to this file.
        if re.search(rb"[\xc2-\xf4][\x80-\xbf]", data):
            raise Unreadable(
                f"line {line} of the log",
                why="it is written in another encoding than the lines around it",
                mend="Save the log again as UTF-8, or leave that line out",
            ) from exc
        words = "read as an old western encoding (cp1252), since it is not UTF-8"
        return _not_empty(data.decode("cp1252", errors="replace")), (Finding("encoding", line, words),)


def _binary(line: int) -> Unreadable:
    return Unreadable(
        f"line {line} of the log",
        why="it holds bytes that no text has: this is a binary file, or a damaged one",
        mend="Export the log from the logger as CSV",
    )


def _not_empty(text: str) -> str:
    if not text.strip():
        raise Unreadable("the log", why="it is empty", mend="Export it again from the logger")
    return text


def table(text: str, leave_out: bool = False) -> Table:
    """The columns of a log's text.

    Args:
        text: the whole file.
        leave_out: whether rows with too few or too many fields are left out (and told) or refused.
    Raises:
        Unreadable: if no rows of numbers are found, or a row has another number of fields, with its line.
    """
    if '"' in text:
        text = QUOTED_COMMA.sub(r"\1.\2", text).replace('"', "")
    rows = text.splitlines()
    numbers: range | list[int] = range(1, len(rows) + 1)
    if any(not row or row.isspace() for row in rows):
        numbers = [number for number, row in zip(numbers, rows, strict=True) if row.strip()]
        rows = [row for row in rows if row.strip()]
    delimiter = _delimiter(rows)
    if delimiter == " ":
        rows = [" ".join(row.split()) for row in rows]
    first = _first_data_row(rows, delimiter)
    body, headings = rows[first:], _headings(rows, first, delimiter)
    if delimiter != "," and any("," in row for row in body[:LOOKED_AT]):
        body = "\n".join(body).replace(",", ".").split("\n")
    # A trailing delimiter makes an empty last column on every row; it is no field.
    if all(row.endswith(delimiter) for row in body[:LOOKED_AT]):
        body = [row.removesuffix(delimiter) for row in body]
    body, kept, findings = _even(body, numbers[first:], delimiter, leave_out)
    width = body[0].count(delimiter) + 1
    flat = delimiter.join(body).split(delimiter)
    columns = tuple(flat[at::width] for at in range(width))
    named = tuple(headings[at] if at < len(headings) else f"column {at + 1}" for at in range(width))
    return Table(named, columns, kept, findings)


def is_number(text: str) -> bool:
    """Whether ``text`` is a plain number with a decimal point."""
    return NUMBER.match(text.strip()) is not None


def _fields(row: str, delimiter: str) -> list[str]:
    return [field.strip() for field in row.split(delimiter)]


def _looks_like_data(row: str, delimiter: str) -> bool:
    """A row whose last filled field is a number and which has at least two fields that are numbers or clock times."""
    fields = [field for field in _fields(row, delimiter) if field]
    told = [is_number(field.replace(",", ".")) or CLOCK.search(field) is not None for field in fields]
    return len(fields) >= 2 and sum(told) >= 2


def _delimiter(rows: list[str]) -> str:
    """The delimiter under which most of the first rows are data; a comma yields to any other, as it may be decimal."""
    sample = rows[:LOOKED_AT]
    scored = {each: sum(_looks_like_data(row, each) for row in sample) for each in (*DELIMITERS, " ")}
    best = max(scored.values())
    if best == 0:
        raise Unreadable(
            "the log",
            why="no row in it holds a time and a temperature, set apart by ; , | a tab or spaces",
            mend="Export it from the logger as CSV with a time column and a temperature column",
        )
    return next(each for each in (*DELIMITERS, " ") if scored[each] >= 0.9 * best)


def _first_data_row(rows: list[str], delimiter: str) -> int:
    for at, row in enumerate(rows):
        if _looks_like_data(row, delimiter) and (at + 1 == len(rows) or _looks_like_data(rows[at + 1], delimiter)):
            return at
    return next(at for at, row in enumerate(rows) if _looks_like_data(row, delimiter))


def _headings(rows: list[str], first: int, delimiter: str) -> list[str]:
    """The row of words above the data: the last one that has as many fields as the data."""
    width = len(_fields(rows[first].removesuffix(delimiter), delimiter))
    for row in reversed(rows[:first]):
        fields = _fields(row.removesuffix(delimiter), delimiter)
        if len(fields) == width:
            return fields
    return []


def _even(
    body: list[str], numbers: range | list[int], delimiter: str, leave_out: bool
) -> tuple[list[str], range | list[int], tuple[Finding, ...]]:
    """Rows of one width: the commonest among the first rows; others are refused, or left out and told."""
    counts = [row.count(delimiter) for row in body]
    seen = counts[:LOOKED_AT]
    width = max(set(seen), key=seen.count)
    if counts.count(width) == len(counts):
        return body, numbers, ()
    odd = [at for at, count in enumerate(counts) if count != width]
    at = odd[0]
    told = f"it has {counts[at] + 1} of {width + 1} fields: {body[at][:60]!r}"
    if not leave_out:
        last = " (the last line: the file was cut off)" if at == len(body) - 1 else ""
        raise Unreadable(
            f"line {numbers[at]} of the log{last}",
            why=told + (f"; {len(odd) - 1} more such lines follow" if len(odd) > 1 else ""),
            mend="Mend the line, or read the log with such rows left out",
        )
    gone = set(odd)
    kept = [at for at in range(len(body)) if at not in gone]
    found = tuple(Finding("left out", numbers[at], f"{counts[at] + 1} of {width + 1} fields") for at in odd)
    return [body[at] for at in kept], [numbers[at] for at in kept], found
